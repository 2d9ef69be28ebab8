"""What every command that reads a farm can be told: units and language to read in."""

from pathlib import Path
from typing import TYPE_CHECKING, Literal

import click

from maps.words import languages

if TYPE_CHECKING:
    from maps.farm_file import FarmFile

# What a second process is asked for first, beside every command that works on a farm.
READERS = ("layers.shaped_ground", "scipy.ndimage", "layers.ground_picture")

in_units = click.option(
    "--units",
    type=click.Choice(["us", "metric"]),
    help="Units to read in; the farm file's own if not given.",
)
in_language = click.option(
    "--lang",
    "language",
    type=click.Choice(languages()),
    help="Language to read in; the farm file's own if not given.",
)


def farm_to_read(
    config: Path, units: Literal["us", "metric"] | None, language: str | None
) -> "FarmFile":
    """Read a farm file or boundary file, with the units and language asked for."""
    from maps.farm_file import farm_file_for

    farm = farm_file_for(config)
    if units is not None:
        farm = farm.with_units(units)
    return farm if language is None else farm.with_language(language)
