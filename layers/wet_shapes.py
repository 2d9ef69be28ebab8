"""Wet cells of a grid as ground that a drill can go round: contiguous, clean and smooth."""

from dataclasses import dataclass

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely
from numpy.typing import NDArray
from rasterio import Affine, features
from shapely.geometry.base import BaseGeometry

from layers.areas import length_text, small_area_text
from layers.grid import Grid, zonal
from layers.smooth_edges import polygons_of, smoothed
from suitability.columns import WET_CAUSES, WET_GROUND
from suitability.contract import check, empty, names
from suitability.notes import Note

NAME = "wet ground"
DRILL_M = 6.096  # 20 ft
NO_CAUSE = -1
NO_SOIL = -1
# A piece shows odds where at least this share of its wet cells has some (judgement).
_ODDS_FRAC = 0.5
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


@dataclass(frozen=True)
class WetShapes:
    """Wet ground as drawn, and what each step made of its area.

    ``wet_ground`` is the WET_GROUND table with geometry in the CRS of the fields, one row a piece.
    Within the fields [ha]: ``cells_ha`` as the grid has it, ``cleaned_ha`` after cleaning,
    ``drawn_ha`` with smooth edges, ``strips_ha`` dry ground left out with it because it is too
    narrow or small to sow. ``smoothing_pct`` is what smoothing changed.
    """

    wet_ground: gpd.GeoDataFrame
    cleaning: Cleaning
    cells_ha: float
    cleaned_ha: float
    drawn_ha: float
    strips_ha: float
    smoothing_pct: float
    notes: tuple[Note, ...]


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


def wet_shapes(
    too_wet: NDArray[np.bool_],
    years_in_ten: Grid,
    cause: NDArray[np.integer],
    fields: gpd.GeoDataFrame,
    cleaning: Cleaning,
    *,
    soil: NDArray[np.integer] | None = None,
    soil_names: tuple[str, ...] = (),
) -> WetShapes:
    """Draw the wet cells of a grid as wet ground of the fields.

    Parameters
    ----------
    too_wet : (n_rows, n_columns) cells beyond the odds that the user bears.
    years_in_ten : years in ten in which each cell is too wet, NaN where not known, on a metre CRS;
        it also says where the cells lie.
    cause : for each cell the place of its cause in ``WET_CAUSES``, or ``NO_CAUSE``. A piece takes
        the cause that most of its cells have.
    fields : field_id, area_ha, geometry in a metre CRS.
    cleaning : of ``cleaning_for``.
    soil, soil_names : for each cell the place of its wet soil's name, or ``NO_SOIL``.

    Returns
    -------
    ``years_in_ten`` of a piece is the mean of its wet cells that have odds, NaN where less than
    half of them has.
    """
    here = fields[["field_id", "area_ha", "geometry"]]
    there = here.to_crs(years_in_ten.crs)
    raw = _outlines(too_wet, years_in_ten, there, cleaning)
    clean = _cleaned(raw, cleaning)
    smooth = smoothed(clean, years_in_ten.cell)
    cells = gpd.GeoSeries([raw, clean, smooth], crs=years_in_ten.crs).to_crs(fields.crs)
    per_m2 = here["area_ha"].to_numpy() / here.geometry.area.to_numpy()
    grounds = here.geometry.to_numpy()
    sizes = [
        float((shapely.area(shapely.intersection(grounds, whole)) * per_m2).sum())
        for whole in cells
    ]
    rows, strips_ha = [], 0.0
    for field_id, ground, factor in zip(here["field_id"], grounds, per_m2, strict=True):
        pieces, strips_m2 = _within(cells.iloc[2], ground, cleaning)
        strips_ha += strips_m2 * factor
        for number, piece in enumerate(pieces, start=1):
            rows.append((field_id, f"{field_id}-wet-{number}", piece.area * factor, piece))
    columns = ["field_id", "wet_id", "area_ha", "geometry"]
    drawn = gpd.GeoDataFrame(
        pd.DataFrame(rows, columns=columns), geometry="geometry", crs=fields.crs
    )
    table = _described(drawn, too_wet, years_in_ten, cause, soil, soil_names)
    change = 100 * (sizes[2] / sizes[1] - 1) if sizes[1] else 0.0
    notes = _notes(cleaning, years_in_ten.cell, change, float(drawn["area_ha"].sum()))
    return WetShapes(table, cleaning, sizes[0], sizes[1], sizes[2], strips_ha, change, notes)


def _outlines(
    too_wet: NDArray[np.bool_], grid: Grid, fields: gpd.GeoDataFrame, cleaning: Cleaning
) -> BaseGeometry:
    """Wet cells in and around the fields as polygons along the cells' edges."""
    margin = _MARGIN_DRILLS * cleaning.drill_m + grid.cell
    width, _, left, _, minus_height, top = grid.transform
    west, south, east, north = fields.total_bounds
    n_rows, n_columns = too_wet.shape
    c0, c1 = np.clip([(west - margin - left) / width, (east + margin - left) / width], 0, n_columns)
    r0, r1 = np.clip(
        [(north + margin - top) / minus_height, (south - margin - top) / minus_height], 0, n_rows
    )
    first_row, first_column = int(r0), int(c0)
    part = np.ascontiguousarray(
        too_wet[first_row : int(np.ceil(r1)), first_column : int(np.ceil(c1))]
    )
    if not part.any():
        return shapely.MultiPolygon()
    transform = Affine(
        width, 0, left + first_column * width, 0, minus_height, top + first_row * minus_height
    )
    found = features.shapes(part.astype(np.uint8), mask=part, connectivity=4, transform=transform)
    return shapely.union_all([shapely.geometry.shape(shape) for shape, _ in found])


def _cleaned(raw: BaseGeometry, cleaning: Cleaning) -> BaseGeometry:
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


def _within(
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


def _not_sowable(
    dry: BaseGeometry, ground: BaseGeometry, wet: BaseGeometry, cleaning: Cleaning
) -> list[BaseGeometry]:
    """Dry ground beside the wet that is cut off too small, or too narrow for the drill."""
    half = cleaning.least_strip_m / 2
    wide = dry.buffer(-half).buffer(half * 1.001)
    # What is narrow without any wet ground is the field's own shape.
    own = ground.difference(ground.buffer(-half).buffer(half * 1.001))
    left = dry.difference(wide).difference(own)
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


def _described(
    drawn: gpd.GeoDataFrame,
    too_wet: NDArray[np.bool_],
    years: Grid,
    cause: NDArray[np.integer],
    soil: NDArray[np.integer] | None,
    soil_names: tuple[str, ...],
) -> gpd.GeoDataFrame:
    if not len(drawn):
        table = empty(WET_GROUND).assign(geometry=None)
        return gpd.GeoDataFrame(table, geometry="geometry", crs=drawn.crs)
    of_wet = Grid(_only(years.values, too_wet), years.transform, years.crs)
    mean = zonal(of_wet, drawn, ["mean"], key="wet_id")["mean"].to_numpy(float)
    told = Grid(_only(np.isfinite(years.values), too_wet), years.transform, years.crs)
    told_frac = zonal(told, drawn, ["mean"], key="wet_id")["mean"].to_numpy(float)
    causes = Grid(_only(cause, too_wet & (cause != NO_CAUSE)), years.transform, years.crs)
    table = drawn.assign(
        years_in_ten=np.where(told_frac >= _ODDS_FRAC, np.clip(mean, 0, 10), np.nan),
        cause=[WET_CAUSES[_most(shares)] for shares in _shares(causes, drawn)],
        compname=None,
    )
    if soil is not None:
        soils = Grid(_only(soil, too_wet & (soil != NO_SOIL)), years.transform, years.crs)
        table["compname"] = [
            soil_names[_most(shares)] or None if shares else None
            for shares in _shares(soils, drawn)
        ]
    table = table[[*names(WET_GROUND), "geometry"]]
    check(pd.DataFrame(table.drop(columns="geometry")), WET_GROUND, "The table of wet ground")
    return gpd.GeoDataFrame(table, geometry="geometry", crs=drawn.crs)


def _only(values: NDArray[np.generic], where: NDArray[np.bool_]) -> NDArray[np.float32]:
    return np.where(where, values.astype(np.float32), np.float32(np.nan))


def _shares(codes: Grid, drawn: gpd.GeoDataFrame) -> list[dict[int, float]]:
    """For each piece the share of its coded ground by code."""
    table = zonal(codes, drawn, ["unique", "frac"], key="wet_id")
    return [
        {
            int(code): float(share)
            for code, share in zip(np.atleast_1d(found), np.atleast_1d(shares), strict=True)
            if np.isfinite(code)
        }
        for found, shares in zip(table["unique"], table["frac"], strict=True)
    ]


def _most(shares: dict[int, float]) -> int:
    """The code with the largest share; of equals the first."""
    return max(sorted(shares), key=lambda code: shares[code])


def _notes(
    cleaning: Cleaning, cell_m: float, smoothing_pct: float, drawn_ha: float
) -> tuple[Note, ...]:
    if drawn_ha == 0:
        return ()
    text = (
        f"Wet ground is drawn from cells of {length_text(cell_m)} for a drill "
        f"{length_text(cleaning.drill_m)} wide: wet spots under "
        f"{small_area_text(cleaning.least_wet_m2)} are not shown, and dry strips under "
        f"{length_text(cleaning.least_strip_m)} or pieces under "
        f"{small_area_text(cleaning.least_sowable_m2)} beside it are left out with it. Smoothing "
        f"its edges changed its area by {smoothing_pct:+.1f} %."
    )
    return (Note(NAME, "info", text),)
