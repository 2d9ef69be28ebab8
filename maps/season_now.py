"""How this season stands, field by field: this year's weather, the field log, and past years."""

import math
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path
from typing import Any

import pandas as pd

from layers.field_log import FILE_NAME, read_log
from layers.weather.reader import WeatherSource, read_weather
from maps.farm_file import FarmFile
from maps.farm_plan import PlanTable, settings_of
from maps.farm_years import farm_years
from maps.layers_read import LayersRead, Progress, read_layers
from suitability.crop import Crop, load_crop
from suitability.errors import InputError
from suitability.feed_window import WindowRule, window_rule
from suitability.this_season import (
    SoilNow,
    StandNow,
    soil_mean_c,
    soil_now,
    spliced,
    stand_now,
    time_left,
)
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
    first sowing week left, ``last_week`` the last that is worth sowing.
    """

    field_id: str
    soil: SoilNow | None
    thermometer: Seen | None
    estimate_c: float
    next_week: str | None
    works_years_in_ten: float
    last_week: str | None
    sown: date | None
    stand_d: int
    stand: StandNow | None
    emerged: date | None
    plants_m2: Seen | None
    height_m: Seen | None


@dataclass(frozen=True)
class SeasonNow:
    """All fields on the last day of this year's weather; ``rule`` is when grazing opens."""

    last: date
    rule: WindowRule
    crop: Crop
    fields: tuple[FieldNow, ...]


def season_now(
    farm: FarmFile, weather_file: Path, progress: Progress, today: date | None = None
) -> SeasonNow:
    """Tell how the season stands.

    Parameters
    ----------
    weather_file : daily weather of this year from 1 January on, one station.

    Raises
    ------
    InputError : the file has no day of this year, or the farm has no weather of past years.
    """
    read = read_layers(farm, progress)
    if read.weather.empty:
        raise InputError(
            f"{farm.path.name} names no daily weather of past years. Add [[weather]]: without it "
            "there are no odds."
        )
    this_year = _this_year(weather_file, read, date.today() if today is None else today)
    last = this_year["date"].max().date()
    crop = load_crop(farm.farm.crop)
    weather = spliced(read.weather, this_year, last)
    # No plan is made: what is not sown yet is asked about by the odds of its weeks.
    unplanned = farm.model_copy(update={"plan": None})
    unplanned._path = farm.path
    years = farm_years(unplanned, replace(read, weather=weather), crop, progress).years
    log = _log_of_year(farm, last)
    asked = settings_of(farm.plan or PlanTable(), farm.seed)
    rule = window_rule(crop, asked.opens_d, asked.opens_height_m, asked.closes_d)
    fields = pd.DataFrame(read.fields.drop(columns="geometry"))
    ids = [str(i) for i in fields["field_id"]]
    weeks = pd.DataFrame(columns=["field_id", "sow_date", "works_years_in_ten"])
    left = time_left(weeks if years is None else years.weeks, ids, last, crop)
    told = []
    for field_id in ids:
        mine = log[log["field_id"] == field_id]
        cell = _cell(read, field_id)
        reading, estimate_c, soil = _reading(mine, last, crop), float("nan"), None
        if cell is not None:
            if reading is not None:
                window_d = warm_rule(crop).window_d
                estimate_c = soil_mean_c(weather, read.stations, cell, reading.day, window_d)
            offset_c = 0.0
            if reading is not None and not math.isnan(estimate_c):
                offset_c = reading.value - estimate_c
            soil = soil_now(weather, read.stations, cell, last, crop, offset_c)
        sown = _last_day(mine, "sown")
        stand_d = 0 if sown is None else (last - sown).days
        stand = None
        if sown is not None and years is not None:
            stand = stand_now(years, fields, field_id, sown, stand_d, farm.seed.type, rule, crop)
        told.append(
            FieldNow(
                field_id=field_id,
                soil=soil,
                thermometer=reading,
                estimate_c=estimate_c,
                next_week=_text(left["next_week"][field_id]),
                works_years_in_ten=float(left["works_years_in_ten"][field_id]),
                last_week=_text(left["last_week"][field_id]),
                sown=sown,
                stand_d=stand_d,
                stand=stand,
                emerged=_last_day(mine, "emerged"),
                plants_m2=_last_seen(mine, "stand"),
                height_m=_last_seen(mine, "height"),
            )
        )
    return SeasonNow(last, rule, crop, tuple(told))


def _this_year(path: Path, read: LayersRead, today: date) -> pd.DataFrame:
    middle = (float(read.fields["lat_deg"].mean()), float(read.fields["lon_deg"].mean()))
    found = read_weather([WeatherSource(path)], middle, today).weather
    if found["weather_id"].nunique() > 1:
        raise InputError(f"{path} holds several stations. Give the file of one.")
    own = found[found["date"].dt.year == today.year].dropna(subset=["tmax_c", "tmin_c"])
    if not len(own):
        raise InputError(
            f"{path} has no day of {today.year} with a high and a low. Give this year's daily "
            "weather, from 1 January on."
        )
    return own


def _log_of_year(farm: FarmFile, last: date) -> pd.DataFrame:
    log = read_log(farm.path.parent / FILE_NAME)
    return log[[day.year == last.year and day <= last for day in log["day"]]]


def _cell(read: LayersRead, field_id: str) -> str | None:
    cells = read.parts.loc[read.parts["field_id"] == field_id, "weather_id"].dropna()
    return None if cells.empty else str(cells.iloc[0])


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
