"""What comes of a gathering that goes well: the files, farm.toml, where from; and asking again."""

import datetime as dt
import json
from pathlib import Path

import numpy as np
import pytest
from click.testing import CliRunner, Result
from loopback_services import FAR_STATION, STATION, Loopback, plane_m

from layers.boundaries import read_fields
from layers.elevation import read_elevation
from layers.files import open_raster
from layers.frost.reader import read_frost
from layers.gather.asking import Patience
from layers.soil_map.reader import read_soil_survey
from layers.weather.reader import WeatherSource, read_weather
from maps.cli import suitability
from maps.farm_file import read_farm_file
from maps.run import _source_file as source_file

HASTY = Patience(first_pause_s=0.01, connect_s=2, silence_s=2, answer_s=5)


@pytest.fixture
def cli(loopback: Loopback, monkeypatch: pytest.MonkeyPatch):
    """The command, its services turned to the loopback."""
    monkeypatch.setattr("layers.gather.services.services", lambda: loopback.services())
    monkeypatch.setattr("layers.gather.gathering.Patience", lambda: HASTY)

    def run(*arguments: object, typed: str | None = None) -> Result:
        result = CliRunner().invoke(suitability, ["gather", *map(str, arguments)], input=typed)
        if result.exception is not None and not isinstance(result.exception, SystemExit):
            raise result.exception
        return result

    return run


def only_a_box_rounded_outward_left_the_machine(loopback: Loopback) -> None:
    sent = " ".join(" ".join(entry) for entry in loopback.log)
    for secret in ("A Secret Owner", "F1", "Tall", "31.6012", "84.2031", "31.6032", "84.1981"):
        assert secret not in sent
    # 300 m around the fields is 0.0027 degrees of latitude and 0.0032 of longitude; from there
    # outward to the next hundredth.
    first = json.loads(loopback.log[0][2])["query"]
    corners = "POLYGON((-84.21 31.59, -84.19 31.59, -84.19 31.61, -84.21 31.61, -84.21 31.59))"
    assert corners in first
    assert "lat=31.600&lon=-84.200" in sent


def test_outlines_alone_become_a_farm_and_only_a_box_is_sent(cli, loopback, farm) -> None:
    before = farm.read_text()
    result = cli(farm, "--yes")
    assert result.exit_code == 0, result.stderr
    only_a_box_rounded_outward_left_the_machine(loopback)
    data = farm.parent / "data"
    fields, _ = read_fields(farm.parent / "fields.geojson")

    survey = read_soil_survey(data / "soil_survey.gpkg")
    assert sorted(survey.map_units["musym"]) == ["Ho", "Sa"]
    assert len(survey.components) == 3 and len(survey.horizons) == 4
    # A class called None is one of the survey's own, not a missing value.
    july = survey.months[survey.months["month"] == 7].set_index("cokey")
    assert july.loc["11", "flood_frequency"] == "none"
    assert july.loc["12", "pond_frequency"] == "frequent"
    assert survey.components.set_index("cokey").loc["21", "restriction_depth_cm"] == 43

    heights = read_elevation(data / "elevation.tif", fields)
    assert heights.cell_m == pytest.approx(3)
    assert heights.unit is not None and heights.unit.metres == 1
    assert (heights.cover_pct == 100).all()

    weather = read_weather([WeatherSource(data / "weather.csv")], (31.6, -84.2))
    assert weather.weather["date"].dt.year.agg(["min", "max"]).tolist() == [
        1980,
        dt.date.today().year - 1,
    ]
    assert weather.files[0].layout == "point of a daily grid (CSV)"

    frost = read_frost(data / "freeze_normals", fields)
    assert set(frost.frost["source"]) == {f"{STATION}.csv"}  # the nearest with freeze dates
    assert sorted(p.name for p in (data / "freeze_normals").iterdir()) == [
        f"{FAR_STATION}.csv",
        f"{STATION}.csv",
    ]

    after = farm.read_text()
    assert after.startswith(before)  # every comment and line as it was
    read = read_farm_file(farm)
    assert [layer for layer, _ in read.input_files] == [
        "fields",
        "soil",
        "elevation",
        "weather",
        "frost",
    ]
    assert {p.name for p in data.iterdir()} == {
        "soil_survey.gpkg",
        "elevation.tif",
        "weather.csv",
        "freeze_normals",
        "provenance.json",
    }


def test_the_report_cites_who_was_asked_and_when(cli, farm) -> None:
    assert cli(farm, "--yes").exit_code == 0
    told = json.loads((farm.parent / "data" / "provenance.json").read_text())["layers"]
    assert set(told) == {"soil", "elevation", "weather", "frost"}
    assert told["soil"]["note"] == "Survey area GA999 (published 9/10/2024 3:00:00 PM)."
    assert len(told["weather"]["files"][0]["sha256"]) == 64
    today = dt.date.today().isoformat()
    files = read_farm_file(farm).input_files
    notes = {layer: source_file(layer, path).note for layer, path in files}
    assert notes["fields"] == ""
    assert notes["soil"].startswith(
        "From Soil Data Access, USDA Natural Resources Conservation Service, "
        f"asked on {today} (work of the U.S. government, public domain, as remembered)."
    )
    assert "Please cite: Thornton et al. 2022" in notes["weather"]
    assert "cells of 3 m" in notes["elevation"]
    assert "Stations USW00000001, USC00000002." in notes["frost"]
    with (farm.parent / "data" / "weather.csv").open("a") as file:
        file.write("\n")
    changed = source_file("weather", farm.parent / "data" / "weather.csv").note
    assert changed.endswith("Changed since it was gathered.")


def test_the_question_tells_who_is_sent_what_and_no_is_no(cli, loopback, farm) -> None:
    before = farm.read_text()
    result = cli(farm, typed="n\n")
    assert result.exit_code == 0
    for words in (
        "soil survey: USDA Natural Resources Conservation Service, Soil Data Access",
        "a box: latitude 31.59 to 31.61, longitude -84.21 to -84.19",
        "one point: latitude 31.600, longitude -84.200",
        "Outlines, names and everything else in your files stay here.",
        "Ask them? [y/N]: n",
        "Nothing was asked.",
    ):
        assert words in result.stdout
    silent = cli(farm, typed="")
    assert silent.exit_code == 2 and "Add --yes" in silent.stderr
    assert loopback.log == [] and farm.read_text() == before
    assert not (farm.parent / "data").exists()


def test_a_second_run_asks_nothing_and_refresh_asks_all(cli, loopback, farm) -> None:
    assert cli(farm, "--yes").exit_code == 0
    text, asked = farm.read_text(), len(loopback.log)
    again = cli(farm)
    assert again.exit_code == 0 and again.stdout.count("is there and fresh") == 4
    assert len(loopback.log) == asked and farm.read_text() == text
    assert cli(farm, "--yes", "--refresh").exit_code == 0
    assert len(loopback.log) == 2 * asked and farm.read_text() == text


def test_what_is_old_changed_or_gone_is_asked_for_again(cli, loopback, farm) -> None:
    assert cli(farm, "--yes").exit_code == 0
    data = farm.parent / "data"
    (data / "weather.csv").unlink()
    told = json.loads((data / "provenance.json").read_text())
    told["layers"]["frost"]["asked_on"] = "2001-01-01"
    (data / "provenance.json").write_text(json.dumps(told))
    loopback.log.clear()
    text = farm.read_text()
    assert cli(farm, "--yes").exit_code == 0
    assert {kind for kind, _, _ in loopback.log} == {"weather", "frost"}
    assert (data / "weather.csv").exists() and farm.read_text() == text


def test_files_the_farm_names_itself_are_left_alone(cli, loopback, farm) -> None:
    (farm.parent / "mine.csv").write_text("date,tmax_c,tmin_c,precip_mm\n2001-01-01,20,10,0\n")
    farm.write_text(farm.read_text() + '\n[weather]\nfile = "mine.csv"\n')
    result = cli(farm, "--yes", "--refresh", "--layer", "weather", "--layer", "elevation")
    assert result.exit_code == 0
    assert "weather: not asked for, farm.toml names mine.csv" in result.stdout
    assert loopback.asked("weather") == 0
    assert 'file = "mine.csv"' in farm.read_text()


def test_a_file_of_the_users_in_the_data_folder_is_never_overwritten(cli, farm) -> None:
    (farm.parent / "data").mkdir()
    mine = farm.parent / "data" / "weather.csv"
    mine.write_text("my own")
    result = cli(farm, "--yes", "--layer", "weather")
    assert result.exit_code == 2
    assert "weather.csv is there and was not gathered" in result.stderr
    assert mine.read_text() == "my own"


def test_a_farm_file_from_windows_keeps_its_line_ends(cli, farm) -> None:
    farm.write_bytes(b"\xef\xbb\xbf" + farm.read_text().replace("\n", "\r\n").encode())
    assert cli(farm, "--yes", "--layer", "weather").exit_code == 0
    raw = farm.read_bytes()
    assert raw.startswith(b"\xef\xbb\xbf# My farm") and b"\n" not in raw.replace(b"\r\n", b"")
    assert read_farm_file(farm).weather[0].file.name == "weather.csv"


def test_tiles_and_boxes_lie_on_one_lattice(loopback, farm, monkeypatch, cli) -> None:
    table = loopback.services(most_side_cells=200)
    monkeypatch.setattr("layers.gather.services.services", lambda: table)
    far = json.loads((farm.parent / "fields.geojson").read_text())
    moved = json.loads(json.dumps(far["features"][0]))
    moved["properties"]["field_id"] = "F3"
    for corner in moved["geometry"]["coordinates"][0]:
        corner[1] += 0.12
    far["features"].append(moved)
    (farm.parent / "fields.geojson").write_text(json.dumps(far))
    assert cli(farm, "--yes", "--layer", "elevation").exit_code == 0
    files = read_farm_file(farm).elevation
    assert files is not None and [p.name for p in files.file] == [
        "elevation_1.tif",
        "elevation_2.tif",
    ]
    assert loopback.asked("heights") > 20
    for path in files.file:
        with open_raster(path) as raster:
            got = raster.read(1)
            step = raster.transform
            x = step.c + (np.arange(raster.width) + 0.5) * step.a
            y = step.f + (np.arange(raster.height) + 0.5) * step.e
            assert (step.c % 3, step.f % 3) == (0, 0)
        np.testing.assert_allclose(got, plane_m(x[None, :], y[:, None]), atol=1e-4)


def test_a_boundary_file_is_told_to_become_a_farm(cli, farm) -> None:
    result = cli(farm.parent / "fields.geojson")
    assert result.exit_code == 2 and "'suitability new DIR' writes one" in result.stderr


def test_without_the_extra_one_line_tells_how_to_install_it(cli, farm, monkeypatch) -> None:
    monkeypatch.setattr("layers.gather.plans.find_spec", lambda name: None)
    result = cli(farm, "--yes")
    assert result.exit_code == 2
    assert 'python -m pip install -e ".[gather]"' in result.stderr
    assert result.stderr.count("\n") == 1


def test_ground_no_service_covers_is_told_with_what_to_bring(cli, loopback, farm) -> None:
    text = (farm.parent / "fields.geojson").read_text()
    (farm.parent / "fields.geojson").write_text(text.replace("-84.", "30."))
    before = farm.read_text()
    result = cli(farm, "--yes")
    assert result.exit_code == 0 and loopback.log == []
    assert "soil survey: Soil Data Access does not cover this ground." in result.stdout
    assert "To bring yourself: heights as a raster (GeoTIFF in metres" in result.stdout
    assert farm.read_text() == before and not (farm.parent / "data").exists()


def test_the_shipped_table_names_https_only_and_says_what_was_not_tried() -> None:
    from layers.gather.services import services

    for service in services().values():
        assert service.address.startswith("https://")
        assert service.tried == "not tried here"
        assert service.publisher and service.licence and service.cite and service.bring
    text = Path(__file__).parents[3].joinpath("layers/gather/services.toml").read_text()
    assert "as remembered" in text
