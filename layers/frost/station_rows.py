"""Freeze dates by station: what every text format yields, the checks, and the way to the fields."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path

import geopandas as gpd
import numpy as np
import pandas as pd
from pyproj import Geod

from layers.areas import distance_text, length_text
from layers.frost.stated import LAYER, Stated
from suitability.columns import FROST
from suitability.contract import names
from suitability.errors import InputError, listed
from suitability.notes import Level, Note

VALUES = [name for name in names(FROST) if name != "field_id"]
PLACE = ["station", "name", "lat_deg", "lon_deg", "elevation_m"]
# Farther than this a station's freeze dates say little of a field. Our judgement.
FARTHEST_KM = 80.0
_GEOD = Geod(ellps="WGS84")


@dataclass(frozen=True)
class StationRows:
    """``table`` has PLACE, field_id (None where the file has none) and the rest of FROST."""

    table: pd.DataFrame
    notes: list[Note] = field(default_factory=list)


def station_table(rows: Sequence[dict[str, object]]) -> pd.DataFrame:
    """Table of all columns, numbers as numbers."""
    columns = [*PLACE, "field_id", *VALUES]
    table = pd.DataFrame(list(rows), columns=columns)
    numbers = [c.name for c in FROST if c.kind == "number"] + PLACE[2:]
    table[numbers] = table[numbers].astype(float)
    texts = [c for c in columns if c not in numbers]
    table[texts] = table[texts].astype(object).where(table[texts].notna(), None)
    return table


def to_fields(
    table: pd.DataFrame, fields: gpd.GeoDataFrame, stated: Stated, source: Path
) -> tuple[pd.DataFrame, list[Note]]:
    """FROST rows of each field, by the file's field ids, the station named, or the nearest one.

    Raises
    ------
    InputError : ids of no field; a station that the file lacks; several stations and no way to
        choose.
    """
    table = table.assign(station=table["station"].fillna(""))
    own = table["field_id"].notna()
    by_field = table[own]
    strangers = sorted(set(by_field["field_id"]) - set(fields["field_id"]))
    if strangers:
        faults = [f"field_id {s!r} is no field of this farm" for s in strangers]
        remedy = f"The ids are: {', '.join(fields['field_id'].head(20))}."
        raise InputError(listed(f"{source} cannot be used", faults, remedy))
    asked = fields[~fields["field_id"].isin(by_field["field_id"])]
    notes: list[Note] = []
    placed = by_field[["field_id", *VALUES]]
    if len(table) and own.all() and len(asked):
        text = f"{source.name} has no freeze dates for {len(asked)} of {len(fields)} fields."
        notes.append(Note(LAYER, "caution", text, tuple(asked["field_id"])))
    elif not own.all() and len(asked):
        stations = table[~own].drop_duplicates("station")[PLACE].reset_index(drop=True)
        chosen, more = _chosen(stations, asked, stated, source)
        notes.extend(more)
        pairs = pd.DataFrame({"field_id": chosen.index, "station": chosen.to_numpy()})
        rows = table[~own].drop(columns="field_id").merge(pairs, on="station")
        placed = pd.concat([placed, rows[["field_id", *VALUES]]], ignore_index=True)
    return placed.reset_index(drop=True), notes


def _chosen(
    stations: pd.DataFrame, fields: gpd.GeoDataFrame, stated: Stated, source: Path
) -> tuple["pd.Series[str]", list[Note]]:
    """Station of each field, indexed by field_id; fields too far from any are not in it."""
    if stated.station is not None:
        named = stations[stations["station"].str.upper() == stated.station.upper()]
        if not len(named):
            raise InputError(
                f"{source}: it has no station {stated.station!r}, which farm.toml names under "
                f"[frost]. It has {_some(stations['station'])}. Give one of these."
            )
        stations = named.reset_index(drop=True)
    placed = stations[["lat_deg", "lon_deg"]].notna().all(axis=1)
    if len(stations) > 1 and not placed.all():
        raise InputError(
            f"{source} holds {len(stations)} stations ({_some(stations['station'])}), and "
            f"{int((~placed).sum())} of them have no coordinates. Expected one station, or a "
            "latitude and longitude in degrees for each. Name yours under [frost]: "
            f'station = "{stations["station"].iloc[0]}".'
        )
    ids = pd.Index(fields["field_id"], name="field_id")
    if not placed.all():
        text = (
            f"{source.name} does not say where {_title(stations.iloc[0])} lies; its freeze dates "
            "were taken for the whole farm."
        )
        everywhere = pd.Series(stations["station"].iloc[0], index=ids)
        return everywhere, [Note(LAYER, "caution", text)]
    km = _distances_km(fields, stations)
    nearest = km.argmin(axis=1)
    least = km[np.arange(len(ids)), nearest]
    near = pd.Series(stations["station"].to_numpy()[nearest], index=ids)
    far = least > FARTHEST_KM
    notes = []
    for index in np.unique(nearest):
        here = (nearest == index) & (~far | (stated.station is not None))
        if here.any():
            station = stations.iloc[index]
            distance = distance_text(least[here].min(), least[here].max())
            text = (
                f"Freeze dates of {_title(station)}, {distance} off{_height(station)}. "
                "Low ground freezes on more nights than a station on a rise."
            )
            level: Level = "caution" if far[here].any() else "info"
            notes.append(Note(LAYER, level, text, tuple(ids[here])))
    if far.any() and stated.station is None:
        text = (
            f"For {int(far.sum())} fields the nearest station of {source.name} lies "
            f"{least[far].min():.0f} km off or more, beyond {FARTHEST_KM:.0f} km: freeze dates are "
            "not known there. Name a station under [frost] in farm.toml to take it all the same."
        )
        notes.append(Note(LAYER, "warning", text, tuple(ids[far])))
        near = near[~far]
    return near, notes


def _distances_km(fields: gpd.GeoDataFrame, stations: pd.DataFrame) -> np.ndarray:
    shape = (len(fields), len(stations))
    lon, lat = (np.repeat(fields[c].to_numpy(float), shape[1]) for c in ("lon_deg", "lat_deg"))
    other = [np.tile(stations[c].to_numpy(float), shape[0]) for c in ("lon_deg", "lat_deg")]
    return np.asarray(_GEOD.inv(lon, lat, other[0], other[1])[2]).reshape(shape) / 1000


def _title(station: pd.Series) -> str:
    name = station["name"] if isinstance(station["name"], str) else ""
    return " ".join(part for part in (str(station["station"] or ""), name) if part) or "its station"


def _height(station: pd.Series) -> str:
    height = station["elevation_m"]
    return "" if pd.isna(height) else f", {length_text(height)} above the sea"


def _some(values: "pd.Series[str]") -> str:
    shown = [value or "(no id)" for value in values[:8]]
    more = f" and {len(values) - 8} more" if len(values) > 8 else ""
    return ", ".join(shown) + more
