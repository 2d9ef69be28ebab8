"""The user's own picture from the air, brought under the fields of a page."""

import math
from dataclasses import dataclass
from pathlib import Path

import geopandas as gpd
import numpy as np
import pyproj
from affine import Affine
from numpy.typing import NDArray
from pyproj.exceptions import ProjError
from rasterio import DatasetReader
from rasterio.enums import ColorInterp, Resampling
from rasterio.features import rasterize
from rasterio.warp import reproject
from rasterio.windows import Window

from layers.areas import length_text
from layers.degrees_grid import cell_size_m
from layers.files import open_raster
from layers.grid import Bounds, Transform
from layers.raster_lattice import MOST_BLOCK_BYTES, crs_of
from suitability.errors import InputError
from suitability.notes import Note

NAME = "aerial image"
PAGE_CRS = pyproj.CRS.from_epsg(3857)  # web maps are in it
REACH_M = 120.0  # so much of the ground around the fields is shown
MOST_PIXELS = 2_000_000
_MOST_READ = 1_000_000_000  # pixels of the file around the fields: about a minute
_STRETCH = (0.01, 0.99)  # quantiles of pictures in more than 8 bits that become black and white
_TURNED = 1e-6  # of a pixel; less is rounding of the file's own numbers

Floats = NDArray[np.float32]


@dataclass(frozen=True)
class AerialImage:
    """Pixels around the fields in Web Mercator.

    ``pixels`` uint8, shape (n_rows, n_columns, 3), north first; ``known`` is False where the file
    shows nothing. ``transform`` as that of a Grid. ``pixel_m`` : side of a pixel on the ground [m],
    ``native_m`` that of the file, whose name is ``source``.
    """

    pixels: NDArray[np.uint8]
    known: NDArray[np.bool_]
    transform: Transform
    pixel_m: float
    native_m: float
    source: str
    notes: tuple[Note, ...]


def read_aerial(path: Path | str, fields: gpd.GeoDataFrame) -> AerialImage:
    """Read a picture from the air around the fields, in no more pixels than a page can use.

    Parameters
    ----------
    path : a georeferenced raster of one band (grey, or with a table of colours), three (red, green,
        blue) or four (one more, such as infrared, which is left out).
    fields : FIELDS table with geometry in a metre CRS.

    Raises
    ------
    InputError : other bands, no place on the earth, beside all fields, or too large to read.
    CrsError : no CRS, or one that is not tied to the earth.
    """
    path = Path(path)
    near = fields.geometry.buffer(REACH_M, quad_segs=4)
    with open_raster(path) as raster:
        crs, _ = crs_of(raster, path)
        bands = _bands(raster, path)
        _check_lattice(raster, path)
        native_m = _pixel_m(raster, crs, fields)
        left, bottom, right, top = near.to_crs(PAGE_CRS).total_bounds.tolist()
        # Metres of Web Mercator to one on the ground.
        stretch = 1 / math.cos(math.radians(float(fields["lat_deg"].median())))
        least_m = math.sqrt((right - left) * (top - bottom) / MOST_PIXELS) / stretch
        pixel_m = max(native_m, least_m)
        window = _window(raster, path, _box_in(crs, near, path))
        planes, placed = _read(raster, bands, window, max(1.0, pixel_m / native_m))
        eight_bits = str(raster.dtypes[0]) == "uint8"
    cell = pixel_m * stretch
    shape = (math.ceil((top - bottom) / cell), math.ceil((right - left) / cell))
    transform = (cell, 0.0, left, 0.0, -cell, top)
    laid = [_warped(plane, placed, crs, shape, transform) for plane in planes]
    inside = rasterize(near.to_crs(PAGE_CRS).to_numpy(), shape, transform=Affine(*transform)) == 1
    known = np.logical_and.reduce([np.isfinite(plane) for plane in laid])
    if not (known & inside).any():
        raise _beside(path)
    whole = np.stack(laid, axis=-1)
    pixels = _bytes(whole, known & inside, eight_bits=eight_bits)
    if pixels.shape[-1] == 1:
        pixels = np.repeat(pixels, 3, axis=-1)
    notes = _notes(path, native_m, pixel_m, float((known & inside).sum()) / float(inside.sum()))
    return AerialImage(pixels, known, transform, pixel_m, native_m, path.name, notes)


def _bands(raster: DatasetReader, path: Path) -> tuple[int, ...]:
    """Numbers of the bands that are shown, from 1."""
    colours = list(raster.colorinterp)
    seen = [i for i, colour in enumerate(colours, start=1) if colour != ColorInterp.alpha]
    if len(seen) not in (1, 3, 4) or str(raster.dtypes[0]).startswith("complex"):
        raise InputError(
            f"{path} has {len(seen)} bands of {raster.dtypes[0]}; expected a picture of one band "
            "(grey), three (red, green, blue) or four (and infrared), in plain numbers. Export the "
            "bands that are to be seen."
        )
    by_colour = {colour: i for i, colour in enumerate(colours, start=1)}
    rgb = (ColorInterp.red, ColorInterp.green, ColorInterp.blue)
    if len(seen) == 1:
        return (seen[0],)
    return tuple(by_colour[c] for c in rgb) if all(c in by_colour for c in rgb) else tuple(seen[:3])


def _check_lattice(raster: DatasetReader, path: Path) -> None:
    width, turn_x, left, turn_y, step, top = tuple(raster.transform)[:6]
    if (width, turn_x, left, turn_y, abs(step), top) == (1, 0, 0, 0, 1, 0):
        raise InputError(
            f"{path} does not say where on the earth it lies. Expected a georeferenced picture. "
            "Georeference it in a mapping program and export it as GeoTIFF."
        )
    numbers = (width, step, left, top)
    turned = max(abs(turn_x), abs(turn_y)) > _TURNED * max(abs(width), abs(step))
    if turned or width <= 0 or step >= 0 or not all(map(math.isfinite, numbers)):
        raise InputError(
            f"{path}: its rows do not run from west to east, north first (it is rotated or "
            "mirrored). Expected a north-up picture. Export it again in a common CRS, such as UTM."
        )
    rows, columns = raster.block_shapes[0]
    if rows * columns * 8 > MOST_BLOCK_BYTES:
        raise InputError(
            f"{path} is stored in pieces of {rows} x {columns} pixels; each is unpacked whole, and "
            f"at most {MOST_BLOCK_BYTES // 8 // 10**6} million pixels fit. Export it again as a "
            "tiled GeoTIFF."
        )


def _pixel_m(raster: DatasetReader, crs: pyproj.CRS, fields: gpd.GeoDataFrame) -> float:
    width, height = raster.transform.a, -raster.transform.e
    if crs.is_geographic:
        lon, lat = float(fields["lon_deg"].median()), float(fields["lat_deg"].median())
        return cell_size_m(width, height, lon, lat)
    size_m = math.sqrt(width * height) * float(crs.axis_info[0].unit_conversion_factor)
    if crs == PAGE_CRS:
        size_m *= math.cos(math.radians(float(fields["lat_deg"].median())))
    return size_m


def _box_in(crs: pyproj.CRS, near: gpd.GeoSeries, path: Path) -> Bounds:
    try:
        box = near.to_crs(crs).total_bounds.tolist()
    except ProjError:
        raise _beside(path) from None
    if not all(map(math.isfinite, box)):
        raise _beside(path)
    return (box[0], box[1], box[2], box[3])


def _window(raster: DatasetReader, path: Path, box: Bounds) -> Window:
    """The pixels around the fields that the file has."""
    width, _, left, _, step, top = tuple(raster.transform)[:6]
    first_column = max(math.floor((box[0] - left) / width) - 1, 0)
    last_column = min(math.ceil((box[2] - left) / width) + 1, raster.width)
    first_row = max(math.floor((box[3] - top) / step) - 1, 0)
    last_row = min(math.ceil((box[1] - top) / step) + 1, raster.height)
    if first_column >= last_column or first_row >= last_row:
        raise _beside(path)
    n_pixels = (last_column - first_column) * (last_row - first_row)
    if n_pixels > _MOST_READ and not raster.overviews(1):
        raise InputError(
            f"{path}: {n_pixels / 1e9:.1f} billion pixels lie around the fields; at most "
            f"{_MOST_READ / 1e9:.0f} billion are read from a file without smaller copies. "
            "Cut it to the farm, or export it with overviews (pyramids) or coarser."
        )
    return Window(first_column, first_row, last_column - first_column, last_row - first_row)


def _read(
    raster: DatasetReader, bands: tuple[int, ...], window: Window, coarser: float
) -> tuple[list[Floats], Affine]:
    """Bands as numbers, NaN where the file shows nothing, ``coarser`` times as large a pixel."""
    rows = max(1, round(window.height / coarser))
    columns = max(1, round(window.width / coarser))
    table = raster.colormap(bands[0]) if raster.colorinterp[0] == ColorInterp.palette else None
    how = Resampling.nearest if table else Resampling.average
    shape = (len(bands), rows, columns)
    cells = raster.read(bands, window=window, out_shape=shape, masked=True, resampling=how)
    if table:
        colours = np.zeros((max(table) + 1, 3), np.float32)
        for number, colour in table.items():
            colours[number] = colour[:3]
        number = np.clip(np.ma.filled(cells[0], 0).astype(int), 0, len(colours) - 1)
        blank = np.ma.getmaskarray(cells)[0]
        shown = [np.where(blank, np.nan, colours[number][..., i]) for i in range(3)]
        planes = [plane.astype(np.float32) for plane in shown]
    else:
        planes = [np.ma.filled(band.astype(np.float32), np.nan) for band in cells]
    width, _, left, _, step, top = tuple(raster.transform)[:6]
    across, down = window.width / columns, window.height / rows
    first = (left + window.col_off * width, top + window.row_off * step)
    return planes, Affine(width * across, 0.0, first[0], 0.0, step * down, first[1])


def _warped(
    plane: Floats, placed: Affine, crs: pyproj.CRS, shape: tuple[int, int], transform: Transform
) -> Floats:
    laid = np.full(shape, np.nan, np.float32)
    reproject(
        plane,
        laid,
        src_transform=placed,
        src_crs=crs.to_wkt(),
        src_nodata=np.nan,
        dst_transform=Affine(*transform),
        dst_crs=PAGE_CRS.to_wkt(),
        dst_nodata=np.nan,
        resampling=Resampling.bilinear,
    )
    return laid


def _bytes(whole: Floats, seen: NDArray[np.bool_], *, eight_bits: bool) -> NDArray[np.uint8]:
    if not eight_bits:
        low, high = np.quantile(whole[seen], _STRETCH)
        whole = (whole - low) * (255 / max(float(high - low), 1e-9))
    shown: NDArray[np.uint8] = np.clip(np.nan_to_num(np.rint(whole)), 0, 255).astype(np.uint8)
    return shown


def _beside(path: Path) -> InputError:
    return InputError(
        f"{path} shows nothing of the fields: it lies beside all of them, or is blank there. "
        "Expected a picture of the farm. If it is one, its CRS or its place is wrong: set the "
        "right one and export it again."
    )


def _notes(path: Path, native_m: float, pixel_m: float, seen_frac: float) -> tuple[Note, ...]:
    text = f"{path.name}: pixels of {length_text(native_m)}"
    if pixel_m > 1.05 * native_m:
        text += f", joined to {length_text(pixel_m)} for the page"
    notes = [Note(NAME, "info", f"{text}. It is shown, and changes no answer.")]
    if seen_frac < 0.99:
        text = f"{path.name} shows {100 * seen_frac:.0f} % of the ground around the fields."
        notes.append(Note(NAME, "caution", text))
    return tuple(notes)
