"""The shape of the ground around all fields of a farm, from heights and drawn drains."""

from dataclasses import dataclass

import geopandas as gpd
import numpy as np
import shapely

from layers import ground_notes as remarks
from layers.elevation import ElevationRead
from layers.terrain.analysis_grid import analysis_grids
from layers.terrain.ground_shape import GroundShape, ground_shape
from layers.terrain.noise import step_m
from suitability.notes import Note


@dataclass(frozen=True)
class ShapedGround:
    """Shape of the ground of each group of fields that lie near each other, and their ids."""

    shapes: tuple[GroundShape, ...] = ()
    field_ids: tuple[tuple[str, ...], ...] = ()
    notes: tuple[Note, ...] = ()


def shaped_ground(
    elevation: ElevationRead | None,
    fields: gpd.GeoDataFrame,
    drains: gpd.GeoDataFrame | None = None,
) -> ShapedGround:
    """Work out the shape of the ground; none without heights.

    Parameters
    ----------
    fields : FIELDS table with geometry. drains : lines in any CRS that let water through banks.
    """
    if elevation is None:
        return ShapedGround(notes=tuple(remarks.on_drains(drains, ())))
    groups, notes = analysis_grids(elevation, fields)
    shapes = tuple(
        ground_shape(group.grid, _lines(drains, group.grid.crs), step_m(stored.grid.values))
        for group, stored in zip(groups, elevation.groups, strict=True)
    )
    notes += remarks.on_shapes(shapes, groups)
    notes += remarks.on_drains(drains, shapes)
    return ShapedGround(shapes, tuple(group.field_ids for group in groups), tuple(notes))


def _lines(drains: gpd.GeoDataFrame | None, crs: object) -> list[np.ndarray]:
    if drains is None:
        return []
    return [shapely.get_coordinates(line) for line in drains.geometry.to_crs(crs)]
