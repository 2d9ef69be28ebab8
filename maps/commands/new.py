"""``suitability new DIR``: a farm file to fill in, with every key explained."""

from importlib.resources import files
from pathlib import Path

import click

from suitability.errors import InputError


@click.command()
@click.argument("folder", metavar="DIR", type=click.Path(path_type=Path))
def new(folder: Path) -> None:
    """Write a commented farm.toml into DIR, to be filled in. Never overwrites."""
    written = write_new(folder)
    click.echo(f"Wrote {written}")
    click.echo("Open it in a text editor and name your boundary file under [fields]; then run")
    click.echo(f"  suitability check {_quoted(written)}")
    click.echo(f"  suitability run {_quoted(written)} --out {_quoted(folder / 'out')}")


def write_new(folder: Path) -> Path:
    """Write the farm file into ``folder``, made if it is not there, and return its path.

    Raises
    ------
    InputError : there is a farm.toml already; ``folder`` is a file or cannot be written.
    """
    target = folder / "farm.toml"
    template = (files("maps") / "templates" / "farm.toml").read_text("utf-8")
    try:
        folder.mkdir(parents=True, exist_ok=True)
        with target.open("x", encoding="utf-8") as file:
            file.write(template)
    except FileExistsError:
        if folder.is_dir():
            raise InputError(
                f"{target} is there already and is never overwritten. "
                "Give another folder, or move that file away."
            ) from None
        raise InputError(f"{folder} is a file; give the name of a folder.") from None
    except OSError as error:
        raise InputError(
            f"{target} cannot be written: {error.strerror}. Give a folder you may write to."
        ) from None
    return target


def _quoted(path: Path) -> str:
    return f'"{path}"' if " " in str(path) else str(path)
