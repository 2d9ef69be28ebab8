"""The national daily station file in fixed width (.dly): a line a month and element.

Station 1-11, year 12-15, month 16-17, element 18-21, then 31 times a value of 5 characters and the
flags of measurement, quality and source. Temperature in tenths of C, rain in tenths of mm
(Global Historical Climatology Network Daily, its readme, section III).
"""

import re
from pathlib import Path

import numpy as np
import pandas as pd

from layers.weather.daily_csv import flagged_note
from layers.weather.dates import days_from
from layers.weather.readings import MISSING, Layout, Readings, refuse, station_table

_ELEMENTS = {"TMAX": "tmax", "TMIN": "tmin", "PRCP": "precip"}
_LINE = re.compile(r"[A-Z0-9_-]{11}\d{4}(?:0[1-9]|1[0-2])[A-Z]{2}[A-Z0-9]{2}[ \d-]{5}")
_HEAD, _CELL, _DAYS = 21, 8, 31
# The last day's three flags may be blanks that an editor took away.
_LEAST = _HEAD + _CELL * _DAYS - 3
_FAULTS_SHOWN = 5


def _matches(text: str) -> bool:
    return _LINE.match(text.lstrip("\n")) is not None


def _read(text: str, path: Path) -> Readings:
    faults: list[str] = []
    cells: list[tuple[str, int, int, int, int, str, float, bool]] = []
    for number, line in enumerate(text.split("\n"), 1):
        line = line.rstrip("\x1a")
        if not line.strip():
            continue
        if not _LINE.match(line) or len(line) < _LEAST:
            faults.append(
                f"line {number} has {len(line)} characters, or does not begin with station, year, "
                f"month and element: {line[:30]!r}"
            )
            continue
        measure = _ELEMENTS.get(line[17:21])
        if measure is not None:
            cells += _cells(line.ljust(_HEAD + _CELL * _DAYS), number, measure, faults)
    shown = faults[:_FAULTS_SHOWN]
    if len(faults) > len(shown):
        shown.append(f"and {len(faults) - len(shown)} more lines")
    expected = (
        f"Expected {_HEAD + _CELL * _DAYS} characters a line, a station's month of one element. "
        "The file may be cut short: copy it again."
    )
    refuse(path, shown, expected)
    if not cells:
        refuse(path, ["no line of TMAX, TMIN or PRCP is in it"], expected)
    names = ["station", "row", "year", "month", "day", "measure", "value", "flagged"]
    table = pd.DataFrame(cells, columns=names)
    table["date"] = days_from(table["year"], table["month"], table["day"])
    none_such = table["date"].isna()
    if none_such.any():
        rows = ", ".join(f"line {row}" for row in table.loc[none_such, "row"].unique()[:5])
        refuse(path, [f"values stand on days that the month does not have: {rows}"], expected)
    failed = table[table["flagged"]].groupby("measure").size()
    element = {measure: name for name, measure in _ELEMENTS.items()}
    counts = [f"{count} of {element[str(measure)]}" for measure, count in failed.items()]
    table["value"] = table["value"].mask(table["flagged"])
    # An element that a day has twice makes a second row, so that a conflict is seen.
    keys = ["station", "date"]
    table["copy"] = table.groupby([*keys, "measure"]).cumcount()
    by_day = table.groupby([*keys, "copy"])
    days = by_day["row"].first().to_frame()
    for measure in element:
        days[measure] = table[table["measure"] == measure].set_index([*keys, "copy"])["value"]
    days = days.reset_index().drop(columns="copy")
    days["solar"] = np.nan
    stations = [
        station_table(s, None, np.nan, np.nan, np.nan) for s in sorted(table["station"].unique())
    ]
    return Readings(
        layout="daily station file (fixed width)",
        days=days,
        stations=pd.concat(stations, ignore_index=True),
        temperature_unit="tenths_c",
        precip_unit="tenths_mm",
        one_system=True,
        columns={measure: element[measure] for measure in element},
        notes=tuple(flagged_note(path, counts)),
    )


def _cells(
    line: str, number: int, measure: str, faults: list[str]
) -> list[tuple[str, int, int, int, int, str, float, bool]]:
    station, year, month = line[:11], int(line[11:15]), int(line[15:17])
    found = []
    for day in range(1, _DAYS + 1):
        at = _HEAD + _CELL * (day - 1)
        text, flag = line[at : at + 5].strip(), line[at + 6].strip()
        if not text:
            continue
        if not re.fullmatch(r"-?[0-9]+", text):
            faults.append(f"line {number}, day {day}: no number in {text!r}")
            continue
        if float(text) not in MISSING:
            found.append((station, number, year, month, day, measure, float(text), bool(flag)))
    return found


FIXED_WIDTH = Layout("a fixed-width station file (.dly)", _matches, _read)
