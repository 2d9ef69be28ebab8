"""``suitability open OUT``: the map of a run in the default browser."""

import webbrowser
from pathlib import Path

import click

from suitability.errors import InputError


@click.command(name="open")
@click.argument("out", type=click.Path(path_type=Path))
def open_(out: Path) -> None:
    """Open the map of OUT, the folder that "suitability run" wrote, or the map itself."""
    page = map_of(out)
    try:
        opened = webbrowser.open(page.resolve().as_uri())
    except webbrowser.Error:
        opened = False
    if opened:
        click.echo(f"Opened {page}")
    else:
        click.echo(f"No browser was found here. Open this file in one: {page.resolve()}")


def map_of(out: Path) -> Path:
    """The map in an output folder, or ``out`` itself where it is a page.

    Raises
    ------
    InputError : there is none.
    """
    page = out / "map.html" if out.is_dir() else out
    if not page.is_file() or page.suffix.lower() != ".html":
        raise InputError(
            f"{page} is not there, so there is no map to open. Give the folder that was named by "
            "--out, or write one first: suitability run farm.toml --out out"
        )
    return page
