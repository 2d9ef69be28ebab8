"""Makes this folder importable, so that its tests share the hand-built farm, and one browser."""

import shutil
import sys
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

sys.path.append(str(Path(__file__).parent))

_FLAGS = (
    "--headless --no-sandbox --disable-gpu --disable-quic --no-first-run "
    "--disable-background-networking --disable-component-update --disable-sync"
)


@pytest.fixture(scope="session")
def browser() -> Iterator[Any]:
    """One Chromium for the whole run; a test opens a context of its own in it."""
    path = shutil.which("chromium")
    if path is None:
        pytest.skip("no Chromium on this machine: pages are not opened in a browser")
    from playwright.sync_api import sync_playwright

    with sync_playwright() as play:
        opened = play.chromium.launch(executable_path=path, args=_FLAGS.split())
        yield opened
        opened.close()


SIZES = {"phone": (390, 844), "wide": (1280, 800)}
Opener = Callable[..., Any]


@pytest.fixture
def offline_page(browser: Any) -> Iterator[Opener]:
    """Open a page with no network; on leaving, fail on any request, dialog or console error."""
    troubles: list[str] = []
    contexts = []

    def note(url: str) -> None:
        if not url.startswith(("file:", "data:")):
            troubles.append(url)

    def open_page(path: Path, size: str = "wide", **options: Any) -> Any:
        width, height = SIZES[size]
        context = browser.new_context(
            viewport={"width": width, "height": height},
            has_touch=size == "phone",
            is_mobile=size == "phone",
            offline=True,
            **options,
        )
        contexts.append(context)
        page = context.new_page()
        page.set_default_timeout(5000)
        page.on("request", lambda r: note(r.url))
        page.on("console", lambda m: troubles.append(m.text) if m.type == "error" else None)
        page.on("pageerror", lambda e: troubles.append(str(e)))
        page.on("dialog", lambda d: (troubles.append(f"dialog {d.message}"), d.dismiss()))
        page.goto(path.as_uri())
        return page

    yield open_page
    for context in contexts:
        context.close()
    assert troubles == []
