"""``suitability check CONFIG``: what the farm's files hold and lack; nothing is scored."""

from pathlib import Path
from typing import Literal

import click


@click.command()
@click.argument("config", type=click.Path(path_type=Path))
@click.option(
    "--units",
    type=click.Choice(["us", "metric"]),
    help="Units to read in; the farm file's own if not given.",
)
def check(config: Path, units: Literal["us", "metric"] | None) -> None:
    """Read every file of CONFIG and tell what each covers, lacks and is worth.

    Scores nothing and writes nothing. CONFIG is a farm file, or only a boundary file.
    """
    from maps.cli import harmless
    from maps.farm_file import farm_file_for
    from maps.layer_remarks import layer_remarks
    from maps.layers_read import read_layers
    from maps.legend import Legend

    farm = farm_file_for(config)
    if units is not None:
        farm = farm.with_units(units)
    read = read_layers(farm, lambda step: click.echo(step, err=True))
    click.echo(harmless(farm.title))
    for remarks in layer_remarks(farm, read, Legend(farm.farm.units)):
        click.echo()
        click.echo(harmless(" ".join([remarks.layer.upper(), *remarks.files])))
        for line in remarks.lines:
            click.echo(harmless(f"  {line}"))
        for note in remarks.notes:
            click.echo(harmless(f"  {note.level}: {note.text}"))
    click.echo()
    click.echo("Nothing was scored. 'suitability run' judges the fields.")
