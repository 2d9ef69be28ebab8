"""The few combinations of numbers that many cells have."""

import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray


def distinct_keys(
    columns: Sequence[NDArray[np.integer]],
) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """Combinations that occur, and which one each cell has.

    Parameters
    ----------
    columns : one array (n_cells,) for each number of a combination, -1 or more.

    Returns
    -------
    keys : (n_keys, n_columns), each combination that occurs. place : (n_cells,) its row there.
    """
    # One number a combination; the shift keeps -1 apart.
    sizes = [int(column.max(initial=0)) + 2 for column in columns]
    number = np.zeros(len(columns[0]), np.int64)
    for column, size in zip(columns, sizes, strict=True):
        number = number * size + (column.astype(np.int64) + 1)
    found, place = _distinct(number, math.prod(sizes))
    parts = []
    for size in reversed(sizes):
        parts.append(found % size - 1)
        found = found // size
    keys = np.stack(parts[::-1], axis=1)
    return keys, place


def _distinct(
    numbers: NDArray[np.int64], below: int
) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """The numbers that occur, rising, and where each of ``numbers`` stands among them."""
    if below > len(numbers):
        found, place = np.unique(numbers, return_inverse=True)
        return found, place.astype(np.int64)
    # Looked up in a table, which takes no sorting.
    occurs = np.zeros(below, dtype=bool)
    occurs[numbers] = True
    return np.flatnonzero(occurs), (np.cumsum(occurs) - 1)[numbers]
