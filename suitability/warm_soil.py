"""From which day on the soil is warm enough to sow and stays so, by year and in years of ten."""

import math
from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np
import pandas as pd
from numpy.typing import ArrayLike, NDArray

from suitability.crop import Crop
from suitability.errors import InputError, listed
from suitability.soil_temperature import soil_temperature_c

NEVER = float("inf")  # the year is known and the soil never held: later than any date
RULE_DEPTH_CM = 5.0
YEAR_ENDS_DOY = 365


@dataclass(frozen=True)
class WarmRule:
    """When the soil is warm and holding.

    It is so on the last day of the first window of ``window_d`` days, wholly on or after
    ``search_from_doy``, whose mean reaches ``threshold_c`` and after which no window's mean falls
    below it within ``hold_d`` days. ``least_years``: years needed to speak of odds.
    """

    threshold_c: float
    window_d: int
    hold_d: int
    search_from_doy: int
    least_years: int


def warm_rule(crop: Crop) -> WarmRule:
    """The rule as the crop file sets it, under ``[parameters.warm_soil]``."""
    return WarmRule(
        threshold_c=crop.number("warm_soil.floor_c"),
        window_d=int(crop.number("warm_soil.window_d")),
        hold_d=int(crop.number("warm_soil.hold_d")),
        search_from_doy=int(crop.number("warm_soil.search_from_doy")),
        least_years=int(crop.number("warm_soil.least_years")),
    )


def warm_and_holding(doy: ArrayLike, soil_temp_c: ArrayLike, rule: WarmRule) -> float:
    """Day of one year on which the soil is warm and holding.

    Parameters
    ----------
    doy : days of one year in order, none left out; array (n_days,).
    soil_temp_c : daily mean soil temperature at 5 cm [degC]; array (n_days,).

    Returns
    -------
    The day of the year; ``NEVER`` where the year is known to its end and no window holds; NaN where
    missing days, or a series that ends too early, leave the answer open. A window is known with at
    most one of its days missing.
    """
    days = np.asarray(doy, dtype=np.float64)
    means = _window_means(np.asarray(soil_temp_c, dtype=np.float64), rule.window_d)
    if not len(days) or days[0] > rule.search_from_doy:
        means, days = _with_unknown_start(means, days, rule)
    warm = np.where(np.isnan(means), np.nan, (means >= rule.threshold_c).astype(float))
    for i in range(len(days)):
        if days[i] - rule.window_d + 1 < rule.search_from_doy:
            continue
        span = warm[i : i + rule.hold_d + 1]
        if (span == 0).any():
            continue
        held = len(span) == rule.hold_d + 1 and bool((span == 1).all())
        return float(days[i]) if held else math.nan
    return NEVER if len(days) and days[-1] >= YEAR_ENDS_DOY else math.nan


def warm_dates(weather: pd.DataFrame, stations: pd.DataFrame, rule: WarmRule) -> pd.DataFrame:
    """Warm-and-holding day of each year of each weather cell.

    Parameters
    ----------
    weather : WEATHER of ``suitability.columns``; days may be missing.
    stations : STATIONS of ``suitability.columns``, for the latitude.

    Returns
    -------
    DataFrame [weather_id, year, doy], a row for each year that the record touches; ``doy`` counted
    without leap days, NaN where not known, ``NEVER`` where the soil never holds in that year.

    Raises
    ------
    InputError : a weather cell that is not among the stations.
    """
    latitude = stations.set_index("weather_id")["lat_deg"]
    lost = sorted(set(weather["weather_id"]) - set(latitude.index))
    if lost:
        faults = [f"weather cell {name!r} is not in the list of stations" for name in lost]
        raise InputError(listed("Soil warmth cannot be told", faults, "Give their coordinates."))
    rows = []
    for weather_id, cell in weather.groupby("weather_id", sort=True):
        by_day = soil_by_day_c(cell, float(latitude[weather_id]))
        calendar, soil_c = pd.DatetimeIndex(by_day.index), by_day.to_numpy()
        for year in sorted(set(calendar.year)):
            here = calendar.year == year
            doy = warm_and_holding(_common_doy(calendar[here]), soil_c[here], rule)
            rows.append((weather_id, int(year), doy))
    return pd.DataFrame(rows, columns=["weather_id", "year", "doy"])


def soil_by_day_c(weather: pd.DataFrame, lat_deg: float) -> "pd.Series[float]":
    """Soil temperature at the rule's depth on every day from the first to the last known [degC].

    Parameters
    ----------
    weather : WEATHER table of one cell. Where days lack it is as ``soil_temperature_c`` says.
    """
    days = weather.set_index("date").sort_index().asfreq("D")
    calendar = pd.DatetimeIndex(days.index)
    soil_c = soil_temperature_c(
        days["tmax_c"],
        days["tmin_c"],
        days["precip_mm"],
        calendar.day_of_year,
        lat_deg,
        RULE_DEPTH_CM,
    )
    return pd.Series(np.asarray(soil_c), index=calendar)


def warm_odds(dates: pd.DataFrame, rule: WarmRule) -> pd.DataFrame:
    """Dates by which the soil is warm and holding in 5 and in 8 years of 10.

    Parameters
    ----------
    dates : DataFrame [weather_id, year, doy] of ``warm_dates``.

    Returns
    -------
    DataFrame [weather_id, soil_65f_held_p50, soil_65f_held_p80, n_years], dates as MM-DD. A date is
    empty (None) with fewer than ``least_years`` known years, and where the soil does not hold in so
    many of them. Years in which it never holds count as latest.
    """
    rows = []
    for weather_id, cell in dates.groupby("weather_id", sort=True):
        known = np.sort(cell["doy"].dropna().to_numpy(dtype=np.float64))
        enough = len(known) >= rule.least_years
        held = [_mmdd_by(known, share) if enough else None for share in (0.5, 0.8)]
        rows.append((weather_id, *held, len(known)))
    names = ["weather_id", "soil_65f_held_p50", "soil_65f_held_p80", "n_years"]
    return pd.DataFrame(rows, columns=names)


def _mmdd_by(known: NDArray[np.float64], share: float) -> str | None:
    """First day by which at least this share of years is warm and holding."""
    doy = known[math.ceil(share * len(known) - 1e-9) - 1]
    if doy == NEVER:
        return None
    return f"{date(2001, 1, 1) + timedelta(days=int(doy) - 1):%m-%d}"


def _common_doy(calendar: pd.DatetimeIndex) -> NDArray[np.float64]:
    """Day of the year without leap days, so that a date is one number; 29 February is 59.5."""
    doy: NDArray[np.float64] = np.array(calendar.day_of_year, dtype=np.float64)
    leap, month, day = calendar.is_leap_year, calendar.month, calendar.day
    doy[leap & (month > 2)] -= 1
    doy[(month == 2) & (day == 29)] = 59.5
    return doy


def _window_means(values: NDArray[np.float64], window_d: int) -> NDArray[np.float64]:
    """Mean of the window that ends on each day; NaN where more than one of its days is missing."""
    means = pd.Series(values).rolling(window_d, min_periods=max(window_d - 1, 1)).mean()
    means.iloc[: window_d - 1] = np.nan
    result: NDArray[np.float64] = means.to_numpy(dtype=np.float64)
    return result


def _with_unknown_start(
    means: NDArray[np.float64], days: NDArray[np.float64], rule: WarmRule
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """The windows between the first day of search and the first of the series, as not known."""
    until = days[0] if len(days) else 366.0
    before = np.arange(rule.search_from_doy, until)
    return (
        np.concatenate([np.full(len(before), np.nan), means]),
        np.concatenate([before, days]),
    )
