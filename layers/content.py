"""What a vector file is by its content, told before any driver is allowed to open it."""

import json
import re
from dataclasses import dataclass
from pathlib import Path
from xml.parsers import expat

from suitability.errors import InputError

READ = (
    "shapefile (.shp, .shz, zip), GeoPackage (.gpkg), GeoJSON, FlatGeobuf (.fgb), KML or KMZ, GPX, "
    "GML, file geodatabase (.gdb) or GeoParquet"
)
_HEAD_BYTES = 65_536
_SHP_MAGIC = b"\x00\x00\x27\x0a"
_SHAPEFILE_PARTS = (".dbf", ".shx", ".prj", ".cpg", ".sbn", ".sbx")
_GEOJSON_TYPE = re.compile(
    r'"type"\s*:\s*"(FeatureCollection|Feature|(Multi)?(Point|LineString|Polygon)'
    r'|GeometryCollection)"'
)
# Files that send a driver on to other files, to the web or to a database.
_REDIRECTS = ("gdal_streamed_alg", "<ogrvrtdatasource", "<ogrwfsdatasource")


@dataclass(frozen=True)
class Content:
    """A kind of vector file, the only drivers that may open it, and their options."""

    kind: str
    drivers: tuple[str, ...]
    options: tuple[tuple[str, str], ...] = ()


SHAPEFILE = Content("shapefile", ("ESRI Shapefile",))
GEOPACKAGE = Content("GeoPackage", ("GPKG",))
GEOJSON = Content("GeoJSON", ("GeoJSON",))
GEOJSONSEQ = Content("GeoJSON lines", ("GeoJSONSeq",))
FLATGEOBUF = Content("FlatGeobuf", ("FlatGeobuf",))
KML = Content("KML", ("LIBKML", "KML"))
GPX = Content("GPX", ("GPX",))
# A GML file may name a schema on the web, and its driver writes a side file: neither here.
GML = Content("GML", ("GML",), (("DOWNLOAD_SCHEMA", "NO"), ("WRITE_GFS", "NO")))
GEODATABASE = Content("file geodatabase", ("OpenFileGDB",))
PARQUET = Content("GeoParquet", ())
ZIP = Content("zip", ())


def content_of(path: Path) -> Content:
    """Kind of an existing file or folder.

    Raises
    ------
    InputError : not one of the kinds read here, a side file of a shapefile, or cut short.
    """
    if path.is_dir():
        if any(path.glob("a*.gdbtable")):
            return GEODATABASE
        raise InputError(f"{path} is a folder, and no file geodatabase. Give the path of a file.")
    if path.suffix.lower() in _SHAPEFILE_PARTS:
        raise InputError(
            f"{path} is one of the side files of a shapefile. Give the path of the .shp beside it."
        )
    with path.open("rb") as stream:
        head = stream.read(_HEAD_BYTES)
    if head.startswith(_SHP_MAGIC):
        _check_shapefile(path, head)
        return SHAPEFILE
    for magic, content in (
        (b"SQLite format 3\0", GEOPACKAGE),
        (b"fgb\x03", FLATGEOBUF),
        (b"PAR1", PARQUET),
        (b"PK\x03\x04", ZIP),
    ):
        if head.startswith(magic):
            return content
    text = _decoded(head).lstrip("\ufeff\x1e \t\r\n")
    if any(word in text.lower() for word in _REDIRECTS):
        raise InputError(
            f"{path} only points to other files or to the web; such files are not opened. "
            f"Expected the data themselves: {READ}. Give the file with the data."
        )
    if text.startswith("<"):
        return _xml(path)
    if text.startswith("{") and _GEOJSON_TYPE.search(text):
        return _json(path, text)
    raise InputError(
        f"{path} is no vector file that is read here. Expected {READ}. Export the fields as one of "
        "these."
    )


def _decoded(head: bytes) -> str:
    if head.startswith((b"\xff\xfe", b"\xfe\xff")):
        return head.decode("utf-16", errors="replace")
    return head.decode("utf-8", errors="replace")


def _json(path: Path, text: str) -> Content:
    """One feature a line, or one document."""
    first, _, rest = text.partition("\n")
    if not rest.lstrip("\x1e \t\r\n").startswith("{"):
        return GEOJSON
    try:
        json.loads(first)
    except ValueError:
        return GEOJSON
    # The driver stops without a word at a line that it cannot read.
    with path.open(encoding="utf-8-sig", errors="replace") as lines:
        for number, line in enumerate(lines, 1):
            if line.strip("\x1e \t\r\n"):
                try:
                    json.loads(line.strip("\x1e \t\r\n"))
                except ValueError as error:
                    raise InputError(
                        f"{path}, line {number}: not a whole GeoJSON feature. Expected one feature "
                        "a line. The file may be cut short: copy or export it again."
                    ) from error
    return GEOJSONSEQ


def _xml(path: Path) -> Content:
    """Read all the XML once: well-formed, without entities of its own, and of a known root."""
    roots: list[str] = []
    parser = expat.ParserCreate()

    def start(name: str, _attributes: dict[str, str]) -> None:
        if not roots:
            roots.append(name.rpartition(":")[2])

    def refuse(*_declaration: object) -> None:
        raise InputError(
            f"{path} declares entities of its own (<!ENTITY>), which can swamp or read other "
            "files. Expected plain KML, GPX or GML. Export it again."
        )

    parser.StartElementHandler = start
    parser.EntityDeclHandler = refuse
    try:
        with path.open("rb") as stream:
            parser.ParseFile(stream)
    except (expat.ExpatError, ValueError) as error:
        raise InputError(
            f"{path} is not whole XML ({error}). Expected a KML, GPX or GML file that is closed. "
            "It may be cut short: copy or export it again."
        ) from error
    root = roots[0]
    if root in ("kml", "gpx"):
        return KML if root == "kml" else GPX
    if root.endswith("FeatureCollection"):
        return GML
    raise InputError(
        f"{path} is XML with <{root}> as its root; expected <kml>, <gpx> or a GML feature "
        "collection. Export the fields as one of these."
    )


def _check_shapefile(path: Path, head: bytes) -> None:
    """Refuse a cut shapefile, which the driver would read as fields without shape."""
    stated = int.from_bytes(head[24:28], "big") * 2
    size = path.stat().st_size
    if len(head) < 100 or size < stated:
        raise InputError(
            f"{path} is cut short: {size} bytes, its header states {stated}. Copy it again."
        )
    beside = {entry.name.lower() for entry in path.parent.iterdir()}
    lacking = [s for s in (".shx", ".dbf") if path.with_suffix(s).name.lower() not in beside]
    if lacking:
        raise InputError(
            f"{path}: {' and '.join(path.with_suffix(s).name for s in lacking)} is not beside it. "
            "A shapefile is several files of one name. Copy all of them into one folder."
        )
