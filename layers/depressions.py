"""Closed depressions of the ground: what each one holds, what drains to it, where it spills."""

from dataclasses import dataclass

import numpy as np
import scipy
from numpy.typing import NDArray

from layers.depression_tree import descend, join_basins, leave_basins, pour_points
from suitability.ponds import M2_PER_HA, OUTSIDE, PondCurves

_STRIP_ROWS = 512  # worked on at once where copies of a whole large grid would fill the memory
_ALL_AROUND = np.ones((3, 3), dtype=int)


@dataclass(frozen=True)
class Depressions:
    """The closed depressions of a grid, children before the parents that they make when full.

    ``curves`` holds the tree, where each spills to, and level [m], area [m2] and volume [m3].
    ``catchment_ha`` (n_ponds,) is the ground that drains to a pond first, its own within; for a
    parent it is the sum of its children. ``cut_by_edge`` (n_ponds,) is True where that ground
    reaches the edge of all known heights, so that more may drain to it. ``pour_row`` and
    ``pour_column`` are the cell over which each spills. ``drains_to`` (n_rows, n_columns) is for
    every cell the pond without children that its water reaches first, ``OUTSIDE`` where none.
    """

    curves: PondCurves
    catchment_ha: NDArray[np.float64]
    cut_by_edge: NDArray[np.bool_]
    pour_row: NDArray[np.int64]
    pour_column: NDArray[np.int64]
    drains_to: NDArray[np.int32]

    @property
    def n_ponds(self) -> int:
        """Number of depressions, those made of others within."""
        return len(self.curves.parent)


def find_depressions(
    raw_m: NDArray[np.floating],
    filled_m: NDArray[np.floating],
    cell_width_m: float,
    cell_height_m: float,
    *,
    least_depth_m: float,
    least_cells: int,
    receiver: NDArray[np.integer] | None = None,
    n_levels: int = 24,
) -> Depressions:
    """Depressions of a grid of heights, as a tree by the levels at which they join.

    Parameters
    ----------
    raw_m, filled_m : (n_rows, n_columns) heights as measured and with depressions filled to their
        pour points [m], NaN where not known.
    cell_width_m, cell_height_m : size of a cell [m].
    least_depth_m : a pit no deeper than this below its pour point is taken for noise; above 0.
    least_cells : so is one of fewer cells.
    receiver : (n_rows, n_columns) flat index of the cell that each one drains to on the filled
        ground, ``OUTSIDE`` where water leaves; left out, steepest descent.
    n_levels : levels of each curve.

    Raises
    ------
    ValueError : limits that let every cell be a pond.

    Notes
    -----
    Within a depression the cells are taken up by height, and basins that meet at a cell become one
    (a merge tree): a basin that is noise at that cell goes into its neighbour. Two cells are
    neighbours in all eight directions, as in filling.
    """
    if not least_depth_m > 0 or least_cells < 1:
        raise ValueError("least_depth_m must be above 0 and least_cells at least 1")
    # Compared as the grids hold them, so that no pond is made of rounding.
    raw, filled = np.asarray(raw_m, np.float32), np.asarray(filled_m, np.float32)
    shape = raw.shape
    cells, group = _flooded(raw, filled, least_depth_m, least_cells)
    place = np.full(raw.size, -1, dtype=np.int32)
    place[cells] = np.arange(len(cells))
    heights, brims = (z.ravel()[cells].astype(np.float64) for z in (raw, filled))
    node_of, leaf_of, parent, spill_m, target = join_basins(
        cells, group, heights, brims, place, shape[1], least_depth_m, least_cells
    )
    down = (
        descend(filled, cell_width_m, cell_height_m)
        if receiver is None
        else np.asarray(receiver, dtype=np.int32).ravel()
    )
    known = np.isfinite(filled)
    drains = leave_basins(down, place, leaf_of, known.ravel())
    pour, beyond = pour_points(cells, group, filled.ravel(), down, place, drains)
    n_ponds = len(parent)
    of_group = np.full(n_ponds, -1, dtype=np.int64)
    of_group[node_of] = group
    for pond in range(n_ponds):  # a parent may hold no cell that is not its children's
        if parent[pond] != OUTSIDE:
            of_group[parent[pond]] = of_group[pond]
    is_root = parent == OUTSIDE
    pour_cell = np.where(is_root, pour[of_group], target[:, 1]) if n_ponds else target[:, 1]
    spill_to = np.where(is_root, beyond[of_group], target[:, 0]) if n_ponds else target[:, 0]
    cell_m2 = cell_width_m * cell_height_m
    curves = PondCurves(
        parent, spill_to, *_curves(node_of, heights, parent, spill_m, cell_m2, n_levels)
    )
    catchment_ha, cut = _catchments(drains, parent, known, cell_m2)
    return Depressions(
        curves,
        catchment_ha,
        cut,
        pour_cell // shape[1],
        pour_cell % shape[1],
        drains.reshape(shape),
    )


@dataclass(frozen=True)
class PondCells:
    """Ground on which ponds can stand: where, of which pond, and the nearest height asked for.

    ``under`` has the shape of the grid; ``pond`` and ``height_class`` one number for each of its
    cells.
    """

    under: NDArray[np.bool_]
    pond: NDArray[np.int32]
    height_class: NDArray[np.int32]

    def values(self, of_pond: NDArray[np.float64]) -> NDArray[np.float32]:
        """For each cell of ``under`` the value of its pond and height, (n_ponds, n_classes)."""
        return of_pond[self.pond, self.height_class].astype(np.float32)


def pond_cells(
    found: Depressions, raw_m: NDArray[np.floating], height_m: NDArray[np.float64]
) -> PondCells:
    """Where ponds can stand on the ground.

    Parameters
    ----------
    raw_m : heights of the ground [m].
    height_m : (n_ponds, n_classes) of ``suitability.ponds.stage_classes``.
    """
    under = under_brim(found, raw_m)
    ponds, classes = [], []
    for row in range(0, len(under), _STRIP_ROWS):
        strip = slice(row, row + _STRIP_ROWS)
        here = under[strip]
        pond = found.drains_to[strip][here]
        ground = np.asarray(raw_m[strip][here], dtype=np.float32).astype(np.float64)
        low, high = height_m[pond, 0], height_m[pond, -1]
        step = np.divide(ground - low, high - low, out=np.zeros(len(pond)), where=high > low)
        ponds.append(pond.astype(np.int32))
        classes.append(np.rint(np.clip(step, 0, 1) * (height_m.shape[1] - 1)).astype(np.int32))
    return PondCells(under, np.concatenate(ponds), np.concatenate(classes))


def under_brim(found: Depressions, raw_m: NDArray[np.float32]) -> NDArray[np.bool_]:
    """Cells on which the pond that they drain to can stand."""
    brim, under = _brims(found), np.empty(raw_m.shape, bool)
    for row in range(0, len(under), _STRIP_ROWS):
        strip = slice(row, row + _STRIP_ROWS)
        under[strip] = raw_m[strip] < brim[found.drains_to[strip]]
    return under


def _brims(found: Depressions) -> NDArray[np.float32]:
    """Brim of each pond [m]; last, at ``OUTSIDE``, that of ground that drains to no pond."""
    # Brims are heights of cells, so that nothing is lost as float32.
    return np.append(found.curves.brim_m, -np.inf).astype(np.float32)


def _flooded(
    raw: NDArray[np.float32], filled: NDArray[np.float32], least_depth_m: float, least_cells: int
) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """Cells of depressions worth looking at, by depression and height, and which one each is in."""
    depth = filled - raw
    labels, count = scipy.ndimage.label(depth > 0, structure=_ALL_AROUND)
    cells = np.flatnonzero(labels)
    group = labels.ravel()[cells].astype(np.int64) - 1
    deepest = np.zeros(count)
    np.maximum.at(deepest, group, depth.ravel()[cells])
    worth = (deepest >= least_depth_m) & (np.bincount(group, minlength=count) >= least_cells)
    number = np.cumsum(worth) - 1
    cells, group = cells[worth[group]], number[group[worth[group]]]
    order = np.lexsort((cells, raw.ravel()[cells], group))
    return cells[order], group[order]


def _curves(
    node_of: NDArray[np.int64],
    heights: NDArray[np.float64],
    parent: NDArray[np.int64],
    spill_m: NDArray[np.float64],
    cell_m2: float,
    n_levels: int,
) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.float64]]:
    n_ponds = len(parent)
    order = np.argsort(node_of, kind="stable")
    ends = np.cumsum(np.bincount(node_of, minlength=n_ponds))
    own = np.split(heights[order], ends[:-1])
    level, area, volume = (np.zeros((n_ponds, n_levels)) for _ in range(3))
    # Of all ground that a pond holds: its cells, the lowest, and how high they rise above it.
    cells, floor, above = np.zeros(n_ponds, np.int64), np.full(n_ponds, np.inf), np.zeros(n_ponds)
    children: dict[int, list[int]] = {}
    for pond in range(n_ponds):
        within = np.array(children.pop(pond, []), dtype=np.int64)
        ground = np.sort(own[pond])
        floor[pond] = min(floor[within].min(initial=np.inf), ground.min(initial=np.inf))
        lowest = spill_m[within].max() if len(within) else floor[pond]
        level[pond] = np.linspace(lowest, spill_m[pond], n_levels)
        under = np.searchsorted(ground, level[pond], side="left")
        under[0] = np.searchsorted(ground, lowest, side="right")
        # The ground of the children lies below where they meet, so all of it counts.
        deep = float((above[within] + cells[within] * (floor[within] - floor[pond])).sum())
        summed = deep + np.concatenate([[0.0], np.cumsum(ground - floor[pond])])
        n_under = cells[within].sum() + under
        volume[pond] = cell_m2 * (n_under * (level[pond] - floor[pond]) - summed[under])
        area[pond] = cell_m2 * n_under
        if len(within):
            # What the two hold together, to the last digit: no water is made where they join.
            volume[pond, 0] = volume[within, -1].sum()
        volume[pond] = np.maximum.accumulate(volume[pond])
        cells[pond], above[pond] = cells[within].sum() + len(ground), summed[-1]
        if parent[pond] != OUTSIDE:
            children.setdefault(int(parent[pond]), []).append(pond)
    return level, area, volume


def _catchments(
    drains: NDArray[np.int32],
    parent: NDArray[np.int64],
    known: NDArray[np.bool_],
    cell_m2: float,
) -> tuple[NDArray[np.float64], NDArray[np.bool_]]:
    n_ponds = len(parent)
    inside = drains[drains >= 0]
    area = np.bincount(inside, minlength=n_ponds) * (cell_m2 / M2_PER_HA)
    reached = drains[_at_edge(known).ravel()]
    cut = np.bincount(reached[reached >= 0], minlength=n_ponds) > 0
    for pond in range(n_ponds):
        if parent[pond] != OUTSIDE:
            area[parent[pond]] += area[pond]
            cut[parent[pond]] |= cut[pond]
    return area.astype(np.float64), cut


def _at_edge(known: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """Known cells beside which, in any of eight directions, no height is known."""
    rimmed = np.pad(known, 1)
    across = rimmed[:, :-2] & rimmed[:, 1:-1] & rimmed[:, 2:]
    within: NDArray[np.bool_] = across[:-2] & across[1:-1] & across[2:]
    return known & ~within
