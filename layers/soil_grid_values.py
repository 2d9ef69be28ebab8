"""What one raster of a soil property comes to within each field."""

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

import geopandas as gpd
import numpy as np
import pandas as pd
import pyproj
from pyproj.exceptions import ProjError

from layers.files import open_raster
from layers.grid import Grid, zonal
from layers.raster_cells import read_cells, window_around
from layers.raster_lattice import Lattice, lattice_of
from layers.soil_grid_kinds import KINDS, SoilGrid
from suitability.notes import Note

LAYER = "soil grid"
# Of a field whose values lie on less than this, the rest may be quite different ground.
LEAST_COVER_PCT = 50.0
_MOST_CELLS = 4_000_000
_DEEP_ENOUGH_CM = 1000.0


def grid_lattice(grid: SoilGrid) -> tuple[Lattice, list[Note]]:
    """The raster's cells, with the scale that counts; InputError and CrsError as ``lattice_of``."""
    with open_raster(grid.path) as raster:
        lattice = lattice_of(raster, grid.path, grid.what.replace("_", " "), coloured=True)
    own = (lattice.scale, lattice.offset)
    if grid.scale is None:
        if own == (1.0, 0.0):
            return lattice, []
        text = f"{grid.path.name}: numbers are stored times {own[0]:g} plus {own[1]:g}"
        return lattice, [Note(LAYER, "info", f"{text}, as the file states.")]
    notes = []
    if own not in ((1.0, 0.0), (grid.scale, 0.0)):
        text = (
            f"{grid.path.name} states a scale of {own[0]:g} and an offset of {own[1]:g}; the farm "
            f"file's scale of {grid.scale:g} was used instead."
        )
        notes.append(Note(LAYER, "caution", text))
    return replace(lattice, scale=grid.scale, offset=0.0), notes


def field_values(grid: SoilGrid, lattice: Lattice, shapes: gpd.GeoDataFrame) -> pd.DataFrame:
    """Mean, least and largest of a numeric property within each shape, in its column's unit.

    Returns
    -------
    DataFrame indexed by field_id: mean, min, max, cover_pct; cells count by their share inside.
    """
    factor = KINDS[grid.what].units[grid.unit or ""]
    rows = _each(lattice, shapes, ["mean", "min", "max"])
    table = pd.DataFrame(rows, columns=["field_id", "mean", "min", "max", "cover_pct"])
    table = table.set_index("field_id").astype(float)
    table[["mean", "min", "max"]] *= factor
    if grid.what == "water_table":
        # Deeper than any root or ditch reaches is all one.
        table["mean"] = table["mean"].clip(upper=_DEEP_ENOUGH_CM)
    return table


def field_classes(
    grid: SoilGrid, lattice: Lattice, shapes: gpd.GeoDataFrame
) -> tuple[pd.DataFrame, list[float]]:
    """Share of each shape in each drainage class.

    Returns
    -------
    Table of field_id, drainage_class, share_pct [pct of the shape], and the numbers that
    ``grid.classes`` does not name.
    """
    named: Mapping[float, str] = {round(n, 6): name for n, name in grid.classes.items()}
    rows, strangers = [], set()
    for field_id, numbers, shares, cover_pct in _each(lattice, shapes, ["unique", "frac"]):
        if not np.size(numbers):
            continue
        for number, share in zip(np.atleast_1d(numbers), np.atleast_1d(shares), strict=True):
            name = named.get(round(float(number), 6))
            if name is None:
                strangers.add(float(number))
            else:
                rows.append((field_id, name, float(share) * cover_pct))
    table = pd.DataFrame(rows, columns=["field_id", "drainage_class", "share_pct"])
    table = table.groupby(["field_id", "drainage_class"], as_index=False)["share_pct"].sum()
    return table, sorted(strangers)


def _each(
    lattice: Lattice, shapes: gpd.GeoDataFrame, operations: list[str]
) -> list[tuple[Any, ...]]:
    """Statistics of the cells around each shape by itself: fields may lie far apart."""
    there = pyproj.Transformer.from_crs(shapes.crs, lattice.crs, always_xy=True)
    left, bottom, right, top = lattice.bounds
    rows: list[tuple[Any, ...]] = []
    for i in range(len(shapes)):
        shape = shapes.iloc[[i]]
        field_id = shape["field_id"].iloc[0]
        try:
            west, south, east, north = shape.total_bounds.tolist()
            box = there.transform_bounds(west, south, east, north, 11)
        except ProjError:
            continue
        if not np.isfinite(box).all():
            continue
        if box[0] >= right or box[2] <= left or box[1] >= top or box[3] <= bottom:
            continue
        part = window_around(lattice, (box[0], box[1], box[2], box[3]), _MOST_CELLS)
        cells = read_cells([lattice], part, None)
        table = zonal(Grid(cells.values, part.transform, lattice.crs), shape, operations)
        found = table.iloc[0]
        if found["cover_pct"] > 0:
            rows.append((field_id, *(found[name] for name in operations), found["cover_pct"]))
    return rows
