"""How much higher or lower a place lies than the ground around it."""

import numpy as np
from numpy.typing import NDArray

from suitability.compiled import compiled


def above_surroundings_m(
    rimmed_m: NDArray[np.float32], around_rows: float, around_columns: float
) -> NDArray[np.float32]:
    """Height above the ground around [m], negative where lower; zero on any plane, at its edge too.

    Parameters
    ----------
    rimmed_m : heights with a rim of one cell of NaN, shape (n_rows + 2, n_columns + 2).
    around_rows, around_columns : farthest distance looked at, in cells.

    Returns
    -------
    shape (n_rows, n_columns). The mean over places that lie across from each other, in four
        directions at a third, two thirds and all of the distance; a pair of which one has no ground
        is left out, a cell without any pair is NaN.
    """
    offsets = []
    for part in (1 / 3, 2 / 3, 1.0):
        for turn in (0.0, 0.25, 0.5, 0.75):
            row = round(part * around_rows * np.sin(turn * np.pi))
            column = round(part * around_columns * np.cos(turn * np.pi))
            if row or column:
                offsets.append((row, column))
    pairs = np.array(offsets or [(0, 1), (1, 0), (1, 1), (-1, 1)], np.int64)
    result = np.full((rimmed_m.shape[0] - 2, rimmed_m.shape[1] - 2), np.nan, np.float32)
    _above(rimmed_m, pairs, result)
    return result


@compiled
def _above(z: NDArray[np.float32], pairs: NDArray[np.int64], result: NDArray[np.float32]) -> None:
    rows, columns = z.shape
    for row in range(1, rows - 1):
        for column in range(1, columns - 1):
            here = z[row, column]
            if np.isnan(here):
                continue
            total = np.float32(0)
            count = 0
            for k in range(pairs.shape[0]):
                down, right = pairs[k, 0], pairs[k, 1]
                above, below = row - down, row + down
                before, behind = column - right, column + right
                if min(above, below, before, behind) < 0:
                    continue
                if max(above, below) >= rows or max(before, behind) >= columns:
                    continue
                mean = np.float32(0.5) * (z[above, before] + z[below, behind])
                if not np.isnan(mean):
                    total += here - mean
                    count += 1
            if count:
                result[row - 1, column - 1] = total / np.float32(count)
