"""When it freezes, by its odds, from daily lowest temperatures over seasons from July to June.

Odds are unconditional: a season without a freeze is one whose first freeze comes after all others
and whose last comes before all others. A date that falls among such seasons is empty.
"""

from collections.abc import Sequence

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from suitability.columns import FROST, FROST_EVENTS
from suitability.contract import names
from suitability.july_days import DAYS, YEAR_END, july_day, mmdd_of

THRESHOLDS_F = (32, 28)
ODDS_PCT = (10, 20, 30, 40, 50, 60, 70, 80, 90)
# A season with more days missing than this, in the part of the year when it can freeze here, is
# left out: a missing day can hide a freeze. Our judgement.
MOST_MISSING_D = 10
# Fewer seasons than this give no odds: one in ten cannot be told from less. Our judgement.
LEAST_SEASONS = 10
# Records are kept to a tenth of a degree: 28 F (-2.22 C) stands in them as -2.2.
HALF_A_TENTH_C = 0.05
# December to February always belong to the part of the year when it can freeze.
_CORE = (july_day("12-01"), july_day("02-28"))
_ROWS = [name for name in names(FROST) if name != "field_id"]

Values = NDArray[np.float64]


def threshold_of_f(threshold_f: float) -> float:
    """Temperature in degC, to two decimals, of one in degrees Fahrenheit.

    >>> threshold_of_f(32), threshold_of_f(28)
    (0.0, -2.22)
    """
    return round((threshold_f - 32) / 1.8, 2) + 0.0


def freeze_seasons(weather: pd.DataFrame, threshold_c: float) -> pd.DataFrame:
    """First and last freeze of each season of each weather cell.

    Parameters
    ----------
    weather : WEATHER table. threshold_c : a freeze is a lowest temperature at or below it [degC],
        to within half a tenth of a degree.

    Returns
    -------
    One row a cell and season: weather_id, season (the year it begins), ``first_day`` and
    ``last_day`` (days since 1 July; NaN without a freeze), ``missing_d`` (days without a value
    between the earliest first and the latest last freeze on record, December to February always
    among them) and ``counted`` (False where more than ``MOST_MISSING_D`` are missing).
    """
    days = weather.dropna(subset=["tmin_c"])[["weather_id", "date", "tmin_c"]]
    dates = days["date"].dt
    since_january = dates.day_of_year - (dates.is_leap_year & (dates.day_of_year >= 60))
    days = days.assign(
        season=dates.year - (dates.month < 7),
        day=(since_january - 182) % DAYS,
        frozen=days["tmin_c"] <= threshold_c + HALF_A_TENTH_C,
    )
    tables = [_of_cell(str(cell), group) for cell, group in days.groupby("weather_id")]
    columns = ["weather_id", "season", "first_day", "last_day", "missing_d", "counted"]
    return pd.concat(tables, ignore_index=True) if tables else pd.DataFrame(columns=columns)


def _of_cell(cell: str, days: pd.DataFrame) -> pd.DataFrame:
    frozen = days[days["frozen"]]
    begins = min(_CORE[0], int(frozen["day"].min())) if len(frozen) else _CORE[0]
    ends = max(_CORE[1], int(frozen["day"].max())) if len(frozen) else _CORE[1]
    known = days[days["day"].between(begins, ends)].groupby("season")["day"].nunique()
    seasons = pd.RangeIndex(days["season"].min(), days["season"].max() + 1, name="season")
    by_season = frozen.groupby("season")["day"]
    table = pd.DataFrame(
        {
            "weather_id": cell,
            "first_day": by_season.min().reindex(seasons).astype(float),
            "last_day": by_season.max().reindex(seasons).astype(float),
            "missing_d": ends - begins + 1 - known.reindex(seasons).fillna(0).astype(int),
        },
        index=seasons,
    )
    return table.assign(counted=table["missing_d"] <= MOST_MISSING_D).reset_index()


def freeze_odds(
    weather: pd.DataFrame,
    thresholds_f: Sequence[float] = THRESHOLDS_F,
    odds_pct: Sequence[int] = ODDS_PCT,
) -> pd.DataFrame:
    """Freeze dates and lengths of the season by their odds, for each weather cell.

    Parameters
    ----------
    weather : WEATHER table. thresholds_f : [F]. odds_pct : whole numbers 1-99 [pct].

    Returns
    -------
    Rows of FROST with ``weather_id`` in place of field_id. A cell with fewer than
    ``LEAST_SEASONS`` whole seasons has no rows, and odds beyond 1/(n + 1) or n/(n + 1) have none.

    Notes
    -----
    The value of rank i of n has the odds i/(n + 1) (plotting position of Weibull 1939; type 6 of
    Hyndman and Fan 1996, American Statistician 50:361; both from memory), linear between ranks.
    Days are rounded to the safe side: a first freeze and a season down, a last freeze up. A season
    is the time from the last freeze of one July-to-June season to the first of the next; 365
    days or more is a year without end and empty. Lengths are ranked as lengths, because dates of
    equal odds do not come in the same year.
    """
    rows: list[dict[str, object]] = []
    for threshold_f in thresholds_f:
        threshold_c = threshold_of_f(threshold_f)
        seasons = freeze_seasons(weather, threshold_c)
        for cell, group in seasons[seasons["counted"].astype(bool)].groupby("weather_id"):
            if len(group) < LEAST_SEASONS:
                continue
            first = group["first_day"].to_numpy(dtype=float)
            for event in FROST_EVENTS:
                values = _values(event, group)
                if len(values) < LEAST_SEASONS:
                    continue
                about = {
                    "weather_id": cell,
                    "event": event,
                    "threshold_c": threshold_c,
                    "freeze_years_in_ten": 10 * float(np.isfinite(first).mean()),
                    "by_year_end_years_in_ten": 10 * float((first <= YEAR_END).mean()),
                    "n_years": float(len(values)),
                    "source": "own computation",
                }
                rows.extend(about | row for row in _rows(event, values, odds_pct))
    table = pd.DataFrame(rows, columns=["weather_id", *_ROWS])
    numbers = [c.name for c in FROST if c.kind == "number"]
    table[numbers] = table[numbers].astype(float)
    dates = table["date_mmdd"].astype(object)
    return table.assign(date_mmdd=dates.where(dates.notna(), None))


def _values(event: str, seasons: pd.DataFrame) -> Values:
    """What is ranked, one value a season; infinite where the season has no freeze."""
    first: Values = seasons["first_day"].fillna(np.inf).to_numpy(dtype=np.float64)
    last: Values = seasons["last_day"].fillna(-np.inf).to_numpy(dtype=np.float64)
    if event == "first_autumn":
        return first
    if event == "last_spring":
        return last
    next_one = np.diff(seasons["season"].to_numpy()) == 1
    length = (first[1:] + DAYS - last[:-1])[next_one]
    return np.where(length < DAYS, length, np.inf)


def _rows(event: str, values: Values, odds_pct: Sequence[int]) -> list[dict[str, object]]:
    rows: list[dict[str, object]] = []
    for odds in odds_pct:
        below = odds if event == "first_autumn" else 100 - odds
        value = at_rank(values, below * (len(values) + 1) / 100)
        if np.isnan(value):
            continue
        exact = round(value, 6) if np.isfinite(value) else np.nan
        day = np.ceil(exact) if event == "last_spring" else np.floor(exact)
        season = event == "season"
        rows.append(
            {
                "prob_pct": float(odds),
                "date_mmdd": None if season or np.isnan(day) else mmdd_of(int(day)),
                "season_d": float(day) if season else np.nan,
            }
        )
    return rows


def at_rank(values: Values, rank: float) -> float:
    """The value of a rank from 1 to n, linear between ranks.

    Infinite where either neighbour is, NaN where the rank lies outside the record.

    >>> at_rank(np.array([30.0, 10.0, 20.0, np.inf]), 2.5)
    25.0
    """
    if not 1 <= rank <= len(values):
        return float("nan")
    ordered = np.sort(values)
    low = int(rank) - 1
    share = rank - int(rank)
    if share == 0:
        return float(ordered[low])
    for neighbour in (ordered[low], ordered[low + 1]):
        if np.isinf(neighbour):
            return float(neighbour)
    return float(ordered[low] + share * (ordered[low + 1] - ordered[low]))
