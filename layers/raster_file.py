"""One raster, opened only by an allow-list of drivers."""

import logging
import warnings
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import rasterio
from rasterio import DatasetReader
from rasterio.errors import CRSError, NotGeoreferencedWarning, RasterioError

from layers.local_path import local_file
from suitability.errors import CrsError, InputError

RASTER_DRIVERS = ("GTiff", "COG", "AAIGrid", "EHdr", "HFA", "AIG", "USGSDEM", "SRTMHGT")
# What the library wants to say comes as an InputError, not on the screen by itself.
logging.getLogger("rasterio").propagate = False


@contextmanager
def open_raster(path: str | Path) -> Iterator[DatasetReader]:
    """Give a raster opened for reading, for a ``with`` block.

    Raises
    ------
    InputError : not one of the raster kinds read here, or damaged; faults that come up inside the
        block while its cells are read become an InputError too.
    """
    source = local_file(path)
    try:
        with rasterio.Env(PROJ_NETWORK="OFF", CPL_VSIL_CURL_ALLOWED_EXTENSIONS=".none"):
            with warnings.catch_warnings():
                warnings.simplefilter("ignore", NotGeoreferencedWarning)
                # affine 3 will deprecate the product that rasterio 1.4 opens a file with.
                warnings.filterwarnings("ignore", "Use `@` matmul", PendingDeprecationWarning)
                dataset = DatasetReader(str(source), driver=list(RASTER_DRIVERS))
            with dataset:
                yield dataset
    except (CRSError, UnicodeDecodeError) as error:
        raise CrsError(
            f"{source}: what it says of its CRS (coordinate reference system) is garbled. Set the "
            "CRS the raster was made in and export it again; an ASCII grid or .bil has it in its "
            ".prj file."
        ) from error
    except RasterioError as error:
        reason = (str(error).strip().splitlines() or ["no reason given"])[0][:200]
        raise InputError(
            f"{source} cannot be read as a raster ({reason}). Expected a whole GeoTIFF, "
            "ASCII grid, .bil/.flt with its .hdr, .img or .hgt. Export it as GeoTIFF again."
        ) from error
