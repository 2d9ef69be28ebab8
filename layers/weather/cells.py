"""Which weather each field looks to: the nearest station, brought to the field's height."""

from dataclasses import dataclass

import numpy as np
import pandas as pd

from layers.areas import distance_text
from layers.weather.heights_beside import beside_stations
from layers.weather.places import distance_km
from layers.weather.readings import LAYER
from suitability.columns import STATIONS, WEATHER
from suitability.contract import names
from suitability.notes import Note

# Judgement: beyond 80 km (50 miles) of the same plain the record is of another place. 100 m of
# height count like 10 km, so that a station across the valley goes before one on the mountain.
FARTHEST_KM = 80.0
_KM_PER_M = 0.1
# Years that odds should rest on; a nearer station with fewer stands back (judgement: 24 of 30
# years lie between 6 and 9 in ten by Wilson's interval at 95 %, 8 of 10 between 5 and 9).
_ENOUGH_YEARS = 20
_NEEDED = ("tmax_c", "tmin_c", "precip_mm")
# A year that lacks more days than this does not count here; which seasons do is told by the record.
_LEAST_DAYS = 330

# Change with height in the southern Appalachians, C per km: highs fall faster than lows, whose
# cold air drains into the valleys (Bolstad, Swift, Collins and Regniere 1998, Agric. For. Meteor.
# 91:161-176).
_TMAX_C_KM, _TMIN_C_KM = 7.0, 3.0
# 30 m off at most: 0.1 C in the lows, 0.2 C in the highs. Steps keep the cells few.
STEP_M = 60


@dataclass(frozen=True)
class WeatherCells:
    """Weather by cell; by field_id (index) its ``weather_id`` and the ``station`` behind it.

    Both are None where no station is near enough.
    """

    weather_id: pd.Series
    station: pd.Series
    stations: pd.DataFrame
    weather: pd.DataFrame
    notes: tuple[Note, ...]


def weather_cells(
    fields: pd.DataFrame,
    stations: pd.DataFrame,
    weather: pd.DataFrame,
    field_elevation_m: pd.Series | None = None,
) -> WeatherCells:
    """Cells that the fields look to: stations, and stations brought to another height.

    Parameters
    ----------
    fields : FIELDS table. stations, weather : tables of the contract, as read.
    field_elevation_m : height of each field above the sea by field_id, NaN or absent where not
        known: then its station's weather is taken as it is.

    Returns
    -------
    Only cells that a field looks to; a cell at another height is called like
    ``USW00012816+120m`` and has rows of its own in both tables.
    """
    usable = usable_stations(stations, weather)
    heights = pd.Series(np.nan, index=fields["field_id"], dtype=float)
    if field_elevation_m is not None:
        heights = field_elevation_m.reindex(fields["field_id"]).astype(float)
    nearest, notes = nearest_stations(
        fields, usable, field_elevation_m=heights, years=whole_years(weather)
    )
    station_m = nearest.map(usable.set_index("weather_id")["elevation_m"]).astype(float)
    steps = ((heights - station_m) / STEP_M).round().fillna(0).astype(int)
    named = [
        id_ if id_ is None or not step else f"{id_}{step * STEP_M:+d}m"
        for id_, step in zip(nearest, steps, strict=True)
    ]
    cell = pd.Series(named, index=nearest.index, dtype=object)
    made_stations, made_weather = [], []
    by_cell = pd.DataFrame({"cell": cell, "station": nearest, "rise_m": steps * STEP_M})
    for cell_id, own in by_cell.dropna(subset="cell").groupby("cell", sort=True):
        station, rise_m = own["station"].iloc[0], int(own["rise_m"].iloc[0])
        place = stations[stations["weather_id"] == station]
        days = weather[weather["weather_id"] == station]
        if rise_m:
            place = place.assign(elevation_m=place["elevation_m"] + rise_m)
            days = at_height(days, rise_m)
            notes.append(_height_note(str(station), rise_m, tuple(map(str, own.index))))
        made_stations.append(place.assign(weather_id=cell_id))
        made_weather.append(days.assign(weather_id=cell_id))
    return WeatherCells(
        weather_id=cell.rename("weather_id"),
        station=nearest,
        stations=_stacked(made_stations, stations[names(STATIONS)]),
        weather=_stacked(made_weather, weather[names(WEATHER)]),
        notes=(
            *notes,
            *_flat_note(fields, nearest, heights, station_m),
            *beside_stations(fields, stations, heights),
        ),
    )


def usable_stations(stations: pd.DataFrame, weather: pd.DataFrame) -> pd.DataFrame:
    """Stations that measured highs, lows and rain at all: the daily account needs all three."""
    measured = weather.groupby("weather_id")[list(_NEEDED)].count().gt(0).all(axis=1)
    return stations[stations["weather_id"].map(measured).eq(True)]


def whole_years(weather: pd.DataFrame) -> pd.Series:
    """Number of calendar years with most days whole, by weather_id."""
    whole = weather[weather[list(_NEEDED)].notna().all(axis=1)]
    days = whole.groupby(["weather_id", whole["date"].dt.year]).size()
    return days.ge(_LEAST_DAYS).groupby("weather_id").sum()


def nearest_stations(
    fields: pd.DataFrame,
    stations: pd.DataFrame,
    *,
    field_elevation_m: pd.Series | None = None,
    years: pd.Series | None = None,
    farthest_km: float = FARTHEST_KM,
) -> tuple[pd.Series, list[Note]]:
    """Station of each field (index field_id), None where none is near enough; and Notes.

    The nearest counts by kilometres plus 1 km for each 10 m of height between; where both heights
    are known. Beyond ``farthest_km`` of this there is no weather. A station with fewer than 20
    whole years stands back behind one within reach that has more.

    Parameters
    ----------
    fields : ``field_id``, ``lat_deg``, ``lon_deg``. stations : STATIONS table.
    field_elevation_m : by field_id. years : whole years by weather_id.
    """
    chosen: dict[str, str | None] = {}
    away: dict[str, float] = {}
    ids = stations["weather_id"].astype(object).to_numpy()
    number = np.ones(len(ids)) if years is None else years.reindex(ids).fillna(0).to_numpy()
    for row in fields[["field_id", "lat_deg", "lon_deg"]].itertuples(index=False):
        km = distance_km(
            stations["lat_deg"].to_numpy(), stations["lon_deg"].to_numpy(), row.lat_deg, row.lon_deg
        )
        height_m = np.nan if field_elevation_m is None else field_elevation_m.get(row.field_id)
        rise_m = np.abs(stations["elevation_m"].to_numpy(dtype=float) - float(height_m))
        cost = km + _KM_PER_M * np.nan_to_num(rise_m)
        near = cost <= farthest_km
        if near.any():
            enough = min(_ENOUGH_YEARS, number[near].max())
            best = min(np.flatnonzero(near & (number >= enough)), key=lambda i: (cost[i], ids[i]))
            chosen[row.field_id], away[row.field_id] = str(ids[best]), float(km[best])
        else:
            chosen[row.field_id] = None
            away[row.field_id] = float(km.min()) if len(km) else np.nan
    station = pd.Series(chosen, dtype=object, name="weather_id")
    station.index.name = "field_id"
    return station, _near_notes(station, pd.Series(away, dtype=float), stations, farthest_km)


def at_height(weather: pd.DataFrame, rise_m: float) -> pd.DataFrame:
    """Weather of a station brought ``rise_m`` higher (or lower): highs 7 C/km, lows 3 C/km.

    Where a low would pass the high, on dull days brought far up, both become their mean.
    """
    tmax_c = weather["tmax_c"] - _TMAX_C_KM * rise_m / 1000.0
    tmin_c = weather["tmin_c"] - _TMIN_C_KM * rise_m / 1000.0
    crossed = tmin_c > tmax_c
    mean_c = (tmax_c + tmin_c) / 2
    return weather.assign(tmax_c=tmax_c.mask(crossed, mean_c), tmin_c=tmin_c.mask(crossed, mean_c))


def _near_notes(
    station: pd.Series, away_km: pd.Series, stations: pd.DataFrame, farthest_km: float
) -> list[Note]:
    notes = []
    name_of = stations.set_index("weather_id")["name"]
    for weather_id, km in away_km.groupby(station):
        name = name_of.get(weather_id)
        called = f"{weather_id} ({name})" if isinstance(name, str) else str(weather_id)
        distance = distance_text(km.min(), km.max())
        count = "1 field looks" if len(km) == 1 else f"{len(km)} fields look"
        text = f"{count} to station {called}, {distance} away."
        notes.append(Note(LAYER, "info", text, tuple(map(str, km.index))))
    far = station.index[station.isna()]
    if len(far):
        least = away_km[far].min()
        nearest = f" (the nearest is {least:.0f} km away)" if np.isfinite(least) else ""
        text = (
            f"{len(far)} of {len(station)} fields have no station with highs, lows and rain within "
            f"{farthest_km:.0f} km{nearest}, 10 m of height counted as 1 km: their weather is not "
            "known."
        )
        notes.append(Note(LAYER, "warning", text, tuple(map(str, far))))
    return notes


def _height_note(station: str, rise_m: int, field_ids: tuple[str, ...]) -> Note:
    word = "above" if rise_m > 0 else "below"
    way = "less" if rise_m > 0 else "more"
    fields = "1 field lies" if len(field_ids) == 1 else f"{len(field_ids)} fields lie"
    text = (
        f"{fields} about {abs(rise_m)} m {word} station {station}: highs were taken "
        f"{_TMAX_C_KM * abs(rise_m) / 1000:.1f} C {way}, lows "
        f"{_TMIN_C_KM * abs(rise_m) / 1000:.1f} C {way} (7 and 3 C a kilometre)."
    )
    return Note(LAYER, "info", text, field_ids)


def _flat_note(
    fields: pd.DataFrame, nearest: pd.Series, heights: pd.Series, station_m: pd.Series
) -> list[Note]:
    unknown = nearest.notna() & (heights.isna() | station_m.isna())
    if not unknown.any():
        return []
    lacking = "the height of the fields" if heights.isna().all() else "a height"
    if station_m.isna().all() and not heights.isna().all():
        lacking = "the height of the station"
    text = (
        f"For {int(unknown.sum())} of {len(fields)} fields {lacking} is not known: temperatures "
        "were taken from the station as they are."
    )
    return [Note(LAYER, "info", text, tuple(map(str, nearest.index[unknown])))]


def _stacked(tables: list[pd.DataFrame], like: pd.DataFrame) -> pd.DataFrame:
    if not tables:
        return like.iloc[:0].copy()
    return pd.concat(tables, ignore_index=True)[list(like.columns)]
