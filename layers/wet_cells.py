"""Odds laid on the ground: which cells are too wet, how often, and why."""

from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from layers.depressions import odds_on_cells
from layers.field_ponds import FieldPonds
from layers.ground import GroundRead
from layers.ground_cells import NOWHERE, GroundCells
from suitability.columns import POSITIONS, WET_CAUSES

_CAUSE = {name: number for number, name in enumerate(WET_CAUSES)}
_GATHERS = tuple(POSITIONS.index(name) for name in ("gathering", "hollow"))


@dataclass(frozen=True)
class WetCells:
    """Arrays of the shape of the cells.

    ``years_in_ten`` of too wet ground, NaN outside fields, on open water and where not known;
    ``cause`` as the place in ``WET_CAUSES``, -1 for none; ``soil`` as the place in ``cokeys`` of
    the soil placed there, -1 for none; ``surveyed`` where a map unit full of wet soil lies.
    """

    years_in_ten: NDArray[np.float32]
    cause: NDArray[np.int16]
    soil: NDArray[np.int32]
    surveyed: NDArray[np.bool_]


def wet_cells(
    cells: GroundCells,
    ground: GroundRead,
    odds: pd.DataFrame,
    ponds: FieldPonds | None,
    pond_odds: dict[str, NDArray[np.float64]],
    sow_date: "pd.Series[str]",
    wet_units: pd.DataFrame,
) -> WetCells:
    """Lay the odds of parts and ponds on the cells; the worse of the two holds.

    Parameters
    ----------
    cells : one group of ``ground.cells``.
    odds : part keys, area_ha and years_in_ten (``suitability.wet_odds.part_odds``).
    ponds, pond_odds : depressions of this group and their odds by sowing week.
    sow_date : sowing week by field_id.
    wet_units : field_id, mukey and cause of map units full of wet soil by survey rule.

    Notes
    -----
    A cell on which it is not known which of the unit's soils it is takes the mean of all the parts
    that it may be of, by area.
    """
    inside = (cells.field >= 0) & ~cells.water
    years = _of_parts(cells, ground, odds, inside)
    cause = np.where(
        cells.component >= 0,
        _CAUSE["wet inclusion"],
        np.where(np.isin(cells.position, _GATHERS), _CAUSE["runs together"], _CAUSE["water table"]),
    ).astype(np.int16)
    if ponds is not None:
        stands = _of_ponds(cells, ground, ponds, pond_odds, sow_date, inside)
        worse = stands > np.nan_to_num(years, nan=0.0)
        years = np.where(worse, stands, years)
        cause[worse] = _CAUSE["ponded"]
    surveyed = _of_units(cells, ground, wet_units, cause) & inside
    cause[~inside] = -1
    return WetCells(
        np.where(inside, years, np.nan).astype(np.float32), cause, cells.component, surveyed
    )


def _of_parts(
    cells: GroundCells, ground: GroundRead, odds: pd.DataFrame, inside: NDArray[np.bool_]
) -> NDArray[np.float64]:
    keys = pd.DataFrame(
        {
            "field": cells.field[inside],
            "unit": cells.unit[inside],
            "component": cells.component[inside],
            "position": cells.position[inside],
        }
    )
    distinct = keys.drop_duplicates()
    known = odds.dropna(subset="years_in_ten").assign(
        weighed=lambda t: t["years_in_ten"] * t["area_ha"]
    )
    exact = known.groupby(["field_id", "mukey", "cokey", "position"])[["weighed", "area_ha"]].sum()
    by_place = known.groupby(["field_id", "mukey", "position"])[["weighed", "area_ha"]].sum()

    def of(row: "tuple[int, int, int, int]") -> float:
        field, unit, component, position = row
        if unit == NOWHERE:
            return np.nan
        names = (ground.field_ids[field], ground.mukeys[unit])
        if component != NOWHERE:
            place = (*names, ground.cokeys[component], POSITIONS[position])
            return _mean(exact, [place])
        return _mean(by_place, [(*names, POSITIONS[position]), (*names, POSITIONS[0])])

    values = [of(row) for row in distinct.itertuples(index=False, name=None)]
    table = distinct.assign(years_in_ten=values)
    laid = keys.merge(table, on=list(keys.columns), how="left")["years_in_ten"].to_numpy()
    result = np.full(cells.field.shape, np.nan)
    result[inside] = laid
    return result


def _mean(sums: pd.DataFrame, places: list[tuple[str, ...]]) -> float:
    rows = [sums.loc[place] for place in dict.fromkeys(places) if place in sums.index]
    area = sum(float(row["area_ha"]) for row in rows)
    return sum(float(row["weighed"]) for row in rows) / area if area > 0 else float("nan")


def _of_ponds(
    cells: GroundCells,
    ground: GroundRead,
    ponds: FieldPonds,
    pond_odds: dict[str, NDArray[np.float64]],
    sow_date: "pd.Series[str]",
    inside: NDArray[np.bool_],
) -> NDArray[np.float64]:
    result = np.zeros(cells.field.shape)
    raw = cells.grid.values.astype(np.float64)
    week_of = np.array([sow_date.get(field_id) for field_id in ground.field_ids], dtype=object)
    for week, odds in pond_odds.items():
        here = inside & np.isin(cells.field, np.flatnonzero(week_of == week))
        if here.any():
            laid = odds_on_cells(ponds.found, raw, ponds.height_m, odds)
            result[here] = np.nan_to_num(laid[here], nan=0.0)
    return result


def _of_units(
    cells: GroundCells, ground: GroundRead, wet_units: pd.DataFrame, cause: NDArray[np.int16]
) -> NDArray[np.bool_]:
    surveyed = np.zeros(cells.field.shape, dtype=bool)
    field = {name: i for i, name in enumerate(ground.field_ids)}
    unit = {name: i for i, name in enumerate(ground.mukeys)}
    for row in wet_units.itertuples():
        here = (cells.field == field[row.field_id]) & (cells.unit == unit[row.mukey])
        surveyed |= here
        cause[here] = _CAUSE[row.cause]
    return surveyed
