"""Wet ground were the fields sown in another week: odds of each spot, acres of each field."""

from collections.abc import Callable, Sequence

import geopandas as gpd
import numpy as np
import pandas as pd
from numpy.typing import NDArray

from layers.grid import Grid, zonal
from layers.ground import GroundRead
from layers.ground_cells import GroundCells
from layers.wet_cells import WetCells
from layers.wet_outlines import Cleaning
from layers.wet_redrawn import Redrawn
from suitability.contract import Column, check, empty, names
from suitability.wet_weeks import WET_FIELD_WEEKS, WET_SPOT_WEEKS, WetWeeks

Floats = NDArray[np.float32]


def wet_weeks(
    ground: GroundRead,
    wet: tuple[WetCells, ...],
    years_of: Callable[[int, str], Floats],
    weeks: pd.DataFrame,
    sow_date: "pd.Series[str]",
    drawn: gpd.GeoDataFrame,
    fields: gpd.GeoDataFrame,
    least_years_in_ten: float,
    cleaning: Cleaning,
    marked: Callable[[gpd.GeoDataFrame], gpd.GeoDataFrame],
) -> WetWeeks:
    """Odds of the drawn spots and acres of the fields in every sowing week.

    Parameters
    ----------
    ground, wet, fields, least_years_in_ten, cleaning : as for ``field_wet.field_wet``.
    years_of : years in ten on the dry cells of the n-th group of fields, all sown in one week.
    weeks : field_id and sow_date of the weeks that each field can be sown in.
    sow_date : the recommended week by field_id.
    drawn : WET_GROUND of the recommended weeks, without marks; also of fields without cells, whose
        wet ground is the soil map's in every week.
    marked : lays the grower's marks over field_id, wet_id, area_ha and geometry of wet ground.

    Notes
    -----
    A field that is not free in a week keeps its cells of the recommended week, so that the edges of
    its neighbours stay.
    """
    spots: list[tuple[object, ...]] = []
    sizes: dict[tuple[str, str], float] = {}
    for number, (cells, base) in enumerate(zip(ground.cells, wet, strict=True)):
        here = [ground.field_ids[i] for i in np.unique(cells.field[cells.field >= 0])]
        by_odds = base.years_in_ten >= least_years_in_ten  # not where it is not known
        shares = _shares(by_odds, cells, drawn[drawn["field_id"].isin(here)])
        asked = dict(list(weeks[weeks["field_id"].isin(here)].groupby("sow_date")["field_id"]))
        inside = cells.dry
        field, at_best = cells.field[inside], base.years_in_ten[inside]
        surveyed = base.surveyed[inside]
        too_wet: dict[str, NDArray[np.uint8]] = {}
        ever_wet = np.zeros(len(field), dtype=bool)
        for week, free in asked.items():
            is_free = np.isin(np.array(ground.field_ids), free)
            years = np.where(is_free[field], years_of(number, week), at_best)
            mine = set(free)
            spots += [
                (field_id, wet_id, week, _mean(years[at], share))
                for field_id, wet_id, at, share in shares
                if field_id in mine
            ]
            wet_now = (years >= least_years_in_ten) | surveyed
            too_wet[week] = np.packbits(wet_now)
            ever_wet |= wet_now
        on_grid = np.zeros(inside.shape, dtype=bool)
        on_grid[inside] = ever_wet
        redrawn = Redrawn(on_grid, cells.grid, fields[fields["field_id"].isin(here)], cleaning)
        for week, free in asked.items():
            on_grid[inside] = np.unpackbits(too_wet.pop(week), count=len(field)).astype(bool)
            size = _sizes(marked(redrawn.pieces(on_grid)))
            sizes |= {(field_id, week): float(size.get(field_id, 0.0)) for field_id in free}
    now = _sizes(marked(drawn))
    rows = [
        (f, w, now.get(f, 0.0) if sow_date.get(f) == w else sizes.get((f, w), now.get(f, 0.0)))
        for f, w in weeks[["field_id", "sow_date"]].itertuples(index=False)
    ]
    return WetWeeks(
        _table(spots, WET_SPOT_WEEKS, "Wet ground by sowing week"),
        _table(rows, WET_FIELD_WEEKS, "Wet acres by sowing week"),
        least_years_in_ten,
    )


def _shares(
    by_odds: NDArray[np.bool_], cells: GroundCells, drawn: gpd.GeoDataFrame
) -> list[tuple[str, str, NDArray[np.int64], Floats]]:
    """Of each spot with odds: the dry cells that have them, and the share of each within it."""
    told = drawn[drawn["years_in_ten"].notna()]
    if told.empty:
        return []
    grid = Grid(by_odds.astype(np.float32), cells.grid.transform, cells.grid.crs)
    table = zonal(grid, told, ["cell_id", "coverage"], key="wet_id")
    dry = np.flatnonzero(cells.dry)
    found = []
    for field_id, wet_id in zip(told["field_id"], told["wet_id"], strict=True):
        at = np.asarray(table.at[wet_id, "cell_id"], dtype=np.int64)
        share = np.asarray(table.at[wet_id, "coverage"], dtype=np.float32)
        own = by_odds.ravel()[at]
        found.append((field_id, wet_id, np.searchsorted(dry, at[own]), share[own]))
    return found


def _mean(years: Floats, share: Floats) -> float:
    known = ~np.isnan(years)
    if not known.any():
        return np.nan
    mean = np.average(years[known].astype(np.float64), weights=share[known])
    return float(np.clip(mean, 0.0, 10.0))  # ten of ten may come out a hair more


def _sizes(pieces: gpd.GeoDataFrame) -> "pd.Series[float]":
    return pieces.groupby("field_id")["area_ha"].sum()


def _table(
    rows: Sequence[tuple[object, ...]], columns: tuple[Column, ...], what: str
) -> pd.DataFrame:
    table = pd.DataFrame(rows, columns=names(columns)) if rows else empty(columns)
    keys = [column.name for column in columns if column.key]
    return check(table.sort_values(keys).reset_index(drop=True), columns, what)
