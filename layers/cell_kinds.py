"""The few kinds of ground that the cells of a group have, and the odds of each kind."""

from dataclasses import dataclass
from typing import TypeVar

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from layers.cell_keys import distinct_keys
from layers.ground import GroundRead
from layers.ground_cells import NOWHERE, STRIP_ROWS, GroundCells
from suitability.columns import POSITIONS

Floats = NDArray[np.float64]
Value = TypeVar("Value", bound=np.generic)
_PLACE = ("field_id", "mukey", "cokey", "position")


@dataclass(frozen=True)
class CellKinds:
    """The few kinds of ground of a group of fields, and of which kind each dry cell is.

    ``strips`` has for each ``STRIP_ROWS`` rows: the dry cells of fields, the combinations (field,
    unit, component, position) there, and which of them each of these cells has.
    """

    shape: tuple[int, ...]
    strips: tuple[tuple[NDArray[np.bool_], NDArray[np.int64], NDArray[np.int32]], ...]

    def on_cells(self, of_kinds: tuple[NDArray[Value], ...], blank: float) -> NDArray[Value]:
        """Values by strip and kind laid on the cells; ``blank`` on all other ground."""
        laid: NDArray[Value] = np.full(self.shape, blank, of_kinds[0].dtype)
        for number, ((inside, _, place), values) in enumerate(
            zip(self.strips, of_kinds, strict=True)
        ):
            laid[number * STRIP_ROWS : (number + 1) * STRIP_ROWS][inside] = values[place]
        return laid

    def on_dry(self, of_kinds: tuple[NDArray[Value], ...]) -> NDArray[Value]:
        """Values by strip and kind for each dry cell of the fields, in the order of the grid."""
        values = zip(self.strips, of_kinds, strict=True)
        return np.concatenate([of_strip[place] for (_, _, place), of_strip in values])


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


def odds_of_kinds(
    kinds: CellKinds, ground: GroundRead, parts: pd.DataFrame, odds: Floats, most_pct: float
) -> tuple[NDArray[np.float32], ...]:
    """Years in ten of each kind of ground.

    Parameters
    ----------
    kinds : of ``cell_kinds``. parts : PART_KEYS and area_ha.
    odds : (n_parts, n_columns) years in ten of too wet ground, NaN where not known; a column may be
        a sowing week.
    most_pct : share of a map unit that must be wet for all of it to be drawn [pct].

    Returns
    -------
    For each strip (n_kinds, n_columns), NaN where not known.

    Notes
    -----
    A kind of which it is not known which of the unit's soils it is takes the odds that at least
    ``most_pct`` of the parts that it may be of reach, by area: a lesser wet soil that nothing
    places wets no cell; it is named as a share.
    """
    own = _own(parts, odds)
    units = _units(parts, set(ground.placed["cokey"]))
    area_ha = parts["area_ha"].to_numpy(dtype=float)
    unknown = np.full(odds.shape[1], np.nan)
    found: dict[tuple[int, ...], Floats] = {}

    def of(field: int, unit: int, component: int, position: int) -> Floats:
        if unit == NOWHERE:
            return unknown
        names = (ground.field_ids[field], ground.mukeys[unit])
        if component != NOWHERE:
            place = (*names, ground.cokeys[component], POSITIONS[position])
            return own.get(place, unknown)
        here = units.get(names)
        if here is None:
            return unknown
        return here.reached(POSITIONS[position], odds, area_ha, most_pct)

    result = []
    for _, keys, _ in kinds.strips:
        for key in map(tuple, keys.tolist()):
            if key not in found:
                found[key] = of(*key)
        rows = [found[key] for key in map(tuple, keys.tolist())]
        result.append(np.array(rows, np.float32).reshape(-1, odds.shape[1]))
    return tuple(result)


def _own(parts: pd.DataFrame, odds: Floats) -> dict[tuple[str, ...], Floats]:
    """Odds of each soil in its position: the mean of its parts."""
    rows: dict[tuple[str, ...], list[int]] = {}
    for row, place in enumerate(parts[list(_PLACE)].itertuples(index=False, name=None)):
        rows.setdefault(place, []).append(row)
    result = {}
    for place, some in rows.items():
        known = ~np.isnan(odds[some])
        total = np.where(known, odds[some], 0.0).sum(axis=0)
        count = known.sum(axis=0)
        result[place] = np.where(count > 0, total / np.maximum(count, 1), np.nan)
    return result


@dataclass(frozen=True)
class _Unit:
    """Rows of the parts of a map unit in a field: of soils that may lie anywhere, and by position.

    Of soils that were placed only what is left without a place may lie anywhere; it does so in
    proportion to the ground.
    """

    loose: list[int]
    lying: dict[str, list[int]]

    def reached(self, position: str, odds: Floats, area_ha: Floats, most_pct: float) -> Floats:
        """The highest odds that so much of the ground in this position reaches or passes."""
        result = np.full(odds.shape[1], np.nan)
        every = [*self.loose, *(row for rows in self.lying.values() for row in rows)]
        known = ~np.isnan(odds[every])
        columns: dict[bytes, list[int]] = {}
        for column in range(odds.shape[1]):
            columns.setdefault(known[:, column].tobytes(), []).append(column)
        for pattern, some in columns.items():
            is_known = dict(zip(every, np.frombuffer(pattern, dtype=bool), strict=True))
            rows, weights = self._may_be(position, is_known, area_ha)
            if rows:
                result[some] = _reached(odds[np.ix_(rows, some)], weights, most_pct)
        return result

    def _may_be(
        self, position: str, is_known: dict[int, np.bool_], area_ha: Floats
    ) -> tuple[list[int], Floats]:
        loose = [row for row in self.loose if is_known[row]]
        lying = {p: [r for r in rows if is_known[r]] for p, rows in self.lying.items()}
        here = lying.get(position, [])
        if not here:
            return loose, area_ha[loose]
        whole_ha = sum(area_ha[row] for rows in lying.values() for row in rows)
        share = area_ha[here].sum() / whole_ha
        return [*here, *loose], np.concatenate([area_ha[here], area_ha[loose] * share])


def _units(parts: pd.DataFrame, placed: set[str]) -> dict[tuple[str, str], _Unit]:
    result: dict[tuple[str, str], _Unit] = {}
    for row, (field_id, mukey, cokey, position) in enumerate(
        parts[list(_PLACE)].itertuples(index=False, name=None)
    ):
        unit = result.setdefault((field_id, mukey), _Unit([], {}))
        if position == POSITIONS[0]:
            unit.loose.append(row)
        elif cokey not in placed:
            unit.lying.setdefault(position, []).append(row)
    return result


def _reached(odds: Floats, area_ha: Floats, most_pct: float) -> Floats:
    """The highest odds that so much of the ground reaches or passes; (n_parts, n_columns)."""
    order = np.argsort(-odds, axis=0, kind="stable")
    falling = np.take_along_axis(odds, order, axis=0)
    share_pct = 100 * np.cumsum(area_ha[order], axis=0) / area_ha.sum()
    enough = share_pct >= most_pct - 1e-9
    at = np.where(enough.any(axis=0), enough.argmax(axis=0), len(odds) - 1)
    return np.asarray(np.take_along_axis(falling, at[None], axis=0)[0])
