"""``suitability crop NAME``: every limit of a crop with its unit, basis and source."""

from itertools import groupby
from typing import TYPE_CHECKING

import click

if TYPE_CHECKING:
    from suitability.crop import Crop, Limit

_SIDES = {"min": "at least", "max": "at most", "is": "is", "=": "="}


@click.command()
@click.argument("name")
def crop(name: str) -> None:
    """Print every limit of the crop NAME with unit, basis and source."""
    from suitability.crop import load_crop

    _print(load_crop(name))


def _print(crop: "Crop") -> None:
    click.echo(f"{crop.name} ({crop.scientific_name})")
    click.echo(
        "S1, S2, S3: the worst value still in that class; worse than S3 is N (leave out).\n"
        "Basis: published = read in the source; computed = follows from published figures;\n"
        "judgement = ours, to be changed by who knows better.\n"
    )
    for quality, limits in groupby(crop.limits, key=lambda limit: limit.quality):
        click.echo(f"[{quality}]")
        for limit in limits:
            click.echo(f"  {_line(limit)}")
        click.echo()
    for heading, rule in (
        ("never worse than", crop.worst),
        ("never worse than, by survey alone", crop.survey_worst),
        ("sow with care from", crop.care_from),
    ):
        told = ", ".join(f"{name} {klass}" for name, klass in rule.items())
        click.echo(f"{heading}: {told or 'no rule'}")
    click.echo("\n[sources]")
    for key, source in crop.sources.items():
        click.echo(f"  {key}: {source}")


def _line(limit: "Limit") -> str:
    value = ", ".join(limit.value) if isinstance(limit.value, tuple) else f"{limit.value:g}"
    parts = [limit.level, limit.factor, _SIDES[limit.side], value, limit.unit]
    said = " ".join(part for part in parts if part)
    return f"{said}   [{limit.basis}; {limit.source}]"
