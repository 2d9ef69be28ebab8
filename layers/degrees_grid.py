"""A grid in degrees brought to metres, once: between four known cells, and nowhere else."""

import math

import numpy as np
import pyproj
from numpy.typing import NDArray

from layers.grid import Bounds, Grid

_EVERY = 16  # exact places are worked out at every so many cells; between them lie straight lines
_STRIP_ROWS = 256


def cell_size_m(width_deg: float, height_deg: float, lon: float, lat: float) -> float:
    """Side of a square as large as a cell of a degrees grid at a place [m, whole centimetres]."""
    geod = pyproj.Geod(ellps="WGS84")
    east_m = geod.inv(lon, lat, lon + width_deg, lat)[2]
    north_m = geod.inv(lon, lat, lon, lat + height_deg)[2]
    return round(math.sqrt(east_m * north_m), 2)


def to_metres(grid: Grid, crs: pyproj.CRS, bounds: Bounds, cell_m: float) -> Grid:
    """Heights of a grid in degrees at the cells of a metre grid, bilinear.

    Parameters
    ----------
    crs : a metre CRS. bounds : what the new grid must cover, in ``crs``. cell_m : its cells [m].

    Returns
    -------
    Grid in ``crs``. A cell is NaN where one of the four cells around its middle that count is NaN
    or lies beyond the edge: holes neither shrink nor spread zeros.
    """
    left, top = (
        math.floor(bounds[0] / cell_m) * cell_m,
        math.ceil(bounds[3] / cell_m) * cell_m,
    )
    n_columns = math.ceil((bounds[2] - left) / cell_m)
    n_rows = math.ceil((top - bounds[1]) / cell_m)
    values = np.full((n_rows, n_columns), np.nan, np.float32)
    back = pyproj.Transformer.from_crs(crs, grid.crs, always_xy=True)
    x = left + (np.arange(n_columns, dtype=float) + 0.5) * cell_m
    for row in range(0, n_rows, _STRIP_ROWS):
        y = top - (np.arange(row, min(row + _STRIP_ROWS, n_rows), dtype=float) + 0.5) * cell_m
        lon, lat = _places(back, x, y)
        width, _, west, _, minus_height, north = grid.transform
        columns = (lon - west) / width - 0.5
        rows = (lat - north) / minus_height - 0.5
        values[row : row + len(y)] = between(grid.values, rows, columns)
    return Grid(values, (cell_m, 0.0, left, 0.0, -cell_m, top), crs)


def between(
    values: NDArray[np.float32], rows: NDArray[np.float64], columns: NDArray[np.float64]
) -> NDArray[np.float32]:
    """Bilinear value at fractional cell places, 0 being the middle of the first cell."""
    last_row, last_column = (n - 1 for n in values.shape)
    inside = (rows >= 0) & (rows <= last_row) & (columns >= 0) & (columns <= last_column)
    r0 = np.clip(np.floor(rows), 0, max(last_row - 1, 0)).astype(np.intp)
    c0 = np.clip(np.floor(columns), 0, max(last_column - 1, 0)).astype(np.intp)
    down, right = np.clip(rows - r0, 0, 1), np.clip(columns - c0, 0, 1)
    r1, c1 = np.minimum(r0 + 1, last_row), np.minimum(c0 + 1, last_column)
    result = np.zeros(rows.shape)
    for r, c, weight in (
        (r0, c0, (1 - down) * (1 - right)),
        (r0, c1, (1 - down) * right),
        (r1, c0, down * (1 - right)),
        (r1, c1, down * right),
    ):
        # A neighbour without weight may be a hole.
        result += np.where(weight > 0, values[r, c] * weight, 0.0)
    return np.where(inside, result, np.nan).astype(np.float32)


def _places(
    back: pyproj.Transformer, x: NDArray[np.float64], y: NDArray[np.float64]
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Longitude and latitude of every pair of x and y."""
    coarse_x, coarse_y = _knots(x), _knots(y)
    lon, lat = back.transform(*np.meshgrid(coarse_x, coarse_y))
    return _spread(lon, coarse_x, coarse_y, x, y), _spread(lat, coarse_x, coarse_y, x, y)


def _knots(line: NDArray[np.float64]) -> NDArray[np.float64]:
    return np.unique(np.append(line[::_EVERY], line[-1]))


def _spread(
    known: NDArray[np.float64],
    knots_x: NDArray[np.float64],
    knots_y: NDArray[np.float64],
    x: NDArray[np.float64],
    y: NDArray[np.float64],
) -> NDArray[np.float64]:
    along = np.stack([np.interp(x, knots_x, row) for row in known])
    if len(knots_y) == 1:
        return np.repeat(along, len(y), axis=0)
    upper = np.clip(np.searchsorted(knots_y, y), 1, len(knots_y) - 1)
    share = ((y - knots_y[upper - 1]) / (knots_y[upper] - knots_y[upper - 1]))[:, None]
    spread: NDArray[np.float64] = along[upper - 1] * (1 - share) + along[upper] * share
    return spread
