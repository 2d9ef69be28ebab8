"""Wet ground of a farm: the cells that are too wet, drawn, and how much of each part they take."""

from dataclasses import dataclass

import geopandas as gpd
import numpy as np
import pandas as pd
from affine import Affine
from rasterio.features import rasterize

from layers.grid import Grid
from layers.ground import GroundRead
from layers.ground_cells import NOWHERE, GroundCells
from layers.wet_cells import WetCells
from layers.wet_shapes import Cleaning, WetShapes, wet_shapes
from suitability.columns import POSITIONS, WET_GROUND
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
    cleaning : of ``wet_shapes.cleaning_for``. names_of_soils : compname by cokey.
    """
    drawn = []
    soils = tuple(str(names_of_soils.get(cokey, "")) for cokey in ground.cokeys)
    for cells, odds in zip(ground.cells, wet, strict=True):
        here = np.unique(cells.field[cells.field >= 0])
        mine = fields.iloc[here]
        years = Grid(odds.years_in_ten, cells.grid.transform, cells.grid.crs)
        too_wet = (np.nan_to_num(odds.years_in_ten) >= least_years_in_ten) | odds.surveyed
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
    notes = tuple(note for shapes in drawn for note in shapes.notes)
    return FieldWet(whole, tuple(drawn), notes)


def wet_pct_of_parts(
    ground: GroundRead, wet_ground: gpd.GeoDataFrame, parts: pd.DataFrame
) -> "pd.Series[float]":
    """Share of each part that lies within wet ground [pct], indexed by PART_KEYS.

    A cell whose soil is not known counts for every part that it may be of.
    """
    tables = [_cell_counts(cells, wet_ground) for cells in ground.cells]
    if not tables:
        return pd.Series(dtype=float)
    whole = pd.concat(tables).groupby(["field", "unit", "component", "position"]).sum()
    exact: _Sums = {}
    place: _Sums = {}
    unit: _Sums = {}
    for (field, mukey, cokey, position), row in whole.iterrows():
        if mukey == NOWHERE:
            continue
        key = (ground.field_ids[field], ground.mukeys[mukey])
        name = POSITIONS[position]
        if cokey != NOWHERE:
            _add(exact, (*key, ground.cokeys[cokey], name), row)
        else:
            _add(place, (*key, name), row)
            _add(unit, key, row)
    shares = []
    for part in parts[PART_KEYS].itertuples(index=False):
        own = (part.field_id, part.mukey, part.cokey, part.position)
        found = exact.get(own) or place.get((part.field_id, part.mukey, part.position))
        if found is None and part.position == POSITIONS[0]:
            found = unit.get((part.field_id, part.mukey))
        shares.append(100 * found[1] / found[0] if found else 0.0)
    return pd.Series(shares, index=pd.MultiIndex.from_frame(parts[PART_KEYS]))


def _add(sums: _Sums, key: tuple[str, ...], row: pd.Series) -> None:
    total = sums.setdefault(key, [0.0, 0.0])
    total[0] += float(row["cells"])
    total[1] += float(row["wet"])


def _cell_counts(cells: GroundCells, wet_ground: gpd.GeoDataFrame) -> pd.DataFrame:
    inside = (cells.field >= 0) & ~cells.water
    wet = np.zeros(cells.field.shape, dtype=np.uint8)
    if len(wet_ground):
        shapes = wet_ground.geometry.to_crs(cells.grid.crs)
        rasterize(
            ((shape, 1) for shape in shapes),
            out=wet,
            transform=Affine(*cells.grid.transform),
        )
    table = pd.DataFrame(
        {
            "field": cells.field[inside],
            "unit": cells.unit[inside],
            "component": cells.component[inside],
            "position": cells.position[inside],
            "cells": 1.0,
            "wet": wet[inside].astype(float),
        }
    )
    return table.groupby(["field", "unit", "component", "position"], as_index=False).sum()
