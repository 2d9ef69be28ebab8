"""How steep each cell is, up to the edge of the heights."""

import numpy as np
from numpy.typing import NDArray

from suitability.compiled import compiled


def slope_frac(
    rimmed_m: NDArray[np.float32], cell_width_m: float, cell_height_m: float
) -> NDArray[np.float32]:
    """Slope [frac, rise over run] of each cell from its eight neighbours.

    Parameters
    ----------
    rimmed_m : heights with a rim of one cell of NaN, shape (n_rows + 2, n_columns + 2).

    Returns
    -------
    shape (n_rows, n_columns), NaN without ground. Where a neighbour has no ground, the one across
        is mirrored; where that has none either, the other directions tell. So a plane keeps its
        slope up to its edge.

    References
    ----------
    Horn (1981), Hill shading and the reflectance map, Proc. IEEE 69(1), 14-47.
    """
    east, south = gradients(rimmed_m, cell_width_m, cell_height_m)
    np.square(east, out=east)
    east += np.square(south, out=south)
    return np.sqrt(east, out=east)


def gradients(
    rimmed_m: NDArray[np.float32], cell_width_m: float, cell_height_m: float
) -> tuple[NDArray[np.float32], NDArray[np.float32]]:
    """Rise [frac] of each cell towards the east and towards the south, as in ``slope_frac``.

    Parameters and result as there, one array a direction.
    """
    shape = (rimmed_m.shape[0] - 2, rimmed_m.shape[1] - 2)
    to_east, to_south = (np.full(shape, np.nan, np.float32) for _ in range(2))
    _gradients(
        rimmed_m,
        np.float32(1 / (8 * cell_width_m)),
        np.float32(1 / (8 * cell_height_m)),
        to_east,
        to_south,
    )
    return to_east, to_south


@compiled
def _gradients(
    z: NDArray[np.float32],
    per_width: np.float32,
    per_height: np.float32,
    to_east: NDArray[np.float32],
    to_south: NDArray[np.float32],
) -> None:
    for row in range(1, z.shape[0] - 1):
        for column in range(1, z.shape[1] - 1):
            if np.isnan(z[row, column]):
                continue
            east, south = _rise(z, row, column, per_width, per_height)
            to_east[row - 1, column - 1] = east
            to_south[row - 1, column - 1] = south


@compiled
def _rise(
    z: NDArray[np.float32],
    row: int,
    column: int,
    per_width: np.float32,
    per_height: np.float32,
) -> tuple[np.float32, np.float32]:
    """Rise towards east and towards south of a cell with ground, each a fraction."""
    here = z[row, column]
    e = z[row, column + 1] - z[row, column - 1]
    s = z[row + 1, column] - z[row - 1, column]
    se = z[row + 1, column + 1] - z[row - 1, column - 1]
    ne = z[row - 1, column + 1] - z[row + 1, column - 1]
    if np.isnan(e + s + se + ne):
        e = _across(z[row, column + 1], z[row, column - 1], here)
        s = _across(z[row + 1, column], z[row - 1, column], here)
        se = _across(z[row + 1, column + 1], z[row - 1, column - 1], here)
        ne = _across(z[row - 1, column + 1], z[row + 1, column - 1], here)
        # On a plane se is e + s and ne is e - s, so each tells of the others.
        if np.isnan(e):
            e = np.float32(0.5) * (se + ne)
        if np.isnan(s):
            s = np.float32(0.5) * (se - ne)
        e = np.float32(0) if np.isnan(e) else e
        s = np.float32(0) if np.isnan(s) else s
        se = e + s if np.isnan(se) else se
        ne = e - s if np.isnan(ne) else ne
    east = (se + np.float32(2) * e + ne) * per_width
    south = (se + np.float32(2) * s - ne) * per_height
    return east, south


@compiled
def _across(one: np.float32, other: np.float32, here: np.float32) -> np.float32:
    """Rise from ``other`` to ``one``, which lie across from each other; NaN without both."""
    if np.isnan(one):
        return np.float32(2) * (here - other)
    return np.float32(2) * (one - here) if np.isnan(other) else one - other
