"""Heights around the fields, asked for in tiles and laid together: one GeoTIFF a box, in metres."""

import math
import warnings
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pyproj
import rasterio
from affine import Affine
from rasterio.errors import RasterioError
from rasterio.io import MemoryFile
from rasterio.windows import Window

from layers.gather.asking import Question
from layers.gather.boxes import LonLatBox, whole_extent
from layers.gather.failures import BadAnswerError, GatherError, OutsideError
from layers.gather.work import Fetched, Work
from layers.vertical_unit import HIGHEST_M, LOWEST_M

FINE_M, COARSE_M = 3, 10
MOST_CELLS = 4 * 4096 * 4096  # what the reader of heights takes in all
_NODATA = -9999.0
_TIFF = (b"II*\0", b"MM\0*", b"II+\0", b"MM\0+")
_READ_ERRORS = (RasterioError, ValueError, OSError)


@dataclass(frozen=True)
class Tile:
    """A part of a box: its corner [m, in the CRS asked for], its cells, its place in the box."""

    left: int
    top: int
    columns: int
    rows: int
    column: int
    row: int


@dataclass(frozen=True)
class Sheet:
    """A box on the lattice of cells: left and top [m], cells across and down."""

    left: int
    top: int
    columns: int
    rows: int


def fetch(work: Work, out: Path) -> Fetched:
    """Write ``elevation.tif``, or ``elevation_1.tif`` and so on, into ``out``.

    Raises
    ------
    OutsideError : no heights for any of this ground.
    GatherError, OSError : see ``asking.ask``; fields too far apart for a raster of heights.
    """
    epsg = utm_epsg(whole_extent(work.boxes))
    cell_m, sheets = sheets_of(work.boxes, epsg)
    side = int(work.service.limits["most_side_cells"])
    total = sum(len(list(tiles_of(sheet, cell_m, side))) for sheet in sheets)
    names = []
    n_done, n_known = 0, 0
    for number, sheet in enumerate(sheets, 1):
        name = "elevation.tif" if len(sheets) == 1 else f"elevation_{number}.tif"
        profile = {
            "driver": "GTiff",
            "dtype": "float32",
            "count": 1,
            "width": sheet.columns,
            "height": sheet.rows,
            "crs": f"EPSG:{epsg}",
            "transform": Affine(cell_m, 0.0, sheet.left, 0.0, -cell_m, sheet.top),
            "nodata": _NODATA,
            "compress": "deflate",
            "predictor": 3,
            "tiled": True,
        }
        with _quiet(), rasterio.open(out / name, "w", **profile) as raster:
            raster.units = ("metre",)
            for tile in tiles_of(sheet, cell_m, side):
                n_done += 1
                work.tell(f"heights, tile {n_done} of {total}")
                heights = _tile(work, tile, epsg, cell_m)
                n_known += int(np.isfinite(heights).sum())
                place = Window(tile.column, tile.row, tile.columns, tile.rows)
                filled = np.where(np.isfinite(heights), heights, np.float32(_NODATA))
                raster.write(filled, 1, window=place)
        _check_written(out / name, sheet)
        names.append(name)
    if not n_known:
        raise OutsideError("elevation: the service has no heights for this ground.")
    note = (
        f"Asked for in cells of {cell_m} m; where nothing so fine was surveyed the service fills "
        "in from coarser heights, which show no small wet corners."
    )
    return Fetched(tuple(names), tuple(names), note)


def utm_epsg(extent: LonLatBox) -> int:
    """UTM zone of the middle, as EPSG code: a metre CRS the service knows by number."""
    lon, lat = (extent[0] + extent[2]) / 2, (extent[1] + extent[3]) / 2
    zone = min(int((lon + 180) // 6) + 1, 60)
    return (32600 if lat >= 0 else 32700) + zone


def sheets_of(boxes: tuple[LonLatBox, ...], epsg: int) -> tuple[int, list[Sheet]]:
    """The cell [m] and each box on one lattice; GatherError where there are too many cells."""
    step = pyproj.Transformer.from_crs(4326, epsg, always_xy=True)
    corners = [step.transform_bounds(*box, 21) for box in boxes]
    if not all(math.isfinite(number) for bounds in corners for number in bounds):
        raise GatherError("elevation: the fields lie too far apart for one metre grid.")
    for cell_m in (FINE_M, COARSE_M):
        sheets = [_sheet(bounds, cell_m) for bounds in corners]
        if sum(sheet.columns * sheet.rows for sheet in sheets) <= MOST_CELLS:
            return cell_m, sheets
    raise GatherError(
        "elevation: the boxes around the fields hold too much ground to ask for; gather for part "
        "of the fields, or bring the heights yourself."
    )


def tiles_of(sheet: Sheet, cell_m: int, most_side: int) -> Iterator[Tile]:
    """Tiles of a sheet, none wider or higher than ``most_side`` cells."""
    for row in range(0, sheet.rows, most_side):
        for column in range(0, sheet.columns, most_side):
            yield Tile(
                sheet.left + column * cell_m,
                sheet.top - row * cell_m,
                min(most_side, sheet.columns - column),
                min(most_side, sheet.rows - row),
                column,
                row,
            )


def _sheet(bounds: tuple[float, float, float, float], cell_m: int) -> Sheet:
    left, bottom = (math.floor(v / cell_m) * cell_m for v in bounds[:2])
    right, top = (math.ceil(v / cell_m) * cell_m for v in bounds[2:])
    return Sheet(left, top, (right - left) // cell_m, (top - bottom) // cell_m)


def _tile(work: Work, tile: Tile, epsg: int, cell_m: int) -> np.ndarray:
    right, bottom = tile.left + tile.columns * cell_m, tile.top - tile.rows * cell_m
    params = {
        "bbox": f"{tile.left},{bottom},{right},{tile.top}",
        "bboxSR": str(epsg),
        "imageSR": str(epsg),
        "size": f"{tile.columns},{tile.rows}",
        "format": "tiff",
        "pixelType": "F32",
        "noData": f"{_NODATA:g}",
        "interpolation": "RSP_BilinearInterpolation",
        "f": "image",
    }
    service = work.service

    def check(body: bytes) -> None:
        heights_of(body, tile, epsg, cell_m)

    question = Question(service.shown, service.address, work.most_bytes, check, params)
    words = service.address + "?" + "&".join(f"{k}={v}" for k, v in params.items())
    return heights_of(work.ask(question, words), tile, epsg, cell_m)


def heights_of(body: bytes, tile: Tile, epsg: int, cell_m: int) -> np.ndarray:
    """Heights [m] of an answer, NaN where there are none.

    Raises
    ------
    BadAnswerError : no GeoTIFF of the size, the CRS and the place that was asked for.
    """
    if not body.startswith(_TIFF):
        raise BadAnswerError("it answered with something that is no GeoTIFF")
    try:
        with (
            _quiet(),
            MemoryFile(body, ext=".tif") as memory,
            memory.open(driver="GTiff") as raster,
        ):
            if (raster.width, raster.height, raster.count) != (tile.columns, tile.rows, 1):
                raise BadAnswerError("its raster has another size than was asked for")
            if raster.crs is None or pyproj.CRS.from_user_input(raster.crs).to_epsg() != epsg:
                raise BadAnswerError(f"its raster is not in the CRS asked for, EPSG:{epsg}")
            off = (abs(raster.bounds.left - tile.left), abs(raster.bounds.top - tile.top))
            if max(*off, *(abs(size - cell_m) for size in raster.res)) > cell_m / 10:
                raise BadAnswerError("its raster lies elsewhere than was asked for")
            values = raster.read(1, masked=True).astype("float32").filled(np.nan)
    except _READ_ERRORS as error:
        raise BadAnswerError(f"its raster cannot be read ({error})") from error
    heights: np.ndarray = np.where((values > LOWEST_M) & (values < HIGHEST_M), values, np.nan)
    return heights


def _check_written(path: Path, sheet: Sheet) -> None:
    """Refuse a file that a full disk cut short: the library does not say so when it closes."""
    try:
        with _quiet(), rasterio.open(path, driver="GTiff") as raster:
            for _, block in raster.block_windows(1):
                raster.read(1, window=block)
            whole = (raster.width, raster.height) == (sheet.columns, sheet.rows)
    except RasterioError as error:
        raise OSError(f"{path.name}: {error}") from error
    if not whole:
        raise OSError(f"{path.name} was not written whole")


@contextmanager
def _quiet() -> Iterator[None]:
    with warnings.catch_warnings():
        # affine 3 will deprecate the product that rasterio 1.4 opens a file with.
        warnings.filterwarnings("ignore", "Use `@` matmul", PendingDeprecationWarning)
        yield
