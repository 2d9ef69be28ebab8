"""``suitability crop NAME``: every limit of a crop with its unit, basis and source."""

from itertools import groupby
from typing import TYPE_CHECKING

import click

from maps.words import languages

if TYPE_CHECKING:
    from maps.words import Words
    from suitability.crop import Crop, Limit


@click.command()
@click.argument("name")
@click.option(
    "--lang", "language", default="en", type=click.Choice(languages()), help="To read in."
)
def crop(name: str, language: str) -> None:
    """Print every limit of the crop NAME with unit, basis and source."""
    from maps.words import load_words
    from suitability.crop import load_crop

    _print(load_crop(name), load_words(language))


def _print(crop: "Crop", words: "Words") -> None:
    click.echo(f"{crop.name} ({crop.scientific_name})")
    click.echo(words("crop_file.classes"))
    click.echo(f"{words('crop_file.basis')}\n")
    for quality, limits in groupby(crop.limits, key=lambda limit: limit.quality):
        click.echo(f"[{quality}]")
        for factor, own in groupby(limits, key=lambda limit: limit.factor):
            if words.has(f"factor_name.{factor}"):
                click.echo(f"  {words(f'factor_name.{factor}')}:")
            for limit in own:
                click.echo(f"  {_line(limit, words)}")
        click.echo()
    for heading in ("worst", "survey_worst", "care_from"):
        rule = getattr(crop, heading)
        told = ", ".join(f"{name} {klass}" for name, klass in rule.items())
        click.echo(f"{words(f'crop_file.{heading}')}: {told or words('crop_file.no_rule')}")
    from maps.spoken_notes import told_source

    click.echo(f"\n[{words('crop_file.sources')}]")
    for key, source in crop.sources.items():
        click.echo(f"  {key}: {told_source(source, words.language)}")


def _line(limit: "Limit", words: "Words") -> str:
    if isinstance(limit.value, tuple):
        value = ", ".join(words.term(term) for term in limit.value)
    else:
        value = f"{limit.value:g}"
    side = words(f"crop_file.{limit.side}") if limit.side != "=" else "="
    said = " ".join(p for p in (limit.level, limit.factor, side, value, limit.unit) if p)
    return f"{said}   [{words(f'report.basis.{limit.basis}')}; {limit.source}]"
