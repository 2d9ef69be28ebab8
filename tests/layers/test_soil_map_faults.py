"""A soil survey that cannot be used ends in one message that says what to mend."""

import re
import shutil
from pathlib import Path

import geopandas as gpd
import pandas as pd
import pytest
from shapely.geometry import LineString, Polygon, box
from soil_survey_files import polygons, tables, write_csv, write_database, write_export

from layers.soil_map.reader import read_soil_survey
from suitability.errors import ColumnError, CrsError, InputError


def fault(path: Path, kind: type[Exception] = InputError) -> str:
    """The message, on one line."""
    with pytest.raises(kind) as caught:
        read_soil_survey(path)
    assert type(caught.value) is kind
    return " ".join(str(caught.value).split())


def without(*names: str) -> dict[str, pd.DataFrame]:
    return {name: table for name, table in tables().items() if name not in names}


def test_no_such_file(tmp_path):
    assert "soils does not exist" in fault(tmp_path / "soils")


def test_folder_without_a_survey_says_what_is_read(tmp_path):
    (tmp_path / "notes.txt").write_text("hello")
    message = fault(tmp_path)
    assert "holds no soil survey that is read here; found notes.txt. Expected one of" in message
    assert "spatial/soilmu_a_*.shp and tabular/*.txt" in message
    assert "a GeoPackage or file geodatabase" in message
    assert "component.csv" in message


def test_empty_folder(tmp_path):
    assert "found nothing" in fault(tmp_path)


def test_polygons_without_any_table(tmp_path):
    path = tmp_path / "soils.gpkg"
    polygons().to_file(path, layer="mupolygon")
    assert "soils.gpkg holds no soil survey that is read here; layers found: mupolygon" in fault(
        path
    )


def test_file_of_another_kind(tmp_path):
    path = tmp_path / "soils.docx"
    path.write_text("x")
    assert "a single file, and no survey tables beside it" in fault(path)


def test_several_surveys_in_one_folder(tmp_path):
    for name in ("zz001", "zz002"):
        write_export(tmp_path / name, polygons(), tables())
    message = fault(tmp_path)
    assert "holds several soil surveys: zz001, zz002. Expected one. Give the path" in message


def test_several_databases_in_one_folder(tmp_path):
    for name in ("a.gpkg", "b.gpkg"):
        write_database(tmp_path / name, polygons(), tables())
    assert "holds several soil surveys: a.gpkg, b.gpkg. Expected one." in fault(tmp_path)


@pytest.mark.parametrize("layout", ["export", "database", "csv"])
def test_missing_component_table(tmp_path, layout):
    content = without("component")
    if layout == "export":
        path = write_export(tmp_path / "zz001", polygons(), content)
    elif layout == "database":
        path = write_database(tmp_path / "zz001.gpkg", polygons(), content)
    else:
        path = write_csv(tmp_path / "zz001", polygons(), content)
    message = fault(path)
    assert f"The soil survey {path.name} cannot be read" in message
    assert (
        "table component is missing (which soils a map unit holds); tables found: chorizon, "
        "comonth, corestrictions, cosoilmoist, mapunit" in message
    )
    assert "Give the survey's folder, zip or database with its tables" in message


def test_empty_component_table(tmp_path):
    content = {**tables(), "component": tables()["component"].iloc[:0]}
    message = fault(write_csv(tmp_path / "s", polygons(), content))
    assert "component.csv: table component is empty" in message


def test_columns_that_tie_tables_together_are_listed_all_at_once(tmp_path):
    content = tables()
    content["component"] = content["component"].drop(columns=["cokey", "comppct_r"])
    content["chorizon"] = content["chorizon"][["chkey", "hzdept_r", "hzdepb_r"]]
    message = fault(write_csv(tmp_path / "s", polygons(), content))
    assert (
        "component.csv: table component lacks the columns cokey, comppct_r; found: mukey" in message
    )
    assert "chorizon.csv: table chorizon lacks the columns cokey; found: chkey, hzdept_r" in message


def test_tables_and_columns_one_can_do_without_are_noted(tmp_path):
    content = without("chorizon", "comonth", "cosoilmoist", "corestrictions", "mapunit")
    content["component"] = content["component"].drop(columns=["drainagecl", "hydgrp"])
    survey = read_soil_survey(write_csv(tmp_path / "s", polygons(), content))
    assert survey.components["drainage_class"].isna().all()
    assert not len(survey.horizons)
    said = [note.text for note in survey.notes]
    assert [note.level for note in survey.notes] == ["caution"] * 6
    assert (
        said[0]
        == "The survey s does not have table mapunit. Not known without it: names of map units."
    )
    assert said[1] == (
        "The survey s does not have in table component the columns drainagecl, hydgrp. What they "
        "tell is not known."
    )
    assert said[2].endswith(
        "Not known without it: texture, density, pH and water of the soil's layers."
    )


@pytest.mark.parametrize("suffix", [".gpkg", ".gdb"])
def test_database_without_mukey_names_layers_and_columns(tmp_path, suffix):
    shapes = polygons().rename(columns={"MUKEY": "KEY"})
    message = fault(write_database(tmp_path / f"a{suffix}", shapes, tables(), layer="soils"))
    assert "holds no layer of polygons with a column mukey" in message
    assert "soils (key, musym)" in message
    assert "component (cokey, mukey, compname" in message


def test_map_of_a_database_without_mukey(tmp_path):
    shapes = polygons().rename(columns={"MUKEY": "KEY"})
    message = fault(write_database(tmp_path / "a.gpkg", shapes, tables()))
    assert "a.gpkg, layer mupolygon: the soil map has no column mukey" in message
    assert "Columns found: key, musym. Tables found: chorizon, comonth, component" in message


def test_export_without_mukey(tmp_path):
    shapes = polygons().rename(columns={"MUKEY": "KEY"})
    message = fault(write_export(tmp_path / "zz001", shapes, tables()))
    assert "soilmu_a_zz001.shp: the soil map has no column mukey" in message
    assert "Columns found: key, musym" in message


def test_folder_of_csv_tables_without_mukey_names_files_and_columns(tmp_path):
    folder = write_csv(tmp_path / "s", polygons().rename(columns={"MUKEY": "KEY"}), tables())
    message = fault(folder)
    assert "no file of polygons has a column mukey" in message
    assert "Files and columns found: soils.shp (key, musym). Tables found: chorizon.csv" in message


def test_two_maps_in_a_folder_of_csv_tables(tmp_path):
    folder = write_csv(tmp_path / "s", polygons(), tables())
    polygons().to_file(folder / "again.gpkg")
    message = fault(folder)
    assert "several files of polygons with a mukey: again.gpkg, soils.shp. Expected one" in message
    assert len(read_soil_survey(folder / "soils.shp").map_units) == 2


def test_two_maps_in_a_database(tmp_path):
    path = write_database(tmp_path / "a.gpkg", polygons(), tables(), layer="north")
    polygons().to_file(path, layer="south")
    assert "several layers of polygons with a mukey: north, south" in fault(path)


def test_a_table_found_twice(tmp_path):
    folder = write_csv(tmp_path / "s", polygons(), without("component"))
    for name in ("al_component", "ga_component"):
        tables()["component"].to_csv(folder / f"{name}.csv", index=False)
    message = fault(folder)
    assert "holds tables twice: - component could be any of al_component, ga_component" in message
    assert "Keep one of each" in message
    tables()["component"].to_csv(folder / "component.csv", index=False)
    assert len(read_soil_survey(folder).components) == 3  # the plain name settles it


def test_map_and_tables_of_two_surveys(tmp_path):
    shapes = polygons().assign(MUKEY=["7", "8"])
    message = fault(write_csv(tmp_path / "s", shapes, tables()))
    assert "none of the 2 map units on the soil map is in the table component" in message
    assert "On the map: mukey 7, 8; in the table: mukey 1, 2" in message
    assert "Give the two that belong together" in message


def test_map_without_crs(tmp_path):
    shapes = polygons().set_crs(None, allow_override=True)
    folder = tmp_path / "s"
    with pytest.warns(UserWarning, match="'crs' was not provided"):
        write_csv(folder, shapes, tables())
    message = fault(folder, CrsError)
    assert "soils.shp: the soil map has no coordinate reference system" in message
    assert "Add the .prj" in message


@pytest.mark.parametrize("name", ["mstab.txt", "mstabcol.txt"])
def test_export_without_the_list_of_columns(tmp_path, name):
    root = write_export(tmp_path / "zz001", polygons(), tables())
    (root / "tabular" / name).unlink()
    message = fault(root)
    assert f"{name} is missing. It names the files and columns" in message
    assert "Copy the whole folder tabular" in message


def test_export_without_its_map(tmp_path):
    root = write_export(tmp_path / "zz001", polygons(), tables())
    for part in (root / "spatial").iterdir():
        part.rename(part.with_name(part.name.replace("soilmu_a", "soilsa_a")))
    message = fault(root)
    assert "Expected soilmu_a_*.shp, found soilsa_a_zz001.shp" in message


def test_maps_of_one_export_in_two_reference_systems(tmp_path):
    root = write_export(tmp_path / "zz001", polygons(), tables())
    polygons().to_crs(4326).to_file(root / "spatial" / "soilmu_a_zz002.shp")
    message = fault(root, CrsError)
    assert "soilmu_a_zz002.shp is in another coordinate reference system" in message


def test_uneven_rows_of_an_export(tmp_path):
    root = write_export(tmp_path / "zz001", polygons(), tables())
    with (root / "tabular" / "comp.txt").open("a") as file:
        file.write('"22"|"2"|"Half\n')
    assert "tabular/comp.txt cannot be read as a table (unexpected end of data)" in fault(root)
    text = (root / "tabular" / "comp.txt").read_text()
    (root / "tabular" / "comp.txt").write_text(text.replace('|"Half', ""))
    message = fault(root)
    assert "tabular/comp.txt cannot be read: - row 4 has 2 values" in message
    assert "Expected 13 values between | in each row, as mstabcol.txt lists them" in message


def test_faults_in_a_zip_name_the_zip(tmp_path):
    root = write_export(tmp_path / "whole" / "zz001", polygons(), tables())
    (root / "tabular" / "mstabcol.txt").unlink()
    archive = Path(shutil.make_archive(str(tmp_path / "survey"), "zip", tmp_path / "whole"))
    message = fault(archive)
    assert "survey.zip: zz001/tabular: mstabcol.txt is missing" in message
    assert "/fields-" not in message


def test_text_where_numbers_belong(tmp_path):
    content = tables()
    content["component"] = content["component"].assign(comppct_r=["90", "ten", "85"])
    content["chorizon"] = content["chorizon"].assign(om_r=["1.5", "0,2", "x", "3"])
    message = fault(write_csv(tmp_path / "s", polygons(), content))
    assert "The soil survey s cannot be read" in message
    assert "comppct_r: 1 values are not numbers, the first is 'ten'" in message
    assert "om_r: 2 values are not numbers, the first is '0,2'" in message
    assert "Mend these values in the file" in message


def test_values_in_another_unit(tmp_path):
    content = tables()
    content["chorizon"] = content["chorizon"].assign(dbthirdbar_r=[1550, 1600, 250, 1300])
    message = fault(write_csv(tmp_path / "s", polygons(), content), ColumnError)
    assert "s: table chorizon cannot be used" in message
    assert "bulk_density_g_cm3: 4 values outside 0.02 to 2.6 g/cm3" in message
    assert "is it in another unit?" in message


def test_keys_that_stand_twice(tmp_path):
    content = tables()
    content["component"] = pd.concat([content["component"], content["component"].iloc[:1]])
    message = fault(write_csv(tmp_path / "s", polygons(), content), ColumnError)
    assert "s: table component cannot be used" in message
    assert "2 rows share a key, the first is cokey=11" in message


def test_polygons_are_repaired_or_left_out_with_a_note(tmp_path):
    bow_tie = Polygon([(0, 0), (10, 10), (10, 0), (0, 10)])
    line = LineString([(0, 0), (5, 5)])
    shapes = gpd.GeoDataFrame(
        {"mukey": ["1", "2", "1", None, "2"]},
        geometry=[bow_tie, box(20, 0, 30, 10), line, box(40, 0, 50, 10), None],
        crs="EPSG:32616",
    )
    survey = read_soil_survey(write_csv(tmp_path / "s", shapes, tables(), "soils.gpkg"))
    assert survey.map_units["mukey"].tolist() == ["1", "2"]
    assert survey.map_units.is_valid.all()
    # Two triangles of base 10 and height 5.
    assert survey.map_units.area.tolist() == pytest.approx([50, 100])
    assert [(note.level, note.text) for note in survey.notes] == [
        ("warning", "1 polygons of the soil map crossed themselves and were repaired."),
        ("warning", "2 rows of the soil map hold no area: left out."),
        ("warning", "1 polygons of the soil map have no mukey: left out, as not mapped."),
    ]


def test_heights_are_dropped(tmp_path):
    shapes = polygons()
    shapes.geometry = shapes.geometry.force_3d(12.0)
    survey = read_soil_survey(write_csv(tmp_path / "s", shapes, tables(), "soils.gpkg"))
    assert not survey.map_units.has_z.any()


def test_map_without_a_named_polygon(tmp_path):
    shapes = polygons().assign(MUKEY=None)
    message = fault(write_csv(tmp_path / "s", shapes, tables(), "soils.gpkg"))
    assert "soils.gpkg: the soil map holds no polygon with a mukey" in message


def test_text_that_is_not_utf8_is_read_and_noted(tmp_path):
    root = write_export(tmp_path / "zz001", polygons(), tables())
    file = root / "tabular" / "mapunit.txt"
    file.write_bytes(re.sub(b"Hollow", "Cañada".encode("cp1252"), file.read_bytes()))
    survey = read_soil_survey(root)
    assert survey.map_units["muname"].tolist() == ["Sand, 0 to 2 percent", "Cañada"]
    assert survey.notes[0].text.startswith("mapunit.txt is not UTF-8")


def test_a_name_that_looks_like_code_stays_text(tmp_path):
    content = tables()
    content["mapunit"].loc[0, "muname"] = "O'Brien {{ <b> | loam"
    survey = read_soil_survey(write_export(tmp_path / "zz001", polygons(), content))
    assert survey.map_units["muname"][0] == "O'Brien {{ <b> | loam"
