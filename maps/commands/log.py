"""``suitability log CONFIG WHAT``: keep what was done and seen in a field."""

from datetime import date, datetime
from pathlib import Path
from typing import TYPE_CHECKING

import click

if TYPE_CHECKING:
    from layers.field_log import Entry

# The names of the kinds stand in layers.field_log, which is loaded only when something is logged.
_ABOUT = """Keep what was done and seen, one line each, in field_log.csv beside CONFIG.

WHAT is sown, emerged, soil-temperature, stand, height, wet-spot, cut-weight or grazing-days;
without it the log is printed. VALUE comes with its UNIT, such as 66 F, 8 plants/ft2 or 2.5 ft.
"""


@click.command(help=_ABOUT)
@click.argument("config", type=click.Path(path_type=Path))
@click.argument("what", required=False)
@click.argument("value", required=False, type=float)
@click.argument("unit", required=False, default="")
@click.option("--field", "field_id", metavar="ID", help="The field, by its id.")
@click.option("--on", "day", metavar="YYYY-MM-DD", help="The day; today if not given.")
@click.option("--at", type=(float, float), metavar="LAT LON", help="The place, in degrees.")
@click.option("--note", default="", help="Anything more, in your words.")
def log(
    config: Path,
    what: str | None,
    value: float | None,
    unit: str,
    field_id: str | None,
    day: str | None,
    at: tuple[float, float] | None,
    note: str,
) -> None:
    """Append one line, or print the log; see ``_ABOUT``."""
    from layers.areas import distance_text
    from layers.field_log import FILE_NAME, Entry, append, check_entry
    from maps.cli import harmless
    from maps.farm_file import farm_file_for
    from suitability.errors import InputError, listed

    farm = farm_file_for(config)
    path = farm.path.parent / FILE_NAME
    if what is None:
        _print(path)
        return
    if field_id is None:
        raise InputError("Nothing was logged: name the field, such as --field 7.")
    entry = Entry(
        date.today() if day is None else _day(day),
        field_id,
        what,
        value,
        unit,
        None if at is None else at[0],
        None if at is None else at[1],
        note,
    )
    check_entry(entry, date.today())
    from maps.layers_read import fields_of

    fields = fields_of(farm)
    there = fields["field_id"]
    if field_id not in set(there):
        remedy = f"The ids are: {', '.join(there.head(20))}."
        raise InputError(listed("Nothing was logged", [f"there is no field {field_id!r}"], remedy))
    if at is not None:
        from layers.log_places import REACH_M, away_m

        away = away_m(*at, fields, field_id)
        if away > REACH_M:
            told = distance_text(away / 1000, away / 1000)
            fault = f"{at[0]:g} {at[1]:g} lies {told} from field {field_id}"
            remedy = "Give latitude, then longitude in degrees (west is minus), or another field."
            raise InputError(listed("Nothing was logged", [fault], remedy))
    append(path, entry)
    click.echo(harmless(f"Logged in {path}: {_told(entry)}"))


def _day(text: str) -> date:
    from suitability.errors import InputError

    try:
        return datetime.strptime(text, "%Y-%m-%d").date()
    except ValueError:
        raise InputError(
            f"Nothing was logged: --on must be a date, YYYY-MM-DD, got {text!r}."
        ) from None


def _told(entry: "Entry") -> str:
    value = "" if entry.value is None else f" {entry.value:g} {entry.unit}"
    return f"{entry.day} field {entry.field_id}: {entry.what}{value}"


def _print(path: Path) -> None:
    from layers.field_log import read_log
    from maps.cli import harmless

    table = read_log(path)
    if not len(table):
        click.echo(harmless(f"{path} holds nothing yet."))
    for row in table.itertuples(index=False):
        value = "" if row.value != row.value else f" {row.value:g} {row.unit}"
        place = "" if row.lat_deg != row.lat_deg else f" at {row.lat_deg:g} {row.lon_deg:g}"
        note = f" ({row.note})" if row.note else ""
        click.echo(harmless(f"{row.day} field {row.field_id}: {row.what}{value}{place}{note}"))
