"""Reads the farm's weather files into stations and days, whatever their layout and unit."""

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import pandas as pd

from layers.files import local_file, read_text
from layers.weather.agronomic import AGRONOMIC
from layers.weather.converted import converted
from layers.weather.daily_csv import DAILY_CSV
from layers.weather.dates import check_days
from layers.weather.fixed_width import FIXED_WIDTH
from layers.weather.gridded_csv import GRIDDED_CSV
from layers.weather.places import distance_km, placed
from layers.weather.plain_csv import PLAIN_CSV
from layers.weather.readings import LAYER, Layout
from layers.weather.record_notes import lacking_notes, record_notes
from layers.weather.sound_days import (
    every_day,
    in_contract,
    one_row_a_day,
    possible,
    without_paired_zeros,
)
from suitability.columns import STATIONS, WEATHER
from suitability.contract import check, empty, names
from suitability.errors import InputError
from suitability.notes import Note

# In this order: the first whose marks the text bears.
LAYOUTS: tuple[Layout, ...] = (FIXED_WIDTH, GRIDDED_CSV, AGRONOMIC, DAILY_CSV, PLAIN_CSV)
_MOST_BYTES = 300_000_000
_PACKED = {b"\x1f\x8b": "gzip", b"PK": "zip or spreadsheet", b"BZh": "bzip2", b"\xfd7z": "xz"}
_SAME_PLACE_KM = 10.0


@dataclass(frozen=True)
class WeatherSource:
    """One weather file and what the farm file says of it; None where it says nothing.

    ``temperature_unit`` is c, f or tenths_c, ``precip_unit`` mm, in or tenths_mm.
    """

    path: Path
    lat_deg: float | None = None
    lon_deg: float | None = None
    elevation_m: float | None = None
    temperature_unit: str | None = None
    precip_unit: str | None = None


@dataclass(frozen=True)
class WeatherFile:
    """What a file turned out to be; a unit is None where it has no such value."""

    path: Path
    layout: str
    temperature_unit: str | None
    precip_unit: str | None


@dataclass(frozen=True)
class WeatherRead:
    """What the weather files hold, under the contracts STATIONS and WEATHER.

    ``weather`` is sorted by station and day and has every day from a station's first to its last;
    missing is NaN.
    """

    stations: pd.DataFrame
    weather: pd.DataFrame
    notes: tuple[Note, ...]
    files: tuple[WeatherFile, ...]


@dataclass(frozen=True)
class _OneFile:
    stations: pd.DataFrame
    days: pd.DataFrame
    notes: list[Note]
    file: WeatherFile


def read_weather(
    sources: Sequence[WeatherSource],
    farm_middle: tuple[float, float],
    today: dt.date | None = None,
) -> WeatherRead:
    """Stations and daily weather out of any number of files.

    Parameters
    ----------
    sources : the files. farm_middle : latitude and longitude [deg].
    today : no measured day lies after it; the day of the run if None.

    Raises
    ------
    InputError : any file that cannot be used; the faults of all files in one message.
    """
    day = dt.date.today() if today is None else today
    read: list[_OneFile] = []
    faults: list[str] = []
    for source in sources:
        try:
            read.append(_one_file(source, farm_middle, day, alone=len(sources) == 1))
        except InputError as error:
            faults.append(str(error))
    if faults:
        raise InputError("\n".join(faults))
    if not read:
        return WeatherRead(empty(STATIONS), empty(WEATHER), (), ())
    notes = [note for one in read for note in one.notes]
    stations = _stations(pd.concat([one.stations for one in read], ignore_index=True))
    days = pd.concat([one.days for one in read], ignore_index=True)
    if len(read) > 1:
        days, more = one_row_a_day(days, "The weather files together")
        notes += more
    tables = []
    for station, own in days.groupby("station", sort=True):
        if own[["tmax_c", "tmin_c", "precip_mm"]].isna().all(axis=None):
            text = f"Station {station} has no high, low or rain at all and was left out."
            notes.append(Note(LAYER, "warning", text))
            continue
        sound, said = possible(every_day(own))
        notes += record_notes(str(station), sound, said)
        tables.append(sound.reset_index().assign(weather_id=station))
    weather = pd.concat(tables, ignore_index=True)[names(WEATHER)]
    stations = stations[stations["weather_id"].isin(weather["weather_id"])].reset_index(drop=True)
    return WeatherRead(
        stations=check(stations[names(STATIONS)], STATIONS, "The table of weather stations"),
        weather=check(weather, WEATHER, "The table of daily weather"),
        notes=tuple(notes),
        files=tuple(one.file for one in read),
    )


def layout_of(text: str, path: Path) -> Layout:
    """The layout of a weather file by its text.

    Raises
    ------
    InputError : none of those read here.
    """
    for layout in LAYOUTS:
        if layout.matches(text):
            return layout
    begins = " ".join(text[:200].split())[:80]
    known = "; ".join(layout.name for layout in LAYOUTS)
    raise InputError(
        f"{path} is no daily weather that is read here; it begins {begins!r}. Expected one of: "
        f"{known}. Export the daily values as one of these."
    )


def _one_file(
    source: WeatherSource, farm_middle: tuple[float, float], today: dt.date, *, alone: bool
) -> _OneFile:
    path = local_file(source.path)
    _refuse_packed(path)
    text, notes = read_text(path, layer=LAYER)
    readings = layout_of(text, path).read(text, path)
    check_days(readings.days, path, today)
    raw, zeros = without_paired_zeros(in_contract(readings.days, path), path.name)
    stated = (source.lat_deg, source.lon_deg, source.elevation_m)
    stations, about_place = placed(readings.stations, path, stated, farm_middle, alone=alone)
    stated_units = (source.temperature_unit, source.precip_unit)
    days, warm, wet, said = converted(raw, readings, stations, stated_units, path)
    days, doubled = one_row_a_day(days, path.name)
    file = WeatherFile(path, readings.layout, warm, wet)
    told = [
        *notes,
        *readings.notes,
        *about_place,
        *said,
        *zeros,
        *doubled,
        *lacking_notes(days, path),
    ]
    return _OneFile(stations, days, told, file)


def _stations(found: pd.DataFrame) -> pd.DataFrame:
    """One row a station of all files; one station at two places is an error."""
    table = found.rename(columns={"station": "weather_id"})
    faults = []
    for station, own in table.groupby("weather_id"):
        first = own.iloc[0]
        far_km = distance_km(
            own["lat_deg"].to_numpy(), own["lon_deg"].to_numpy(), first["lat_deg"], first["lon_deg"]
        ).max()
        if far_km > _SAME_PLACE_KM:
            faults.append(
                f"Two weather files give station {station} places {far_km:.0f} km apart. Expected "
                "one place a station. Mend lat and lon, or name the stations differently."
            )
    if faults:
        raise InputError("\n".join(faults))
    one = table.groupby("weather_id", sort=True).first().reset_index()
    one["name"] = one["name"].astype(object).where(one["name"].notna(), None)
    return one


def _refuse_packed(path: Path) -> None:
    with path.open("rb") as stream:
        head = stream.read(4)
    for magic, kind in _PACKED.items():
        if head.startswith(magic):
            raise InputError(
                f"{path} is packed ({kind}). Expected daily weather as text. Unpack it, or save "
                "the sheet as CSV, and give that file."
            )
    size = path.stat().st_size
    if size > _MOST_BYTES:
        raise InputError(
            f"{path} has {size / 1e6:,.0f} MB; at most {_MOST_BYTES / 1e6:,.0f} MB of weather are "
            "read. Keep the stations near the farm."
        )
