"""The year so far, carried on by every past year: is the soil warm, and is there still time."""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import date

import numpy as np
import pandas as pd

from suitability.crop import Crop
from suitability.record import NEEDED
from suitability.sowing_weeks import week_grid
from suitability.warm_soil import soil_by_day_c, warm_dates, warm_odds, warm_rule

_YEAR = 2001  # a year without a leap day stands for all
_ROUNDING = 0.05  # years in ten that are told alike


@dataclass(frozen=True)
class SoilNow:
    """Soil at seed depth in one weather cell on the last day of this year's weather.

    ``mean_c`` is the mean of the last days of the rule's window, NaN where they lack;
    ``held_years_in_ten`` in how many of ten years that go on from here the soil is warm and holding
    by now; the dates are those by which it is in 5 and 8 of ten, MM-DD, None where not.
    """

    mean_c: float
    held_years_in_ten: float
    held_p50: str | None
    held_p80: str | None


def spliced(past: pd.DataFrame, this_year: pd.DataFrame, last: date) -> pd.DataFrame:
    """Every past year as it would have been had it begun as this one.

    Parameters
    ----------
    past : WEATHER of the record of one cell. this_year : date and the numbers of WEATHER, of the
        same place. last : last day of this year that counts.

    Returns
    -------
    ``past`` with the days from 1 January to ``last`` of every year replaced by this year's, where
    it has a number; this year itself, and later ones, are taken out of the record.
    """
    table = past[past["date"].dt.year < last.year].copy()
    own = this_year[this_year["date"].dt.year == last.year]
    own = own[own["date"] <= pd.Timestamp(last)]
    by_day = own.set_index(own["date"].dt.strftime("%m-%d"))
    day = table["date"].dt.strftime("%m-%d")
    begun = day <= f"{last:%m-%d}"
    for column in (*NEEDED, "solar_mj_m2_d"):
        if column in by_day:
            told = day.map(by_day[column]).where(begun)
            table[column] = told.where(told.notna(), table[column])
    return table


@dataclass(frozen=True)
class Carried:
    """Weather of this year carried on by every past year.

    ``weather`` and ``stations`` are tables of the contract; ``weather_id``, by field_id, is the
    cell of each field in them, None where its past or this year is not known.
    """

    weather: pd.DataFrame
    stations: pd.DataFrame
    weather_id: "pd.Series[str]"


def carried(
    past: pd.DataFrame,
    stations: pd.DataFrame,
    past_id: "pd.Series[str]",
    this_year: pd.DataFrame,
    this_id: "pd.Series[str]",
    last: date,
) -> Carried:
    """Carry this year on, for each pair of cells that a field looks to.

    Parameters
    ----------
    past, stations : WEATHER and STATIONS of the record. this_year : WEATHER of this year.
    past_id, this_id : cell of each field in the two, by field_id. last : as in ``spliced``.
    """
    pairs = pd.DataFrame({"past": past_id, "this": this_id.reindex(past_id.index)})
    both = pairs.notna().all(axis=1)
    named = pairs["past"].astype(object) + " | " + pairs["this"].astype(object)
    pairs["cell"] = named.astype(object).where(both, None)
    days, places = [past.iloc[:0]], [stations.iloc[:0]]
    for cell, own in pairs[both].drop_duplicates("cell").set_index("cell").iterrows():
        begun = this_year[this_year["weather_id"] == own["this"]]
        record = spliced(past[past["weather_id"] == own["past"]], begun, last)
        days.append(record.assign(weather_id=cell))
        places.append(stations[stations["weather_id"] == own["past"]].assign(weather_id=cell))
    return Carried(
        pd.concat(days[1:] or days, ignore_index=True),
        pd.concat(places[1:] or places, ignore_index=True),
        pairs["cell"].rename("weather_id"),
    )


def soil_now(
    weather: pd.DataFrame,
    stations: pd.DataFrame,
    weather_id: str,
    last: date,
    crop: Crop,
    offset_c: float = 0.0,
) -> SoilNow:
    """Soil warmth of one cell.

    Parameters
    ----------
    weather, stations : of ``carried``.
    offset_c : what a thermometer in the field read above the estimate of its day [degC].
    """
    rule = warm_rule(crop)
    own = weather[weather["weather_id"] == weather_id]
    place = stations[stations["weather_id"] == weather_id]
    # A soil warmer by so much reaches a threshold where the estimate is lower by it.
    dates = warm_dates(own, place, replace(rule, threshold_c=rule.threshold_c - offset_c))
    odds = warm_odds(dates, rule).iloc[0]
    doy = dates["doy"].dropna()
    return SoilNow(
        mean_c=soil_mean_c(own, stations, weather_id, last, rule.window_d) + offset_c,
        held_years_in_ten=10 * float((doy <= _common_doy(last)).mean()) if len(doy) else np.nan,
        held_p50=odds["soil_65f_held_p50"],
        held_p80=odds["soil_65f_held_p80"],
    )


def soil_mean_c(
    weather: pd.DataFrame, stations: pd.DataFrame, weather_id: str, day: date, window_d: int
) -> float:
    """Mean soil temperature at seed depth over the days that end with ``day`` [degC].

    ``weather`` is spliced: the last of its years that has the day is used. NaN where none has.
    """
    own = weather[weather["weather_id"] == weather_id]
    lat_deg = float(stations.set_index("weather_id")["lat_deg"][weather_id])
    soil_c = soil_by_day_c(own, lat_deg)
    at = np.nonzero(pd.DatetimeIndex(soil_c.index).strftime("%m-%d") == f"{day:%m-%d}")[0]
    if not len(at):
        return float("nan")
    return float(soil_c.to_numpy()[max(at[-1] - window_d + 1, 0) : at[-1] + 1].mean())


def time_left(
    weeks: pd.DataFrame,
    field_ids: Iterable[str],
    last: date,
    crop: Crop,
    recommended: "pd.Series[str] | None" = None,
) -> pd.DataFrame:
    """Whether there is still time to sow, by the odds of the weeks that are left.

    Parameters
    ----------
    weeks : of ``Years.weeks``, made on spliced weather. recommended : the recommended week (MM-DD)
        by field_id, of ``Years.best``.

    Returns
    -------
    DataFrame indexed by field_id: next_week (MM-DD, the first week of the gap that is not over),
    works_years_in_ten of it, and last_week that works in ``odds.poor_years_in_ten``; wait_week, the
    recommended week where it comes later and works in more years than the next one, and
    wait_years_in_ten of it. None and NaN where no week is left, or none to wait for.
    """
    grid = week_grid()
    current = max((w for w in grid if w <= f"{last:%m-%d}"), default=grid[0])
    least = crop.number("odds.poor_years_in_ten") - 1e-9
    rows = []
    for field_id in field_ids:
        left = weeks[(weeks["field_id"] == field_id) & (weeks["sow_date"] >= current)]
        left = left.sort_values("sow_date")
        good = left.loc[left["works_years_in_ten"] >= least, "sow_date"]
        works = float(left["works_years_in_ten"].iloc[0]) if len(left) else np.nan
        first = left["sow_date"].iloc[0] if len(left) else None
        week = None if recommended is None else recommended.get(field_id)
        best = left[(left["sow_date"] == week) & (left["works_years_in_ten"] > works + _ROUNDING)]
        rows.append(
            {
                "field_id": field_id,
                "next_week": first,
                "works_years_in_ten": works,
                "last_week": good.iloc[-1] if len(good) else None,
                "wait_week": week if len(best) else None,
                "wait_years_in_ten": float(best["works_years_in_ten"].sum())
                if len(best)
                else np.nan,
            }
        )
    table = pd.DataFrame(rows).set_index("field_id")
    return table.astype({week: object for week in ("next_week", "last_week", "wait_week")})


def _common_doy(day: date) -> int:
    """Day of the year without a leap day; 29 February is the 28th."""
    n = min(day.day, 28) if day.month == 2 else day.day
    return date(_YEAR, day.month, n).timetuple().tm_yday
