"""``suitability now CONFIG --weather FILE``: how this season stands."""

from pathlib import Path
from typing import Literal

import click

from maps.commands.reading import READERS, farm_to_read, in_language, in_units


@click.command()
@click.argument("config", type=click.Path(path_type=Path))
@click.option(
    "--weather",
    "weather_files",
    required=True,
    multiple=True,
    metavar="FILE",
    type=click.Path(path_type=Path),
    help="This year's daily weather, from 1 January on; give it once for each file.",
)
@click.option(
    "--temperature-unit",
    type=click.Choice(["c", "f", "tenths_c"]),
    help="Where the file does not say.",
)
@click.option(
    "--precip-unit", type=click.Choice(["mm", "in", "tenths_mm"]), help="Where it does not say."
)
@in_units
@in_language
def now(
    config: Path,
    weather_files: tuple[Path, ...],
    temperature_unit: str | None,
    precip_unit: str | None,
    units: Literal["us", "metric"] | None,
    language: str | None,
) -> None:
    """Tell whether the soil of CONFIG's fields is warm, and whether there is still time to sow.

    This year so far is carried on by every past year; each field looks to the nearest station. What
    the field log says (sown, soil temperature, stand, height) takes the place of estimates.
    """
    from maps.second_process import second_process

    with second_process(READERS) as beside:
        from layers.weather.reader import WeatherSource
        from maps.cli import harmless
        from maps.legend import Legend
        from maps.season_lines import season_lines
        from maps.season_now import season_now
        from maps.spoken_notes import spoken
        from maps.words import load_words

        farm = farm_to_read(config, units, language)
        words = load_words(farm.farm.language)
        sources = [
            WeatherSource(file, temperature_unit=temperature_unit, precip_unit=precip_unit)
            for file in weather_files
        ]
        season = season_now(
            farm,
            sources,
            lambda step: click.echo(spoken(step, words.language, "step"), err=True),
            beside=beside,
        )
    for line in season_lines(season, words, Legend(farm.farm.units, words.language)):
        click.echo(harmless(line))
