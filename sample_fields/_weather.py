"""The invented weather: a seeded day-by-day generator in Richardson's manner.

Wet and dry days by a two-state Markov chain, amounts from two exponential distributions,
temperatures from a two-variable AR(1) process around a seasonal curve that differs between wet and
dry days (Richardson 1981, Water Resources Research 17:182-190). Added: tropical storms, a slow
index that makes runs of dry and wet years, and a slow one that makes warm and cold spells. The
monthly figures are of our own making, in the range usual for the inland plain of the warm South.
"""

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from scipy.interpolate import CubicSpline

Series = NDArray[np.float64]

STATION, NAME = "ZZM00090417", "TALLOWMERE CROSSROADS, GA US"
LATITUDE_DEG, LONGITUDE_DEG, ELEVATION_M = 31.6521, -83.7608, 97.5
FIRST_DAY, LAST_DAY = "1996-01-01", "2025-12-31"

# January to December.
TMAX_C = (15.9, 18.0, 21.9, 26.0, 29.9, 32.5, 33.5, 33.2, 30.9, 26.4, 21.1, 17.0)
TMIN_C = (3.8, 5.2, 8.0, 11.8, 16.7, 20.6, 22.2, 22.1, 19.4, 13.1, 7.0, 4.7)
TMAX_DEVIATION_C = (5.0, 5.0, 4.5, 3.5, 2.5, 1.9, 1.6, 1.6, 2.0, 3.3, 4.4, 4.9)
TMIN_DEVIATION_C = (4.8, 4.9, 5.2, 4.4, 3.0, 1.8, 1.2, 1.2, 2.4, 4.3, 5.3, 5.0)
RAIN_MM = (113, 109, 118, 85, 75, 126, 132, 124, 92, 65, 75, 102)
WET_SHARE = (0.30, 0.30, 0.27, 0.22, 0.24, 0.37, 0.42, 0.38, 0.27, 0.19, 0.22, 0.28)
# A wet day is cooler by day and, in winter, milder by night.
WET_TMAX_C = (-0.8, -1.2, -1.6, -2.0, -2.2, -2.4, -2.2, -2.2, -2.2, -2.0, -1.2, -0.8)
WET_TMIN_C = (3.2, 3.0, 2.8, 2.2, 1.2, 0.3, 0.0, 0.0, 0.8, 2.4, 3.2, 3.4)
WET_AFTER_WET = 0.26  # how much likelier rain is after rain
SMALL_SHARE, SMALL_SIZE = 0.58, 0.28  # share and relative size of small falls
STORMS_A_YEAR = 0.55
STORM_MONTHS = (0, 0, 0, 0, 0, 0.08, 0.10, 0.22, 0.36, 0.19, 0.05, 0)
STORM_MM = 52.0  # mean of a storm day
SAME_DAY, LAG_TMAX, LAG_TMIN = 0.62, 0.62, 0.60
SPELL_SHARE = 0.30  # of the variance, in spells of some weeks
YEARS_SLOW = 0.985**30  # memory of the dry-and-wet index from month to month
DRY_WET_DEVIATION = 0.17
LOST_DAYS = 6
LOST_VALUES = 9


def _by_day(monthly: tuple[float, ...], day: pd.DatetimeIndex) -> Series:
    """A smooth yearly curve through values at mid month, on each day."""
    at = np.append((np.arange(12) + 0.5) / 12, 1 + 0.5 / 12)
    curve = CubicSpline(at, (*monthly, monthly[0]), bc_type="periodic")
    return np.asarray(curve((day.day_of_year.to_numpy() - 0.5) / 365.25))


def _ar1(rng: np.random.Generator, count: int, memory: float) -> Series:
    """Noise of deviation 1 that remembers."""
    shock = rng.standard_normal(count) * np.sqrt(1 - memory**2)
    out = np.empty(count)
    out[0] = shock[0] / np.sqrt(1 - memory**2)
    for i in range(1, count):
        out[i] = memory * out[i - 1] + shock[i]
    return out


def _rain(rng: np.random.Generator, day: pd.DatetimeIndex) -> Series:
    """Rain in mm, without the storms."""
    month = day.month.to_numpy() - 1
    months_run = (day.year.to_numpy() - day.year[0]) * 12 + month
    index = _ar1(rng, int(months_run[-1]) + 1, YEARS_SLOW)[months_run] * DRY_WET_DEVIATION
    share = np.clip(np.asarray(WET_SHARE)[month] * (1 + 0.75 * index), 0.02, 0.9)
    days_in_month = 30.44
    mean = np.asarray(RAIN_MM)[month] / (np.asarray(WET_SHARE)[month] * days_in_month)
    large = (1 - SMALL_SHARE * SMALL_SIZE) / (1 - SMALL_SHARE)
    chance, kind, size = rng.random((3, len(day)))
    rain = np.zeros(len(day))
    wet = False
    for i in range(len(day)):
        odds = share[i] + WET_AFTER_WET * ((1 - share[i]) if wet else -share[i])
        wet = bool(chance[i] < odds)
        if wet:
            relative = SMALL_SIZE if kind[i] < SMALL_SHARE else large
            rain[i] = 0.3 - mean[i] * (1 + 0.35 * index[i]) * relative * np.log1p(-size[i])
    return rain


def _storms(rng: np.random.Generator, day: pd.DatetimeIndex) -> Series:
    """Rain of tropical storms in mm: one to three days of it."""
    rain = np.zeros(len(day))
    month = day.month.to_numpy() - 1
    odds = STORMS_A_YEAR * np.asarray(STORM_MONTHS)[month] / 30.44
    for start in np.flatnonzero(rng.random(len(day)) < odds):
        lasts = int(rng.integers(1, 4))
        rain[start : start + lasts] += rng.gamma(2.2, STORM_MM / 2.2, lasts)[: len(rain) - start]
    return rain


def _temperature(
    rng: np.random.Generator, day: pd.DatetimeIndex, wet: NDArray[np.bool_]
) -> tuple[Series, Series]:
    """Daily maximum and minimum in degrees C."""
    count = len(day)
    shock = rng.standard_normal((2, count))
    shock[1] = SAME_DAY * shock[0] + np.sqrt(1 - SAME_DAY**2) * shock[1]
    quick = np.zeros((2, count))
    memory = np.array([LAG_TMAX, LAG_TMIN])
    for i in range(1, count):
        quick[:, i] = memory * quick[:, i - 1] + np.sqrt(1 - memory**2) * shock[:, i]
    spell = _ar1(rng, count, 0.95)
    noise = np.sqrt(1 - SPELL_SHARE) * quick + np.sqrt(SPELL_SHARE) * spell
    month = day.month.to_numpy() - 1
    usual = np.asarray(WET_SHARE)[month]
    off = np.where(wet, 1 - usual, -usual)
    tmax = _by_day(TMAX_C, day) + off * _by_day(WET_TMAX_C, day)
    tmin = _by_day(TMIN_C, day) + off * _by_day(WET_TMIN_C, day)
    tmax += noise[0] * _by_day(TMAX_DEVIATION_C, day)
    tmin += noise[1] * _by_day(TMIN_DEVIATION_C, day)
    return np.maximum(tmax, tmin + 1.5), tmin


def make_weather(rng: np.random.Generator) -> pd.DataFrame:
    """The station's record: a row a day, in the columns of a daily station file, mm and degrees C.

    A few days are missing, and some values of others, as in any real record.
    """
    day = pd.date_range(FIRST_DAY, LAST_DAY)
    rain = np.round(_rain(rng, day) + _storms(rng, day), 1)
    tmax, tmin = _temperature(rng, day, rain > 0)
    table = pd.DataFrame(
        {
            "STATION": STATION, "NAME": NAME, "LATITUDE": LATITUDE_DEG,
            "LONGITUDE": LONGITUDE_DEG, "ELEVATION": ELEVATION_M,
            "DATE": day.strftime("%Y-%m-%d"),
            "PRCP": rain, "TMAX": np.round(tmax, 1), "TMIN": np.round(tmin, 1),
        }
    )  # fmt: skip
    for column in ("PRCP", "TMAX", "TMIN"):
        table.loc[rng.choice(len(table), LOST_VALUES // 3, replace=False), column] = np.nan
    lost = rng.choice(len(table), LOST_DAYS, replace=False)
    return table[~table.index.isin(lost)].reset_index(drop=True)
