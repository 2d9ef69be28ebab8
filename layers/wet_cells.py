"""Odds laid on the ground: which cells are too wet, how often, and why."""

from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from layers.cell_keys import distinct_keys
from layers.depressions import odds_on_cells
from layers.field_ponds import FieldPonds
from layers.ground import GroundRead
from layers.ground_cells import NOWHERE, STRIP_ROWS, GroundCells
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


@dataclass(frozen=True)
class CellKinds:
    """The few kinds of ground of a group of fields, and of which kind each dry cell is.

    ``strips`` has for each ``STRIP_ROWS`` rows: the dry cells of fields, the combinations (field,
    unit, component, position) there, and which of them each of these cells has.
    """

    shape: tuple[int, ...]
    strips: tuple[tuple[NDArray[np.bool_], NDArray[np.int64], NDArray[np.int32]], ...]


def wet_cells(
    cells: GroundCells,
    ground: GroundRead,
    odds: pd.DataFrame,
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
    odds : part keys, area_ha and years_in_ten (``suitability.wet_odds.part_odds``).
    ponds, pond_odds : depressions of this group and their odds by sowing week.
    sow_date : sowing week by field_id.
    wet_units : field_id, mukey and cause of map units full of wet soil by survey rule.
    wet_parts : field_id, mukey, cokey, position of parts too wet by survey rule.
    most_pct : share of a map unit that must be wet for all of it to be drawn [pct].

    Notes
    -----
    A cell on which it is not known which of the unit's soils it is takes the odds that at least
    ``most_pct`` of the parts that it may be of reach, by area: a lesser wet soil that nothing
    places wets no cell; it is named as a share.
    """
    inside = (cells.field >= 0) & ~cells.water
    kinds = cell_kinds(cells)
    years, named = _of_parts(kinds, ground, odds, wet_parts, most_pct)
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


def cell_kinds(cells: GroundCells) -> CellKinds:
    """Which field, map unit, soil and position each dry cell of the fields has."""
    columns = (cells.field, cells.unit, cells.component, cells.position)
    strips = []
    for row in range(0, cells.field.shape[0], STRIP_ROWS):
        strip = slice(row, row + STRIP_ROWS)
        inside = (cells.field[strip] >= 0) & ~cells.water[strip]
        keys, place = distinct_keys([column[strip][inside] for column in columns])
        strips.append((inside, keys, place.astype(np.int32)))
    return CellKinds(cells.field.shape, tuple(strips))


def years_in_week(
    cells: GroundCells,
    kinds: CellKinds,
    ground: GroundRead,
    odds: pd.DataFrame,
    ponds: FieldPonds | None,
    pond_odds: NDArray[np.float64] | None,
    most_pct: float,
) -> NDArray[np.float32]:
    """Years in ten of too wet ground on every cell, were all fields sown in one week.

    Parameters as ``wet_cells``, ``odds`` and ``pond_odds`` those of that week; ``kinds`` of
    ``cell_kinds``.
    """
    years, _ = _of_parts(kinds, ground, odds, odds.iloc[:0], most_pct)
    if ponds is None or pond_odds is None:
        return years
    laid = odds_on_cells(ponds.found, cells.grid.values, ponds.height_m, pond_odds)
    inside = (cells.field >= 0) & ~cells.water
    worse = inside & (np.nan_to_num(laid, nan=0.0) > np.nan_to_num(years, nan=0.0))
    return np.where(worse, laid, years).astype(np.float32)


def _of_parts(
    kinds: CellKinds,
    ground: GroundRead,
    odds: pd.DataFrame,
    wet_parts: pd.DataFrame,
    most_pct: float,
) -> tuple[NDArray[np.float32], NDArray[np.bool_]]:
    """Odds of the parts on their cells, and where wet soil was placed that has none."""
    known = odds.dropna(subset="years_in_ten")
    own = known.groupby(["field_id", "mukey", "cokey", "position"])["years_in_ten"].mean()
    shared = _shared(known, set(ground.placed["cokey"]))
    keys = wet_parts[["field_id", "mukey", "cokey", "position"]]
    wet = set(keys.itertuples(index=False, name=None))

    def of(key: NDArray[np.int64]) -> tuple[float, bool]:
        field, unit, component, position = key.tolist()
        if unit == NOWHERE:
            return np.nan, False
        names = (ground.field_ids[field], ground.mukeys[unit])
        if component != NOWHERE:
            place = (*names, ground.cokeys[component], POSITIONS[position])
            value = float(own.get(place, np.nan))
            return value, np.isnan(value) and place in wet
        rows = shared.get((*names, POSITIONS[position]))
        rows = shared.get((*names, POSITIONS[0])) if rows is None else rows
        return np.nan if rows is None else _reached(rows, most_pct), False

    years = np.full(kinds.shape, np.nan, np.float32)
    named = np.zeros(kinds.shape, bool)
    for number, (inside, found_keys, place) in enumerate(kinds.strips):
        strip = slice(number * STRIP_ROWS, (number + 1) * STRIP_ROWS)
        found = [of(key) for key in found_keys]
        years[strip][inside] = np.array([value for value, _ in found], np.float32)[place]
        named[strip][inside] = np.array([flag for _, flag in found], bool)[place]
    return years, named


def _shared(known: pd.DataFrame, placed: set[str]) -> dict[tuple[str, ...], NDArray[np.float64]]:
    """By field, unit and position: odds and area of every soil that ground there may be of.

    Of soils that were placed only what is left without a place may lie anywhere; it does so in
    proportion to the ground.
    """
    # Asked for once a sowing week: plain lists are many times faster here than groups of a table.
    columns = ["field_id", "mukey", "cokey", "position", "years_in_ten", "area_ha"]
    loose: dict[tuple[str, ...], list[tuple[float, float]]] = {}
    lying: dict[tuple[str, ...], dict[str, list[tuple[float, float]]]] = {}
    for field_id, mukey, cokey, position, years, area_ha in known[columns].itertuples(index=False):
        unit = (field_id, mukey)
        if position == POSITIONS[0]:
            loose.setdefault(unit, []).append((years, area_ha))
        elif cokey not in placed:
            lying.setdefault(unit, {}).setdefault(position, []).append((years, area_ha))
    result = {(*unit, POSITIONS[0]): np.array(rows) for unit, rows in loose.items()}
    for here, positions in lying.items():
        rest = np.array(loose.get(here, [])).reshape(-1, 2)
        whole_ha = sum(area_ha for rows in positions.values() for _, area_ha in rows)
        for position, rows in positions.items():
            share = sum(area_ha for _, area_ha in rows) / whole_ha
            result[*here, position] = np.concatenate([np.array(rows), rest * [1.0, share]])
    return result


def _reached(odds_and_ha: NDArray[np.float64], most_pct: float) -> float:
    """The highest odds that so much of the ground reaches or passes."""
    falling = odds_and_ha[np.argsort(-odds_and_ha[:, 0], kind="stable")]
    share_pct = 100 * np.cumsum(falling[:, 1]) / falling[:, 1].sum()
    at = min(int(np.searchsorted(share_pct, most_pct - 1e-9)), len(falling) - 1)
    return float(falling[at, 0])


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
    for week, odds in pond_odds.items():
        here = inside & np.isin(cells.field, np.flatnonzero(week_of == week))
        if here.any():
            laid = odds_on_cells(ponds.found, cells.grid.values, ponds.height_m, odds)
            result[here] = np.nan_to_num(laid[here], nan=0.0)
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
