"""Make the sample farm: fields, soil survey, elevation, weather and freeze normals.

Everything is invented: the farm, its owners, its place, its soils, its ground and its weather.
Nothing here was surveyed or measured, and no such farm lies at these coordinates. It is drawn to
be like a farm on the old sandy sea-floor plains of the warm South: a creek with wooded branches,
sandy rises, loamy flats with closed hollows, steep clay along the creek, a dammed pond and a
road that crosses a branch on a bank.

Run it to make all files anew, beside this script or in another folder::

    python sample_fields/make_sample_fields.py [FOLDER]

The same seed gives the same tables and grids. ``farm.toml`` is written by hand and stays.

Files
-----
fields.geojson       12 fields of three owners, degrees (EPSG:4326), with what the growers know
soil_survey.gpkg     soil map (``mupolygon``, EPSG:5070) and tables in a soil survey's columns
elevation.tif        heights in metres, 3 m cells, UTM; NaN outside the flown area
culverts.geojson     the pipe under the road, which the heights do not show
weather.csv          30 years of one station, day by day: rain in mm, temperature in degrees C
freeze_normals.csv   freeze dates by probability, worked out from that weather
"""

import csv
import json
import sys
from pathlib import Path

import _fields
import _freezes
import _survey
import _tables
import _terrain
import _weather
import geopandas as gpd
import numpy as np
import pandas as pd
import pyogrio
import rasterio
import shapely
from rasterio.transform import from_origin
from shapely import LineString

SEED = 20_260_401
WEATHER = 14  # a run of 30 years with two long droughts and one season without hard frost
M2_PER_ACRE = 4_046.856_422_4


def make_all(folder: Path) -> None:
    """Write every file of the sample farm into ``folder``, over what lies there."""
    folder.mkdir(parents=True, exist_ok=True)
    ground = _terrain.make_ground(np.random.default_rng([SEED, 1]))
    write_elevation(folder / "elevation.tif", ground)
    write_culvert(folder / "culverts.geojson", ground)
    write_fields(folder / "fields.geojson")
    write_survey(folder / "soil_survey.gpkg", ground)
    weather = _weather.make_weather(np.random.default_rng([SEED, WEATHER]))
    weather.to_csv(folder / "weather.csv", index=False, lineterminator="\n")
    _freezes.make_normals(weather).to_csv(
        folder / "freeze_normals.csv", index=False, lineterminator="\n", quoting=csv.QUOTE_ALL
    )


def write_elevation(path: Path, ground: _terrain.Ground) -> None:
    """Heights as float32 in steps of 1/128 m, which packs well."""
    profile = {
        "driver": "GTiff", "width": _terrain.N_COLS, "height": _terrain.N_ROWS, "count": 1,
        "dtype": "float32", "nodata": float("nan"), "crs": _terrain.CRS,
        "transform": from_origin(
            _terrain.ORIGIN_E_M, _terrain.ORIGIN_N_M + _terrain.HEIGHT_M,
            _terrain.CELL_M, _terrain.CELL_M,
        ),
        "compress": "deflate", "zlevel": 9, "predictor": 2, "tiled": True,
        "blockxsize": 256, "blockysize": 256,
    }  # fmt: skip
    with rasterio.open(path, "w", **profile) as out:
        out.write(ground.height_m.astype("float32"), 1)
        out.units = ("metre",)
        out.descriptions = ("bare-earth elevation",)
        out.update_tags(VERTICAL_UNIT="metre", NOTE="invented ground, see make_sample_fields.py")


def write_culvert(path: Path, ground: _terrain.Ground) -> None:
    """The pipe under the road bank, a line from its upper to its lower end."""
    line = _terrain.on_map(LineString(ground.culvert))
    pipe = gpd.GeoDataFrame({"kind": ["culvert"]}, geometry=[line], crs=_terrain.CRS)
    _write_geojson(pipe, path)


def write_fields(path: Path) -> None:
    """The fields in degrees; what nobody knows is null."""
    _write_geojson(_fields.make_fields(), path)


def _write_geojson(frame: gpd.GeoDataFrame, path: Path) -> None:
    """One feature a line; RFC 7946: degrees, outer rings against the clock, 7 decimals."""
    degrees = shapely.set_precision(frame.to_crs("EPSG:4326").geometry.array, 1e-7)
    features = []
    rows = frame.drop(columns="geometry").to_dict("records")
    for row, shape in zip(rows, degrees, strict=True):
        ring_order = shapely.orient_polygons(shape)
        geometry = shapely.geometry.mapping(shapely.transform(ring_order, lambda xy: xy.round(7)))
        feature = {"type": "Feature", "properties": row, "geometry": geometry}
        features.append(json.dumps(feature, allow_nan=False))
    lines = ",\n".join(features)
    text = f'{{"type": "FeatureCollection", "name": "{path.stem}", "features": [\n{lines}\n]}}\n'
    path.write_text(text, "utf-8")


def write_survey(path: Path, ground: _terrain.Ground) -> None:
    """The soil map and the survey's tables, one layer each."""
    path.unlink(missing_ok=True)
    soil_map = _survey.make_soil_map(ground, np.random.default_rng([SEED, 2]))
    area_m2 = soil_map.area.groupby(soil_map["mukey"]).sum()
    acres = {str(mukey): round(area / M2_PER_ACRE) for mukey, area in area_m2.items()}
    tables = _tables.make_tables(acres, np.random.default_rng([SEED, 3]))
    pyogrio.set_gdal_config_options({"OGR_CURRENT_DATE": "2026-01-01T00:00:00.000Z"})
    try:
        pyogrio.write_dataframe(soil_map, path, layer="mupolygon", driver="GPKG")
        for name, table in tables.items():
            pyogrio.write_dataframe(pd.DataFrame(table), path, layer=name, driver="GPKG")
    finally:
        pyogrio.set_gdal_config_options({"OGR_CURRENT_DATE": None})


if __name__ == "__main__":
    make_all(Path(sys.argv[1]) if len(sys.argv) > 1 else Path(__file__).parent)
