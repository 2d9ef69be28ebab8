"""Lets water through banks where the user says that a pipe or a ditch goes through."""

from collections.abc import Sequence
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

Cells = NDArray[np.int64]


def burnt(
    heights_m: NDArray[np.float32], lines: Sequence[NDArray[np.float64]], reach_cells: float
) -> tuple[NDArray[np.float32], list[bool]]:
    """Heights lowered along pipes and ditches, so that water runs from one end to the other.

    Parameters
    ----------
    heights_m : shape (n_rows, n_columns), NaN without ground.
    lines : points as row and column, shape (n_points, 2), whole numbers at the middle of cells.
    reach_cells : each end is taken to be the lowest cell within this distance [cells].

    Returns
    -------
    New heights, the same array where there are no lines, and of each line whether both its ends lie
    on known ground. Others change nothing.

    Notes
    -----
    Along the line from its higher to its lower end no cell stays higher than one before it.
    """
    if not lines:
        return heights_m, []
    result = heights_m.copy()
    done = []
    for line in lines:
        first = _lowest_near(heights_m, line[0], reach_cells)
        last = _lowest_near(heights_m, line[-1], reach_cells)
        done.append(first is not None and last is not None)
        if first is None or last is None:
            continue
        if heights_m[tuple(first)] < heights_m[tuple(last)]:
            line, first, last = line[::-1], last, first
        path = _cells_along(np.vstack([first, line, last]), heights_m.shape)
        along = result[path[:, 0], path[:, 1]]
        known = ~np.isnan(along)
        path, along = path[known], along[known]
        # A cell may be crossed twice; the lowest counts.
        np.minimum.at(result, (path[:, 0], path[:, 1]), np.minimum.accumulate(along))
    return result, done


def _lowest_near(
    heights_m: NDArray[np.float32], point: NDArray[np.float64], reach: float
) -> Cells | None:
    rows, columns = heights_m.shape
    top, left = (max(0, int(np.ceil(v - reach))) for v in point)
    bottom = min(rows, int(np.floor(point[0] + reach)) + 1)
    right = min(columns, int(np.floor(point[1] + reach)) + 1)
    if top >= bottom or left >= right:
        return None
    row, column = np.mgrid[top:bottom, left:right]
    near = np.hypot(row - point[0], column - point[1]) <= reach
    window = np.where(near, heights_m[top:bottom, left:right], np.nan)
    if np.isnan(window).all():
        return None
    down, along = divmod(int(np.nanargmin(window)), window.shape[1])
    return np.array([top + down, left + along])


def _cells_along(points: NDArray[np.float64], shape: tuple[int, ...]) -> Cells:
    """Cells on the way from point to point, each beside or across a corner from the one before."""
    way = [points[:1]]
    for one, other in pairwise(points):
        count = max(1, int(np.ceil(np.abs(other - one).max())))
        way.append(one + (other - one) * (np.arange(1, count + 1) / count)[:, None])
    cells = np.rint(np.vstack(way)).astype(np.int64)
    inside = (cells >= 0).all(axis=1) & (cells < np.array(shape)).all(axis=1)
    return cells[inside]
