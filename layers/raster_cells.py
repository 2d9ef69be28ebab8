"""The cells of one or several rasters around some ground, laid together; holes stay holes."""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from rasterio import DatasetReader
from rasterio.windows import Window

from layers.files import open_raster
from layers.grid import Bounds, Transform
from layers.raster_lattice import Lattice
from suitability.errors import InputError, listed

# What programs write where they know nothing, and do not always declare.
FILLS = (-9999.0, -99999.0, -999999.0, -32768.0, -32767.0, 32767.0, 65535.0, -2147483648.0)
_NO_NUMBER = 1e6  # no height, share or density in any unit used; -3.4e38 is a common fill
_STRIP_CELLS = 4_000_000
# Reading more takes minutes, and coarser cells serve ground as large as this.
MOST_CELLS = 4_000_000_000
_SAME_SIZE = 0.1  # of a cell, over the width of a raster
_SAME_PLACE = 0.01  # of a cell


@dataclass(frozen=True)
class Part:
    """Part of a lattice: first column and row, and how many, all in cells of ``factor`` cells."""

    reference: Lattice
    column: int
    row: int
    n_columns: int
    n_rows: int
    factor: int

    @property
    def transform(self) -> Transform:
        """As ``Grid.transform``."""
        ref, k = self.reference, self.factor
        left = ref.left + self.column * k * ref.width
        top = ref.top - self.row * k * ref.height
        return ref.width * k, 0.0, left, 0.0, -ref.height * k, top


@dataclass(frozen=True)
class Cells:
    """Numbers of a window, scaled as the files say, and what was found on the way.

    ``fills`` counts undeclared stand-ins for nothing by their value; ``n_zero`` the exact zeros,
    ``zeros_are_fill`` whether they stand far from all other numbers and were taken for nothing;
    ``whole`` is True where all numbers are whole as stored; ``off_cells`` is how far tiles lie off
    each other's lattice [share of a cell].
    """

    values: NDArray[np.float32]
    fills: dict[float, int]
    n_zero: int
    zeros_are_fill: bool
    n_known: int
    whole: bool
    off_cells: float


def window_around(reference: Lattice, bounds: Bounds, most_cells: int) -> Part:
    """Whole cells around ``bounds``, joined to squares where there would be too many.

    Raises
    ------
    InputError : more cells to read than ``MOST_CELLS``.
    """
    first_column = math.floor((bounds[0] - reference.left) / reference.width)
    last_column = math.ceil((bounds[2] - reference.left) / reference.width)
    first_row = math.floor((reference.top - bounds[3]) / reference.height)
    last_row = math.ceil((reference.top - bounds[1]) / reference.height)
    n_cells = (last_column - first_column) * (last_row - first_row)
    if n_cells > MOST_CELLS:
        raise InputError(
            f"{reference.path}: {n_cells / 1e9:.0f} billion cells lie around the fields; at most "
            f"{MOST_CELLS / 1e9:.0f} billion are read. Give a coarser raster, or fewer fields."
        )
    k = max(1, math.ceil(math.sqrt(n_cells / most_cells)))
    column, row = first_column // k, first_row // k
    return Part(reference, column, row, -(-last_column // k) - column, -(-last_row // k) - row, k)


def read_cells(tiles: Sequence[Lattice], window: Part, zero_gap: float | None) -> Cells:
    """Numbers of a window; where tiles lap over each other, or cells are joined, their mean.

    Parameters
    ----------
    tiles : the rasters that may hold some of it, of one CRS.
    zero_gap : zeros are taken for nothing where every other number lies this far from zero or
        farther and no file declares what stands for nothing; None: zeros are zeros.

    Raises
    ------
    InputError : tiles of different cell sizes, or a file that breaks off.
    """
    check_one_size(tiles)
    shape = (window.n_rows, window.n_columns)
    total, known = np.zeros(shape), np.zeros(shape, np.uint32)
    zeros = np.zeros(shape, np.uint32)
    fills: dict[float, int] = {}
    nearest, whole, off_cells = math.inf, True, 0.0
    for tile in tiles:
        offset, off = _offset(window.reference, tile)
        off_cells = max(off_cells, off)
        with open_raster(tile.path) as raster:
            for row, column, numbers in _strips(raster, tile, window, offset):
                _mask_fills(numbers, fills)
                present = np.isfinite(numbers)
                if not present.any():
                    continue
                is_zero = numbers == 0
                other = np.abs(numbers[present & ~is_zero])
                nearest = min(nearest, float(other.min())) if other.size else nearest
                whole = whole and bool((other == np.rint(other)).all())
                n_rows, n_columns = (n // window.factor for n in numbers.shape)
                there = np.s_[row : row + n_rows, column : column + n_columns]
                scaled = np.where(present, numbers * tile.scale + tile.offset, 0.0)
                # Zeros are counted apart, since only all the numbers together tell what they are.
                total[there] += _joined(np.where(is_zero, 0.0, scaled), window.factor)
                known[there] += _joined(present & ~is_zero, window.factor).astype(np.uint32)
                zeros[there] += _joined(is_zero, window.factor).astype(np.uint32)
    n_zero = int(zeros.sum())
    declared = any(tile.nodata is not None for tile in tiles)
    n_other = int(known.sum())
    apart = bool(
        zero_gap is not None and n_zero and n_other and not declared and nearest >= zero_gap
    )
    if not apart:
        total += zeros * (tiles[0].offset if tiles else 0.0)
        known += zeros
    enough = known * 2 >= window.factor**2
    values = np.full(shape, np.nan, np.float32)
    with np.errstate(over="ignore", invalid="ignore"):  # a senseless scale ends as infinity
        np.divide(total, known, out=values, where=enough & (known > 0), casting="same_kind")
    values[~np.isfinite(values)] = np.nan
    return Cells(
        values, fills, n_zero, apart, n_other if apart else n_other + n_zero, whole, off_cells
    )


def check_one_size(tiles: Sequence[Lattice]) -> None:
    """Refuse tiles of different CRS or cell size; else they can be laid together."""
    first = tiles[0]
    same = [
        tile.crs == first.crs
        and abs(tile.width - first.width) * max(tile.n_columns, 1) < _SAME_SIZE * first.width
        and abs(tile.height - first.height) * max(tile.n_rows, 1) < _SAME_SIZE * first.height
        for tile in tiles
    ]
    if all(same):
        return
    raise InputError(
        listed(
            "The rasters around the fields are not of one kind",
            [f"{t.path.name}: cells of {t.width:g} x {t.height:g}, {t.crs.name}" for t in tiles],
            "Expected tiles of one CRS and one cell size. Give those of one kind only.",
        )
    )


def _offset(reference: Lattice, tile: Lattice) -> tuple[tuple[int, int], float]:
    """Columns and rows of the reference at which a tile begins, and how far off that is."""
    columns = (tile.left - reference.left) / reference.width
    rows = (reference.top - tile.top) / reference.height
    off = max(abs(columns - round(columns)), abs(rows - round(rows)))
    return (round(columns), round(rows)), off if off > _SAME_PLACE else 0.0


def _strips(
    raster: DatasetReader, tile: Lattice, window: Part, offset: tuple[int, int]
) -> Iterator[tuple[int, int, NDArray[np.float64]]]:
    """Row and column in the window, and numbers as stored, padded with NaN to whole squares."""
    k = window.factor
    first_column, first_row = window.column * k - offset[0], window.row * k - offset[1]
    c0, c1 = max(first_column, 0), min(first_column + window.n_columns * k, tile.n_columns)
    r0, r1 = max(first_row, 0), min(first_row + window.n_rows * k, tile.n_rows)
    if c0 >= c1:
        return
    step = max(1, _STRIP_CELLS // ((c1 - c0) * k)) * k
    row = r0
    while row < r1:
        # Strips end where squares end.
        end = min(r1, first_row + ((row - first_row) // step + 1) * step)
        numbers = _stored(raster, tile, row, end, c0, c1)
        above, before = (row - first_row) % k, (c0 - first_column) % k
        below, after = -(end - first_row) % k, -(c1 - first_column) % k
        if above or below or before or after:
            numbers = np.pad(numbers, ((above, below), (before, after)), constant_values=np.nan)
        yield (row - first_row) // k, (c0 - first_column) // k, numbers
        row = end


def _stored(
    raster: DatasetReader, tile: Lattice, row: int, end: int, c0: int, c1: int
) -> NDArray[np.float64]:
    first = tile.n_rows - end if tile.turned_over else row
    block = raster.read(1, window=Window(c0, first, c1 - c0, end - row), masked=True)
    with np.errstate(invalid="ignore"):  # a damaged file may hold NaNs that signal
        numbers = np.ma.filled(block.astype(np.float64), np.nan)
    return numbers[::-1] if tile.turned_over else numbers


def _mask_fills(numbers: NDArray[np.float64], fills: dict[float, int]) -> None:
    """Set what stands for nothing to NaN, and count what was not declared."""
    numbers[np.isinf(numbers)] = np.nan
    for fill in FILLS:
        if n := int((found := numbers == fill).sum()):
            fills[fill] = fills.get(fill, 0) + n
            numbers[found] = np.nan
    huge = np.abs(numbers) >= _NO_NUMBER
    if huge.any():
        value = float(numbers[huge][0])
        fills[value] = fills.get(value, 0) + int(huge.sum())
        numbers[huge] = np.nan


def _joined(numbers: NDArray[np.generic], k: int) -> NDArray[np.float64]:
    """Sum over squares of k x k cells."""
    if k == 1:
        return numbers.astype(np.float64)
    rows, columns = numbers.shape[0] // k, numbers.shape[1] // k
    summed: NDArray[np.float64] = numbers.reshape(rows, k, columns, k).sum(
        axis=(1, 3), dtype=np.float64
    )
    return summed
