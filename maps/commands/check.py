"""``suitability check CONFIG``: what the farm's files hold and lack; nothing is scored."""

from pathlib import Path
from typing import Literal

import click

from maps.commands.reading import farm_to_read, in_language, in_units


@click.command()
@click.argument("config", type=click.Path(path_type=Path))
@in_units
@in_language
def check(config: Path, units: Literal["us", "metric"] | None, language: str | None) -> None:
    """Read every file of CONFIG and tell what each covers, lacks and is worth.

    Scores nothing and writes nothing. CONFIG is a farm file, or only a boundary file.
    """
    from maps.cli import harmless
    from maps.layer_remarks import layer_remarks
    from maps.layers_read import read_layers
    from maps.legend import Legend
    from maps.spoken_notes import spoken
    from maps.words import load_words

    farm = farm_to_read(config, units, language)
    words = load_words(farm.farm.language)
    read = read_layers(
        farm, lambda step: click.echo(spoken(step, words.language, "step"), err=True)
    )
    click.echo(harmless(farm.title))
    for remarks in layer_remarks(farm, read, Legend(farm.farm.units, words.language)):
        click.echo()
        key = f"check.layer.{remarks.layer.replace(' ', '_')}"
        layer = words(key) if words.has(key) else remarks.layer
        click.echo(harmless(" ".join([layer.upper(), *remarks.files])))
        for line in remarks.lines:
            click.echo(harmless(f"  {line}"))
        for note in remarks.notes:
            level = words(f"check.level.{note.level}")
            click.echo(harmless(f"  {level}: {spoken(note.text, words.language)}"))
    click.echo()
    click.echo(words("check.none_scored"))
