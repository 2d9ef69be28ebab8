"""How this season stands, field by field: this year's weather, the field log, and past years."""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import Any

import pandas as pd

from layers.field_log import FILE_NAME, read_log
from layers.weather.cells import FARTHEST_KM, WeatherCells, weather_cells
from layers.weather.reader import WeatherSource, read_weather
from maps.farm_file import FarmFile
from maps.farm_plan import PlanTable, lot_of, settings_of
from maps.farm_years import farm_years
from maps.layers_read import LayersRead, Progress, read_layers
from maps.second_process import Beside
from suitability.crop import Crop, load_crop
from suitability.errors import InputError
from suitability.feed_window import WindowRule, window_rule
from suitability.seed_order import pls_rate_kg_ha, seeds_per_m2
from suitability.stand_now import StandNow, stand_now
from suitability.this_season import SoilNow, carried, soil_mean_c, soil_now, time_left
from suitability.warm_soil import warm_rule


@dataclass(frozen=True)
class Seen:
    """A number of the log and its day."""

    day: date
    value: float


@dataclass(frozen=True)
class FieldNow:
    """One field; what was ``sown``, ``emerged``, measured or counted comes from the log.

    ``estimate_c`` is the estimate of the day of the thermometer's reading. ``next_week`` is the
    first sowing week left, ``last_week`` the last that is worth sowing, ``wait_week`` the
    recommended one where it comes later and works in more years. ``seeds_m2`` are the live seeds
    that are sown at the grower's rate, else the crop file's.
    """

    field_id: str
    name: str
    soil: SoilNow | None
    thermometer: Seen | None
    estimate_c: float
    next_week: str | None
    works_years_in_ten: float
    last_week: str | None
    wait_week: str | None
    wait_years_in_ten: float
    sown: date | None
    stand_d: int
    stand: StandNow | None
    emerged: date | None
    plants_m2: Seen | None
    seeds_m2: float
    height_m: Seen | None


@dataclass(frozen=True)
class SeasonNow:
    """All fields on the last day of this year's weather; ``rule`` is when grazing opens."""

    last: date
    rule: WindowRule
    crop: Crop
    fields: tuple[FieldNow, ...]


def season_now(
    farm: FarmFile,
    weather_files: Sequence[WeatherSource],
    progress: Progress,
    today: date | None = None,
    beside: Beside | None = None,
) -> SeasonNow:
    """Tell how the season stands.

    Parameters
    ----------
    weather_files : daily weather of this year from 1 January on; each field looks to the nearest
        station in them, brought to its height.
    beside : where what can be is done while the rest goes on; here by default.

    Raises
    ------
    InputError : the files have no day of this year, or the farm has no weather of past years.
    """
    read = read_layers(farm, progress, beside)
    if read.weather.empty:
        raise InputError(
            f"{farm.path.name} names no daily weather of past years. Add [[weather]]: without it "
            "there are no odds."
        )
    begun = _this_year(weather_files, read, date.today() if today is None else today)
    last = begun.weather["date"].max().date()
    crop = load_crop(farm.farm.crop)
    own = read.parts.drop_duplicates("field_id").set_index("field_id")["weather_id"]
    year = carried(read.weather, read.stations, own, begun.weather, begun.weather_id, last)
    weather = year.weather
    # No plan is made: what is not sown yet is asked about by the odds of its weeks.
    unplanned = farm.model_copy(update={"plan": None})
    unplanned._path = farm.path
    parts = read.parts.assign(weather_id=read.parts["field_id"].map(year.weather_id))
    now = replace(read, weather=weather, stations=year.stations, parts=parts)
    judged = farm_years(unplanned, now, crop, progress, how_far=False, beside=beside)
    years = judged.years
    log = _log_of_year(farm, last)
    asked = settings_of(farm.plan or PlanTable(), farm.seed)
    rule = window_rule(crop, asked.opens_d, asked.opens_height_m, asked.closes_d)
    fields = pd.DataFrame(read.fields.drop(columns="geometry"))
    ids = [str(i) for i in fields["field_id"]]
    weeks = pd.DataFrame(columns=["field_id", "sow_date", "works_years_in_ten"])
    left = (
        time_left(weeks, ids, last, crop)
        if years is None
        else time_left(years.weeks, ids, last, crop, years.best["sow_date"])
    )
    lot, uses = lot_of(farm.seed, crop), fields.set_index("field_id")["use"]
    names = fields.set_index("field_id")["name"]
    soils: dict[tuple[str, float], SoilNow] = {}
    told = []
    for field_id in ids:
        mine = log[log["field_id"] == field_id]
        cell = _text(year.weather_id[field_id])
        reading, estimate_c, soil = _reading(mine, last, crop), float("nan"), None
        if cell is not None:
            if reading is not None:
                window_d = warm_rule(crop).window_d
                estimate_c = soil_mean_c(weather, year.stations, cell, reading.day, window_d)
            offset_c = 0.0
            if reading is not None and not math.isnan(estimate_c):
                offset_c = reading.value - estimate_c
            if (cell, offset_c) not in soils:
                soils[cell, offset_c] = soil_now(weather, year.stations, cell, last, crop, offset_c)
            soil = soils[cell, offset_c]
        sown = _last_day(mine, "sown")
        stand_d = 0 if sown is None else (last - sown).days
        if sown is not None:  # what is older is of an earlier stand
            mine = mine[mine["day"] >= sown]
        stand, tall = None, _last_seen(mine, "height")
        if sown is not None and years is not None:
            seen = None if tall is None else ((tall.day - sown).days, tall.value)
            stand = stand_now(
                years, fields, field_id, sown, stand_d, farm.seed.type, rule, crop, seen
            )
        told.append(
            FieldNow(
                field_id=field_id,
                name=_text(names[field_id]) or "",
                soil=soil,
                thermometer=reading,
                estimate_c=estimate_c,
                next_week=_text(left["next_week"][field_id]),
                works_years_in_ten=float(left["works_years_in_ten"][field_id]),
                last_week=_text(left["last_week"][field_id]),
                wait_week=_text(left["wait_week"][field_id]),
                wait_years_in_ten=float(left["wait_years_in_ten"][field_id]),
                sown=sown,
                stand_d=stand_d,
                stand=stand,
                emerged=_last_day(mine, "emerged"),
                plants_m2=_last_seen(mine, "stand"),
                seeds_m2=seeds_per_m2(
                    pls_rate_kg_ha(_text(uses[field_id]), lot, crop), lot.n_seeds_per_kg
                ),
                height_m=tall,
            )
        )
    return SeasonNow(last, rule, crop, tuple(told))


def _this_year(sources: Sequence[WeatherSource], read: LayersRead, today: date) -> WeatherCells:
    """Cells of this year's weather, with its days only."""
    middle = (float(read.fields["lat_deg"].mean()), float(read.fields["lon_deg"].mean()))
    found = read_weather(sources, middle, today)
    days = found.weather
    days = days[days["date"].dt.year == today.year].dropna(subset=["tmax_c", "tmin_c"])
    named = " and ".join(str(source.path) for source in sources)
    if not len(days):
        raise InputError(
            f"{named} has no day of {today.year} with a high and a low. Give this year's daily "
            "weather, from 1 January on."
        )
    height_m = read.relief.set_index("field_id")["elevation_m"]
    cells = weather_cells(read.fields, found.stations, days, height_m)
    if cells.weather.empty:
        raise InputError(
            f"{named} has no station within {FARTHEST_KM:.0f} km of any field with highs, lows and "
            "rain. Give this year's weather of a nearer one."
        )
    return cells


def _log_of_year(farm: FarmFile, last: date) -> pd.DataFrame:
    log = read_log(farm.path.parent / FILE_NAME)
    kept = [day.year == last.year and day <= last for day in log["day"]]
    return log[pd.Series(kept, index=log.index, dtype=bool)]


def _last_day(mine: pd.DataFrame, what: str) -> date | None:
    rows = mine[mine["what"] == what]
    return rows["day"].iloc[-1] if len(rows) else None


def _last_seen(mine: pd.DataFrame, what: str) -> Seen | None:
    rows = mine[mine["what"] == what]
    return Seen(rows["day"].iloc[-1], float(rows["in_our_unit"].iloc[-1])) if len(rows) else None


def _reading(mine: pd.DataFrame, last: date, crop: Crop) -> Seen | None:
    """The last reading of a thermometer, as long as it says something of today."""
    seen = _last_seen(mine, "soil-temperature")
    fresh = seen is not None and (last - seen.day).days <= warm_rule(crop).hold_d
    return seen if fresh else None


def _text(value: Any) -> str | None:
    return value if isinstance(value, str) else None
