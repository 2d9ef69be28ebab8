"""Wet ground of a farm: the cells that are too wet, drawn, and how much of each part they take."""

from collections.abc import Iterator
from dataclasses import dataclass

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely
from affine import Affine
from rasterio.features import rasterize

from layers.cell_keys import distinct_keys
from layers.grid import Grid
from layers.ground import GroundRead
from layers.ground_cells import NOWHERE, STRIP_ROWS, GroundCells
from layers.wet_cells import WetCells
from layers.wet_outlines import Cleaning
from layers.wet_shapes import WetShapes, wet_shapes
from suitability.columns import POSITIONS, UNSURVEYED, WET_GROUND
from suitability.contract import names
from suitability.ground import PART_KEYS
from suitability.notes import Note

_Sums = dict[tuple[str, ...], list[float]]


@dataclass(frozen=True)
class FieldWet:
    """``wet_ground`` is WET_GROUND with geometry; ``shapes`` what each step made of the area."""

    wet_ground: gpd.GeoDataFrame
    shapes: tuple[WetShapes, ...]
    notes: tuple[Note, ...]


def field_wet(
    ground: GroundRead,
    wet: tuple[WetCells, ...],
    fields: gpd.GeoDataFrame,
    least_years_in_ten: float,
    cleaning: Cleaning,
    names_of_soils: "pd.Series[str]",
) -> FieldWet:
    """Draw what is too wet in at least so many years of ten, and what the survey calls wet.

    Parameters
    ----------
    ground : of ``layers.ground``. wet : one entry for each of ``ground.cells``.
    fields : FIELDS table with geometry. least_years_in_ten : from these odds on, ground is drawn.
    cleaning : of ``wet_outlines.cleaning_for``. names_of_soils : compname by cokey.
    """
    drawn = []
    soils = tuple(str(names_of_soils.get(cokey, "")) for cokey in ground.cokeys)
    for cells, odds in zip(ground.cells, wet, strict=True):
        here = np.unique(cells.field[cells.field >= 0])
        mine = fields.iloc[here]
        by_odds = odds.years_in_ten >= least_years_in_ten  # not where it is not known
        too_wet = by_odds | odds.surveyed
        # Ground that only the survey calls wet has no odds to show.
        told = np.where(by_odds, odds.years_in_ten, np.float32(np.nan))
        years = Grid(told, cells.grid.transform, cells.grid.crs)
        drawn.append(
            wet_shapes(
                too_wet,
                years,
                odds.cause,
                mine,
                cleaning,
                soil=odds.soil,
                soil_names=soils,
            )
        )
    tables = [shapes.wet_ground for shapes in drawn if len(shapes.wet_ground)]
    if tables:
        whole = gpd.GeoDataFrame(pd.concat(tables, ignore_index=True), crs=fields.crs)
    else:
        empty = {name: pd.Series(dtype=object) for name in names(WET_GROUND)}
        whole = gpd.GeoDataFrame(empty, geometry=gpd.GeoSeries([], crs=fields.crs))
        whole = whole.astype({"area_ha": float, "years_in_ten": float})
    notes = tuple(dict.fromkeys(note for shapes in drawn for note in shapes.notes))
    return FieldWet(whole, tuple(drawn), notes)


def wet_pct_of_parts(
    ground: GroundRead, pieces: gpd.GeoDataFrame, fields: gpd.GeoDataFrame, shapes: gpd.GeoDataFrame
) -> "pd.Series[float]":
    """Share of each part of the fields that lies within some shapes [pct], indexed by PART_KEYS.

    Parameters
    ----------
    ground : of ``layers.ground``. pieces : field_id, mukey and geometry of the soil map.
    fields : FIELDS table with geometry. shapes : field_id and geometry, each within its field.

    Notes
    -----
    A cell whose soil is not known counts for every part that it may be of. In fields without
    cells a shape takes the same share of every part of its map unit.
    """
    exact: _Sums = {}
    place: _Sums = {}
    unit: _Sums = {}
    for cells in ground.cells:
        for (field, mukey, cokey, position), count, wet in _cell_counts(cells, shapes):
            key = (ground.field_ids[field], ground.mukeys[mukey] if mukey >= 0 else UNSURVEYED)
            name = POSITIONS[position]
            if cokey != NOWHERE:
                _add(exact, (*key, ground.cokeys[cokey], name), count, wet)
            else:
                _add(place, (*key, name), count, wet)
                _add(unit, key, count, wet)
    blind = fields[~fields["field_id"].isin({key[0] for key in (*exact, *unit)})]
    for key, count, wet in _by_outline(pieces, blind, shapes):
        _add(unit, key, count, wet)
    shares = []
    for part in ground.parts[PART_KEYS].itertuples(index=False):
        here = (part.field_id, part.mukey)
        own = (*here, part.cokey, part.position)
        found = exact.get(own) or place.get((*here, part.position))
        if found is None or (own not in exact and part.position == POSITIONS[0]):
            found = unit.get(here)
        shares.append(100 * found[1] / found[0] if found and found[0] > 0 else 0.0)
    return pd.Series(shares, index=pd.MultiIndex.from_frame(ground.parts[PART_KEYS]))


def without_cells(ground: GroundRead, fields: gpd.GeoDataFrame) -> list[str]:
    """Fields beside all heights."""
    seen = {int(i) for cells in ground.cells for i in np.unique(cells.field)}
    return [field_id for i, field_id in enumerate(fields["field_id"]) if i not in seen]


def _add(sums: _Sums, key: tuple[str, ...], count: float, wet: float) -> None:
    total = sums.setdefault(key, [0.0, 0.0])
    total[0] += count
    total[1] += wet


def _cell_counts(
    cells: GroundCells, shapes: gpd.GeoDataFrame
) -> Iterator[tuple[tuple[int, ...], float, float]]:
    """Combinations of numbers of dry cells, how many there are and how many lie in the shapes."""
    within = np.zeros(cells.field.shape, dtype=np.uint8)
    moved = shapes.geometry[~shapes.geometry.is_empty].to_crs(cells.grid.crs)
    if len(moved):
        rasterize(
            ((shape, 1) for shape in moved), out=within, transform=Affine(*cells.grid.transform)
        )
    columns = (cells.field, cells.unit, cells.component, cells.position)
    for row in range(0, cells.field.shape[0], STRIP_ROWS):
        strip = slice(row, row + STRIP_ROWS)
        inside = (cells.field[strip] >= 0) & ~cells.water[strip]
        keys, at = distinct_keys([column[strip][inside] for column in columns])
        count = np.bincount(at, minlength=len(keys))
        wet = np.bincount(at, weights=within[strip][inside], minlength=len(keys))
        for key, n, n_wet in zip(keys.tolist(), count.tolist(), wet.tolist(), strict=True):
            yield tuple(key), n, n_wet


def _by_outline(
    pieces: gpd.GeoDataFrame, fields: gpd.GeoDataFrame, shapes: gpd.GeoDataFrame
) -> Iterator[tuple[tuple[str, str], float, float]]:
    """Of each map unit of these fields: its ground, and what of it lies in the shapes [m2]."""
    for field in fields.itertuples():
        mine = shapes.geometry[shapes["field_id"] == field.field_id]
        wet = shapely.union_all(mine.to_numpy())
        here = pieces[pieces["field_id"] == field.field_id]
        rest = shapely.difference(field.geometry, shapely.union_all(here.geometry.to_numpy()))
        named = [*here[["mukey", "geometry"]].itertuples(index=False), (UNSURVEYED, rest)]
        for mukey, shape in named:
            yield (field.field_id, mukey), shape.area, shapely.intersection(shape, wet).area
