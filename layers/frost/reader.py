"""Freeze dates of each field out of one file, a zip or a folder of any format known here."""

from collections.abc import Callable
from contextlib import nullcontext
from dataclasses import dataclass
from pathlib import Path
from types import ModuleType

import geopandas as gpd
import pandas as pd

from layers.files import local_path, read_text, unzipped
from layers.frost import national_table, normals, plain_rows
from layers.frost.date_polygons import read_polygons
from layers.frost.date_raster import read_raster
from layers.frost.order import check_order
from layers.frost.stated import LAYER, Stated
from layers.frost.station_rows import StationRows, to_fields
from suitability.columns import FROST
from suitability.contract import check, empty, names
from suitability.errors import ColumnError, InputError
from suitability.notes import Note

# A new text format is one module with NAME, recognises(text) and read(text, source, stated).
TEXT_FORMATS: tuple[ModuleType, ...] = (normals, plain_rows, national_table)
EXPECTED = (
    "climate normals as CSV, a national table of freeze dates, a table with the columns "
    f"{plain_rows.COLUMNS}, a raster of dates or polygons of dates"
)
_RASTERS = (".tif", ".tiff", ".asc", ".img", ".bil", ".flt")
_VECTORS = (".gpkg", ".shp", ".shz", ".geojson", ".json", ".fgb", ".kml", ".kmz", ".gml", ".gdb")
_SIDE_FILES = (
    ".dbf",
    ".shx",
    ".prj",
    ".cpg",
    ".sbn",
    ".sbx",
    ".xml",
    ".tfw",
    ".hdr",
    ".qpj",
    ".ovr",
)
_SPATIAL: dict[str, Callable[..., tuple[pd.DataFrame, list[Note]]]] = {
    **dict.fromkeys(_RASTERS, read_raster),
    **dict.fromkeys(_VECTORS, read_polygons),
}
_MOST_BYTES = 200_000_000
_MOST_FILES = 500


@dataclass(frozen=True)
class FrostRead:
    """``frost`` keeps FROST; ``files`` are those that dates were read from."""

    frost: pd.DataFrame
    notes: tuple[Note, ...]
    files: tuple[Path, ...]


def read_frost(
    path: str | Path, fields: gpd.GeoDataFrame, stated: Stated | None = None
) -> FrostRead:
    """Freeze dates of each field.

    Parameters
    ----------
    path : a file, a zip or a folder of such files, or a .gdb folder.
    fields : FIELDS table with geometry in a metre CRS.
    stated : what farm.toml says of the file.

    Raises
    ------
    InputError, CrsError : nothing known here, or values that cannot be; see the formats.
    """
    source = local_path(path)
    stated = stated or Stated()
    stations: list[StationRows] = []
    rows: list[pd.DataFrame] = []
    notes: list[Note] = []
    files: list[Path] = []
    skipped: list[str] = []
    zipped = _is_zip(source)
    with unzipped(source) if zipped else nullcontext(source) as place:
        several = place.is_dir() and place.suffix.lower() != ".gdb"
        for file in _files(place, source) if several else [place]:
            spatial = _SPATIAL.get(_suffix(file))
            if spatial is not None:
                table, more = spatial(file, fields, stated)
                check_order(table, file, ["field_id"])
                rows.append(table)
                notes.extend(more)
            else:
                read = _read_text(file, stated, alone=not several)
                if read is None:
                    skipped.append(file.name)
                    continue
                stations.append(read)
                notes.extend(read.notes)
            files.append(source if zipped else file)
    if stations:
        table = pd.concat([read.table for read in stations], ignore_index=True)
        check_order(table, source, ["station", "field_id"])
        placed, more = to_fields(table, fields, stated, source)
        rows.append(placed)
        notes.extend(more)
    if not files:
        raise InputError(f"{source} holds no freeze dates. Expected {EXPECTED}. Give such a file.")
    if skipped:
        text = f"{source.name}: not freeze dates, and left aside: {', '.join(skipped[:8])}."
        notes.append(Note(LAYER, "info", text))
    return FrostRead(
        _checked(rows, source), tuple(dict.fromkeys(notes)), tuple(dict.fromkeys(files))
    )


def _checked(rows: list[pd.DataFrame], source: Path) -> pd.DataFrame:
    filled = [table[names(FROST)] for table in rows if len(table)]
    frost = pd.concat(filled, ignore_index=True) if filled else empty(FROST)
    frost["date_mmdd"] = frost["date_mmdd"].astype(object).where(frost["date_mmdd"].notna(), None)
    check_order(frost, source, ["field_id"])
    try:
        return check(frost, FROST, str(source))
    except ColumnError as error:
        raise InputError(str(error)) from error


def _read_text(file: Path, stated: Stated, *, alone: bool) -> StationRows | None:
    """Rows by the first format that knows the text; None for another file of a folder."""
    if file.stat().st_size > _MOST_BYTES:
        raise InputError(
            f"{file} has {file.stat().st_size / 1e6:.0f} MB; a table of freeze dates has at most "
            f"{_MOST_BYTES / 1e6:.0f} MB. Expected {EXPECTED}. Give such a file."
        )
    try:
        text, notes = read_text(file, layer=LAYER)
    except InputError:
        if alone:
            raise
        return None
    for module in TEXT_FORMATS:
        if module.recognises(text):
            read: StationRows = module.read(text, file, stated)
            return StationRows(read.table, [*notes, *read.notes])
    if alone:
        raise InputError(f"{file} holds no freeze dates. Expected {EXPECTED}. Give such a file.")
    return None


def _files(folder: Path, source: Path) -> list[Path]:
    """Files of a folder that may hold dates, without the side files of others."""
    found = sorted(
        f
        for f in folder.rglob("*")
        if (f.is_file() or f.suffix.lower() == ".gdb")
        and not f.name.startswith(".")
        and f.suffix.lower() not in _SIDE_FILES
        and not any(p.suffix.lower() == ".gdb" for p in f.parents)
        and f.resolve().is_relative_to(folder.resolve())
    )
    if not found:
        raise InputError(f"{source} holds no file. Expected {EXPECTED}. Give such a file.")
    if len(found) > _MOST_FILES:
        raise InputError(
            f"{source} holds {len(found)} files; at most {_MOST_FILES} are read. Expected freeze "
            "dates only. Keep the files of freeze dates in a folder of their own."
        )
    return found


def _suffix(file: Path) -> str:
    """Suffix by content where the name hides it, else by name."""
    if file.is_file():
        with file.open("rb") as stream:
            head = stream.read(4)
        if head in (b"II*\0", b"MM\0*", b"II+\0", b"MM\0+"):
            return ".tif"
    return file.suffix.lower()


def _is_zip(source: Path) -> bool:
    if source.is_dir() or source.suffix.lower() in (".kmz", ".shz"):
        return False
    with source.open("rb") as stream:
        return stream.read(4) == b"PK\x03\x04"
