"""How basins within depressions join as water rises, and which one each cell drains to."""

import numpy as np
from numpy.typing import NDArray

from suitability.compiled import compiled

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Heights = NDArray[np.float32]
Index = NDArray[np.int32]  # of cells: half the memory of a large grid

_LEAVES = -1  # water leaves the known ground here
_OPEN = -2  # not yet known


@compiled
def _root(links: Ints, number: int) -> int:
    while links[number] != number:
        links[number] = links[links[number]]
        number = links[number]
    return number


@compiled
def _pits(cells: Ints, group: Ints, place: Index, n_columns: int) -> int:
    """Number of cells that no lower cell of the same depression lies beside."""
    n_rows = place.shape[0] // n_columns
    pits = 0
    for k in range(cells.shape[0]):
        row, column = cells[k] // n_columns, cells[k] % n_columns
        alone = True
        for i in range(-1, 2):
            for j in range(-1, 2):
                r, c = row + i, column + j
                if r < 0 or c < 0 or r >= n_rows or c >= n_columns:
                    continue
                other = place[r * n_columns + c]
                if 0 <= other < k and group[other] == group[k]:
                    alone = False
        if alone:
            pits += 1
    return pits


@compiled
def _sweep(
    cells: Ints,
    group: Ints,
    heights: Floats,
    brim: Floats,
    place: Index,
    n_columns: int,
    least_depth_m: float,
    least_cells: int,
    node_of: Ints,
    leaf_of: Ints,
    basin: Ints,
    noise: Ints,
    pit: Ints,
    parent: Ints,
    floor: Floats,
    size: Ints,
    spill: Floats,
    target: Ints,
) -> int:
    """Take up the cells of each depression by height; returns the number of basins made.

    ``basin`` links a basin to the one it went into as noise or as a child, ``noise`` only the
    former (else to itself); ``pit`` links a noise basin to the one whose pond takes its water.
    Cells are members of the basin then current.
    """
    n_rows = place.shape[0] // n_columns
    made = 0
    around = np.empty(8, np.int64)
    for k in range(cells.shape[0]):
        row, column = cells[k] // n_columns, cells[k] % n_columns
        here, n_around = -1, 0
        lowest = np.inf
        for i in range(-1, 2):
            for j in range(-1, 2):
                r, c = row + i, column + j
                if (i == 0 and j == 0) or r < 0 or c < 0 or r >= n_rows or c >= n_columns:
                    continue
                other = place[r * n_columns + c]
                if other < 0 or other >= k or group[other] != group[k]:
                    continue
                around[n_around] = other
                n_around += 1
                if heights[other] < lowest:
                    lowest, here = heights[other], other
        if here < 0:
            basin[made], noise[made], pit[made], parent[made] = made, made, made, -1
            floor[made], size[made], spill[made] = heights[k], 1, brim[k]
            node_of[k], leaf_of[k] = made, made
            made += 1
            continue
        leaf_of[k] = leaf_of[here]
        for m in range(n_around):
            one, two = _root(basin, node_of[here]), _root(basin, node_of[around[m]])
            if one == two:
                continue
            one_counts = heights[k] - floor[one] >= least_depth_m and size[one] >= least_cells
            two_counts = heights[k] - floor[two] >= least_depth_m and size[two] >= least_cells
            if one_counts and two_counts:
                spill[one], spill[two] = heights[k], heights[k]
                target[one, 0], target[two, 0] = leaf_of[around[m]], leaf_of[here]
                target[one, 1], target[two, 1] = cells[k], cells[k]
                basin[made], noise[made], pit[made], parent[made] = made, made, made, -1
                floor[made] = min(floor[one], floor[two])
                size[made], spill[made] = size[one] + size[two], brim[k]
                parent[one], parent[two] = made, made
                basin[one], basin[two] = made, made
                made += 1
                continue
            # The shallower of two that are both noise goes into the deeper one.
            into_two = two_counts or (not one_counts and floor[two] < floor[one])
            gone, kept = (one, two) if into_two else (two, one)
            pit[gone] = leaf_of[around[m]] if into_two else leaf_of[here]
            basin[gone], noise[gone] = kept, kept
            floor[kept] = min(floor[kept], floor[gone])
            size[kept] += size[gone]
        top = _root(basin, node_of[here])
        node_of[k] = top
        size[top] += 1
    return made


def join_basins(
    cells: Ints,
    group: Ints,
    heights: Floats,
    brim: Floats,
    place: Index,
    n_columns: int,
    least_depth_m: float,
    least_cells: int,
) -> tuple[Ints, Ints, Ints, Floats, Ints]:
    """Tree of the basins within depressions.

    Parameters
    ----------
    cells : (n_cells,) flat index of each flooded cell, by depression and then by height.
    group, heights, brim : (n_cells,) depression, height, and level to which it fills [m].
    place : (n_rows * n_columns,) position of each grid cell in ``cells``, -1 where dry.
    least_depth_m, least_cells : less than this is noise where two basins meet.

    Returns
    -------
    ``node_of`` and ``leaf_of`` (n_cells,): smallest pond that floods the cell, and the pond
    without children that its water runs to; ``parent`` and ``spill_m`` (n_ponds,); ``target``
    (n_ponds, 2): where a pond with a parent spills to and the cell over which it does, else -1.
    """
    n_cells = len(cells)
    # Every pit makes a basin, and every two that meet may make one more.
    most = 2 * _pits(cells, group, place, n_columns) + 1
    node_of, leaf_of = np.zeros(n_cells, np.int64), np.zeros(n_cells, np.int64)
    basin, noise, pit, parent = (np.full(most, -1, np.int64) for _ in range(4))
    size = np.zeros(most, np.int64)
    floor, spill = np.zeros(most), np.zeros(most)
    target = np.full((most, 2), -1, np.int64)
    made = _sweep(
        cells,
        group,
        heights,
        brim,
        place,
        n_columns,
        least_depth_m,
        least_cells,
        node_of,
        leaf_of,
        basin,
        noise,
        pit,
        parent,
        floor,
        size,
        spill,
        target,
    )
    gone = noise[:made] != np.arange(made)
    kept = np.flatnonzero(~gone)
    number = np.full(made + 1, -1, np.int64)
    number[kept] = np.arange(len(kept))
    into = _followed(noise[:made].copy(), gone)
    to_pit = _followed(pit[:made].copy(), gone)
    above = parent[kept]
    above = np.where(above >= 0, number[np.where(above >= 0, above, 0)], -1)
    spills = target[kept]
    towards = spills[:, 0]
    spills[:, 0] = np.where(towards >= 0, number[to_pit[np.where(towards >= 0, towards, 0)]], -1)
    return number[into[node_of]], number[to_pit[leaf_of]], above, spill[kept], spills


def _followed(links: Ints, gone: NDArray[np.bool_]) -> Ints:
    """Links of noise basins followed until one that is kept."""
    while True:
        still = gone[links]
        if not still.any():
            return links
        links[still] = links[links[still]]


@compiled
def descend(filled: Heights, cell_width_m: float, cell_height_m: float) -> Index:
    """Flat index of the cell that each one drains to on filled ground, -1 where water leaves.

    Steepest descent to one of eight neighbours; over level ground to the nearest cell that goes
    on, counted in steps. Where no known ground is beside a cell and none is lower, water leaves.
    """
    n_rows, n_columns = filled.shape
    n = n_rows * n_columns
    down = np.full(n, _OPEN, np.int32)
    queue = np.empty(n, np.int32)
    end = 0
    diagonal = np.sqrt(cell_width_m**2 + cell_height_m**2)
    for row in range(n_rows):
        for column in range(n_columns):
            z, cell = filled[row, column], row * n_columns + column
            if np.isnan(z):
                down[cell] = _LEAVES
                continue
            best, at_edge = 0.0, False
            for i in range(-1, 2):
                for j in range(-1, 2):
                    r, c = row + i, column + j
                    if i == 0 and j == 0:
                        continue
                    if r < 0 or c < 0 or r >= n_rows or c >= n_columns or np.isnan(filled[r, c]):
                        at_edge = True
                        continue
                    far = cell_width_m if i == 0 else cell_height_m if j == 0 else diagonal
                    drop = (np.float64(z) - np.float64(filled[r, c])) / far
                    if drop > best:
                        best = drop
                        down[cell] = r * n_columns + c
            if down[cell] == _OPEN and at_edge:
                down[cell] = _LEAVES
            if down[cell] != _OPEN:
                queue[end] = cell
                end += 1
    begin = 0
    while begin < end:
        cell = queue[begin]
        begin += 1
        row, column = cell // n_columns, cell % n_columns
        for i in range(-1, 2):
            for j in range(-1, 2):
                r, c = row + i, column + j
                if r < 0 or c < 0 or r >= n_rows or c >= n_columns:
                    continue
                if down[r * n_columns + c] == _OPEN and filled[r, c] == filled[row, column]:
                    down[r * n_columns + c] = cell
                    queue[end] = r * n_columns + c
                    end += 1
    for cell in range(n):  # only where the ground was not filled after all
        if down[cell] == _OPEN:
            down[cell] = _LEAVES
    return down


@compiled
def leave_basins(down: Index, place: Index, leaf_of: Ints, known: NDArray[np.bool_]) -> Index:
    """For every cell the pond without children that its water reaches first, -1 where none."""
    n = down.shape[0]
    result = np.full(n, _OPEN, np.int32)
    path = np.empty(n, np.int32)
    for start in range(n):
        cell, length = start, 0
        while True:
            if result[cell] != _OPEN:
                found = result[cell]
                break
            if place[cell] >= 0:
                found = leaf_of[place[cell]]
                result[cell] = found
                break
            path[length] = cell
            length += 1
            if down[cell] < 0 or not known[cell] or length == n:
                found = _LEAVES
                break
            cell = down[cell]
        for k in range(length):
            result[path[k]] = found
    return result


@compiled
def pour_points(
    cells: Ints, group: Ints, filled: Heights, down: Index, place: Index, drains: Index
) -> tuple[Ints, Ints]:
    """For each depression: the cell over which it spills, and the pond that takes it, or -1."""
    count = group[-1] + 1 if group.shape[0] else 0
    pour, beyond = np.full(count, -1, np.int64), np.full(count, -1, np.int64)
    for k in range(cells.shape[0]):
        mine = group[k]
        if pour[mine] >= 0:
            continue
        cell, level = cells[k], filled[cells[k]]
        # Level ground may lead back into the same depression; the last way out counts.
        while True:
            after = down[cell]
            inside = place[cell] >= 0 and group[place[cell]] == mine
            if after < 0:
                if inside:
                    pour[mine], beyond[mine] = cell, -1
                break
            if inside and not (place[after] >= 0 and group[place[after]] == mine):
                pour[mine], beyond[mine] = after, drains[after]
            if filled[after] < level:
                break
            if place[after] >= 0 and group[place[after]] != mine:
                break
            cell = after
    return pour, beyond
