"""The annual and seasonal climate normals as CSV, of either period: a row a station."""

import re
from pathlib import Path
from typing import Any

import pandas as pd

from layers.files import table_from_text
from layers.frost import codes
from layers.frost.dates import month_day
from layers.frost.occurrence import occurrence_pct
from layers.frost.stated import LAYER, Stated, element_of
from layers.frost.station_rows import StationRows, station_table
from suitability.errors import InputError, listed
from suitability.freeze_odds import threshold_of_f
from suitability.notes import Note

NAME = "annual climate normals"
_DATES = re.compile(r"(?:ANN-)?TMIN-PRB(?:LST|FST|GSL)-T\d{1,2}FP\d{2}", re.IGNORECASE)
_OCCURS = re.compile(r"(?:ANN-)?TMIN-PRBOCC-LSTH(\d{3})", re.IGNORECASE)
_STATION = {
    "station": "STATION",
    "name": "NAME",
    "lat_deg": "LATITUDE",
    "lon_deg": "LONGITUDE",
    "elevation_m": "ELEVATION",
}
_RANGES = {"lat_deg": (-90, 90), "lon_deg": (-180, 180), "elevation_m": (-450, 6000)}
_ATTRIBUTES, _FLAGS = "_ATTRIBUTES", "comp_flag_"


def recognises(text: str) -> bool:
    """Whether the first row names freeze dates as the normals do."""
    return bool(re.search(r"TMIN-PRB(LST|FST|GSL)-T\d", text.split("\n", 1)[0], re.IGNORECASE))


def read(text: str, source: Path, stated: Stated) -> StationRows:
    """Freeze dates of every station in the file.

    Values may be padded; columns come in any order. A date withheld because too few years freeze
    is an empty date where the odds of any freeze in a year are below its own; else it is missing.

    Raises
    ------
    InputError : values that are no date, no number or no percentage, all told at once.
    """
    table, notes = table_from_text(text, source, layer=LAYER)
    columns = [c for c in table if _DATES.fullmatch(str(c)) and element_of(str(c))]
    faults: list[str] = []
    rows: list[dict[str, Any]] = []
    flags: set[str] = set()
    year_round: set[str] = set()
    for number, (_, raw) in enumerate(table.iterrows(), 2):
        place, bad = _place(raw)
        faults.extend(f"row {number}: {fault}" for fault in bad)
        dates, bad = _dates(raw, columns, year_round)
        faults.extend(f"row {number}: {fault}" for fault in bad)
        at_all, more = _occurs(raw, dates, source)
        notes.extend(more)
        flags |= {_flag(raw, c) for c in columns}
        rows.extend(
            {**place, **_settled(row, at_all), "source": source.name}
            for row in dates
            if _kept(row, at_all)
        )
    if "STATION" in table and table["STATION"].duplicated().any():
        faults.append("a station stands in more than one row; expected one row a station")
    if faults:
        remedy = "Download the file again; it must not be edited by hand or in a spreadsheet."
        raise InputError(listed(f"{source} cannot be used", faults[:12], remedy))
    return StationRows(station_table(rows), [*notes, *_notes(flags, year_round, source)])


def _place(raw: "pd.Series[str]") -> tuple[dict[str, Any], list[str]]:
    place: dict[str, Any] = {}
    faults = []
    for ours, theirs in _STATION.items():
        value = raw.get(theirs)
        if not isinstance(value, str):
            place[ours] = None
        elif ours in _RANGES:
            place[ours] = _number(value)
            low, high = _RANGES[ours]
            if ours == "elevation_m" and value.startswith("-999"):
                place[ours] = None
            elif place[ours] is None or not low <= float(value) <= high:
                faults.append(f"{theirs} is {value!r}, expected {low} to {high}")
        else:
            place[ours] = value
    return place, faults


def _dates(
    raw: "pd.Series[str]", columns: list[str], year_round: set[str]
) -> tuple[list[dict[str, Any]], list[str]]:
    """Rows with the special value, if any, still beside them under ``code``."""
    rows: list[dict[str, Any]] = []
    faults = []
    for column in columns:
        element = element_of(column)
        value = raw[column]
        if element is None or not isinstance(value, str):
            continue
        event, threshold_c, prob_pct = element
        code = codes.code_of(value)
        row: dict[str, Any] = {
            "event": event,
            "threshold_c": threshold_c,
            "prob_pct": prob_pct,
            "date_mmdd": None,
            "season_d": float("nan"),
            "n_years": _number(raw.get(f"years_{column}")) or float("nan"),
            "code": code,
        }
        if code == codes.YEAR_ROUND:
            year_round.add(f"{threshold_c:g} C")
        elif event == "season" and code in (None, codes.ROUNDS_TO_ZERO):
            days = 0.0 if code else _number(value)
            if days is None or not 0 <= days <= 366:
                faults.append(f"{column} is {value!r}, expected 0 to 366 days")
            else:
                row["season_d"] = days
        elif code is None:
            try:
                row["date_mmdd"] = month_day(value)
            except ValueError as error:
                faults.append(f"{column}: {error}")
        rows.append(row)
    return rows, faults


def _occurs(
    raw: "pd.Series[str]", dates: list[dict[str, Any]], source: Path
) -> tuple[dict[float, float], list[Note]]:
    """Years in ten with any such freeze, by threshold."""
    texts = {
        threshold_of_f(int(match[1])): value
        for column, value in raw.items()
        if (match := _OCCURS.fullmatch(str(column))) and isinstance(value, str)
    }
    reached: dict[float, float] = {}
    for row in dates:
        if row["date_mmdd"] is not None:
            key = row["threshold_c"]
            reached[key] = max(reached.get(key, 0.0), row["prob_pct"])
    layout = ""
    if any(str(c).endswith(_ATTRIBUTES) for c in raw.index):
        layout = "tenths"
    elif any(str(c).startswith(_FLAGS) for c in raw.index):
        layout = "percent"
    pct, note = occurrence_pct(texts, reached, layout, source)
    return {threshold: value / 10 for threshold, value in pct.items()}, note


def _kept(row: dict[str, Any], at_all: dict[float, float]) -> bool:
    if row["code"] is None or row["season_d"] == 0:
        return True
    years = at_all.get(row["threshold_c"])
    lacking = years is not None and 10 * years < _asked_pct(row)
    return row["code"] in codes.NO_FREEZE and lacking


def _asked_pct(row: dict[str, Any]) -> float:
    """Share of years with a freeze that a value needs: of a season, the years that end it."""
    prob: float = row["prob_pct"]
    return 100 - prob if row["event"] == "season" else prob


def _settled(row: dict[str, Any], at_all: dict[float, float]) -> dict[str, Any]:
    settled = {key: value for key, value in row.items() if key != "code"}
    return settled | {"freeze_years_in_ten": at_all.get(row["threshold_c"])}


def _flag(raw: "pd.Series[str]", column: str) -> str:
    value = raw.get(f"{column}{_ATTRIBUTES}", raw.get(f"{_FLAGS}{column}"))
    return value.replace(",", "").strip()[:1].upper() if isinstance(value, str) else ""


def _number(text: object) -> float | None:
    try:
        value = float(text) if isinstance(text, str) else None
    except ValueError:
        return None
    return value if value is not None and value == value and abs(value) < 1e9 else None


def _notes(flags: set[str], year_round: set[str], source: Path) -> list[Note]:
    notes = []
    words, weak = codes.completeness_words(flags)
    if words:
        text = f"{source.name}: the record behind the freeze dates is {words}."
        notes.append(Note(LAYER, "caution" if weak else "info", text))
    if year_round:
        text = (
            f"{source.name} says that it can freeze all year round at "
            f"{', '.join(sorted(year_round))}: there is no last or first freeze."
        )
        notes.append(Note(LAYER, "warning", text))
    return notes
