"""Lines of equal height around the fields, as far apart as the ground's relief asks."""

from collections.abc import Sequence

import contourpy
import geopandas as gpd
import numpy as np
import pyproj
import shapely
from affine import Affine
from rasterio.features import rasterize

from layers.elevation import GroundGroup
from layers.grid import Grid, zonal
from layers.terrain.wetness_index import smoothed
from suitability.conversions import M_PER_FT

MAIN_EVERY = 5  # each fifth line is drawn heavier
_STEPS = (1, 2, 5, 10, 20, 50, 100, 200, 500)
_METRIC_STEPS = (0.5, 1, 2, 5, 10, 20, 50, 100)
_MOST_IN_A_FIELD = 15  # lines across a middling field: more run together on a phone (judgement)
_MOST_LEVELS = 200  # on a whole farm
_SHORTEST_CELLS = 12  # a line around fewer cells is roughness
_SMOOTH_CELLS = 1.5  # sigma; heights from the air are rougher than the ground is


def contour_step_m(
    groups: Sequence[GroundGroup], fields: gpd.GeoDataFrame, *, metric: bool, least_m: float = 0.0
) -> float:
    """Height between contour lines [m]: a round number of feet, or of metres.

    Parameters
    ----------
    fields : field_id and geometry. least_m : step of the heights themselves; lines are no closer.

    Returns
    -------
    The least round step with which a middling field has at most fifteen lines; 0 where no field has
    heights.
    """
    low_m, high_m = _span_m(groups, fields)
    if not low_m.size:
        return 0.0
    relief_m = float(np.median(high_m - low_m))
    unit_m, steps = (1.0, _METRIC_STEPS) if metric else (M_PER_FT, _STEPS)
    whole_m = float(high_m.max() - low_m.min())
    asked_m = max(relief_m / _MOST_IN_A_FIELD, whole_m / _MOST_LEVELS, least_m)
    return unit_m * next((s for s in steps if s * unit_m >= asked_m * (1 - 1e-6)), steps[-1])


def contours(
    groups: Sequence[GroundGroup], fields: gpd.GeoDataFrame, step_m: float, reach_m: float
) -> gpd.GeoDataFrame:
    """Contour lines within and near the fields.

    Parameters
    ----------
    fields : field_id and geometry in a metre CRS. reach_m : how far beyond the fields they go.

    Returns
    -------
    In the CRS of the fields, a row a line: ``height_m``, ``is_main`` (each fifth) and geometry.
    Heights are smoothed over 1.5 cells before, and lines around less than a few cells are left out.
    """
    rows = []
    for group in groups:
        here = fields[fields["field_id"].isin(group.field_ids)]
        around = shapely.union_all(here.geometry.buffer(reach_m, quad_segs=2).to_numpy())
        levels = _lines(_near(group.grid, around, fields.crs), step_m)
        drawn = [shapely.MultiLineString(lines) for _, lines in levels]
        there = _moved(gpd.GeoSeries(drawn, crs=group.grid.crs), fields.crs)
        lines, at = shapely.get_parts(
            shapely.line_merge(shapely.intersection(there.to_numpy(), around)), return_index=True
        )
        kept = shapely.get_type_id(lines) == shapely.GeometryType.LINESTRING
        kept &= shapely.length(lines) >= _SHORTEST_CELLS * group.grid.cell
        simple = shapely.simplify(lines[kept], group.grid.cell / 4)
        for number, line in zip(at[kept].tolist(), simple, strict=True):
            level = levels[number][0]
            rows.append((level * step_m, level % MAIN_EVERY == 0, line))
    columns = {name: [row[i] for row in rows] for i, name in enumerate(("height_m", "is_main"))}
    return gpd.GeoDataFrame(columns, geometry=[row[2] for row in rows], crs=fields.crs)


def _span_m(
    groups: Sequence[GroundGroup], fields: gpd.GeoDataFrame
) -> tuple[np.ndarray, np.ndarray]:
    """Lowest and highest ground of each field with heights."""
    tables = [
        zonal(g.grid, fields[fields["field_id"].isin(g.field_ids)], ["min", "max"]) for g in groups
    ]
    lows, highs = ([t[name].astype(float) for t in tables] for name in ("min", "max"))
    low = np.concatenate([np.empty(0), *lows])
    high = np.concatenate([np.empty(0), *highs])
    known = np.isfinite(low) & np.isfinite(high)
    return low[known], high[known]


def _near(grid: Grid, around: shapely.Geometry, crs: pyproj.CRS) -> Grid:
    """Without the heights that lie apart from the fields."""
    margin = 4 * _SMOOTH_CELLS * grid.cell
    wide = gpd.GeoSeries([shapely.buffer(around, margin, quad_segs=2)], crs=crs)
    inside = rasterize(
        _moved(wide, grid.crs),
        grid.values.shape,
        transform=Affine(*grid.transform),
        all_touched=True,
    )
    return Grid(np.where(inside == 1, grid.values, np.float32(np.nan)), grid.transform, grid.crs)


def _lines(grid: Grid, step_m: float) -> list[tuple[int, list[np.ndarray]]]:
    """Number of each level, counted in steps from zero, with its lines."""
    known = np.isfinite(grid.values)
    if not known.any() or min(grid.values.shape) < 2:
        return []
    even = np.where(known, smoothed(grid.values, _SMOOTH_CELLS), np.nan)
    low, high = float(np.nanmin(even)), float(np.nanmax(even))
    width, _, left, _, height, top = grid.transform
    rows, columns = grid.values.shape
    x = left + (np.arange(columns) + 0.5) * width
    y = top + (np.arange(rows) + 0.5) * height
    made = contourpy.contour_generator(x, y, np.ma.masked_invalid(even), line_type="Separate")
    found = []
    for level in range(int(np.ceil(low / step_m)), int(np.floor(high / step_m)) + 1):
        drawn = (np.asarray(line) for line in made.lines(level * step_m))
        lines = [line for line in drawn if len(line) > 1]
        if lines:
            found.append((level, lines))
    return found


def _moved(shapes: gpd.GeoSeries, to: pyproj.CRS) -> gpd.GeoSeries:
    return shapes if shapes.crs == to else shapes.to_crs(to)
