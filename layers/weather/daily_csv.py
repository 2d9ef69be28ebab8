"""The national daily station file as CSV: STATION, DATE, PRCP, TMAX, TMIN, and no unit anywhere."""

from pathlib import Path

import pandas as pd

from layers.text_table import table_from_text
from layers.weather.readings import LAYER, Layout, Readings
from layers.weather.table_layout import days_of, stations_of
from suitability.errors import InputError
from suitability.notes import Note

_MEASURES = {"tmax": "TMAX", "tmin": "TMIN", "precip": "PRCP"}


def _matches(text: str) -> bool:
    header = {name.strip().strip('"').upper() for name in _cells(text.split("\n", 1)[0])}
    return {"STATION", "DATE"} <= header and bool(header & set(_MEASURES.values()))


def _cells(line: str) -> list[str]:
    for delimiter in ";\t|":
        line = line.replace(delimiter, ",")
    return line.split(",")


def _read(text: str, path: Path) -> Readings:
    table, notes = table_from_text(text, path, layer=LAYER)
    upper = {str(name).upper(): str(name) for name in table.columns}
    if len(upper) < len(table.columns):
        raise InputError(
            f"{path}: column names stand twice, in capitals and in small letters. Expected each "
            "name once. Rename or remove one of each."
        )
    table = table.rename(columns={own: name for name, own in upper.items()})
    measures = {m: column for m, column in _MEASURES.items() if column in table.columns}
    days, more = days_of(table, measures, path, first_row=2)
    stations, about_places = stations_of(table, days, path)
    days, flagged = _without_flagged(days, table, measures, path)
    return Readings(
        layout="daily station file (CSV)",
        days=days,
        stations=stations,
        one_system=True,
        columns=measures,
        notes=(*notes, *more, *about_places, *flagged),
    )


def _without_flagged(
    days: pd.DataFrame, table: pd.DataFrame, measures: dict[str, str], path: Path
) -> tuple[pd.DataFrame, list[Note]]:
    """Mask what failed the publisher's own checks: the second of the comma-parted attributes."""
    counts = []
    days = days.copy()
    for measure, column in measures.items():
        attributes = table.get(f"{column}_ATTRIBUTES")
        if attributes is None:
            continue
        flag = attributes.fillna("").str.split(",").str.get(1).fillna("").str.strip()
        failed = (flag != "") & days[measure].notna()
        days[measure] = days[measure].mask(failed)
        if failed.any():
            counts.append(f"{int(failed.sum())} of {column}")
    return days, flagged_note(path, counts)


def flagged_note(path: Path, counts: list[str]) -> list[Note]:
    """Note of values that bear a quality flag."""
    if not counts:
        return []
    text = f"{path.name}: values that failed the publisher's own checks were left out: "
    return [Note(LAYER, "warning", f"{text}{', '.join(counts)}.")]


DAILY_CSV = Layout(
    "a daily station file (CSV with STATION, DATE, PRCP, TMAX, TMIN)", _matches, _read
)
