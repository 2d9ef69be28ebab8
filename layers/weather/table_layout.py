"""Columns of a weather table turned into readings: days, measures, stations and where they lie."""

from collections.abc import Mapping
from pathlib import Path

import numpy as np
import pandas as pd

from layers.weather.dates import dates_of, days_from, days_of_year
from layers.weather.readings import LAYER, MEASURED, PLACE, number_column, refuse
from suitability.errors import InputError
from suitability.notes import Note

_STATION = ("station", "station_id", "stationid", "id", "weather_id", "site")
_NAME = ("name", "station_name")
_PLACE = {
    "lat_deg": ("latitude", "lat", "lat_deg"),
    "lon_deg": ("longitude", "lon", "long", "lng", "lon_deg"),
    "elevation_m": ("elevation", "elev", "elevation_m", "elev_m", "altitude"),
}
_DATE = ("date", "day_date", "datetime", "time", "yyyymmdd")
_YEAR, _MONTH, _DAY = ("year", "yr"), ("month", "mo"), ("day", "dy", "dom")
_DOY = ("yday", "doy", "jday", "day_of_year")
# A station moves at times, but not by this much.
_MOVED_DEG = 0.1


def column_of(table: pd.DataFrame, names: tuple[str, ...]) -> str | None:
    """Column that bears one of the names, in capitals or not."""
    return next(
        (c for c in table.columns if str(c).strip().lower().replace(" ", "_") in names), None
    )


def has_days(columns: list[str]) -> bool:
    """Whether a header names a date, or a year with a month and day or a day of the year."""
    names = {c.strip().lower().replace(" ", "_") for c in columns}
    dated = bool(names & set(_DATE))
    parted = bool(names & set(_MONTH)) and bool(names & set(_DAY))
    return dated or (bool(names & set(_YEAR)) and (parted or bool(names & set(_DOY))))


def days_of(
    table: pd.DataFrame, measures: Mapping[str, str], path: Path, first_row: int
) -> tuple[pd.DataFrame, list[Note]]:
    """The ``days`` of readings out of a table of text.

    Parameters
    ----------
    table : text columns as read.
    measures : measure -> its column; the others stay NaN.
    first_row : line of the file in which the table's first row stands.

    Raises
    ------
    InputError : no number where one was expected, no day, no station in a row.
    """
    if table.empty:
        raise InputError(f"{path} holds a header but no day. Expected one row a day.")
    rows = pd.Series(np.arange(len(table)) + first_row, index=table.index)
    dates, notes = _dates(table, path, rows)
    days = pd.DataFrame({"station": _stations_of(table, path, rows), "row": rows, "date": dates})
    faults: list[str] = []
    for measure in MEASURED:
        column = measures.get(measure)
        days[measure] = (
            np.nan
            if column is None
            else number_column(table[column], column, faults, rows=rows, trace=measure == "precip")
        )
    refuse(path, faults, "Expected a number, or nothing where none was measured. Mend these rows.")
    return days, notes


def stations_of(
    table: pd.DataFrame, days: pd.DataFrame, path: Path
) -> tuple[pd.DataFrame, list[Note]]:
    """The ``stations`` of readings: of values that change, the last one stated counts."""
    faults: list[str] = []
    known = pd.DataFrame({"station": days["station"]})
    name = column_of(table, _NAME)
    known["name"] = None if name is None else table[name]
    for wanted, names in _PLACE.items():
        column = column_of(table, names)
        known[wanted] = (
            np.nan
            if column is None
            else number_column(table[column], column, faults, rows=days["row"])
        )
    refuse(path, faults, "Expected degrees and metres, or nothing. Mend these rows.")
    by_station = known.groupby("station", sort=True)
    stations = by_station.last().reset_index()
    stations["name"] = stations["name"].astype(object)
    notes = []
    degrees = by_station[list(PLACE[:2])]
    spread = (degrees.max() - degrees.min()).max(axis=1)
    for station in spread.index[spread > _MOVED_DEG]:
        text = (
            f"{path.name}: station {station} is given at places up to {spread[station]:.2f} "
            "degrees apart; the last one was taken."
        )
        notes.append(Note(LAYER, "caution", text))
    return stations, notes


def _dates(table: pd.DataFrame, path: Path, rows: pd.Series) -> tuple[pd.Series, list[Note]]:
    column = column_of(table, _DATE)
    if column is not None:
        return dates_of(table[column], column, path, rows)
    faults: list[str] = []
    number = {}
    for key, names in (("year", _YEAR), ("month", _MONTH), ("day", _DAY), ("doy", _DOY)):
        found = column_of(table, names)
        if found is not None:
            number[key] = number_column(table[found], found, faults, rows=rows)
    if "doy" in number:
        dates = days_of_year(number["year"], number["doy"])
    else:
        dates = days_from(number["year"], number["month"], number["day"])
    odd = dates.isna()
    if odd.any() and not faults:
        first = ", ".join(f"row {row}" for row in rows[odd].head(5))
        faults.append(f"{int(odd.sum())} rows name a day that is none: {first}")
    refuse(path, faults, "Expected year, month and day, or year and day of the year. Mend them.")
    return dates, []


def _stations_of(table: pd.DataFrame, path: Path, rows: pd.Series) -> pd.Series:
    column = column_of(table, _STATION)
    if column is None:
        return pd.Series(path.stem, index=table.index, dtype=object)
    missing = table[column].isna()
    if missing.any():
        first = ", ".join(f"row {row}" for row in rows[missing].head(5))
        raise InputError(
            f"{path}: column {column} is empty in {int(missing.sum())} rows: {first}. Expected the "
            "station of each day. Fill or remove these rows."
        )
    return table[column].astype(object)
