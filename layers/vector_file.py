"""One layer of a vector file, opened only by the drivers that its content calls for."""

import importlib.util
import logging
import warnings
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import geopandas as gpd
import pandas as pd
import pyogrio
import pyproj
import shapely
from pyogrio import errors as vector_errors

from layers.content import KML, PARQUET, READ, SHAPEFILE, ZIP, Content, content_of
from layers.local_path import local_file, local_path
from layers.zipped import unzipped
from suitability.errors import InputError, listed

_VECTOR_SUFFIXES = (
    ".shp", ".gpkg", ".geojson", ".json", ".geojsonl", ".geojsons", ".ndjson", ".fgb", ".kml",
    ".gpx", ".gml", ".parquet",
)  # fmt: skip
_POLYGONS = ("Polygon", "MultiPolygon", "CurvePolygon", "MultiSurface", "Surface")
_LINES = ("LineString", "MultiLineString", "CompoundCurve", "MultiCurve", "CircularString")
_OPEN = ("Unknown", "GeometryCollection", "None")
_FAILURES = (
    vector_errors.DataSourceError,
    vector_errors.DataLayerError,
    vector_errors.FeatureError,
    vector_errors.FieldError,
    vector_errors.GeometryError,
    vector_errors.CRSError,
    pyproj.exceptions.ProjError,
    shapely.errors.ShapelyError,
    OSError,
    ValueError,
    IndexError,
    KeyError,
)

# No driver reads from the web, whatever a file says.
pyogrio.set_gdal_config_options(
    {
        "PROJ_NETWORK": "OFF",
        "GML_DOWNLOAD_SCHEMA": "NO",
        "CPL_VSIL_CURL_ALLOWED_EXTENSIONS": ".none",
    }
)
# What the library wants to say comes as an InputError or a remark, not on the screen by itself.
logging.getLogger("pyogrio").propagate = False


def vector_layers(path: str | Path) -> list[str]:
    """Names of all layers of a vector file, tables without shapes among them; else InputError."""
    with _dataset(path) as (source, content):
        if content == PARQUET:
            return [source.stem]
        return [name for name, _ in _layers(source, Path(path))]


def open_vector(path: str | Path, layer: str | None = None) -> gpd.GeoDataFrame:
    """One layer of a vector file with its shapes, in the file's own CRS (None where not stated).

    Parameters
    ----------
    path : file, zip of one, or .gdb folder.
    layer : its name; may be left out where only one layer can be meant (polygons before lines
        before points).

    Returns
    -------
    GeoDataFrame; ``attrs["source"]`` names the file for messages, ``attrs["layer"]`` the layer,
    ``attrs["kind"]`` the kind of file, ``attrs["remarks"]`` what the reading library remarked.

    Raises
    ------
    InputError : see the module; several layers and none named; no such layer; no shapes in it.
    """
    with _dataset(path) as (source, content):
        if content == PARQUET:
            name, frame = source.stem, _parquet(source)
        else:
            name = _chosen(source, Path(path)) if layer is None else layer
            frame = _read(source, Path(path), content, name, shapes=True)
        if not isinstance(frame, gpd.GeoDataFrame):
            raise InputError(
                f"{path}: layer {name!r} is a table without shapes. Expected outlines. "
                f"{_offer(source, Path(path))}"
            )
        frame.attrs |= {"source": str(path), "layer": name, "kind": content.kind}
        return frame


def open_layer_table(path: str | Path, layer: str) -> pd.DataFrame:
    """Columns of one layer of a vector file or geodatabase, without shapes; else InputError."""
    with _dataset(path) as (source, content):
        return pd.DataFrame(_read(source, Path(path), content, layer, shapes=False))


@contextmanager
def _dataset(path: str | Path) -> Iterator[tuple[Path, Content]]:
    """Where the data lie, unpacked if need be, and what they are."""
    source = local_path(path)
    if not source.is_dir():
        source = local_file(source)
    if set("!;") & set(str(source)):
        raise InputError(
            f"{source}: the signs ! and ; in a file or folder name have a meaning of their own to "
            "the reading library. Rename it without them."
        )
    content = content_of(source)
    if content != ZIP:
        yield source, content
        return
    with unzipped(source) as folder:
        found = _datasets(folder)
        if (
            source.suffix.lower() == ".kmz"
            and found
            and all(content_of(inner) == KML for inner in found)
        ):
            # Its documents may point to each other, so the driver takes them together.
            yield source, KML
            return
        inner = _only(source, folder, found)
        yield inner, content_of(inner)


def _datasets(folder: Path) -> list[Path]:
    return sorted(
        entry
        for entry in folder.rglob("*")
        if (entry.is_dir() and any(entry.glob("a*.gdbtable")))
        or (entry.is_file() and entry.suffix.lower() in _VECTOR_SUFFIXES)
    )


def _only(source: Path, folder: Path, found: list[Path]) -> Path:
    if len(found) == 1:
        return found[0]
    if not found:
        raise InputError(f"{source}: no vector file in this zip. Expected {READ}. Zip it again.")
    raise InputError(
        listed(
            f"{source} holds {len(found)} vector files; expected one",
            [entry.relative_to(folder).as_posix() for entry in found],
            "Unpack it and give the path of the one with the fields.",
        )
    )


def _layers(source: Path, shown: Path) -> list[tuple[str, str | None]]:
    with _as_input_error(shown, "opened"), warnings.catch_warnings():
        warnings.simplefilter("ignore")
        layers = pyogrio.list_layers(source)
    return [(str(name), kind) for name, kind in layers]


def _chosen(source: Path, shown: Path) -> str:
    layers = _layers(source, shown)
    shaped = [(name, kind) for name, kind in layers if kind is not None]
    if len(shaped) > 1:
        shaped = [(name, kind) for name, kind in shaped if _holds_any(source, name)]
    for kinds in (_POLYGONS, _LINES, ()):
        wanted = [name for name, kind in shaped if _fits(source, name, str(kind), kinds)]
        if len(wanted) == 1:
            return wanted[0]
        if wanted:
            raise InputError(
                f"{shown} has several layers that may be meant: {', '.join(wanted)}. Expected one. "
                "Name it with `layer`."
            )
    raise InputError(
        f"{shown} has no layer with shapes in it"
        f"{': only tables' if layers else ''}. Expected outlines. It may be empty or cut short: "
        "export it again, or give another file."
    )


def _holds_any(source: Path, name: str) -> bool:
    with _as_input_error(source, "read"):
        info = pyogrio.read_info(source, layer=name, force_feature_count=True)
    return bool(info["features"] > 0)


def _fits(source: Path, name: str, kind: str, kinds: tuple[str, ...]) -> bool:
    flat = kind.replace("2.5D ", "").replace("Measured ", "").replace("3D ", "")
    flat = flat.removesuffix(" ZM").removesuffix(" Z").removesuffix(" M")
    if not kinds or flat in kinds:
        return True
    if flat not in _OPEN:
        return False
    with _as_input_error(source, "read"), warnings.catch_warnings():
        warnings.simplefilter("ignore")
        found = pyogrio.read_dataframe(source, layer=name, columns=[], on_invalid="ignore")
    return bool(found.geom_type.isin([*kinds, "GeometryCollection"]).any())


def _offer(source: Path, shown: Path) -> str:
    return f"Its layers are: {', '.join(name for name, _ in _layers(source, shown))}. Name one."


def _read(source: Path, shown: Path, content: Content, layer: str, *, shapes: bool) -> pd.DataFrame:
    with _as_input_error(source, "read"), warnings.catch_warnings(record=True) as caught:
        warnings.simplefilter("always")
        options: dict[str, Any] = dict(content.options)
        try:
            info = pyogrio.read_info(source, layer=layer, **options)
        except vector_errors.DataLayerError:
            if layer in [name for name, _ in _layers(source, shown)]:
                raise
            info = {"layer_name": None}
        if info["layer_name"] != layer:  # the library does not mind capitals
            raise InputError(f"{shown} has no layer {layer!r}. {_offer(source, shown)}")
        if info["driver"] not in content.drivers:
            raise InputError(
                f"{source} looks like {content.kind} but is {info['driver']}. Expected {READ}. "
                "Export the fields as one of these."
            )
        frame: pd.DataFrame = pyogrio.read_dataframe(
            source,
            layer=layer,
            read_geometry=shapes,
            on_invalid="fix",
            encoding=_encoding(source, content),
            **options,
        )
        remarks = sorted({_plain(warning.message) for warning in caught})
    if info["features"] > len(frame):
        raise InputError(
            f"{source}: layer {layer!r} states {info['features']} rows, {len(frame)} could be "
            "read. The file is cut short or damaged: copy or export it again."
        )
    frame.attrs["remarks"] = remarks
    return frame


def _encoding(source: Path, content: Content) -> str | None:
    """UTF-8 for a shapefile that is, though no .cpg says so: other text is never valid UTF-8."""
    if content != SHAPEFILE or any(source.with_suffix(s).exists() for s in (".cpg", ".CPG")):
        return None
    tables = [source.with_suffix(s) for s in (".dbf", ".DBF") if source.with_suffix(s).exists()]
    if not tables:
        return None
    data = tables[0].read_bytes()
    text = data[int.from_bytes(data[8:10], "little") :]
    try:
        text.decode("utf-8")
    except UnicodeDecodeError:
        return None
    return None if text.isascii() else "UTF-8"


def _parquet(source: Path) -> gpd.GeoDataFrame:
    if importlib.util.find_spec("pyarrow") is None:
        raise InputError(
            f"{source} is GeoParquet, which needs the extra [parquet]. Install it, or export the "
            "fields as GeoPackage or GeoJSON."
        )
    with _as_input_error(source, "read"):
        frame = gpd.read_parquet(source)
    frame.attrs["remarks"] = []
    return frame


@contextmanager
def _as_input_error(source: Path, what: str) -> Iterator[None]:
    try:
        yield
    except _FAILURES as error:
        raise InputError(
            f"{source} cannot be {what} ({_plain(error)}). Expected a whole, sound file; it may be "
            "cut short, damaged or wrongly named. Copy or export it again."
        ) from error


def _plain(error: object) -> str:
    """First sentence of what a library said, without its own source files and settings."""
    lines = str(error).strip().splitlines()
    first = lines[0] if lines else type(error).__name__
    if first.startswith("Error occurred in"):
        return "a fault inside the file"
    return first.partition(". ")[0][:200]
