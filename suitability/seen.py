"""What was seen in the fields, beside what the simulation says of that day and that year."""

from dataclasses import dataclass
from datetime import date
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from suitability.field_stand import FieldStand, at_age, field_stand
from suitability.sowing_weeks import week_grid
from suitability.warm_soil import soil_by_day_c
from suitability.years import Years

SEEN = (
    "field_id", "day", "what", "seen", "low", "mid", "high", "n_years", "of_year", "why_not", "note"
)  # fmt: skip
# Why nothing stands beside an entry.
NO_SOWING, NOT_SIMULATED, NO_WEATHER, NOT_COMPARED = (
    "no_sowing", "not_simulated", "no_weather", "not_compared",
)  # fmt: skip
_SPREAD = (0.1, 0.5, 0.9)
_SEASON_D = 250  # an older sowing belongs to another stand


@dataclass(frozen=True)
class _Said:
    """1, 5 and 9 years of 10, or three times the number of that very year; NaN: nothing known."""

    low: float = np.nan
    mid: float = np.nan
    high: float = np.nan
    n_years: int = 0
    of_year: bool = False
    why_not: str = ""


def seen_beside(
    log: pd.DataFrame,
    years: Years | None,
    fields: pd.DataFrame,
    weather: pd.DataFrame,
    stations: pd.DataFrame,
    weather_id: "pd.Series[str]",
) -> pd.DataFrame:
    """Every line of the log with what was simulated.

    Parameters
    ----------
    log : of ``layers.field_log.read_log``: day, field_id, what, in_our_unit, note.
    years : None where nothing could be simulated. fields : FIELDS table.
    weather, stations : of the record. weather_id : cell of each field, by field_id.

    Returns
    -------
    DataFrame with the columns of SEEN, in the order of field and day and on the log's own index.
    ``seen`` is in the log's units, and for ``emerged`` the days after sowing. Where the record
    reaches the season of the entry (``of_year``), low, mid and high are the number of that year;
    else they are those of 1, 5 and 9 years of 10. Of ``sown`` they are the years of 10 in which
    that week works, of ``stand`` those with a stand. NaN, and ``why_not``, where nothing can be set
    beside the entry. Growth counts from the sowing that was logged.
    """
    known = set(fields["field_id"])
    rows: list[dict[str, Any]] = []
    stands: dict[str, FieldStand | None] = {}
    soils: dict[str, pd.Series[float]] = {}
    order = log[log["field_id"].isin(known)].sort_values(["field_id", "day"], kind="stable")
    for entry in order.itertuples(index=False):
        i, seen = str(entry.field_id), float(entry.in_our_unit)
        sown = _sown(log, i, entry.day)
        if entry.what == "soil-temperature":
            cell = weather_id.get(i)
            said = _Said(why_not=NO_WEATHER)
            if isinstance(cell, str):
                if cell not in soils:
                    soils[cell] = _soil_c(weather, stations, cell)
                said = _of_soil(soils[cell], entry.day)
        elif entry.what == "sown":
            said = _of_sowing(years, i, entry.day)
        elif entry.what in ("emerged", "stand", "height", "cut-weight"):
            if i not in stands:
                stands[i] = _stand(years, fields, i)
            seen = float((entry.day - sown).days) if entry.what == "emerged" and sown else seen
            said = _of_stand(stands[i], entry.what, sown, entry.day)
        else:
            said = _Said(why_not=NOT_COMPARED)
        rows.append(
            {
                "field_id": i,
                "day": entry.day,
                "what": entry.what,
                "seen": seen,
                "low": said.low,
                "mid": said.mid,
                "high": said.high,
                "n_years": said.n_years,
                "of_year": said.of_year,
                "why_not": said.why_not,
                "note": entry.note,
            }
        )
    return pd.DataFrame(rows, columns=list(SEEN), index=order.index)


def _sown(log: pd.DataFrame, field_id: str, day: date) -> date | None:
    """The last sowing of the field in the season of a day."""
    mine = log[(log["field_id"] == field_id) & (log["what"] == "sown")]
    days = [d for d in mine["day"] if 0 <= (day - d).days <= _SEASON_D]
    return max(days) if days else None


def _of_sowing(years: Years | None, field_id: str, day: date) -> _Said:
    """Years of 10 in which a sowing in that week works."""
    if years is None:
        return _Said(why_not=NOT_SIMULATED)
    week = max((w for w in week_grid() if w <= f"{day:%m-%d}"), default="")
    weeks = years.weeks
    mine = weeks[(weeks["field_id"] == field_id) & (weeks["sow_date"] == week)]
    if mine.empty or np.isnan(mine["works_years_in_ten"].iloc[0]):
        return _Said(why_not=NOT_SIMULATED)
    works = float(mine["works_years_in_ten"].iloc[0])
    return _Said(works, works, works, int(mine["n_years"].iloc[0]))


def _stand(years: Years | None, fields: pd.DataFrame, field_id: str) -> FieldStand | None:
    if years is None or field_id not in set(years.parts["field_id"]):
        return None
    return field_stand(years.simulated, years.parts, fields, [field_id])


def _of_stand(stand: FieldStand | None, what: str, sown: date | None, day: date) -> _Said:
    if sown is None:
        return _Said(why_not=NO_SOWING)
    week = max((w for w in week_grid() if w <= f"{sown:%m-%d}"), default="")
    if stand is None or week not in stand.weeks:
        return _Said(why_not=NOT_SIMULATED)
    w = stand.weeks.index(week)
    end_d = stand.end_d[0, :, w]
    known = ~np.isnan(end_d)
    if not known.any():
        return _Said(why_not=NOT_SIMULATED)
    up = known & (end_d > 0)
    age = np.full(end_d.shape, (day - sown).days, dtype=np.float32)
    if what == "emerged":
        values = np.where(up, stand.emerged_d[0, :, w] - 1, np.nan)  # the sowing day counts as 1
    elif what == "height":
        values = np.where(up, at_age(stand.height_m[0, :, w], stand.ages_d, age), np.nan)
    elif what == "cut-weight":
        values = np.where(up, at_age(stand.dry_matter_kg_ha[0, :, w], stand.ages_d, age), np.nan)
    else:
        values = np.where(known, 10.0 * up, np.nan)
    own = stand.years.index(sown.year) if sown.year in stand.years else None
    if own is not None and known[own]:
        value = float(values[own])
        return _Said(value, value, value, 1, True, NOT_SIMULATED if np.isnan(value) else "")
    if what == "stand":
        share = float(np.nanmean(values))
        return _Said(share, share, share, int(known.sum()))
    return _spread(values)


def _of_soil(soil_c: "pd.Series[float]", day: date) -> _Said:
    own = soil_c.get(pd.Timestamp(day))
    if own is not None and not np.isnan(own):
        return _Said(float(own), float(own), float(own), 1, True)
    month_day = pd.DatetimeIndex(soil_c.index).strftime("%m-%d")
    return _spread(soil_c[month_day == f"{day:%m-%d}"].to_numpy(dtype=float))


def _soil_c(weather: pd.DataFrame, stations: pd.DataFrame, cell: str) -> "pd.Series[float]":
    lat_deg = float(stations.set_index("weather_id")["lat_deg"][cell])
    return soil_by_day_c(weather[weather["weather_id"] == cell], lat_deg)


def _spread(values: NDArray[np.float64]) -> _Said:
    found = values[~np.isnan(values)]
    if not len(found):
        return _Said(why_not=NOT_SIMULATED)
    low, mid, high = (float(v) for v in np.quantile(found, _SPREAD))
    return _Said(low, mid, high, len(found))
