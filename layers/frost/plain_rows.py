"""Freeze dates in a table of anyone's making: a row a date, its columns named as ours.

Columns: ``event``, ``threshold_f`` or ``threshold_c``, ``prob_pct``, ``date`` (or ``season_d`` for
a season), and where there are more stations or fields ``field_id`` or ``station`` with ``lat`` and
``lon``; ``freeze_years_in_ten`` and ``n_years`` may be there. The word ``none`` as a date means
that no freeze comes by then; an empty one is not known.
"""

import math
from pathlib import Path
from typing import Any

import pandas as pd

from layers.files import table_from_text
from layers.frost.dates import month_day
from layers.frost.stated import LAYER, Stated, what_it_is
from layers.frost.station_rows import StationRows, station_table
from suitability.columns import FROST_EVENTS
from suitability.errors import InputError, listed
from suitability.freeze_odds import threshold_of_f

NAME = "table of freeze dates"
COLUMNS = "event, threshold_f or threshold_c, prob_pct, date (season_d for a season)"
_MOST_SHOWN = 10
_NUMBERS = {  # column, ours, bounds, unit
    "season_d": ("season_d", 0, 366, "days"),
    "lat": ("lat_deg", -90, 90, "degrees"),
    "lon": ("lon_deg", -180, 180, "degrees"),
    "elevation_m": ("elevation_m", -450, 6000, "m"),
    "freeze_years_in_ten": ("freeze_years_in_ten", 0, 10, "years in ten"),
    "n_years": ("n_years", 1, 300, "years"),
}


def recognises(text: str) -> bool:
    """Whether the first row names a date and one of the things that say which."""
    first = text.split("\n", 1)[0].lower()
    return ("date" in first or "season_d" in first) and any(
        word in first for word in ("event", "threshold", "prob_pct")
    )


def read(text: str, source: Path, stated: Stated) -> StationRows:
    """Dates of every row.

    Raises
    ------
    InputError : columns lacking or values that cannot be, all told at once.
    """
    table, notes = table_from_text(text, source, layer=LAYER)
    rows = rows_of(table, source, stated)
    return StationRows(station_table([row for row in rows if row]), notes)


def rows_of(table: pd.DataFrame, source: Path, stated: Stated) -> list[dict[str, Any]]:
    """For each row of a table its columns of FROST and its place; empty where nothing is known."""
    table = table.rename(columns={c: str(c).strip().lower() for c in table.columns})
    table = table.loc[:, ~table.columns.duplicated()]
    threshold = next((c for c in ("threshold_f", "threshold_c") if c in table), None)
    lacking = tuple(
        key
        for key, there in (
            ("event", "event" in table),
            ("threshold_c", threshold is not None),
            ("prob_pct", "prob_pct" in table),
        )
        if not there
    )
    if not {"date", "season_d", "date_from", "date_to"} & set(table.columns):
        raise InputError(
            f"{source} has no column 'date' or 'season_d'; it has {', '.join(table.columns)}. "
            f"Expected {COLUMNS}. Rename its columns."
        )
    defaults = what_it_is(source, stated, needed=lacking) if lacking else {}
    rows = []
    faults: list[str] = []
    for number, (_, raw) in enumerate(table.iterrows(), 2):
        row, bad = _row(raw, threshold, defaults)
        faults.extend(f"row {number}: {fault}" for fault in bad)
        rows.append(row | {"source": source.name} if row else {})
    if faults:
        more = [f"and {len(faults) - _MOST_SHOWN} more"] if len(faults) > _MOST_SHOWN else []
        remedy = f"Expected columns {COLUMNS}. Mend these values."
        raise InputError(listed(f"{source} cannot be used", faults[:_MOST_SHOWN] + more, remedy))
    return rows


def _row(
    raw: "pd.Series[Any]", threshold: str | None, defaults: dict[str, Any]
) -> tuple[dict[str, Any], list[str]]:
    row: dict[str, Any] = dict(defaults)
    faults: list[str] = []
    if "event" not in row:
        row["event"] = str(_text(raw, "event") or "").lower()
        if row["event"] not in FROST_EVENTS:
            faults.append(f"event {row['event']!r} is not one of {', '.join(FROST_EVENTS)}")
    if threshold is not None:
        value = _number(raw, threshold, *((-5, 50) if threshold == "threshold_f" else (-20, 10)))
        if isinstance(value, str) or value is None:
            unit = "degrees F" if threshold == "threshold_f" else "degrees C"
            faults.append(f"{value or f'{threshold} is empty, expected'} {unit}")
        else:
            row["threshold_c"] = threshold_of_f(value) if threshold == "threshold_f" else value
    if "prob_pct" not in row:
        value = _number(raw, "prob_pct", 1, 99)
        if isinstance(value, str) or value is None:
            faults.append(f"{value or 'prob_pct is empty, expected'} per cent; is it a fraction?")
        else:
            row["prob_pct"] = value
    for column, (ours, low, high, unit) in _NUMBERS.items():
        value = _number(raw, column, low, high)
        if isinstance(value, str):
            faults.append(f"{value} {unit}")
        elif value is not None:
            row[ours] = value
    for column in ("station", "field_id", "name"):
        row[column] = _text(raw, column)
    if row["station"] is None and "lat_deg" in row and "lon_deg" in row:
        row["station"] = f"{row['lat_deg']:g} {row['lon_deg']:g}"
    if row["event"] == "season":
        known = "season_d" in row
    else:
        row.pop("season_d", None)
        known, fault = _dated(raw, row)
        faults.extend(fault)
    return (row if known and not faults else {}), faults


def _dated(raw: "pd.Series[Any]", row: dict[str, Any]) -> tuple[bool, list[str]]:
    """Put the date in; of a zone of dates its end on the safe side."""
    column = "date"
    if _text(raw, "date") is None:
        column = "date_to" if row["event"] == "last_spring" else "date_from"
    text = _text(raw, column)
    if text is None:
        return False, []
    if text.lower() == "none":
        row["date_mmdd"] = None
        return True, []
    try:
        row["date_mmdd"] = month_day(text)
    except ValueError as error:
        return False, [f"{column}: {error}"]
    return True, []


def _text(raw: "pd.Series[Any]", column: str) -> str | None:
    value = raw.get(column)
    if isinstance(value, pd.Timestamp):
        return str(value.strftime("%Y-%m-%d"))
    if value is None or (not isinstance(value, str) and pd.isna(value)):
        return None
    if isinstance(value, float) and value.is_integer():
        value = int(value)
    return str(value).strip() or None


def _number(raw: "pd.Series[Any]", column: str, low: float, high: float) -> float | str | None:
    """The number, None where empty, or a fault that ends before its unit."""
    text = _text(raw, column)
    if text is None:
        return None
    try:
        value = float(text)
    except ValueError:
        value = math.nan
    if not low <= value <= high:
        return f"{column} is {text[:40]!r}, expected {low:g} to {high:g}"
    return value
