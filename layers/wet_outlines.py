"""Wet cells of a grid as outlines that a drill can go round: contiguous, clean and smooth."""

from dataclasses import dataclass
from functools import lru_cache

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely
from numpy.typing import NDArray
from rasterio import Affine, features
from shapely.geometry.base import BaseGeometry

from layers.grid import Grid
from layers.smooth_edges import polygons_of, smoothed

DRILL_M = 6.096  # 20 ft
Window = tuple[slice, slice]
_MARGIN_DRILLS = 8.0  # ground beyond the fields whose cells still shape an edge within them


@dataclass(frozen=True)
class Cleaning:
    """How wet cells become ground to leave out.

    ``drill_m`` is the width of the drill: dry gaps and wet slivers narrower than it are cleaned
    away. ``least_wet_m2`` is the smallest spot worth going round, ``least_sowable_m2`` the smallest
    dry piece worth sowing, ``least_strip_m`` the narrowest.
    """

    drill_m: float
    least_wet_m2: float
    least_sowable_m2: float
    least_strip_m: float


def cleaning_for(
    drill_m: float = DRILL_M,
    *,
    least_wet_m2: float | None = None,
    least_sowable_m2: float | None = None,
    least_strip_m: float | None = None,
) -> Cleaning:
    """Cleaning for a drill; what is left out follows from its width.

    The smallest wet spot and the smallest sowable piece are four squares of the drill's width, the
    narrowest sowable strip is one width (judgement).
    """
    four = 4 * drill_m**2
    return Cleaning(
        drill_m,
        four if least_wet_m2 is None else least_wet_m2,
        four if least_sowable_m2 is None else least_sowable_m2,
        drill_m if least_strip_m is None else least_strip_m,
    )


def outline_steps(
    too_wet: NDArray[np.bool_], grid: Grid, fields: gpd.GeoDataFrame, cleaning: Cleaning
) -> gpd.GeoSeries:
    """Wet ground as the cells have it, after cleaning, and with smooth edges."""
    around = around_fields(grid, fields, cleaning)
    raw = cell_outlines(too_wet[around], corner_of(grid, around))
    clean = cleaned(raw, cleaning)
    shapes = [raw, clean, smoothed(clean, grid.cell)]
    return gpd.GeoSeries(shapes, crs=grid.crs).to_crs(fields.crs)


def pieces_of_fields(
    wet: BaseGeometry, fields: gpd.GeoDataFrame, cleaning: Cleaning
) -> tuple[gpd.GeoDataFrame, float]:
    """Wet ground of each field, and how much of it are dry strips [ha]."""
    per_m2 = fields["area_ha"].to_numpy() / fields.geometry.area.to_numpy()
    rows, strips_ha = [], 0.0
    grounds = fields.geometry.to_numpy()
    for field_id, ground, factor in zip(fields["field_id"], grounds, per_m2, strict=True):
        pieces, strips_m2 = pieces_within(wet, ground, cleaning)
        strips_ha += strips_m2 * factor
        for number, piece in enumerate(pieces, start=1):
            rows.append((field_id, f"{field_id}-wet-{number}", piece.area * factor, piece))
    columns = ["field_id", "wet_id", "area_ha", "geometry"]
    table = pd.DataFrame(rows, columns=columns)
    return gpd.GeoDataFrame(table, geometry="geometry", crs=fields.crs), strips_ha


def around_fields(grid: Grid, fields: gpd.GeoDataFrame, cleaning: Cleaning) -> Window:
    """Rows and columns in and around the fields: all cells that shape an edge within them."""
    margin = _MARGIN_DRILLS * cleaning.drill_m + grid.cell
    width, _, left, _, minus_height, top = grid.transform
    west, south, east, north = fields.geometry.to_crs(grid.crs).total_bounds
    n_rows, n_columns = grid.values.shape
    c0, c1 = np.clip([(west - margin - left) / width, (east + margin - left) / width], 0, n_columns)
    r0, r1 = np.clip(
        [(north + margin - top) / minus_height, (south - margin - top) / minus_height], 0, n_rows
    )
    return slice(int(r0), int(np.ceil(r1))), slice(int(c0), int(np.ceil(c1)))


def corner_of(grid: Grid, window: Window) -> Affine:
    """Transform of the cells within a window of the grid."""
    rows, columns = window
    width, _, left, _, minus_height, top = grid.transform
    return Affine(
        width, 0, left + columns.start * width, 0, minus_height, top + rows.start * minus_height
    )


def cell_outlines(too_wet: NDArray[np.bool_], transform: Affine) -> BaseGeometry:
    """Wet cells as polygons along their edges."""
    if not too_wet.any():
        return shapely.MultiPolygon()
    part = np.ascontiguousarray(too_wet)
    found = features.shapes(part.astype(np.uint8), mask=part, connectivity=4, transform=transform)
    return shapely.union_all([shapely.geometry.shape(shape) for shape, _ in found])


def cleaned(raw: BaseGeometry, cleaning: Cleaning) -> BaseGeometry:
    """Without dry gaps and wet slivers narrower than the drill, and without small spots."""
    half = cleaning.drill_m / 2
    closed = _grown(_grown(raw, half), -half)
    opened = _grown(_grown(closed, -half), half)
    kept = []
    for piece in polygons_of(opened):
        holes = [
            ring
            for ring in piece.interiors
            if shapely.Polygon(ring).area >= cleaning.least_sowable_m2
        ]
        whole = shapely.Polygon(piece.exterior, holes)
        if whole.area >= cleaning.least_wet_m2:
            kept.append(whole)
    return shapely.MultiPolygon(kept)


def _grown(shape: BaseGeometry, by_m: float) -> BaseGeometry:
    # Mitred, so that the square corners of cells come back as they were.
    return shapely.buffer(shape, by_m, join_style="mitre", mitre_limit=2.0)


def pieces_within(
    wet: BaseGeometry, ground: BaseGeometry, cleaning: Cleaning
) -> tuple[list[shapely.Polygon], float]:
    """Pieces of wet ground in a field, largest first, and dry strips among them [m2]."""
    least = cleaning.least_wet_m2
    pieces = [p for p in polygons_of(shapely.intersection(wet, ground)) if p.area >= least]
    if not pieces:
        return [], 0.0
    inside = shapely.union_all(pieces)
    strips = _not_sowable(shapely.difference(ground, inside), ground, inside, cleaning)
    if strips:
        # A hair's breadth of lap, so that neighbours become one piece.
        laps = [shapely.intersection(strip.buffer(0.01), ground) for strip in strips]
        inside = shapely.union_all([inside, *laps])
    found = sorted(polygons_of(inside), key=lambda p: -p.area)
    return found, float(sum(strip.area for strip in strips))


@lru_cache(maxsize=1024)  # asked for again in every sowing week
def _own_strips(ground: BaseGeometry, half_m: float) -> BaseGeometry:
    """What is narrow without any wet ground: the field's own shape."""
    return ground.difference(ground.buffer(-half_m).buffer(half_m * 1.001))


def _not_sowable(
    dry: BaseGeometry, ground: BaseGeometry, wet: BaseGeometry, cleaning: Cleaning
) -> list[BaseGeometry]:
    """Dry ground beside the wet that is cut off too small, or too narrow for the drill."""
    half = cleaning.least_strip_m / 2
    wide = dry.buffer(-half).buffer(half * 1.001)
    left = dry.difference(wide).difference(_own_strips(ground, half))
    hair = half / 5  # tails narrower than this are no ground to speak of
    narrow = [
        piece
        for piece in polygons_of(left.buffer(-hair).buffer(hair).intersection(dry))
        if piece.area >= cleaning.least_strip_m**2 and piece.distance(wet) < 0.01
    ]
    cut_off = [
        piece
        for piece in polygons_of(dry)
        if piece.area < cleaning.least_sowable_m2 and piece.distance(wet) < 0.01
    ]
    return [*narrow, *cut_off]
