"""The soil survey around the fields, as one GeoPackage in the layout that the reader reads."""

from collections.abc import Callable, Iterable
from pathlib import Path

import geopandas as gpd
import pandas as pd
import pyogrio
import shapely

from layers.gather.boxes import LonLatBox, overlaps, quarters
from layers.gather.failures import OutsideError, TooMuchError, UnsoundError
from layers.gather.work import Fetched, Work
from layers.soil_map.expected import TABLES

NAME = "soil_survey.gpkg"
_SMALLEST_SIDE_DEG = 0.002
_MUST = ("mupolygonkey", "mukey", "musym", "areasymbol", "geometry")


def fetch(work: Work, out: Path) -> Fetched:
    """Write ``soil_survey.gpkg`` into ``out``.

    Raises
    ------
    OutsideError : no survey is published for this ground.
    GatherError, OSError : see ``asking.ask``.
    """
    from layers.gather.soil_client import SoilClient

    client = SoilClient(work)
    polygons: dict[str, dict[str, object]] = {}
    for number, box in enumerate(work.boxes, 1):
        work.tell(f"soil map, box {number} of {len(work.boxes)}")
        for row in _in_parts(client.polygons, box):
            if any(row.get(column) is None for column in _MUST):
                raise UnsoundError("soil survey: a polygon came back without its key or its shape.")
            polygons[str(row["mupolygonkey"])] = {**row, "box": box}
    if not polygons:
        raise OutsideError("soil survey: none is published for this ground.")
    soil_map = _soil_map(list(polygons.values()))
    mukeys = sorted(set(soil_map["mukey"]), key=lambda key: (len(key), key))
    tables = {}
    for table, wanted in TABLES.items():
        rows = []
        for number, some in enumerate(_chunks(mukeys, int(work.service.limits["most_keys"])), 1):
            work.tell(f"soil table {table}, part {number}")
            rows += client.table(table, some)
        if wanted.required and not rows:
            raise UnsoundError(f"soil survey: its table {table} came back empty.")
        tables[table] = pd.DataFrame(rows, columns=[*wanted.must, *wanted.may], dtype=object)
    dated = client.areas(set(soil_map["areasymbol"]))
    _write(out / NAME, soil_map, tables)
    return Fetched((NAME,), (NAME,), _note(soil_map, dated))


def _in_parts(
    ask: Callable[[LonLatBox], list[dict[str, object]]], box: LonLatBox
) -> list[dict[str, object]]:
    """Rows of a box, asked for in quarters where one answer cannot hold them."""
    try:
        return ask(box)
    except TooMuchError:
        if min(box[2] - box[0], box[3] - box[1]) < _SMALLEST_SIDE_DEG:
            raise
    return [row for quarter in quarters(box) for row in _in_parts(ask, quarter)]


def _soil_map(rows: list[dict[str, object]]) -> gpd.GeoDataFrame:
    try:
        shapes = shapely.from_wkt([str(row["geometry"]) for row in rows])
    except shapely.errors.ShapelyError:
        raise UnsoundError("soil survey: an outline came back that is none.") from None
    for row, shape in zip(rows, shapes, strict=True):
        box: LonLatBox = row["box"]  # type: ignore[assignment]  # put there above
        if shape.geom_type not in ("Polygon", "MultiPolygon") or shape.is_empty:
            raise UnsoundError("soil survey: an outline came back that is no polygon.")
        if not overlaps(shape.bounds, box):
            raise UnsoundError(
                "soil survey: outlines came back that do not lie in the box asked for; expected "
                "longitude and latitude in degrees."
            )
    columns = {name: [str(row[name]) for row in rows] for name in ("areasymbol", "musym", "mukey")}
    return gpd.GeoDataFrame(columns, geometry=shapes, crs="EPSG:4326")


def _write(path: Path, soil_map: gpd.GeoDataFrame, tables: dict[str, pd.DataFrame]) -> None:
    try:
        pyogrio.write_dataframe(soil_map, path, layer="mupolygon", driver="GPKG")
        for name, table in tables.items():
            texts = table.map(lambda value: None if value is None else str(value))
            pyogrio.write_dataframe(texts, path, layer=name, driver="GPKG")
    except (pyogrio.errors.DataSourceError, pyogrio.errors.DataLayerError) as error:
        raise OSError(f"{path.name}: {error}") from error


def _chunks(keys: list[str], size: int) -> Iterable[list[str]]:
    return (keys[start : start + size] for start in range(0, len(keys), size))


def _note(soil_map: gpd.GeoDataFrame, dated: list[dict[str, object]]) -> str:
    published = {str(row.get("areasymbol")): str(row.get("saverest")) for row in dated}
    areas = [
        f"{symbol} (published {published[symbol]})" if symbol in published else symbol
        for symbol in sorted(set(soil_map["areasymbol"]))
    ]
    return f"Survey area {', '.join(areas)}."
