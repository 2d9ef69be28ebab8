"""A survey as polygons in any vector file, beside CSV tables that have headers."""

from pathlib import Path

import geopandas as gpd

from layers.files import open_vector, read_table
from layers.soil_map.expected import by_table, lower_columns, table_name
from layers.soil_map.survey import LAYER, Layout, RawSurvey, remarks
from suitability.errors import InputError

_VECTORS = (".shp", ".gpkg", ".geojson", ".json", ".fgb", ".gml", ".kml", ".parquet")


def find(path: Path) -> Path | None:
    """A vector file or a folder of them with at least one survey table as CSV beside it."""
    folder = path if path.is_dir() else path.parent
    if not path.is_dir() and path.suffix.lower() not in _VECTORS:
        return None
    return path if _tables(folder) and (path != folder or _vectors(folder)) else None


def read(path: Path) -> RawSurvey:
    """Map and tables; InputError where none, or more than one, vector file holds map units."""
    folder = path if path.is_dir() else path.parent
    polygons, file = _map(_vectors(folder) if path == folder else [path], folder)
    notes = remarks(polygons, file.name)
    files, tables, where = [file], {}, {"mupolygon": file.name}
    by_name = {entry.stem: entry for entry in _tables(folder)}
    for table, name in by_table(by_name, str(folder)).items():
        rows, more = read_table(by_name[name], layer=LAYER)
        notes += more
        tables[table] = lower_columns(rows)
        where[table] = by_name[name].name
        files.append(by_name[name])
    return RawSurvey(folder.name, polygons, tables, where, tuple(files), tuple(notes))


LAYOUT = Layout(
    "polygons and CSV tables",
    "a folder with the polygons (any vector file with a column mukey) and mapunit.csv, "
    "component.csv, chorizon.csv, comonth.csv, cosoilmoist.csv, corestrictions.csv",
    find,
    read,
)


def _tables(folder: Path) -> list[Path]:
    return sorted(
        entry
        for entry in folder.iterdir()
        if entry.suffix.lower() == ".csv" and table_name(entry.stem) is not None
    )


def _vectors(folder: Path) -> list[Path]:
    return sorted(entry for entry in folder.iterdir() if entry.suffix.lower() in _VECTORS)


def _map(vectors: list[Path], folder: Path) -> tuple[gpd.GeoDataFrame, Path]:
    opened = {path: lower_columns(open_vector(path)) for path in vectors}
    maps = [path for path, table in opened.items() if "mukey" in table]
    if len(maps) == 1:
        return opened[maps[0]], maps[0]
    if maps:
        raise InputError(
            f"{folder} holds several files of polygons with a mukey: "
            f"{', '.join(path.name for path in maps)}. Expected one soil map. Give its path."
        )
    columns = "; ".join(
        f"{path.name} ({', '.join(str(c) for c in table.columns if c != table.geometry.name)})"
        for path, table in opened.items()
    )
    raise InputError(
        f"{folder}: no file of polygons has a column mukey, the map unit key that ties the map to "
        f"the tables. Files and columns found: {columns}. Tables found: "
        f"{', '.join(entry.name for entry in _tables(folder))}. Give the map polygons as the "
        "survey delivers them."
    )
