"""The lie of the land as a picture: what is drawn of the heights, chosen once for a whole farm."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import geopandas as gpd
import numpy as np
import shapely
from affine import Affine
from numpy.typing import NDArray
from rasterio.features import rasterize
from rasterio.warp import Resampling, reproject

from layers.contours import contour_step_m, contours
from layers.crs import transformer
from layers.elevation import ElevationRead, GroundGroup
from layers.grid import Bounds, Grid
from layers.terrain.analysis_grid import joined
from layers.terrain.hillshade import FLAT, hillshade
from layers.terrain.slope import slope_frac

REACH_M = 250.0  # so much of the ground around the fields is shown
_GAP_M = 45.0
LINES_REACH_M = 0.0  # ends beyond the fields look like whiskers
_ON_EDGE = 11  # points of each edge that are taken to another CRS
_MOST_CELLS = 4_000_000  # of all groups together: far more than a page can show
_TIMES = (1, 2, 3, 4, 5, 6, 8, 10, 12, 15, 20, 25)
_STEEPEST = 0.4  # what the steepest tenth of the ground is drawn as (judgement)
WHITE, LEVEL = 255, 218  # brightness of the brightest slope, and of level ground


@dataclass(frozen=True)
class GroundPicture:
    """Heights near the fields and how they are drawn.

    ``groups`` hold heights in cells as fine as a picture can use. ``exaggeration`` : how many times
    as steep the ground is shaded. ``step_m`` : height between contour ``lines``, which are as
    ``layers.contours.contours`` gives them. ``metric`` and ``least_m`` are what it was chosen by.
    """

    groups: tuple[GroundGroup, ...]
    exaggeration: int
    step_m: float
    lines: gpd.GeoDataFrame
    metric: bool = False
    least_m: float = 0.0


def read_picture(
    elevation: ElevationRead | None, fields: gpd.GeoDataFrame, *, metric: bool
) -> GroundPicture | None:
    """What to draw of the heights of a farm; None where no field has any.

    Parameters
    ----------
    fields : FIELDS table with geometry in a metre CRS. metric : contours in metres, else in feet.
    """
    if elevation is None or not elevation.groups:
        return None
    cells = sum(group.grid.values.size for group in elevation.groups)
    factor = max(1, int(np.ceil(np.sqrt(cells / _MOST_CELLS))))
    groups = [GroundGroup(joined(g.grid, factor), g.field_ids) for g in elevation.groups]
    least_m = elevation.unit.metres if elevation.whole and elevation.unit is not None else 0.0
    return picture_of(groups, fields, metric=metric, least_m=least_m)


def picture_of(
    groups: Sequence[GroundGroup], fields: gpd.GeoDataFrame, *, metric: bool, least_m: float = 0.0
) -> GroundPicture | None:
    """Choose exaggeration and contours by the ground of these fields; see ``read_picture``."""
    mine = set(fields["field_id"])
    kept = tuple(group for group in groups if mine & set(group.field_ids))
    step_m = contour_step_m(kept, fields, metric=metric, least_m=least_m)
    if step_m == 0:
        return None
    lines = contours(kept, fields, step_m, LINES_REACH_M)
    return GroundPicture(kept, _exaggeration(kept), step_m, lines, metric, least_m)


def picture_for(picture: GroundPicture | None, fields: gpd.GeoDataFrame) -> GroundPicture | None:
    """The same picture chosen anew for some of the fields; nothing tells of the others."""
    if picture is None:
        return None
    return picture_of(picture.groups, fields, metric=picture.metric, least_m=picture.least_m)


def shaded(
    picture: GroundPicture, fields: gpd.GeoDataFrame, onto: Grid, cell_m: float
) -> NDArray[np.uint8]:
    """Light and shade on the cells of ``onto``, in any CRS; its values are not looked at.

    Parameters
    ----------
    fields : what lies farther than ``REACH_M`` from all of them is left white. cell_m : how large a
        cell of ``onto`` is on the ground [m].

    Returns
    -------
    shape of ``onto``: 0 dark to ``WHITE``; level ground is ``LEVEL``, no heights ``WHITE``.
    """
    bright = np.full(onto.values.shape, np.nan, np.float32)
    for group in picture.groups:
        factor = max(1, int(cell_m / group.grid.cell + 0.01))
        step = transformer(group.grid.crs, onto.crs)
        shown = step.transform_bounds(*onto.bounds, _ON_EDGE, direction="INVERSE")
        part = _around(group.grid, shown, 3 * factor)
        there = None
        if part is not None:
            there = _window(onto, step.transform_bounds(*part.bounds, _ON_EDGE))
        if part is None or there is None:
            continue
        heights = joined(part, factor)
        light = hillshade(heights, picture.exaggeration)
        here = np.full_like(bright[there], np.nan)
        left, top = onto.transform[2], onto.transform[5]
        first = (
            left + there[1].start * onto.transform[0],
            top + there[0].start * onto.transform[4],
        )
        reproject(
            light,
            here,
            src_transform=Affine(*heights.transform),
            src_crs=heights.crs.to_wkt(),
            src_nodata=np.nan,
            dst_transform=Affine(onto.transform[0], 0, first[0], 0, onto.transform[4], first[1]),
            dst_crs=onto.crs.to_wkt(),
            dst_nodata=np.nan,
            resampling=Resampling.bilinear,
        )
        bright[there] = np.where(np.isnan(bright[there]), here, bright[there])
    # Wider and back again: no gap is left that would look like a hole in the ground.
    wide = shapely.union_all(fields.geometry.buffer(REACH_M + _GAP_M, quad_segs=4).to_numpy())
    around = gpd.GeoSeries([shapely.buffer(wide, -_GAP_M, quad_segs=4)], crs=fields.crs)
    near = rasterize(around.to_crs(onto.crs), bright.shape, transform=Affine(*onto.transform))
    bright[near == 0] = np.nan
    tone = np.nan_to_num(np.rint(bright * (LEVEL / FLAT)), nan=WHITE)
    seen: NDArray[np.uint8] = np.clip(tone, 0, WHITE).astype(np.uint8)
    return seen


def _around(grid: Grid, shown: Bounds, margin: int) -> Grid | None:
    """The part of a grid that is shown, and ``margin`` cells more; None for nothing."""
    there = _window(grid, shown, margin)
    if there is None:
        return None
    width, _, left, _, height, top = grid.transform
    rows, columns = there
    first = (left + columns.start * width, top + rows.start * height)
    transform = (width, 0.0, first[0], 0.0, height, first[1])
    return Grid(grid.values[there], transform, grid.crs)


def _window(grid: Grid, bounds: Bounds, margin: int = 1) -> tuple[slice, slice] | None:
    """Rows and columns of a grid that lie within bounds in its CRS, and ``margin`` more."""
    left, bottom, right, top = bounds
    width, _, west, _, height, north = grid.transform
    n_rows, n_columns = grid.values.shape
    first_column = max(0, math.floor((left - west) / width) - margin)
    last_column = min(n_columns, math.ceil((right - west) / width) + margin)
    first_row = max(0, math.floor((top - north) / height) - margin)
    last_row = min(n_rows, math.ceil((bottom - north) / height) + margin)
    if first_column >= last_column or first_row >= last_row:
        return None
    return slice(first_row, last_row), slice(first_column, last_column)


def _exaggeration(groups: Sequence[GroundGroup]) -> int:
    """How many times as steep, so that the steeper ground is well seen and no more."""
    steep = []
    for group in groups:
        grid = group.grid
        rimmed = np.pad(grid.values, 1, constant_values=np.nan)
        slope = slope_frac(rimmed, grid.transform[0], -grid.transform[4])
        steep.append(slope[np.isfinite(slope)])
    known = np.concatenate(steep)
    p90 = float(np.quantile(known, 0.9)) if known.size else 0.0
    asked = _STEEPEST / p90 if p90 > 0 else _TIMES[-1]
    return max((n for n in _TIMES if n <= 1.01 * asked), default=1)
