"""A second Python beside the first, so that a run has two cores at work and not one."""

import os
import pickle
import signal
import traceback
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from importlib import import_module
from multiprocessing import get_context
from multiprocessing.connection import Connection
from typing import ParamSpec, Protocol, TypeVar

from maps.garbage import look_seldom

Given = ParamSpec("Given")
Answer = TypeVar("Answer")
_IDLE_S = 0.1
_MOST_BYTES = 32_000_000  # of one call: as 8 million cells of heights


class Beside(Protocol):
    """Where a part of a run can be done while the run goes on."""

    def start(
        self, function: Callable[Given, Answer], *args: Given.args, **kwargs: Given.kwargs
    ) -> Callable[[], Answer]:
        """Begin a call; what is given waits for its answer, or raises what it raised.

        It can be asked once: then nothing of the call or its answer stays here.
        """

    def end(self) -> None:
        """Do all else here: the memory of a second process is wanted."""


class Here:
    """No second process: a call is done here when its answer is asked for."""

    def start(
        self, function: Callable[Given, Answer], *args: Given.args, **kwargs: Given.kwargs
    ) -> Callable[[], Answer]:
        """Give the call itself."""
        return _once(lambda: function(*args, **kwargs))

    def end(self) -> None:
        """Do nothing."""


class _Second:
    """A second process; calls are done in the order they were begun.

    What goes over is packed and unpacked on the thread that asks: a table must not be touched by
    two threads at once.
    """

    def __init__(self, first: Sequence[str], later: Sequence[str]) -> None:
        context = get_context("spawn")
        self._line, there = context.Pipe()
        given = (there, first, later)
        self._process = context.Process(target=_serve, args=given, daemon=True)
        self._process.start()
        there.close()  # so that its end is noticed here
        self._asking = ThreadPoolExecutor(1)
        self._ended = False

    def start(
        self, function: Callable[Given, Answer], *args: Given.args, **kwargs: Given.kwargs
    ) -> Callable[[], Answer]:
        if self._ended:
            return Here().start(function, *args, **kwargs)
        call = pickle.dumps((function, args, kwargs), pickle.HIGHEST_PROTOCOL)
        if len(call) > _MOST_BYTES:  # a large farm needs all memory for itself
            self.end()
            return Here().start(function, *args, **kwargs)
        begun = self._asking.submit(self._asked, call)

        def wait() -> Answer:
            try:
                packed = begun.result()
            except (EOFError, OSError):  # it was ended, as from outside for want of memory
                return function(*args, **kwargs)
            answer, error = pickle.loads(packed)
            if error is not None:
                raise error
            done: Answer = answer
            return done

        return _once(wait)

    def end(self) -> None:
        """End the process; what it has not answered is done here."""
        self._ended = True
        self._process.kill()
        self._asking.shutdown(wait=False)

    def _asked(self, call: bytes) -> bytes:
        self._line.send_bytes(call)
        return self._line.recv_bytes()


@contextmanager
def second_process(first: Sequence[str] = (), later: Sequence[str] = ()) -> Iterator[Beside]:
    """Start a second process; none where there is one core only.

    It ends with the block, and when this process ends in whatever way.

    Parameters
    ----------
    first : modules that it loads at once. later : those that it loads when nothing is asked of it.
    """
    if (os.cpu_count() or 1) < 2:
        yield Here()
        return
    try:
        second = _Second(first, later)
    except OSError:  # a machine that forbids it
        yield Here()
        return
    try:
        yield second
    finally:
        second.end()


def _once(ask: Callable[[], Answer]) -> Callable[[], Answer]:
    """Let go of a call, and of what it holds, when it is made."""
    held = [ask]
    return lambda: held.pop()()


def _serve(line: Connection, first: Sequence[str], later: Sequence[str]) -> None:
    """Answer calls until nobody is there to ask. Ctrl-C ends it without a word of its own."""
    signal.signal(signal.SIGINT, signal.SIG_DFL)
    look_seldom()
    for module in first:
        import_module(module)
    waiting = list(later)
    while True:
        if waiting and not line.poll(_IDLE_S):
            import_module(waiting.pop(0))
            continue
        try:
            call = line.recv_bytes()
        except EOFError:
            return
        answer = _answered(call)
        try:
            line.send_bytes(answer)
        except OSError:  # the first process was killed meanwhile
            return


def _answered(call: bytes) -> bytes:
    """Pack what a call gives and None, or nothing and what it raised."""
    answer: tuple[object, Exception | None]
    try:
        function, args, kwargs = pickle.loads(call)
        answer = function(*args, **kwargs), None
    except Exception as error:  # noqa: BLE001 - it is raised where the answer is asked for
        error.add_note(traceback.format_exc())
        answer = None, error
    return pickle.dumps(answer, pickle.HIGHEST_PROTOCOL)
