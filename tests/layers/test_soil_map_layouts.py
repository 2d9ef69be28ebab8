"""The same survey reads the same from each layout that people have surveys in."""

import shutil
from pathlib import Path

import geopandas as gpd
import pandas as pd
import pytest
import shapely
from pandas.testing import assert_frame_equal
from real_data import real
from soil_survey_files import polygons, tables, write_csv, write_database, write_export

from layers.soil_map.reader import LAYOUTS, read_soil_survey
from layers.soil_map.survey import SoilSurvey


def _same(one: SoilSurvey, other: SoilSurvey) -> None:
    assert_frame_equal(one.components, other.components)
    assert_frame_equal(one.horizons, other.horizons)
    assert_frame_equal(one.months, other.months)
    names = ["mukey", "musym", "muname"]
    assert_frame_equal(pd.DataFrame(one.map_units[names]), pd.DataFrame(other.map_units[names]))
    assert one.map_units.crs == other.map_units.crs
    # A geodatabase keeps degrees to the ninth decimal.
    shapes = one.map_units.geometry.array, other.map_units.geometry.array
    assert (shapely.hausdorff_distance(*shapes) < 1e-8).all()
    assert [(n.level, n.text) for n in one.notes] == [(n.level, n.text) for n in other.notes]


def _typed_export(folder: Path) -> dict[str, pd.DataFrame]:
    """The tables of a real export as pandas types them: keys as whole numbers, gaps as decimals."""
    listing = pd.read_csv(folder / "mstabcol.txt", sep="|", header=None, usecols=[0, 1, 2])
    files = pd.read_csv(folder / "mstab.txt", sep="|", header=None, usecols=[0, 4])
    result = {}
    for table in ("mapunit", "component", "chorizon", "comonth", "cosoilmoist", "corestrictions"):
        columns = listing[listing[0] == table].sort_values(1)[2].tolist()
        file = files.loc[files[0] == table, 4].item()
        result[table] = pd.read_csv(
            folder / f"{file}.txt",
            sep="|",
            header=None,
            names=columns,
            keep_default_na=False,
            na_values=[""],
        )
    return result


def test_layouts_of_one_survey_give_equal_tables(tmp_path):
    export = read_soil_survey(write_export(tmp_path / "zz001", polygons(), tables()))
    package = read_soil_survey(write_database(tmp_path / "zz001.gpkg", polygons(), tables()))
    listed = read_soil_survey(write_csv(tmp_path / "csv", polygons(), tables()))
    _same(export, package)
    _same(export, listed)
    assert [s.layout for s in (export, package, listed)] == [layout.name for layout in LAYOUTS]
    assert len(export.components) == 3
    assert len(export.horizons) == 4


@pytest.mark.parametrize("name", ["survey.gpkg", "survey.gdb"])
def test_real_export_reads_the_same_from_a_database(tmp_path, name):
    source = real("soil_survey_export")
    export = read_soil_survey(source)
    shapes = gpd.read_file(source / "spatial" / "soilmu_a_aoi.shp")
    shapes["MUKEY"] = shapes["MUKEY"].astype(int)
    typed = _typed_export(source / "tabular")
    assert typed["component"]["mukey"].dtype == "int64"
    _same(export, read_soil_survey(write_database(tmp_path / name, shapes, typed)))


def test_real_export_reads_the_same_from_csv_tables(tmp_path):
    source = real("soil_survey_export")
    shapes = gpd.read_file(source / "spatial" / "soilmu_a_aoi.shp")
    folder = write_csv(tmp_path / "csv", shapes, _typed_export(source / "tabular"), "map.geojson")
    _same(read_soil_survey(source), read_soil_survey(folder))


def test_keys_are_the_same_from_whole_numbers_decimals_and_text(tmp_path):
    shapes = polygons().astype({"MUKEY": "float64"})
    content = tables()
    content["component"] = content["component"].astype({"mukey": "int64", "cokey": "float64"})
    content["mapunit"] = content["mapunit"].astype({"mukey": "float64"})
    survey = read_soil_survey(write_database(tmp_path / "a.gpkg", shapes, content))
    assert survey.map_units["mukey"].tolist() == ["1", "2"]
    assert survey.map_units["muname"].tolist() == ["Sand, 0 to 2 percent", "Hollow"]
    assert survey.components["cokey"].tolist() == ["11", "12", "21"]
    assert len(survey.horizons) == 4


def test_order_of_rows_and_case_of_columns_change_nothing(tmp_path):
    plain = read_soil_survey(write_csv(tmp_path / "csv", polygons(), tables()))
    shuffled = {
        name: table.iloc[::-1].rename(columns=str.upper) for name, table in tables().items()
    }
    other = read_soil_survey(write_csv(tmp_path / "other" / "csv", polygons(), shuffled))
    _same(plain, other)


def test_export_is_found_in_a_zip_and_one_folder_deep(tmp_path):
    root = write_export(tmp_path / "whole" / "zz001", polygons(), tables())
    plain = read_soil_survey(root)
    archive = Path(shutil.make_archive(str(tmp_path / "zz001"), "zip", tmp_path / "whole"))
    zipped = read_soil_survey(archive)
    _same(plain, zipped)
    _same(plain, read_soil_survey(tmp_path / "whole"))
    assert zipped.files == (archive,)
    names = [file.name for file in plain.files]
    assert names[:3] == ["soilmu_a_zz001.shp", "mapunit.txt", "comp.txt"]


def test_export_is_found_from_its_map_or_its_inner_folders(tmp_path):
    root = write_export(tmp_path / "zz001", polygons(), tables())
    plain = read_soil_survey(root)
    for path in (root / "spatial", root / "tabular", root / "spatial" / "soilmu_a_zz001.shp"):
        assert_frame_equal(plain.components, read_soil_survey(path).components)


def test_tables_without_rows_in_an_export_are_empty_files(tmp_path):
    content = tables()
    for name in ("comonth", "cosoilmoist", "corestrictions"):
        content[name] = content[name].iloc[:0]
    root = write_export(tmp_path / "zz001", polygons(), content)
    assert not (root / "tabular" / "crstrcts.txt").stat().st_size
    survey = read_soil_survey(root)
    assert not len(survey.months)
    assert survey.components["restriction_kind"].isna().all()


@pytest.mark.parametrize("file", ["soils.shp", "soils.gpkg", "soils.geojson"])
def test_a_map_given_directly_finds_the_csv_tables_beside_it(tmp_path, file):
    shapes = polygons().to_crs(4326)
    folder = write_csv(tmp_path / "csv", shapes, tables(), file)
    survey = read_soil_survey(folder / file)
    assert survey.layout == "polygons and CSV tables"
    assert survey.components["compname"].tolist() == ["Dune", "Bog", "Bog"]
    assert survey.map_units.crs == shapes.crs


def test_other_vector_files_in_the_folder_are_no_obstacle(tmp_path):
    folder = write_csv(tmp_path / "csv", polygons(), tables())
    polygons().drop(columns="MUKEY").to_file(folder / "farm.gpkg")
    assert len(read_soil_survey(folder).map_units) == 2


def test_a_database_in_a_folder_is_found(tmp_path):
    write_database(tmp_path / "survey.gpkg", polygons(), tables())
    (tmp_path / "readme.txt").write_text("a survey")
    assert read_soil_survey(tmp_path).layout == "survey database"


def test_layers_of_a_database_may_have_prefix_plural_and_capitals(tmp_path):
    content = {f"{name}s".replace("ss", "s"): table for name, table in tables().items()}
    path = tmp_path / "state.gpkg"
    write_database(path, polygons(), content, layer="SSURGO_MUPOLYGON", prefix="SSURGO_")
    plain = read_soil_survey(write_database(tmp_path / "state2.gpkg", polygons(), tables()))
    assert_frame_equal(read_soil_survey(path).horizons, plain.horizons)


def test_any_polygon_layer_with_mukey_is_the_map(tmp_path):
    path = write_database(tmp_path / "a.gpkg", polygons(), tables(), layer="soils of the county")
    assert read_soil_survey(path).map_units["musym"].tolist() == ["Sa", "Ho"]


def test_map_units_may_carry_their_names_themselves(tmp_path):
    shapes = polygons().assign(muname=["Sand", "Hollow"])
    content = {name: table for name, table in tables().items() if name != "mapunit"}
    path = write_database(tmp_path / "a.gpkg", shapes, content, layer="mapunits")
    survey = read_soil_survey(path)
    assert survey.map_units["muname"].tolist() == ["Sand", "Hollow"]


def test_kansas_survey_reads_from_polygons_and_csv_tables():
    survey = read_soil_survey(real("soil_survey_with_dem"))
    assert survey.layout == "polygons and CSV tables"
    assert survey.map_units.crs.to_epsg() == 32614
    assert sorted(set(survey.map_units["musym"])) == ["3561", "3801", "3830"]
    assert len(survey.map_units) == 6
    assert survey.components.groupby("mukey")["comppct_pct"].sum().tolist() == [100, 100, 100]
    assert len(survey.components) == 19
    assert len(survey.horizons) == 96
    assert not len(survey.months)
    # Component 24769611, its horizon Cr begins at 89 cm; the survey came without corestrictions.
    bedrock = survey.components[survey.components["restriction_kind"].notna()]
    assert bedrock["compname"].tolist() == ["Lancaster"]
    assert bedrock["restriction_kind"].tolist() == ["Paralithic bedrock"]
    assert bedrock["restriction_depth_cm"].tolist() == [89.0]
    assert [note.text for note in survey.notes] == [
        "The survey soil_survey_with_dem does not have table comonth. "
        "Not known without it: flooding and ponding by month.",
        "The survey soil_survey_with_dem does not have table cosoilmoist. "
        "Not known without it: the water table by month.",
        "The survey soil_survey_with_dem does not have table corestrictions. "
        "Not known without it: layers that stop roots or water.",
    ]
