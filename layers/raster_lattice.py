"""Where the cells of a raster lie, and whether they can be used at all."""

import math
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pyproj
from pyproj.exceptions import CRSError as WktError
from pyproj.exceptions import ProjError
from rasterio import DatasetReader
from rasterio.enums import ColorInterp
from rasterio.errors import CRSError as RasterioCrsError

from layers.grid import Bounds
from suitability.errors import CrsError, InputError

# A block is unpacked as a whole, whatever window is asked for.
MOST_BLOCK_BYTES = 2**28
_TURNED = 1e-6  # of a cell; less is rounding of the file's own numbers


@dataclass(frozen=True)
class Lattice:
    """A raster file: its cells in the units of its CRS, seen north-up, and what it says of itself.

    ``turned_over`` is True where the file has its southern row first. ``scale`` and ``offset`` turn
    a stored number into the one meant. ``says_unit`` is the file's word for the unit of its
    numbers, with the place it stands, or empty.
    """

    path: Path
    crs: pyproj.CRS
    left: float
    top: float
    width: float
    height: float
    n_columns: int
    n_rows: int
    turned_over: bool
    dtype: str
    scale: float
    offset: float
    nodata: float | None
    says_unit: tuple[str, str]

    @property
    def bounds(self) -> Bounds:
        """Left, bottom, right, top."""
        return (
            self.left,
            self.top - self.n_rows * self.height,
            self.left + self.n_columns * self.width,
            self.top,
        )


def lattice_of(raster: DatasetReader, path: Path, what: str, *, coloured: bool = False) -> Lattice:
    """Where a raster's cells lie.

    Parameters
    ----------
    what : what its one band should hold, for messages, such as "heights".
    coloured : the file may carry a table of colours for its numbers, as a map of classes does.

    Raises
    ------
    InputError : no band or several, complex numbers, a colour picture, cells turned against north,
        blocks too large to unpack.
    CrsError : no CRS, or one that is not tied to the earth.
    """
    _check_band(raster, path, what, coloured)
    width, turn_x, left, turn_y, step, top = tuple(raster.transform)[:6]
    crs, vertical = crs_of(raster, path)
    if max(abs(turn_x), abs(turn_y)) > _TURNED * max(abs(width), abs(step)) or width <= 0:
        raise InputError(
            f"{path}: its rows do not run from west to east (it is rotated or mirrored). Expected "
            "a north-up raster. Export it again as GeoTIFF in a common CRS, such as UTM."
        )
    numbers = (width, step, left, top)
    if step == 0 or not all(math.isfinite(number) for number in numbers):
        raise InputError(f"{path}: the size or place of its cells is no number. Export it again.")
    if step > 0:
        top += step * raster.height
    scale, offset = float(raster.scales[0]), float(raster.offsets[0])
    if not (math.isfinite(scale) and math.isfinite(offset)) or scale == 0:
        raise InputError(
            f"{path}: its scale ({scale:g}) and offset ({offset:g}) cannot be used. Expected plain "
            "numbers, a scale other than 0. Export it again without them."
        )
    nodata = raster.nodata
    return Lattice(
        path=path,
        crs=crs,
        left=left,
        top=top,
        width=width,
        height=abs(step),
        n_columns=raster.width,
        n_rows=raster.height,
        turned_over=step > 0,
        dtype=str(raster.dtypes[0]),
        scale=scale,
        offset=offset,
        nodata=None if nodata is None else float(nodata),
        says_unit=_unit(raster, vertical),
    )


def _check_band(raster: DatasetReader, path: Path, what: str, coloured: bool) -> None:
    colours = list(raster.colorinterp)
    bands = [c for c in colours if c != ColorInterp.alpha]
    if len(bands) != 1:
        raise InputError(
            f"{path} has {len(bands)} bands; expected one band of {what}. A picture or a hillshade "
            "is no measurement: export the numbers themselves as a GeoTIFF of one band."
        )
    dtype = str(raster.dtypes[0])
    painted = colours[0] == ColorInterp.palette and not coloured
    if dtype.startswith("complex") or painted:
        held = "a colour picture" if painted else "complex numbers"
        raise InputError(
            f"{path} holds {held}; expected plain numbers: {what}. Export the numbers themselves."
        )
    stated_bytes = raster.width * raster.height * np.dtype(dtype).itemsize
    # The driver of plain binary files would read what is missing as zeros.
    if raster.driver == "EHdr" and dtype != "uint8" and path.stat().st_size < stated_bytes:
        raise InputError(
            f"{path} is cut short: {path.stat().st_size} bytes, its header states {stated_bytes}. "
            "Copy it again."
        )
    rows, columns = raster.block_shapes[0]
    block_bytes = rows * columns * 8
    if block_bytes > MOST_BLOCK_BYTES:
        raise InputError(
            f"{path} is stored in pieces of {rows} x {columns} cells; expected pieces of at most "
            f"{MOST_BLOCK_BYTES // 8 // 10**6} million cells, since each is unpacked whole. Export "
            "it again as a tiled GeoTIFF."
        )


def crs_of(raster: DatasetReader, path: Path) -> tuple[pyproj.CRS, str]:
    """Horizontal CRS of a raster, and the unit of the vertical one, empty where there is none.

    Raises
    ------
    CrsError : none is stated, or one that is garbled or not tied to a place on the earth.
    """
    try:
        stated = raster.crs
        crs = None if not stated else pyproj.CRS.from_wkt(stated.to_wkt())
    except (RasterioCrsError, WktError) as error:
        raise CrsError(
            f"{path}: its CRS cannot be understood ({str(error)[:100]}). Set the CRS the raster "
            "was made in and export it again."
        ) from error
    if crs is None:
        raise CrsError(
            f"{path} does not say in which CRS (coordinate reference system) it is. Expected a "
            "stated CRS; it is not guessed. Export it again with its CRS; an ASCII grid needs its "
            ".prj file beside it."
        )
    vertical = ""
    if crs.is_compound and len(crs.sub_crs_list) > 1:
        vertical = crs.sub_crs_list[1].axis_info[0].unit_name
        crs = crs.sub_crs_list[0]
    elif len(crs.axis_info) > 2:
        vertical = crs.axis_info[2].unit_name
        crs = crs.to_2d()
    if crs.is_bound and crs.source_crs is not None:
        crs = crs.source_crs
    try:
        pyproj.Transformer.from_crs(crs, 4326)
        known = crs.is_geographic or crs.is_projected
    except ProjError:
        known = False
    if not known:
        raise CrsError(
            f"{path}: its CRS {crs.name!r} is not tied to a place on the earth. Expected longitude "
            "and latitude or a map projection. Set the right CRS and export it again."
        )
    return crs, vertical


def _unit(raster: DatasetReader, vertical: str) -> tuple[str, str]:
    band = (raster.units[0] or "").strip() if raster.units else ""
    if band:
        return band, "the file's band"
    return (vertical, "the file's vertical CRS") if vertical else ("", "")
