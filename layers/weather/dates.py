"""Which day a row of a weather file is about, however its date is written."""

import datetime as dt
import re
from pathlib import Path

import numpy as np
import pandas as pd

from layers.weather.readings import LAYER
from suitability.errors import InputError
from suitability.notes import Note

_MIDNIGHT = r"(?:[T ]0{1,2}:00(?::00(?:\.0+)?)?Z?)"
_YEAR_FIRST = re.compile(rf"(\d{{4}})[-/](\d{{1,2}})[-/](\d{{1,2}}){_MIDNIGHT}?")
_COMPACT = re.compile(r"(\d{4})(\d{2})(\d{2})")
_SLASHED = re.compile(rf"(\d{{1,2}})/(\d{{1,2}})/(\d{{4}}){_MIDNIGHT}?")
_DOTTED = re.compile(r"(\d{1,2})\.(\d{1,2})\.(\d{4})")
_MONTH_ONLY = re.compile(r"\d{4}[-/]\d{1,2}|\d{6}")
_TIMED = re.compile(r"\d{1,2}:\d{2}")
_ENDS_AT_MIDNIGHT = re.compile(f"{_MIDNIGHT}$")
# Where year, month and day stand in each.
_ORDERED = ((_YEAR_FIRST, (1, 2, 3)), (_COMPACT, (1, 2, 3)), (_DOTTED, (3, 2, 1)))
_BLANK = (np.nan,) * 5
_SHOWN = 5

# The oldest daily records of the kind read here begin in the 1850s.
FIRST_YEAR = 1850
# A few days that stand this far before all others are a slip (a spreadsheet's day 0 is 1900).
_ALONE_D, _ALONE_HOLE_D = 31, 20 * 365


def dates_of(
    texts: pd.Series, column: str, path: Path, rows: pd.Series
) -> tuple[pd.Series, list[Note]]:
    """Days out of texts: YYYY-MM-DD, YYYYMMDD, M/D/YYYY, D/M/YYYY where it cannot be M/D, D.M.YYYY.

    Raises
    ------
    InputError : months without day, times of day, dates that are none, and dates whose month and
        day cannot be told apart.
    """
    texts = texts.fillna("").map(str.strip)
    numbers = np.array([_numbers(text) for text in texts], dtype=float).reshape(-1, 5)
    year, month, day, first, second = (pd.Series(one, index=texts.index) for one in numbers.T)
    if year.isna().any():
        _refuse_other_times(texts, column, path)
    notes = _month_or_day(first, second, path, column)
    day_first = bool(notes)
    month = month.fillna(second if day_first else first)
    day = day.fillna(first if day_first else second)
    dates = days_from(year, month, day)
    odd = dates.isna()
    if odd.any():
        shown = ", ".join(f"row {rows[i]} {texts[i][:30]!r}" for i in texts.index[odd][:_SHOWN])
        more = int(odd.sum()) - min(int(odd.sum()), _SHOWN)
        raise InputError(
            f"{path}: column {column} holds what is no date: {shown}"
            f"{f' and {more} more' if more else ''}. Expected a day as YYYY-MM-DD or M/D/YYYY in "
            "each row. Mend or remove these rows."
        )
    return dates, notes


_DAILY = "Expected one row a day. Export the daily values of the station, not monthly or hourly."


def days_from(year: pd.Series, month: pd.Series, day: pd.Series) -> pd.Series:
    """Dates of year, month and day; NaT where there is no such day."""
    parts = pd.DataFrame({"year": year, "month": month, "day": day})
    whole = parts.notna().all(axis=1) & (parts % 1 == 0).all(axis=1)
    sane = whole & parts["year"].between(1, 9999)
    sane &= parts["month"].between(1, 12) & parts["day"].between(1, 31)
    dates = pd.Series(pd.NaT, index=parts.index, dtype="datetime64[s]")
    if sane.any():
        found = pd.to_datetime(parts[sane].astype(int), errors="coerce")
        dates[sane] = found.astype("datetime64[s]")
    return dates


def days_of_year(year: pd.Series, doy: pd.Series) -> pd.Series:
    """Dates of year and day of year, 1 = 1 January; NaT where there is no such day."""
    sane = year.between(1, 9999) & doy.between(1, 366) & (year % 1 == 0) & (doy % 1 == 0)
    ones = pd.Series(1.0, index=year.index)
    start = days_from(year.where(sane), ones, ones)
    dates = start + pd.to_timedelta(doy.where(sane) - 1, unit="D").astype("timedelta64[s]")
    return dates.where(dates.dt.year == start.dt.year)


def check_days(days: pd.DataFrame, path: Path, today: dt.date) -> None:
    """Refuse a file whose days cannot be those of a daily record.

    Parameters
    ----------
    days : ``station``, ``row``, ``date``. today : no measured day lies after it.

    Raises
    ------
    InputError : days in the future or before 1850; a few days that stand decades before all others;
        a record with a row a week or a month.
    """
    faults = []
    for off, words in (
        (days["date"] > pd.Timestamp(today), f"lie after today, {today}"),
        (days["date"].dt.year < FIRST_YEAR, f"lie before {FIRST_YEAR}"),
    ):
        if off.any():
            faults.append(f"{int(off.sum())} days {words}: {_examples(days[off])}")
    for station, own in days.groupby("station", sort=True):
        unique = own["date"].drop_duplicates().sort_values()
        step_d = unique.diff().dt.days.dropna()
        if len(step_d) and (step_d > 1).mean() > 0.5:
            faults.append(
                f"station {station}: most rows lie {step_d.median():.0f} days apart, so this is no "
                "daily record"
            )
            continue
        holes = step_d[step_d > _ALONE_HOLE_D]
        if len(holes) and (unique < unique[holes.index[0]]).sum() <= _ALONE_D < len(unique):
            early = own[own["date"] < unique[holes.index[0]]]
            faults.append(
                f"station {station}: {_examples(early)} stand {holes.iloc[0] / 365.25:.0f} years "
                "before all other days"
            )
    if faults:
        lines = "\n".join(f"  - {fault}" for fault in faults)
        raise InputError(
            f"{path} cannot be read as daily weather:\n{lines}\n"
            "Expected one row a day, dated YYYY-MM-DD. Mend or remove these rows."
        )


def _examples(days: pd.DataFrame) -> str:
    head = days.head(3)
    text = ", ".join(
        f"row {r} {d:%Y-%m-%d}" for r, d in zip(head["row"], head["date"], strict=True)
    )
    return text + (f" and {len(days) - 3} more" if len(days) > 3 else "")


def _numbers(text: str) -> tuple[float, ...]:
    """Year, month, day, and the first and second number where it is not told which is which."""
    for pattern, order in _ORDERED:
        if match := pattern.fullmatch(text):
            year, month, day = match.group(*order)
            return float(year), float(month), float(day), np.nan, np.nan
    if match := _SLASHED.fullmatch(text):
        return float(match[3]), np.nan, np.nan, float(match[1]), float(match[2])
    return _BLANK


def _refuse_other_times(texts: pd.Series, column: str, path: Path) -> None:
    """Refuse texts that stand for months or for times of a day."""
    if np.mean([_MONTH_ONLY.fullmatch(text) is not None for text in texts]) > 0.5:
        raise InputError(
            f"{path}: column {column} holds months ({texts.iloc[0]!r}), not days. {_DAILY}"
        )
    timed = (text for text in texts if _TIMED.search(text) and not _ENDS_AT_MIDNIGHT.search(text))
    shown = next(timed, None)
    if shown is not None:
        raise InputError(f"{path}: column {column} holds times of day ({shown[:30]!r}). {_DAILY}")


def _month_or_day(first: pd.Series, second: pd.Series, path: Path, column: str) -> list[Note]:
    """A Note where the day stands first; else the month does."""
    if not first.notna().any() or (second > 12).any():
        return []
    if not (first > 12).any():
        raise InputError(
            f"{path}: in column {column}, month and day cannot be told apart: no number over 12. "
            "Expected M/D/YYYY over whole months. Write the dates as YYYY-MM-DD."
        )
    said = f"{path.name}: dates were read as day/month/year, because the first number goes over 12."
    return [Note(LAYER, "caution", said)]
