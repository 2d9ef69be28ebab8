"""How much of each field lies in each map unit of the soil survey."""

from dataclasses import dataclass

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely

from layers.soil_map.survey import LAYER
from suitability.notes import Note

# A strip thinner than digitising error between survey and outline is neither gap nor overlap.
_WORTH_SAYING_PCT = 1.0
# Rounding makes pieces of no extent where borders coincide.
_LEAST_PIECE_HA = 1e-6


@dataclass(frozen=True)
class Overlay:
    """Pieces of field and map unit, and how much of each field the survey covers.

    ``pieces`` has field_id, mukey, musym, muname, area_ha and geometry, one row a field and map
    unit, in the CRS of the fields. ``soil_cover_pct`` is indexed by field_id.
    """

    pieces: gpd.GeoDataFrame
    soil_cover_pct: "pd.Series[float]"
    notes: tuple[Note, ...]


def area_table(shapes: gpd.GeoDataFrame, map_units: gpd.GeoDataFrame, key: str) -> gpd.GeoDataFrame:
    """Cut shapes by map units.

    Parameters
    ----------
    shapes : polygons with a column ``key``, in a metre CRS.
    map_units : polygons with mukey, musym, muname, in the same CRS.

    Returns
    -------
    One row a shape and map unit that meet: key, mukey, musym, muname, ``area_m2`` (planar) and
    geometry; the several polygons of one map unit in one shape are one row.
    """
    left, right = shapes.geometry.to_numpy(), map_units.geometry.to_numpy()
    tree = shapely.STRtree(right)
    here, unit = tree.query(left, predicate="intersects")
    cut = shapely.intersection(left[here], right[unit])
    table = gpd.GeoDataFrame(
        {
            key: shapes[key].to_numpy()[here],
            "mukey": map_units["mukey"].to_numpy()[unit],
            "area_m2": shapely.area(cut),
        },
        geometry=_polygons_only(cut),
        crs=shapes.crs,
    )
    table = table[table["area_m2"] > 0]
    if table.duplicated([key, "mukey"]).any():
        table = table.dissolve(by=[key, "mukey"], aggfunc="sum").reset_index()
    labels = map_units.drop_duplicates("mukey").set_index("mukey")[["musym", "muname"]]
    return table.join(labels, on="mukey").sort_values([key, "mukey"]).reset_index(drop=True)


def overlay(fields: gpd.GeoDataFrame, map_units: gpd.GeoDataFrame) -> Overlay:
    """Lay the soil map over the fields; gaps and overlaps of the map become notes.

    Parameters
    ----------
    fields : FIELDS table with geometry. map_units : MAP_UNITS with geometry. One metre CRS.

    Notes
    -----
    Areas are the field's geodesic area in the proportion of the planar ones. Where the map covers
    ground twice the pieces of that field are scaled down to its area, and a note says so.
    """
    table = area_table(fields, map_units, "field_id")
    outline = fields.set_index("field_id")
    planar = outline.geometry.area
    total = table.groupby("field_id")["area_m2"].sum().reindex(planar.index).fillna(0.0)
    per_m2 = outline["area_ha"] / np.fmax(planar, total)
    table["area_ha"] = table["area_m2"] * table["field_id"].map(per_m2)
    table = table[table["area_ha"] > _LEAST_PIECE_HA]
    cover = (100 * total / planar).clip(upper=100)
    notes = _notes(cover, 100 * (total / planar - 1))
    columns = ["field_id", "mukey", "musym", "muname", "area_ha", "geometry"]
    return Overlay(table[columns].reset_index(drop=True), cover, notes)


def nothing_surveyed(fields: gpd.GeoDataFrame) -> Overlay:
    """The overlay of a farm without a soil survey."""
    columns = ["field_id", "mukey", "musym", "muname"]
    pieces = gpd.GeoDataFrame(
        {**{c: pd.Series(dtype=object) for c in columns}, "area_ha": pd.Series(dtype=float)},
        geometry=gpd.GeoSeries([], crs=fields.crs),
    )
    cover = pd.Series(0.0, index=fields["field_id"])
    return Overlay(pieces, cover, ())


def with_pieces(cut: Overlay, pieces: gpd.GeoDataFrame) -> Overlay:
    """The same overlay with pieces of another source beside it; the survey's cover stays."""
    if not len(pieces):
        return cut
    both = pd.concat([cut.pieces, pieces], ignore_index=True) if len(cut.pieces) else pieces
    ordered = both.sort_values(["field_id", "mukey"]).reset_index(drop=True)
    return Overlay(ordered, cut.soil_cover_pct, cut.notes)


def _polygons_only(cut: np.ndarray) -> np.ndarray:
    """Where outlines only touch along a stretch, GEOS adds lines and points to the polygons."""
    mixed = shapely.get_type_id(cut) == shapely.GeometryType.GEOMETRYCOLLECTION
    cut[mixed] = [
        shapely.union_all([g for g in shapely.get_parts(c) if shapely.area(g) > 0])
        for c in cut[mixed]
    ]
    return cut


def _notes(cover: "pd.Series[float]", double_pct: "pd.Series[float]") -> tuple[Note, ...]:
    notes = []
    outside = tuple(cover.index[cover <= 0])
    if outside:
        text = f"{_fields(len(outside))} outside the soil survey: the soil there is not known."
        notes.append(Note(LAYER, "warning", text, outside))
    partly = cover[(cover > 0) & (cover < 100 - _WORTH_SAYING_PCT)]
    if len(partly):
        text = (
            f"Soil survey on only part of {_fields(len(partly))} "
            f"({partly.min():.0f} % of the least covered)."
        )
        notes.append(Note(LAYER, "caution", text, tuple(partly.index)))
    twice = double_pct[double_pct > _WORTH_SAYING_PCT]
    if len(twice):
        text = (
            f"The soil map covers ground twice in {_fields(len(twice))} (by up to "
            f"{twice.max():.0f} %); the areas there were scaled down to the field's own."
        )
        notes.append(Note(LAYER, "caution", text, tuple(twice.index)))
    return tuple(notes)


def _fields(count: int) -> str:
    return "1 field" if count == 1 else f"{count} fields"
