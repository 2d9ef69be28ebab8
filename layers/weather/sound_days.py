"""One row a day, and no value that cannot be: days that stand twice are merged, slips masked.

The tests on temperature follow the published order of checks on daily station records (Durre,
Menne, Gleason, Houston and Vose 2010, J. Appl. Meteor. Climatol. 49:1615-1633; limits from
memory): zeros in pairs, values beyond what was ever measured, 9 deviations off the month, 25 C off
both neighbours, a low above the high, the same value for 20 days.
"""

from pathlib import Path

import numpy as np
import pandas as pd

from layers.weather.readings import LAYER, MEASURED
from suitability.columns import WEATHER
from suitability.errors import InputError
from suitability.notes import Note

VALUES = ("tmax_c", "tmin_c", "precip_mm", "solar_mj_m2_d")
_RANGE = {c.name: (c.low, c.high) for c in WEATHER}
# Two files of one station in different units differ by their rounding.
_SAME = {"tmax_c": 0.6, "tmin_c": 0.6, "precip_mm": 0.3, "solar_mj_m2_d": 0.1}
_MOST_IN_CONFLICT = 0.01  # judgement: more is no slip but two records under one name
_DEVIATIONS, _LEAST_DEVIATION_C, _LEAST_VALUES = 9.0, 1.5, 60
_JUMP_C = 25.0
_SAME_RUN_D = 20
_DRY_RECORD_D = 365
_WORD = {
    "tmax_c": "high",
    "tmin_c": "low",
    "precip_mm": "rain",
    "solar_mj_m2_d": "radiation",
}
_UNIT = {"tmax_c": " C", "tmin_c": " C", "precip_mm": " mm", "solar_mj_m2_d": " MJ/m2/d"}


def without_paired_zeros(days: pd.DataFrame, what: str) -> tuple[pd.DataFrame, list[Note]]:
    """Readings without highs and lows that are both 0 in the file's unit: zeros for missing."""
    both = (days["tmax"] == 0) & (days["tmin"] == 0)
    if not both.any():
        return days, []
    text = (
        f"{what}: high and low of {int(both.sum()):,} days are both 0 and were taken for missing "
        f"(first {days.loc[both, 'date'].iloc[0]:%Y-%m-%d})."
    )
    zeroed = days.assign(tmax=days["tmax"].mask(both), tmin=days["tmin"].mask(both))
    return zeroed, [Note(LAYER, "warning", text)]


def one_row_a_day(days: pd.DataFrame, what: str) -> tuple[pd.DataFrame, list[Note]]:
    """Merge rows of the same station and day.

    Rows that agree, or complete each other, are merged. Where they disagree nobody knows which is
    right: that value is masked and counted; more than 1 % of such days is an error.

    Parameters
    ----------
    days : ``station``, ``date``, ``row`` and the columns of ``VALUES``. what : for messages.
    """
    keys = [days["station"], days["date"]]
    twice = days.duplicated(["station", "date"])
    if not twice.any():
        return days, []
    grouped = days[list(VALUES)].groupby(keys, sort=False)
    first = grouped.first()
    conflict = (grouped.max() - grouped.min()) > pd.Series(_SAME)
    rows = days["row"].groupby(keys, sort=False).agg(["first", "count"])
    merged = first.mask(conflict).assign(row=rows["first"]).reset_index()
    torn = conflict.any(axis=1)
    n_torn, n_twice = int(torn.sum()), int((rows["count"] > 1).sum())
    examples = ", ".join(
        f"{station} {date:%Y-%m-%d} (row {rows.at[(station, date), 'first']})"
        for station, date in torn.index[torn][:3]
    )
    if n_torn > max(3.0, _MOST_IN_CONFLICT * len(merged)):
        raise InputError(
            f"{what}: {n_torn:,} of {len(merged):,} days stand more than once with different "
            f"values, the first: {examples}. Expected one row a day and station. Keep the daily "
            "values of one station, or give the stations in a column STATION."
        )
    notes = []
    if n_twice > n_torn:
        text = f"{what}: {n_twice - n_torn:,} days stood more than once with the same values."
        notes.append(Note(LAYER, "info", text))
    if n_torn:
        text = (
            f"{what}: {n_torn:,} days stood more than once with different values; which is right "
            f"is not known, so these values were left out: {examples}."
        )
        notes.append(Note(LAYER, "warning", text))
    return merged, notes


def every_day(days: pd.DataFrame) -> pd.DataFrame:
    """One station's values by day from the first to the last, NaN where there is no row."""
    by_day = days.set_index("date")[list(VALUES)].sort_index()
    known = by_day[["tmax_c", "tmin_c", "precip_mm"]].notna().any(axis=1)
    span = pd.date_range(by_day.index[known].min(), by_day.index[known].max(), freq="D")
    return by_day.reindex(span.as_unit("ns").rename("date"))


def possible(days: pd.DataFrame) -> tuple[pd.DataFrame, list[str]]:
    """Mask what cannot be, and say how much of what and the first of each.

    Parameters
    ----------
    days : one station, index every day, columns ``VALUES``.
    """
    days = days.copy()
    said: list[str] = []
    for column in VALUES:
        low, high = _RANGE[column]
        outside = (days[column] < low) | (days[column] > high)
        _mask(days, outside, (column,), f"beyond {low:g} to {high:g}{_UNIT[column]}", said)
    for column in ("tmax_c", "tmin_c"):
        _mask(days, _off_season(days[column]), (column,), "impossible for the season", said)
        _mask(days, _jump(days[column]), (column,), "25 C off the days before and after", said)
    crossed = days["tmin_c"] > days["tmax_c"]
    _mask(days, crossed, ("tmax_c", "tmin_c"), "with the low above the high", said)
    for column in ("tmax_c", "tmin_c"):
        _mask(days, _stuck(days[column]), (column,), "the same for 20 days or more", said)
    rain = days["precip_mm"].dropna()
    if len(rain) >= _DRY_RECORD_D and not (rain > 0).any():
        dry = days["precip_mm"].notna()
        _mask(days, dry, ("precip_mm",), "0 on every day of a year or more", said)
    return days, said


def _mask(
    days: pd.DataFrame, odd: pd.Series, columns: tuple[str, ...], why: str, said: list[str]
) -> None:
    if not odd.any():
        return
    first = odd.index[odd][0]
    values = " and ".join(f"{days.at[first, c]:.1f}{_UNIT[c]}" for c in columns)
    words = " and ".join(_WORD[c] for c in columns)
    said.append(f"{words} of {int(odd.sum()):,} days {why} (first {first:%Y-%m-%d}: {values})")
    days.loc[odd, list(columns)] = np.nan


def _off_season(values: pd.Series) -> pd.Series:
    month = values.index.month
    grouped = values.groupby(month)
    middle = grouped.transform("median")
    spread = (values - middle).abs().groupby(month).transform("median") * 1.4826
    enough = grouped.transform("count") >= _LEAST_VALUES
    limit = _DEVIATIONS * spread.clip(lower=_LEAST_DEVIATION_C)
    return enough & ((values - middle).abs() > limit)


def _jump(values: pd.Series) -> pd.Series:
    before, after = values - values.shift(1), values - values.shift(-1)
    up = (before > _JUMP_C) & (after > _JUMP_C)
    return up | ((before < -_JUMP_C) & (after < -_JUMP_C))


def _stuck(values: pd.Series) -> pd.Series:
    known = values.dropna()
    run = (known != known.shift()).cumsum()
    long = known.groupby(run).transform("size") >= _SAME_RUN_D
    return long.reindex(values.index, fill_value=False)


def in_contract(days: pd.DataFrame, path: Path) -> pd.DataFrame:
    """Refuse a file in which nothing was measured; else give it back.

    Parameters
    ----------
    days : ``tmax``, ``tmin``, ``precip`` as read.
    """
    if days[list(MEASURED[:3])].isna().all(axis=None):
        raise InputError(
            f"{path}: not one high, low or rain is in its {len(days):,} rows. Expected daily "
            "values. Export the station with TMAX, TMIN and PRCP."
        )
    return days
