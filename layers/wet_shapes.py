"""Wet ground as drawn: its outlines, how often each piece is too wet, and why."""

from dataclasses import dataclass

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely
from numpy.typing import NDArray

from layers.areas import length_text, small_area_text
from layers.grid import Grid, zonal
from layers.wet_outlines import Cleaning, outline_steps, pieces_of_fields
from suitability.columns import WET_CAUSES, WET_GROUND
from suitability.contract import check, empty, names
from suitability.notes import Note

NAME = "wet ground"
NO_CAUSE = -1
NO_SOIL = -1
# A piece shows odds where at least this share of its wet cells has some (judgement).
_ODDS_FRAC = 0.5


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
    steps = outline_steps(too_wet, years_in_ten, fields, cleaning)
    per_m2 = fields["area_ha"].to_numpy() / fields.geometry.area.to_numpy()
    grounds = fields.geometry.to_numpy()
    sizes = [
        float((shapely.area(shapely.intersection(grounds, whole)) * per_m2).sum())
        for whole in steps
    ]
    drawn, strips_ha = pieces_of_fields(steps.iloc[2], fields, cleaning)
    table = _described(drawn, too_wet, years_in_ten, cause, soil, soil_names)
    change = 100 * (sizes[2] / sizes[1] - 1) if sizes[1] else 0.0
    notes = _notes(cleaning, years_in_ten.cell, change, float(drawn["area_ha"].sum()))
    return WetShapes(table, cleaning, sizes[0], sizes[1], sizes[2], strips_ha, change, notes)


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
    # One grid at a time: of a large group each is tens of megabytes.
    mean = _means(_only(years.values, too_wet), years, drawn)
    told_frac = _means(_only(np.isfinite(years.values), too_wet), years, drawn)
    table = drawn.assign(
        years_in_ten=np.where(told_frac >= _ODDS_FRAC, np.clip(mean, 0, 10), np.nan),
        cause=[
            WET_CAUSES[_most(shares)]
            for shares in _shares(_only(cause, too_wet & (cause != NO_CAUSE)), years, drawn)
        ],
        compname=None,
    )
    if soil is not None:
        table["compname"] = [
            soil_names[_most(shares)] or None if shares else None
            for shares in _shares(_only(soil, too_wet & (soil != NO_SOIL)), years, drawn)
        ]
    table = table[[*names(WET_GROUND), "geometry"]]
    check(pd.DataFrame(table.drop(columns="geometry")), WET_GROUND, "The table of wet ground")
    return gpd.GeoDataFrame(table, geometry="geometry", crs=drawn.crs)


def _only(values: NDArray[np.generic], where: NDArray[np.bool_]) -> NDArray[np.float32]:
    return np.where(where, values.astype(np.float32), np.float32(np.nan))


def _means(values: NDArray[np.float32], like: Grid, drawn: gpd.GeoDataFrame) -> NDArray[np.float64]:
    grid = Grid(values, like.transform, like.crs)
    means: NDArray[np.float64] = zonal(grid, drawn, ["mean"], key="wet_id")["mean"].to_numpy(float)
    return means


def _shares(
    codes: NDArray[np.float32], like: Grid, drawn: gpd.GeoDataFrame
) -> list[dict[int, float]]:
    """For each piece the share of its coded ground by code."""
    grid = Grid(codes, like.transform, like.crs)
    table = zonal(grid, drawn, ["unique", "frac"], key="wet_id")
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
