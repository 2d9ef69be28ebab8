"""Which years of a daily record can be used, and what its short gaps are filled with."""

import datetime as dt

import numpy as np
import pandas as pd

from suitability.notes import Note

NEEDED = ("tmax_c", "tmin_c", "precip_mm")

# Longest gap that a season may have. A month with 5 or more missing days in a row, or more than 10
# in all, has no mean (World Meteorological Organization 2017, Guidelines on the Calculation of
# Climate Normals, WMO-No. 1203, 4.4.1; from memory).
MOST_GAP_D = 4
# Share of the season's days that may be missing in all: the same guideline's 10 of 30 days is too
# many where each missing day's rain is made up, so a tenth (judgement).
MOST_MISSING_FRAC = 0.1
_AROUND_D = 91  # a quarter of a year, about as long as a stand is followed


def usable_years(
    weather: pd.DataFrame, first_mmdd: str, last_mmdd: str, most_gap_d: int = MOST_GAP_D
) -> pd.DataFrame:
    """Years of each record whose season is whole but for short gaps.

    Parameters
    ----------
    weather : WEATHER table; a day lacks when its row is absent or its high, low or rain is NaN.
    first_mmdd, last_mmdd : first and last day of the season, MM-DD. Where the last lies before the
        first, the season runs into the next year and bears the year of its first day.
    most_gap_d : longest run of missing days [d] that is borne.

    Returns
    -------
    ``weather_id``, ``year``, ``n_missing`` (days), ``longest_gap_d``, ``usable``: one row for each
    season that overlaps the record, those in a hole of it too. A season is usable with no gap
    longer than ``most_gap_d`` and no more than a tenth of its days missing.
    """
    rows = []
    for weather_id, own in weather.groupby("weather_id", sort=True):
        dates = pd.DatetimeIndex(own["date"])
        whole = dates[own[list(NEEDED)].notna().all(axis=1).to_numpy()]
        if not len(dates):
            continue
        for year in range(dates.min().year - 1, dates.max().year + 1):
            season = _season(year, first_mmdd, last_mmdd)
            if season[-1] < dates.min() or season[0] > dates.max():
                continue
            missing = ~season.isin(whole)
            gap_d = _longest_run(missing)
            few = int(missing.sum()) <= MOST_MISSING_FRAC * len(season)
            usable = gap_d <= most_gap_d and few
            rows.append((str(weather_id), year, int(missing.sum()), gap_d, usable))
    names = ["weather_id", "year", "n_missing", "longest_gap_d", "usable"]
    table = pd.DataFrame(rows, columns=names)
    return table.astype({"year": int, "n_missing": int, "longest_gap_d": int, "usable": bool})


def filled(weather: pd.DataFrame, most_gap_d: int = MOST_GAP_D) -> pd.DataFrame:
    """The record with its short gaps filled, so that each usable season can be run day by day.

    Parameters
    ----------
    weather : WEATHER table. most_gap_d : longest run of missing values [d] that is filled.

    Returns
    -------
    A copy with every day from the first to the last of each record, and two more columns:
    ``temperature_filled`` and ``precip_filled``, true on days with a made-up value.

    Notes
    -----
    Nothing is filled where more than a tenth of the days of the quarter of a year around it lack:
    such a season would be half made up. A high or low that lacks is drawn straight between the days
    around it. Rain cannot be: the mean of many years would be a drizzle that wets no soil, and 0
    would be too dry. It is taken from the same calendar days of the nearest year that has them all
    (the earlier of two), so that the usual amounts and runs of wet days are kept; where no other
    year has them it stays missing.
    Longer gaps, and solar radiation, stay missing.
    """
    tables = []
    for weather_id, own in weather.groupby("weather_id", sort=True):
        by_day = own.drop(columns="weather_id").set_index("date").sort_index()
        by_day = by_day.reindex(pd.date_range(by_day.index[0], by_day.index[-1], name="date"))
        made = pd.Series(False, index=by_day.index)
        lacks = by_day[list(NEEDED)].isna().any(axis=1)
        around = lacks.rolling(_AROUND_D, center=True, min_periods=1).mean()
        few = around <= MOST_MISSING_FRAC
        for column in ("tmax_c", "tmin_c"):
            drawn = few & _short(by_day[column].isna(), most_gap_d, inside=True)
            line = by_day[column].interpolate(method="linear", limit_area="inside")
            by_day[column] = by_day[column].mask(drawn, line)
            made |= drawn
        by_day["temperature_filled"] = made
        rain = _rain_of_near_years(by_day["precip_mm"], most_gap_d).where(few, by_day["precip_mm"])
        by_day["precip_filled"] = rain.notna() & by_day["precip_mm"].isna()
        by_day["precip_mm"] = rain
        tables.append(by_day.reset_index().assign(weather_id=weather_id))
    order = [*weather.columns, "temperature_filled", "precip_filled"]
    if not tables:
        return weather.assign(temperature_filled=False, precip_filled=False)[order]
    return pd.concat(tables, ignore_index=True)[order]


def years_notes(years: pd.DataFrame, first_mmdd: str, last_mmdd: str) -> list[Note]:
    """How many seasons of each record are whole, and which are not."""
    notes = []
    for weather_id, own in years.groupby("weather_id", sort=True):
        n_usable = int(own["usable"].sum())
        text = (
            f"Station {weather_id}: {n_usable} of {len(own)} seasons {first_mmdd} to {last_mmdd} "
            "are whole"
        )
        lost = own.loc[~own["usable"], "year"].tolist()
        if lost:
            text += (
                f". More than {MOST_GAP_D} days in a row or a tenth of all days lack in "
                f"{_spans(lost)}: of these only sowings count whose own days are whole"
            )
        notes.append(Note("weather", "caution" if lost else "info", f"{text}."))
    return notes


def _season(year: int, first_mmdd: str, last_mmdd: str) -> pd.DatetimeIndex:
    last_year = year if last_mmdd >= first_mmdd else year + 1
    return pd.date_range(_day(year, first_mmdd), _day(last_year, last_mmdd))


def _day(year: int, mmdd: str) -> dt.date:
    """The day of a year; 29 February is the 28th where there is none."""
    month, day = int(mmdd[:2]), int(mmdd[3:])
    leap = year % 4 == 0 and (year % 100 != 0 or year % 400 == 0)
    return dt.date(year, month, 28 if (month, day) == (2, 29) and not leap else day)


def _longest_run(missing: np.ndarray) -> int:
    longest = run = 0
    for lacks in missing:
        run = run + 1 if lacks else 0
        longest = max(longest, run)
    return longest


def _short(missing: pd.Series, most_gap_d: int, *, inside: bool) -> pd.Series:
    """Missing days that are part of a short run; ``inside``: with a day before and after it."""
    run = (missing != missing.shift()).cumsum()
    short = missing & (missing.groupby(run).transform("size") <= most_gap_d)
    if inside:
        short &= (run != run.iloc[0]) & (run != run.iloc[-1])
    return short


def _rain_of_near_years(rain_mm: pd.Series, most_gap_d: int) -> pd.Series:
    gaps = _short(rain_mm.isna(), most_gap_d, inside=False)
    out = rain_mm.copy()
    run = (gaps != gaps.shift()).cumsum()
    first, last = rain_mm.index[0], rain_mm.index[-1]
    years = last.year - first.year
    # Earlier before later, nearer before farther.
    offsets = [offset for away in range(1, years + 1) for offset in (-away, away)]
    for _, days in gaps[gaps].groupby(run[gaps]):
        for offset in offsets:
            # 29 February becomes the 28th.
            there = pd.DatetimeIndex([day + pd.DateOffset(years=offset) for day in days.index])
            if there[0] < first or there[-1] > last:
                continue
            found = rain_mm.reindex(there)
            if found.notna().all():
                out.loc[days.index] = found.to_numpy()
                break
    return out


def _spans(years: list[int]) -> str:
    """Years in order, runs drawn together: 1970-1983, 1990."""
    parts: list[list[int]] = []
    for year in years:
        if parts and year == parts[-1][-1] + 1:
            parts[-1].append(year)
        else:
            parts.append([year])
    return ", ".join(f"{p[0]}-{p[-1]}" if len(p) > 1 else f"{p[0]}" for p in parts)
