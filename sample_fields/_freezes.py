"""Freeze dates by probability from the invented weather, in the layout of published normals.

A season runs from July to June. Its first freeze is its first day at or below the temperature, its
last freeze its last such day. Odds are unconditional: a season without a freeze counts as one
whose first freeze comes after all others and whose last comes before all others. Where a date falls
among such seasons it is not defined, and the file says -6666 with the flag Y.

FPpp of PRBFST: in pp % of seasons the first freeze comes on that day or earlier.
FPpp of PRBLST: in pp % the last freeze comes on that day or later.
FPpp of PRBGSL: in pp % of years the time from last to first freeze is that long or longer.
"""

import numpy as np
import pandas as pd
from numpy.typing import NDArray

THRESHOLDS_F = (16, 20, 24, 28, 32, 36)
ODDS_PCT = (10, 20, 30, 40, 50, 60, 70, 80, 90)
UNDEFINED = -6666
SEASON_STARTS_MONTH = 7


def days_of_freeze(
    weather: pd.DataFrame, threshold_f: float
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """First and last freeze of each full season as days since 1 July; inf, -inf without one.

    All seasons have 365 days: 29 February counts as the 28th.
    """
    date = pd.to_datetime(weather["DATE"])
    season = date.dt.year - (date.dt.month < SEASON_STARTS_MONTH)
    days_since_july = {
        (day.month, day.day): n for n, day in enumerate(pd.date_range("2001-07-01", "2002-06-30"))
    }
    days_since_july[2, 29] = days_since_july[2, 28]
    since = np.array(
        [days_since_july[m, d] for m, d in zip(date.dt.month, date.dt.day, strict=True)]
    )
    frozen = weather["TMIN"].to_numpy() <= (threshold_f - 32) / 1.8 + 1e-9
    whole = range(int(season.min()) + 1, int(season.max()))
    first, last = [], []
    for year in whole:
        days = since[(season.to_numpy() == year) & frozen]
        first.append(days.min() if days.size else np.inf)
        last.append(days.max() if days.size else -np.inf)
    return np.asarray(first), np.asarray(last)


def at_odds(values: NDArray[np.float64], odds_pct: float) -> float:
    """The value that ``odds_pct`` of all values lie at or below (rank over n + 1); inf stays."""
    ordered = np.sort(values)
    place = odds_pct / 100 * (len(ordered) + 1) - 1
    low = int(np.clip(np.floor(place), 0, len(ordered) - 1))
    high = int(np.clip(low + 1, 0, len(ordered) - 1))
    share = place - low
    if share <= 0 or ordered[low] == ordered[high]:
        return float(ordered[low])
    if not np.isfinite([ordered[low], ordered[high]]).all():
        return float(ordered[low] if np.isinf(ordered[low]) else ordered[high])
    return float(ordered[low] + share * (ordered[high] - ordered[low]))


def _date(days: float) -> str:
    if not np.isfinite(days):
        return f"{UNDEFINED}"
    return str((pd.Timestamp("2001-07-01") + pd.Timedelta(days=round(days))).strftime("%m/%d"))


def make_normals(weather: pd.DataFrame) -> pd.DataFrame:
    """One row: the station and its freeze dates, each followed by its three flags."""
    head = weather.iloc[0]
    row = {
        "STATION": head["STATION"], "LATITUDE": f"{head['LATITUDE']:8.4f}",
        "LONGITUDE": f"{head['LONGITUDE']:9.4f}", "ELEVATION": f"{head['ELEVATION']:6.1f}",
        "NAME": head["NAME"], "month": "99", "day": "99", "hour": "99",
    }  # fmt: skip
    freezes = {t: days_of_freeze(weather, t) for t in THRESHOLDS_F}
    seasons = len(freezes[32][0])

    def put(name: str, value: str, years: int) -> None:
        row[f"ANN-TMIN-{name}"] = f"{value:>8}"
        row[f"meas_flag_ANN-TMIN-{name}"] = "Y" if value == f"{UNDEFINED}" else " "
        row[f"comp_flag_ANN-TMIN-{name}"] = "S"
        row[f"years_ANN-TMIN-{name}"] = str(years)

    for t, (first, _) in freezes.items():
        put(f"PRBOCC-LSTH{t:03d}", f"{100 * np.isfinite(first).mean():.1f}", seasons)
    for t, (first, _) in freezes.items():
        for odds in ODDS_PCT:
            put(f"PRBFST-T{t}FP{odds}", _date(at_odds(first, odds)), seasons)
    for t, (_, last) in freezes.items():
        for odds in ODDS_PCT:
            put(f"PRBLST-T{t}FP{odds}", _date(at_odds(last, 100 - odds)), seasons)
    for t, (first, last) in freezes.items():
        # From the last freeze of one season to the first of the next, in one calendar year.
        length = first[1:] + 365 - last[:-1]
        for odds in ODDS_PCT:
            days = at_odds(length, 100 - odds)
            value = f"{round(min(days, 365)):d}.0" if np.isfinite(days) else f"{UNDEFINED}"
            put(f"PRBGSL-T{t}FP{odds}", value, seasons - 1)
    return pd.DataFrame([row])
