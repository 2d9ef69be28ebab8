"""Odds laid on the ground: which cells are too wet, how often, and why."""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from layers.cell_kinds import CellKinds, cell_kinds, odds_of_kinds
from layers.depressions import PondCells, pond_cells
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
    the wet soil that the survey names there, -1 for none; ``surveyed`` where the survey itself
    rates it too wet: a map unit full of wet soil, or wet soil placed there that has no odds.
    """

    years_in_ten: NDArray[np.float32]
    cause: NDArray[np.int16]
    soil: NDArray[np.int32]
    surveyed: NDArray[np.bool_]


def wet_cells(
    cells: GroundCells,
    ground: GroundRead,
    parts: pd.DataFrame,
    odds: NDArray[np.float64],
    ponds: FieldPonds | None,
    pond_odds: dict[str, NDArray[np.float64]],
    sow_date: "pd.Series[str]",
    wet_units: pd.DataFrame,
    wet_parts: pd.DataFrame,
    most_pct: float,
) -> WetCells:
    """Lay the odds of parts and ponds on the cells; the worse of the two holds.

    Parameters
    ----------
    cells : one group of ``ground.cells``.
    parts : PART_KEYS and area_ha; odds : (n_parts,) their years in ten in the week of their field.
    ponds, pond_odds : depressions of this group and their odds by sowing week.
    sow_date : sowing week by field_id.
    wet_units : field_id, mukey and cause of map units full of wet soil by survey rule.
    wet_parts : field_id, mukey, cokey, position of parts too wet by survey rule.
    most_pct : share of a map unit that must be wet for all of it to be drawn [pct].
    """
    inside = cells.dry
    kinds = cell_kinds(cells)
    by_kind = odds_of_kinds(kinds, ground, parts, odds[:, None], most_pct)
    years = kinds.on_cells(tuple(values[:, 0] for values in by_kind), np.nan)
    named = _wet_without_odds(kinds, by_kind, ground, wet_parts)
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
    soil = cells.component.copy()
    surveyed = (named | _of_units(cells, ground, wet_units, cause, soil)) & inside
    cause[~inside] = -1
    return WetCells(np.where(inside, years, np.nan).astype(np.float32), cause, soil, surveyed)


def years_by_week(
    cells: GroundCells,
    ground: GroundRead,
    parts: pd.DataFrame,
    odds: NDArray[np.float64],
    weeks: tuple[str, ...],
    ponds: FieldPonds | None,
    pond_odds: dict[str, NDArray[np.float64]],
    most_pct: float,
) -> Callable[[str], NDArray[np.float32]]:
    """Years in ten of too wet ground, were all fields sown in the week asked for.

    Parameters as ``wet_cells``; ``odds`` (n_parts, n_weeks) are those of ``weeks``.

    Returns
    -------
    Function of a week: one number for each cell of ``cells.dry``, in the order of the grid.
    """
    kinds = cell_kinds(cells)
    by_kind = odds_of_kinds(kinds, ground, parts, odds, most_pct)
    standing = _dry_pond_cells(cells, ponds) if ponds else None

    def years_in(week: str) -> NDArray[np.float32]:
        column = weeks.index(week)
        years = kinds.on_dry(tuple(values[:, column] for values in by_kind))
        if standing is not None and week in pond_odds:
            stands = np.nan_to_num(standing.values(pond_odds[week]), nan=0.0)
            dry = years[standing.under]
            worse = stands > np.nan_to_num(dry, nan=0.0)
            years[standing.under] = np.where(worse, stands, dry)
        return years

    return years_in


def _dry_pond_cells(cells: GroundCells, ponds: FieldPonds) -> PondCells:
    """Where ponds can stand among the dry cells of the fields, these in the order of the grid."""
    inside = cells.dry
    anywhere = pond_cells(ponds.found, cells.grid.values, ponds.height_m)
    kept = inside[anywhere.under]
    return PondCells(anywhere.under[inside], anywhere.pond[kept], anywhere.height_class[kept])


def _wet_without_odds(
    kinds: CellKinds,
    years: tuple[NDArray[np.float32], ...],
    ground: GroundRead,
    wet_parts: pd.DataFrame,
) -> NDArray[np.bool_]:
    """Cells on which a soil was placed that the survey rates too wet and that has no odds."""
    keys = wet_parts[["field_id", "mukey", "cokey", "position"]]
    wet = set(keys.itertuples(index=False, name=None))

    def named(field: int, unit: int, component: int, position: int) -> bool:
        if NOWHERE in (unit, component):
            return False
        names = (ground.field_ids[field], ground.mukeys[unit], ground.cokeys[component])
        return (*names, POSITIONS[position]) in wet

    flags = tuple(
        np.array([named(*key) for key in keys.tolist()], bool) & np.isnan(odds[:, 0])
        for (_, keys, _), odds in zip(kinds.strips, years, strict=True)
    )
    return kinds.on_cells(flags, False)


def _of_ponds(
    cells: GroundCells,
    ground: GroundRead,
    ponds: FieldPonds,
    pond_odds: dict[str, NDArray[np.float64]],
    sow_date: "pd.Series[str]",
    inside: NDArray[np.bool_],
) -> NDArray[np.float32]:
    result = np.zeros(cells.field.shape, np.float32)
    week_of = np.array([sow_date.get(field_id) for field_id in ground.field_ids], dtype=object)
    standing = pond_cells(ponds.found, cells.grid.values, ponds.height_m)
    for week, odds in pond_odds.items():
        here = inside & np.isin(cells.field, np.flatnonzero(week_of == week)) & standing.under
        if here.any():
            result[here] = np.nan_to_num(standing.values(odds)[here[standing.under]], nan=0.0)
    return result


def _of_units(
    cells: GroundCells,
    ground: GroundRead,
    wet_units: pd.DataFrame,
    cause: NDArray[np.int16],
    soil: NDArray[np.int32],
) -> NDArray[np.bool_]:
    """Where map units full of wet soil lie; ``cause`` and ``soil`` are filled in place."""
    surveyed = np.zeros(cells.field.shape, dtype=bool)
    field = {name: i for i, name in enumerate(ground.field_ids)}
    unit = {name: i for i, name in enumerate(ground.mukeys)}
    number = {name: i for i, name in enumerate(ground.cokeys)}
    named = ground.components.drop_duplicates(["mukey", "compname"])
    cokey = named.set_index(["mukey", "compname"])["cokey"]
    for row in wet_units.itertuples():
        if row.mukey not in unit:
            continue
        here = (cells.field == field[row.field_id]) & (cells.unit == unit[row.mukey])
        surveyed |= here
        cause[here] = _CAUSE[row.cause]
        its = number.get(cokey.get((row.mukey, row.compname), ""), NOWHERE)
        soil[here & (soil == NOWHERE)] = its
    return surveyed
