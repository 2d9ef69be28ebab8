"""Where each map unit lies: the polygons of the soil map, made valid and named."""

import geopandas as gpd
import pandas as pd
import shapely
from shapely.geometry.base import BaseGeometry

from layers.soil_map import cells
from layers.soil_map.survey import LAYER, RawSurvey
from suitability.columns import MAP_UNITS
from suitability.contract import names
from suitability.errors import CrsError, InputError
from suitability.notes import Note


def map_unit_polygons(raw: RawSurvey) -> tuple[gpd.GeoDataFrame, list[Note]]:
    """Polygons with mukey, musym, muname, one row each, in the CRS of the file.

    Symbols and names come from the table mapunit, else from columns of the map itself.

    Raises
    ------
    CrsError : the map does not say where on earth it lies.
    InputError : the map has no mukey column, or no polygon with a mukey.
    """
    where = raw.table_files["mupolygon"]
    found = raw.polygons
    if found.crs is None:
        raise CrsError(
            f"{where}: the soil map has no coordinate reference system. Expected one stated in the "
            "file or in a .prj beside it. Add the .prj that came with the survey."
        )
    if "mukey" not in found:
        columns = ", ".join(str(name) for name in found.columns if name != found.geometry.name)
        tables = ", ".join(sorted(raw.tables)) or "none"
        raise InputError(
            f"{where}: the soil map has no column mukey, the map unit key that ties it to the "
            f"tables. Columns found: {columns}. Tables found: {tables}. Give the map polygons as "
            "the survey delivers them."
        )
    geometry, notes = _polygons(found.geometry.force_2d())
    unnamed = cells.keys(found, "mukey").isna()
    lost = unnamed & geometry.notna()
    if lost.any():
        said = f"{int(lost.sum())} polygons of the soil map have no mukey: left out, as not mapped."
        notes.append(Note(LAYER, "warning", said))
    kept = found[geometry.notna() & ~unnamed]
    if not len(kept):
        raise InputError(
            f"{where}: the soil map holds no polygon with a mukey. Expected the outlines of the "
            "map units. Give the map polygons as the survey delivers them."
        )
    units = pd.DataFrame({"mukey": cells.keys(kept, "mukey")})
    for column in ("musym", "muname"):
        units[column] = _named(raw, kept, column)
    table = gpd.GeoDataFrame(units, geometry=geometry[kept.index].array, crs=found.crs)
    return table[[*names(MAP_UNITS), "geometry"]].reset_index(drop=True), notes


def _named(raw: RawSurvey, polygons: gpd.GeoDataFrame, column: str) -> pd.Series:
    own = cells.keys(polygons, column)
    table = raw.tables.get("mapunit")
    if table is None:
        return own
    told = pd.Series(cells.keys(table, column).array, index=cells.keys(table, "mukey"))
    told = told[told.index.notna() & ~told.index.duplicated()]
    by_key = cells.keys(polygons, "mukey").map(told)
    return by_key.where(by_key.notna(), own).astype(object).where(lambda s: s.notna(), None)


def _polygons(found: gpd.GeoSeries) -> tuple[gpd.GeoSeries, list[Note]]:
    """Valid polygons; None where a row holds none."""
    notes = []
    bad = found.notna() & ~found.is_valid
    whole = found.copy()
    whole[bad] = found[bad].make_valid()
    parts = whole.map(_polygonal, na_action="ignore")
    result = gpd.GeoSeries([part or None for part in parts], index=found.index, crs=found.crs)
    if (bad & result.notna()).any():
        said = f"{int(bad.sum())} polygons of the soil map crossed themselves and were repaired."
        notes.append(Note(LAYER, "warning", said))
    gone = int(result.isna().sum())
    if gone:
        said = f"{gone} rows of the soil map hold no area: left out."
        notes.append(Note(LAYER, "warning", said))
    return result, notes


def _polygonal(shape: BaseGeometry) -> BaseGeometry | None:
    if shape.geom_type in ("Polygon", "MultiPolygon"):
        return None if shape.is_empty else shape
    parts = [p for p in shapely.get_parts(shape) if p.geom_type in ("Polygon", "MultiPolygon")]
    return shapely.union_all(parts) if parts else None
