"""The one door to the network: a question to a service, and its answer when it is sound.

Only https (plain http is taken for 127.0.0.1 alone), certificates checked, proxies by the usual
environment variables. An answer is bytes: nothing of it is run, and no more is read than may be.
"""

import ssl
import time
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import cache
from importlib.metadata import version
from typing import Any
from urllib.parse import urljoin, urlsplit

import httpx

from layers.gather.failures import (
    BadAnswerError,
    GatherError,
    NoConnectionError,
    RefusedError,
    TooMuchError,
)

_AGAIN = (408, 425, 429, 500, 502, 503, 504)
_MOST_REDIRECTS = 3
_LONGEST_WAIT_S = 60.0
_LETTERS_SHOWN = 160
_TOO_MUCH_WORDS = ("exceed", "maxjsonlength", "too many records", "too large")


@dataclass(frozen=True)
class Patience:
    """How long is waited [s], and how often asked again."""

    tries: int = 4
    tries_to_connect: int = 2
    first_pause_s: float = 1.0
    connect_s: float = 10.0
    silence_s: float = 60.0
    answer_s: float = 180.0


@dataclass(frozen=True)
class Question:
    """One question. ``check`` raises BadAnswerError where the answer is not what was asked for."""

    service: str
    url: str
    most_bytes: int
    check: Callable[[bytes], None]
    params: Mapping[str, str] | None = None
    json: Any = None


def ask(question: Question, patience: Patience) -> bytes:
    """The answer to a question, whole and checked.

    Raises
    ------
    NoConnectionError : the service cannot be reached.
    TooMuchError : the answer is larger than may be, or the service says so.
    GatherError : anything else that did not mend by asking again.
    """
    reached = False
    last: Exception | str = "no answer"
    for attempt in range(patience.tries):
        if attempt:
            time.sleep(_pause_s(patience, attempt, last))
        try:
            return _ask_once(question, patience)
        except (httpx.ConnectError, httpx.ConnectTimeout, httpx.ProxyError) as error:
            last = error
            if "certificate" in str(error).lower():
                raise GatherError(
                    f"{question.service}: the certificate of {_host(question.url)} cannot be "
                    f"trusted ({plain(error)}), so nothing was sent."
                ) from error
            if not reached and attempt + 1 >= patience.tries_to_connect:
                raise NoConnectionError(
                    f"{question.service}: no connection to {_host(question.url)} ({plain(error)})."
                ) from error
        except httpx.InvalidURL as error:
            raise GatherError(f"{question.service}: {plain(error)}.") from error
        except (httpx.HTTPError, BadAnswerError, _AgainError) as error:
            reached = True
            last = error
    raise GatherError(
        f"{question.service}: no sound answer from {_host(question.url)} in {patience.tries} tries "
        f"({plain(last)})."
    )


class _AgainError(Exception):
    def __init__(self, said: str, wait_s: float = 0.0) -> None:
        super().__init__(said)
        self.wait_s = wait_s


def _ask_once(question: Question, patience: Patience) -> bytes:
    ends = time.monotonic() + patience.answer_s
    timeout = httpx.Timeout(patience.silence_s, connect=patience.connect_s)
    agent = f"summer-gap-fields/{version('summer-gap-fields')}"
    url: str = question.url
    with httpx.Client(
        verify=_trusted(), timeout=timeout, headers={"User-Agent": agent}, follow_redirects=False
    ) as client:
        for _ in range(_MOST_REDIRECTS + 1):
            check_address(url, question.service)
            method = "GET" if question.json is None else "POST"
            params = question.params if url == question.url else None
            with client.stream(method, url, params=params, json=question.json) as answer:
                if answer.is_redirect:
                    url = _redirected(url, answer.headers.get("location", ""), question)
                    continue
                body = _body(answer, question, ends)
            _check_status(answer, body, question)
            _refuse_page(answer, body)
            question.check(body)
            return body
    raise GatherError(f"{question.service}: {_host(question.url)} sends in circles.")


@cache
def _trusted() -> ssl.SSLContext:
    """The certificates that are believed, loaded once."""
    return httpx.create_ssl_context()


def check_address(url: str, service: str) -> None:
    """Refuse any address but https; plain http is for 127.0.0.1 alone."""
    parts = urlsplit(url)
    if parts.scheme == "https" and parts.hostname:
        return
    if parts.scheme == "http" and parts.hostname == "127.0.0.1":
        return
    raise GatherError(f"{service}: {plain(url)} is no https address; nothing was sent.")


def _redirected(url: str, location: str, question: Question) -> str:
    target = urljoin(url, location)
    old, new = urlsplit(url), urlsplit(target)
    if (old.scheme, old.netloc) != (new.scheme, new.netloc):
        raise GatherError(
            f"{question.service}: {_host(url)} sends on to {plain(new.netloc) or 'nowhere'}, "
            "another address; it was not followed."
        )
    return target


def _body(answer: httpx.Response, question: Question, ends: float) -> bytes:
    stated = answer.headers.get("content-length", "")
    if stated.isdigit() and int(stated) > question.most_bytes:
        raise TooMuchError(f"{question.service}: an answer of {int(stated) / 1e6:.1f} MB.")
    chunks = []
    size = 0
    for chunk in answer.iter_bytes():  # as they come, so that a slow drip is seen
        size += len(chunk)
        if size > question.most_bytes:
            raise TooMuchError(
                f"{question.service}: an answer of more than {question.most_bytes / 1e6:.1f} MB."
            )
        if time.monotonic() > ends:
            raise _AgainError("the answer came too slowly")
        chunks.append(chunk)
    return b"".join(chunks)


def _check_status(answer: httpx.Response, body: bytes, question: Question) -> None:
    code = answer.status_code
    if code == 200:
        return
    said = plain(body[:2000].decode("utf-8", "replace"))
    if code in (400, 413, 500) and any(word in said.lower() for word in _TOO_MUCH_WORDS):
        raise TooMuchError(f"{question.service}: {said}")
    if code in _AGAIN:
        wait = answer.headers.get("retry-after", "")
        wait_s = min(float(wait), _LONGEST_WAIT_S) if wait.isdigit() else 0.0
        raise _AgainError(f"it answered with fault {code}", wait_s)
    raise RefusedError(
        f"{question.service}: {_host(question.url)} refused the question with fault {code}"
        + (f" ({said})." if said and not said.startswith("<") else ".")
    )


def _refuse_page(answer: httpx.Response, body: bytes) -> None:
    kind = answer.headers.get("content-type", "").lower()
    if "html" in kind or body[:200].lstrip().lower().startswith((b"<!doctype html", b"<html")):
        raise BadAnswerError("it answered with a web page, as in maintenance")


def _pause_s(patience: Patience, attempt: int, last: Exception | str) -> float:
    asked = last.wait_s if isinstance(last, _AgainError) else 0.0
    return max(asked, patience.first_pause_s * float(2 ** (attempt - 1)))


def _host(url: str) -> str:
    return urlsplit(url).hostname or "nowhere"


def plain(said: object) -> str:
    """What a machine said, on one line, short, without letters that steer a terminal."""
    text = " ".join(str(said).split()) or type(said).__name__
    text = "".join(c if c.isprintable() else "?" for c in text).rstrip(".")
    return text if len(text) <= _LETTERS_SHOWN else f"{text[: _LETTERS_SHOWN - 3]}..."
