"""The gate for user files: what it opens, and the words with which it refuses."""

import sqlite3
import zipfile
from pathlib import Path

import geopandas as gpd
import numpy as np
import pyogrio
import pytest
import rasterio
from affine import Affine
from pyproj import network
from real_data import real
from shapely.geometry import LineString, Point, box

from layers import files
from layers.files import (
    open_layer_table,
    open_raster,
    open_vector,
    read_table,
    vector_layers,
)
from suitability.errors import InputError

BOXES = gpd.GeoDataFrame(
    {"name": ["Back 40", "Größe"]},
    geometry=[box(-83, 30, -82.99, 30.01), box(-82.9, 30, -82.89, 30.01)],
    crs=4326,
)
DRIVERS = {
    "a.shp": "ESRI Shapefile",
    "a.shz": "ESRI Shapefile",
    "a.gpkg": "GPKG",
    "a.geojson": "GeoJSON",
    "a.geojsonl": "GeoJSONSeq",
    "a.fgb": "FlatGeobuf",
    "a.kml": "LIBKML",
    "a.kmz": "LIBKML",
    "a.gml": "GML",
    "a.gdb": "OpenFileGDB",
}


def written(folder: Path, name: str, frame: gpd.GeoDataFrame = BOXES) -> Path:
    path = folder / name
    frame.to_file(path, driver=DRIVERS[name], engine="pyogrio")
    return path


def refusal(call, *arguments, **options) -> str:
    with pytest.raises(InputError) as caught:
        call(*arguments, **options)
    return str(caught.value)


@pytest.mark.parametrize("name", DRIVERS)
def test_every_common_kind_gives_the_same_outlines(tmp_path, name):
    frame = open_vector(written(tmp_path, name))
    assert np.allclose(sorted(frame.geometry.bounds.minx), [-83, -82.9])
    assert frame.crs.to_epsg() == 4326
    column = next(c for c in frame.columns if c.lower() == "name")
    assert sorted(frame[column]) == ["Back 40", "Größe"]


def test_reading_leaves_no_file_behind(tmp_path):
    path = written(tmp_path, "a.gml")
    before = sorted(tmp_path.iterdir())
    open_vector(path)
    assert sorted(tmp_path.iterdir()) == before


def test_parquet_is_read_where_its_extra_is_installed(tmp_path):
    pytest.importorskip("pyarrow", reason="the extra [parquet] is not installed")
    BOXES.to_parquet(tmp_path / "a.parquet")
    assert len(open_vector(tmp_path / "a.parquet")) == 2


def test_a_zipped_shapefile_is_read(tmp_path):
    folder = tmp_path / "b"
    folder.mkdir()
    shapefile = written(folder, "a.shp")
    with zipfile.ZipFile(tmp_path / "b.zip", "w") as archive:
        for part in shapefile.parent.iterdir():
            archive.write(part, f"fields/{part.name}")
    assert len(open_vector(tmp_path / "b.zip")) == 2
    assert vector_layers(tmp_path / "b.zip") == ["a"]


def test_shapefile_text_is_utf8_where_it_can_only_be_that(tmp_path):
    path = written(tmp_path, "a.shp")
    path.with_suffix(".cpg").unlink()
    assert open_vector(path)["name"].tolist() == ["Back 40", "Größe"]


def test_names_that_leave_the_machine_are_refused(tmp_path):
    assert "begin with /vsi" in refusal(open_vector, "/vsicurl/http://example.org/a.shp")
    for name in ("https://example.org/a.geojson", tmp_path / "postgres:/x", "PG://dbname=farm"):
        message = refusal(open_vector, name)
        assert "web or database address" in message and "Download the file" in message
    assert "empty" in refusal(open_vector, " ")


def test_a_missing_file_names_the_nearest_and_what_there_is(tmp_path):
    written(tmp_path, "a.gpkg").rename(tmp_path / "fields.gpkg")
    message = refusal(open_vector, tmp_path / "feilds.gpkg")
    assert f"{tmp_path / 'feilds.gpkg'} does not exist" in message
    assert "nearest name there is 'fields.gpkg'" in message
    assert f"The folder {tmp_path} holds: fields.gpkg." in message
    assert "does not exist either" in refusal(open_vector, tmp_path / "no" / "a.shp")


def test_empty_file_folder_and_side_file_are_refused(tmp_path):
    (tmp_path / "e.geojson").touch()
    assert "e.geojson is empty (0 bytes)" in refusal(open_vector, tmp_path / "e.geojson")
    assert "is a folder, and no file geodatabase" in refusal(open_vector, tmp_path)
    assert "is a folder; expected a file" in refusal(open_raster(tmp_path).__enter__)
    path = written(tmp_path, "a.shp")
    assert "Give the path of the .shp" in refusal(open_vector, path.with_suffix(".dbf"))
    path.with_suffix(".shx").unlink()
    assert "a.shx is not beside it" in refusal(open_vector, path)


@pytest.mark.parametrize(
    "text",
    [
        "<OGRVRTDataSource><OGRVRTLayer name='a'><SrcDataSource>a.shp</SrcDataSource>"
        "</OGRVRTLayer></OGRVRTDataSource>",
        '{"type": "gdal_streamed_alg", "command_line": "gdal vector read a.shp"}',
        "<OGRWFSDataSource><URL>http://example.org</URL></OGRWFSDataSource>",
    ],
)
@pytest.mark.parametrize("name", ["v.vrt", "v.geojson", "v.kml"])
def test_files_that_only_point_elsewhere_are_refused_whatever_they_are_called(tmp_path, text, name):
    path = tmp_path / name
    path.write_text(text)
    assert "only points to other files or to the web" in refusal(open_vector, path)


def test_another_content_than_the_kinds_read_is_refused(tmp_path):
    path = tmp_path / "a.shp"
    path.write_bytes(b"%PDF-1.7 not a map")
    message = refusal(open_vector, path)
    assert "a.shp is no vector file that is read here" in message and "GeoPackage" in message
    path = tmp_path / "a.kml"
    path.write_text("<html><body/></html>")
    assert "<html> as its root" in refusal(open_vector, path)
    path = tmp_path / "a.json"
    path.write_text('{"name": "x"}')
    assert "is no vector file" in refusal(open_vector, path)


def test_a_plain_database_in_the_dress_of_a_geopackage_is_refused(tmp_path):
    path = tmp_path / "a.gpkg"
    base = sqlite3.connect(path)
    base.execute("CREATE TABLE t (x INTEGER)")
    base.close()
    assert "a.gpkg" in refusal(open_vector, path)


def test_xml_with_entities_of_its_own_is_refused(tmp_path):
    path = tmp_path / "a.kml"
    path.write_text('<?xml version="1.0"?><!DOCTYPE k [<!ENTITY x "y">]><kml>&x;</kml>')
    assert "declares entities of its own" in refusal(open_vector, path)


@pytest.mark.parametrize(
    "name", ["a.shp", "a.shz", "a.gpkg", "a.geojson", "a.geojsonl", "a.fgb", "a.kml", "a.gml"]
)
@pytest.mark.parametrize("kept", [0.3, 0.6, 0.9])
def test_a_cut_file_is_an_error_and_never_fewer_fields(tmp_path, name, kept):
    path = written(tmp_path, name)
    data = path.read_bytes()
    path.write_bytes(data[: int(len(data) * kept)])
    try:
        frame = open_vector(path)
    except InputError as error:
        assert name in str(error) and "again" in str(error)
    else:
        assert len(frame) == 2 and frame.geometry.notna().all()


def test_the_one_polygon_layer_is_taken_and_of_several_one_must_be_named(tmp_path):
    path = written(tmp_path, "a.gpkg")
    points = gpd.GeoDataFrame(geometry=[Point(0, 0)], crs=4326)
    points.to_file(path, layer="gates", driver="GPKG")
    gpd.GeoDataFrame(geometry=[LineString([(0, 0), (1, 1)])], crs=4326).to_file(
        path, layer="roads", driver="GPKG"
    )
    assert vector_layers(path) == ["a", "gates", "roads"]
    assert len(open_vector(path)) == 2
    BOXES.to_file(path, layer="rented", driver="GPKG")
    message = refusal(open_vector, path)
    assert "several layers that may be meant: a, rented" in message and "`layer`" in message
    assert len(open_vector(path, "rented")) == 2
    message = refusal(open_vector, path, "owned")
    assert "has no layer 'owned'" in message
    assert "Its layers are: a, gates, roads, rented" in message


def test_tables_without_shapes_are_read_as_tables_only(tmp_path):
    path = written(tmp_path, "a.gpkg")
    pyogrio.write_dataframe(BOXES[["name"]], path, layer="component", driver="GPKG", append=True)
    assert open_layer_table(path, "component")["name"].tolist() == ["Back 40", "Größe"]
    assert "table without shapes" in refusal(open_vector, path, "component")
    assert len(open_vector(path)) == 2


def test_signs_that_the_reader_would_misread_are_refused(tmp_path):
    path = written(tmp_path, "a.geojson").rename(tmp_path / "b!a.geojson")
    assert "Rename it without them" in refusal(open_vector, path)


def raster(path: Path) -> Path:
    with rasterio.open(
        path, "w", driver="GTiff", width=64, height=64, count=1, dtype="float32", crs="EPSG:32617",
        transform=Affine(3, 0, 300000, 0, -3, 3300000), compress="deflate",
    ) as out:  # fmt: skip
        out.write(np.random.default_rng(1).random((1, 64, 64)).astype("float32"))
    return path


# affine 3 will deprecate the product that rasterio 1.4 uses.
@pytest.mark.filterwarnings("ignore:Use `@` matmul:PendingDeprecationWarning")
def test_a_raster_is_read_and_a_cut_or_virtual_one_is_an_error(tmp_path, capfd):
    path = raster(tmp_path / "dem.tif")
    with open_raster(path) as dem:
        assert dem.read(1).shape == (64, 64)
    assert dem.closed
    path.write_bytes(path.read_bytes()[:3000])

    def read() -> None:
        with open_raster(path) as cut:
            cut.read(1)

    assert "dem.tif cannot be read as a raster" in refusal(read)
    virtual = tmp_path / "v.tif"
    virtual.write_text(f'<VRTDataset rasterXSize="1" rasterYSize="1">{path}</VRTDataset>')
    assert "Expected a whole GeoTIFF" in refusal(open_raster(virtual).__enter__)
    picture = tmp_path / "p.tif"
    picture.write_bytes(b"\x89PNG\r\n\x1a\n" + bytes(100))
    assert "cannot be read as a raster" in refusal(open_raster(picture).__enter__)
    assert capfd.readouterr() == ("", "")


def test_the_network_of_the_projection_library_is_off():
    assert files.network is network and not network.is_network_enabled()


def test_real_survey_and_geodatabase_open(tmp_path):
    survey = real("soil_survey_export")
    assert len(open_vector(survey / "spatial" / "soilmu_a_aoi.shp")) == 9
    base = real("fields", "NationalCSB_2017-2024_rev23", "CSB1724.gdb")
    assert vector_layers(base) == ["national1724"]
    assert len(open_vector(base)) == 100
    names, _ = read_table(survey / "tabular" / "mstab.txt", columns=list("abcde"))
    assert {"comp", "chorizon", "mapunit"} <= set(names.to_numpy().ravel())
