"""Long work tells what it is doing: a bar where someone watches, plain lines where not."""

import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager

import click

from maps.spoken_notes import spoken

# Seconds of each step of a first run, which compiles and is the one that is watched, by the step's
# first words: they set how far the bar stands, nothing else. A step not here counts as short.
_SECONDS = {
    "Looking when": 1.2,
    "Reading the lie": 1.0,
    "Preparing the daily": 3.5,
    "Simulating": 7.0,
    "Drawing the wet": 2.7,
}
_SHORT_S = 0.2
_USUAL_S = 18.0


@contextmanager
def told_progress(*, quiet: bool = False, language: str = "en") -> Iterator[Callable[[str], None]]:
    """Give a function that names the step about to begin; it writes to stderr only.

    In a terminal one line holds the step, a bar and the time; elsewhere each step is a line.
    """
    if quiet:
        yield lambda step: None
    elif sys.stderr.isatty():
        with _bar(language) as step:
            yield step
    else:
        yield lambda step: click.echo(spoken(step, language, "step"), err=True)


@contextmanager
def _bar(language: str) -> Iterator[Callable[[str], None]]:
    from rich.console import Console
    from rich.progress import BarColumn, Progress, SpinnerColumn, TextColumn, TimeElapsedColumn

    console = Console(stderr=True, highlight=False, markup=False, emoji=False)
    columns = (
        SpinnerColumn(),
        BarColumn(bar_width=24),
        TimeElapsedColumn(),
        TextColumn("{task.description}", markup=False),
    )
    with Progress(*columns, console=console, transient=True) as shown:
        task = shown.add_task("", total=_USUAL_S)
        last = 0.0

        def begin(step: str) -> None:
            nonlocal last
            shown.update(task, advance=last, description=spoken(step, language, "step"))
            last = next((s for words, s in _SECONDS.items() if step.startswith(words)), _SHORT_S)

        yield begin
