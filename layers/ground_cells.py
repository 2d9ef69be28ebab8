"""The ground cell by cell: whose field, which map unit, which soil, and how it lies."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely
from affine import Affine
from numpy.typing import NDArray
from rasterio.features import rasterize

from layers.cell_keys import distinct_keys
from layers.grid import Grid
from layers.terrain.ground_shape import GroundShape
from layers.terrain.position import positions

Ints = NDArray[np.int32]
NOWHERE = -1
STRIP_ROWS = 512
STATES = ("dry", "water", "no heights")
_KEYS = ["field", "unit", "component", "position", "state"]


@dataclass(frozen=True)
class GroundCells:
    """Cells of one group of fields; all arrays have the shape of ``shape.grid``.

    ``field``, ``unit`` : row in the lists of field ids and mukeys of ``GroundRead``, -1 for none.
    ``position`` : number in ``columns.POSITIONS``; 0, unplaced, on water and without heights.
    ``water`` : level water, or a map unit of the survey that is all water.
    ``component`` : row in the list of cokeys of the soil placed on the cell; -1 where it is not
        known which of the unit's soils it is.
    """

    shape: GroundShape
    field: Ints
    unit: Ints
    position: NDArray[np.uint8]
    water: NDArray[np.bool_]
    component: Ints

    @property
    def grid(self) -> Grid:
        """Heights [m] with transform and CRS; lowered along pipes and ditches."""
        return self.shape.grid

    @property
    def cell_m2(self) -> float:
        """Area of a cell on the plane of the CRS."""
        return self.grid.cell**2

    @property
    def dry(self) -> NDArray[np.bool_]:
        """Ground of the fields that is no open water."""
        return (self.field >= 0) & ~self.water

    @property
    def known(self) -> NDArray[np.bool_]:
        """Dry ground with heights."""
        return np.isfinite(self.shape.wetness) & ~self.water


def lean(cells: GroundCells) -> GroundCells:
    """Without what only telling and placing of ground needs: a fifth of a large group's memory."""
    nothing = np.empty((0, 0), np.float32)
    shape = replace(
        cells.shape,
        wetness=nothing,
        slope_frac=nothing,
        above_m=nothing,
        hollow=nothing.astype(bool),
        level_water=nothing.astype(bool),
    )
    return replace(cells, shape=shape)


def ground_cells(
    shape: GroundShape,
    fields: gpd.GeoDataFrame,
    units: gpd.GeoDataFrame,
    mukeys: Sequence[str],
    water_units: frozenset[str],
    open_water: int,
    mine: Sequence[str],
) -> GroundCells:
    """Lay fields and map units on the cells; nothing but water is placed yet.

    Parameters
    ----------
    fields : field_id and geometry, one row a field, in the order of the list of ids.
    units : mukey and geometry; what comes later lies on top. mukeys : the list of keys.
    water_units : mukeys that are open water. open_water : row in the list of cokeys of the water
        that heights show on other units.

    Notes
    -----
    A cell belongs to the field and the map unit in which its centre lies.
    """
    grid = shape.grid
    own = np.flatnonzero(fields["field_id"].isin(list(mine)))
    here = _on_grid(fields.geometry.iloc[own].to_crs(grid.crs), own, grid)
    row = {key: i for i, key in enumerate(mukeys)}
    numbers = units["mukey"].map(row).to_numpy(dtype=np.int32)
    unit = _on_grid(units.geometry.to_crs(grid.crs), numbers, grid)
    water = np.array([key in water_units for key in mukeys] + [False])[unit]
    position = positions(shape, here >= 0)
    position[water] = 0
    soil = np.full(unit.shape, NOWHERE, np.int32)
    soil[shape.level_water & ~water] = open_water
    return GroundCells(shape, here, unit, position, water | shape.level_water, soil)


def _on_grid(shapes: gpd.GeoSeries, numbers: NDArray[np.integer], grid: Grid) -> Ints:
    outlines = shapes.to_numpy()
    near = np.sort(shapely.STRtree(outlines).query(shapely.box(*grid.bounds)))
    if not near.size:
        return np.full(grid.values.shape, NOWHERE, np.int32)
    drawn = rasterize(
        zip(outlines[near], numbers[near].tolist(), strict=True),
        out_shape=grid.values.shape,
        fill=NOWHERE,
        transform=Affine(*grid.transform),
        dtype="int32",
    )
    return np.asarray(drawn, np.int32)


def counted(groups: Sequence[GroundCells]) -> pd.DataFrame:
    """How much of each field is what.

    Returns
    -------
    One row a combination that occurs within fields: field, unit, component, position (numbers as in
    ``GroundCells``), ``state`` ("dry", "water" or "no heights"), m2.
    """
    tables = [
        _counted(cells, slice(row, row + STRIP_ROWS))
        for cells in groups
        for row in range(0, cells.field.shape[0], STRIP_ROWS)
    ]
    if not tables:
        return pd.DataFrame({name: pd.Series(dtype=float) for name in [*_KEYS, "m2"]})
    whole = pd.concat(tables, ignore_index=True)
    return whole.groupby(_KEYS, as_index=False)["m2"].sum()


def _counted(cells: GroundCells, rows: slice) -> pd.DataFrame:
    inside = cells.field[rows] >= 0
    without = ~np.isfinite(cells.shape.wetness[rows])
    state = np.where(cells.water[rows], 1, np.where(without, 2, 0)).astype(np.int32)
    columns: list[NDArray[np.integer]] = [
        cells.field[rows],
        cells.unit[rows],
        cells.component[rows],
        cells.position[rows],
        state,
    ]
    keys, place = distinct_keys([column[inside] for column in columns])
    count = np.bincount(place, minlength=len(keys))
    whole = pd.DataFrame(keys, columns=_KEYS).assign(m2=count * cells.cell_m2)
    whole["state"] = whole["state"].map(dict(enumerate(STATES)))
    return whole
