"""A survey in one GeoPackage or file geodatabase: a polygon layer with mukey beside its tables."""

from pathlib import Path

import geopandas as gpd

from layers.files import open_layer_table, open_vector, vector_layers
from layers.soil_map.expected import TABLES, by_table, lower_columns
from layers.soil_map.survey import Layout, RawSurvey, remarks
from suitability.errors import InputError

_MAP = "mupolygon"


def find(path: Path) -> Path | None:
    """A database with at least one survey table: path itself, or the only one in that folder."""
    if _is_database(path):
        return path if _has_tables(path) else None
    if not path.is_dir():
        return None
    found = [e for e in sorted(path.iterdir()) if _is_database(e) and _has_tables(e)]
    if len(found) > 1:
        raise InputError(
            f"{path} holds several soil surveys: {', '.join(e.name for e in found)}. Expected one. "
            "Give the path of the one to use."
        )
    return found[0] if found else None


def read(path: Path) -> RawSurvey:
    """Map and tables of the database; InputError where it has no map or more than one."""
    layers = vector_layers(path)
    chosen = by_table([name for name in layers if not _is_map_name(name)], path.name)
    polygons, layer = _map(path, layers)
    tables = {}
    for table, name in chosen.items():
        if name != layer:
            tables[table] = lower_columns(open_layer_table(path, name))
    if "mapunit" not in tables and "muname" in polygons:
        tables["mapunit"] = polygons.drop(columns=polygons.geometry.name)
    where = {table: f"{path.name}, layer {chosen.get(table, layer)}" for table in tables}
    where[_MAP] = f"{path.name}, layer {layer}"
    notes = remarks(polygons, path.name)
    return RawSurvey(path.name, polygons, tables, where, (path,), tuple(notes))


LAYOUT = Layout(
    "survey database",
    "a GeoPackage or file geodatabase with the polygons (mupolygon) and the tables mapunit, "
    "component, chorizon, comonth, cosoilmoist and corestrictions",
    find,
    read,
)


def _is_database(path: Path) -> bool:
    if path.is_dir():
        return path.suffix.lower() == ".gdb" or any(path.glob("a*.gdbtable"))
    return path.suffix.lower() == ".gpkg"


def _has_tables(path: Path) -> bool:
    return any(_table_of(name) is not None for name in vector_layers(path))


def _table_of(name: str) -> str | None:
    return None if _is_map_name(name) else next(iter(by_table([name], "")), None)


def _is_map_name(name: str) -> bool:
    return name.strip().lower().rstrip("s").endswith(_MAP)


def _map(path: Path, layers: list[str]) -> tuple[gpd.GeoDataFrame, str]:
    """The polygon layer: the one called mupolygon, else the only one with shapes and a mukey."""
    named = [name for name in layers if _is_map_name(name)]
    if len(named) == 1:
        return lower_columns(open_vector(path, named[0])), named[0]
    shaped = {}
    columns = []
    for name in named or layers:
        table = lower_columns(open_layer_table(path, name))
        columns.append(f"{name} ({', '.join(map(str, table.columns))})")
        if "mukey" not in table:
            continue
        shapes = _polygons(path, name)
        if shapes is not None:
            shaped[name] = shapes
    if len(shaped) == 1:
        name, shapes = shaped.popitem()
        return shapes, name
    if shaped:
        raise InputError(
            f"{path} holds several layers of polygons with a mukey: {', '.join(shaped)}. Expected "
            f"one soil map. Name it {_MAP}, or remove the others."
        )
    raise InputError(
        f"{path} holds no layer of polygons with a column mukey, the map unit key that ties the "
        f"map to the tables. Layers and columns found: {'; '.join(columns)}. Expected {_MAP} "
        f"beside the tables {', '.join(TABLES)}. Add the map polygons of the survey."
    )


def _polygons(path: Path, layer: str) -> gpd.GeoDataFrame | None:
    try:
        shapes = lower_columns(open_vector(path, layer))
    except InputError:
        return None  # a table without shapes
    return shapes if shapes.geom_type.isin(("Polygon", "MultiPolygon")).any() else None
