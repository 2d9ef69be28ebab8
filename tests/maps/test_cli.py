"""The command line: what it prints, its exit codes, one message for each fault of the user's."""

import json
import os
import re
import subprocess
import sys
from importlib import metadata
from pathlib import Path

import pytest
from click.testing import CliRunner, Result
from real_data import real
from small_farm import HOSTILE

from maps.cli import harmless, suitability
from suitability.crop import load_crop


def cli(*arguments: object) -> Result:
    """Run the command; a traceback of ours fails the test, exit codes do not."""
    result = CliRunner().invoke(suitability, [str(a) for a in arguments])
    if result.exception is not None and not isinstance(result.exception, SystemExit):
        raise result.exception
    return result


def geojson(path: Path, *names: str) -> Path:
    """Fields of 0.001 by 0.001 degrees in a row, in south Georgia."""
    features = []
    for i, name in enumerate(names):
        west, south = -84.2 + 0.002 * i, 31.6
        ring = [[west, south], [west + 0.001, south], [west + 0.001, south + 0.001]]
        ring += [[west, south + 0.001], ring[0]]
        features.append(
            {
                "type": "Feature",
                "properties": {"field_id": f"F{i + 1}", "name": name},
                "geometry": {"type": "Polygon", "coordinates": [ring]},
            }
        )
    path.write_text(json.dumps({"type": "FeatureCollection", "features": features}))
    return path


def told(result: Result, folder: Path, before: set[str]) -> str:
    """The one message of a failed command: exit 2, nothing on stdout, nothing written."""
    assert result.exit_code == 2
    assert result.stdout == ""
    assert "Traceback" not in result.stderr
    assert {p.name for p in folder.iterdir()} == before
    return result.stderr


def test_help_lists_the_commands_and_loads_no_map_library() -> None:
    code = (
        "import sys\nfrom maps.cli import suitability\n"
        "try:\n    suitability(['--help'])\nexcept SystemExit as end:\n    assert end.code == 0\n"
        "heavy = {'geopandas', 'pandas', 'numpy', 'pydantic', 'rasterio', 'numba', 'scipy'}\n"
        "print('heavy:', sorted(heavy & set(sys.modules)))"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.splitlines()[-1] == "heavy: []"
    for command in ("run", "check", "crop", "new"):
        assert f"\n  {command} " in done.stdout


def test_version_is_the_installed_one() -> None:
    assert (
        cli("--version").stdout == f"suitability, version {metadata.version('summer-gap-fields')}\n"
    )


def test_an_unknown_command_or_a_missing_option_ends_with_exit_2(tmp_path: Path) -> None:
    assert "No such command 'walk'" in told(cli("walk"), tmp_path, set())
    assert "Missing option '--out'" in told(cli("run", tmp_path / "x.toml"), tmp_path, set())


def test_the_installed_script_prints_one_message_and_ends_with_exit_2(tmp_path: Path) -> None:
    done = subprocess.run(
        [sys.executable, "-c", "from maps.cli import main; main()", "run", "no.toml", "--out", "o"],
        capture_output=True, text=True, cwd=tmp_path, check=False,
        env={**os.environ, "PYTHONPATH": str(Path(__file__).parents[2])},
    )  # fmt: skip
    assert done.returncode == 2
    assert done.stderr.startswith("There is no file no.toml. Name the farm file")
    assert (done.stdout, list(tmp_path.iterdir())) == ("", [])


def test_letters_that_steer_a_terminal_are_not_printed() -> None:
    assert harmless("a\x1b[31mb\u202ec\td\n") == "a?[31mb?c\td\n"


# ---- crop ----------------------------------------------------------------------------------------


def test_crop_prints_every_limit_with_unit_basis_and_source() -> None:
    printed = cli("crop", "sunn_hemp").stdout
    crop = load_crop("sunn_hemp")
    lines = [line for line in printed.splitlines() if line.endswith("]") and "; " in line]
    assert len(lines) == len(crop.limits)
    for limit in crop.limits:
        value = limit.value if isinstance(limit.value, tuple) else (f"{limit.value:g}",)
        assert any(
            limit.factor in line
            and all(text in line for text in value)
            and f"[{limit.basis}; {limit.source}]" in line
            and f" {limit.unit}" in line
            for line in lines
        ), limit
    for key, source in crop.sources.items():
        assert f"{key}: {source}" in printed
    # Written out once by hand: the season needs 60 days by the plant sheet.
    assert "S2 gap_d at least 60 d   [published; plant-sheet]" in printed


def test_an_unknown_crop_is_told(tmp_path: Path) -> None:
    message = told(cli("crop", "sun_hemp"), tmp_path, set())
    assert message == "There is no crop 'sun_hemp'. Known crops: sunn_hemp. Name one of these.\n"


# ---- check ---------------------------------------------------------------------------------------


def test_check_tells_what_is_known_and_what_is_not(tmp_path: Path) -> None:
    fields = geojson(tmp_path / "fields.geojson", "Home", "Back")
    (tmp_path / "farm.toml").write_text(
        '[farm]\nname = "Two fields"\n[fields]\nfile = "fields.geojson"\n'
        '[gap]\nopens = "05-15"\ncloses = "09-30"\n[field.F2]\ndrained = true\n'
    )
    printed = cli("check", tmp_path / "farm.toml").stdout
    assert printed.startswith("Two fields\n\nFIELDS fields.geojson\n  2 fields, ")
    assert "known of the fields: gap_opens of 2, gap_closes of 2, drained of 1" in printed
    assert "SOIL SURVEY\n  not given: soil, wetness and pH of the ground are not known" in printed
    assert "WEATHER\n  not given: soil warmth and drought are not known" in printed
    # 0.001 degrees at 31.6 N: 94.9 m by 110.9 m (WGS 84), 1.05 ha or 2.6 acres.
    assert "2 fields, 5.2 acres together, 2.6 acres to 2.6 acres each" in printed
    metric = cli("check", fields, "--units", "metric").stdout
    assert "2 fields, 2.1 ha together, 1.1 ha to 1.1 ha each" in metric
    assert sorted(p.name for p in tmp_path.iterdir()) == ["farm.toml", "fields.geojson"]


def test_check_says_of_weather_too_far_away_that_it_was_read(tmp_path: Path) -> None:
    geojson(tmp_path / "fields.geojson", "Home")
    days = "".join(f"2020-01-{day:02d},{10 + day % 7},{day % 7 - 2},0\n" for day in range(1, 32))
    (tmp_path / "weather.csv").write_text("date,tmax_c,tmin_c,precip_mm\n" + days)
    (tmp_path / "farm.toml").write_text(
        '[fields]\nfile = "fields.geojson"\n'
        '[weather]\nfile = "weather.csv"\nlat = 33.5\nlon = -83.7\n'
    )
    printed = cli("check", tmp_path / "farm.toml").stdout
    assert "WEATHER weather.csv\n  read, but nothing in it lies near enough or covers" in printed
    # The field lies at 31.6 N: at least 1.8 degrees of latitude off, of 111 km each.
    assert "1 of 1 fields have no station with highs, lows and rain within 80 km" in printed
    away = re.search(r"the nearest is (\d+) km away", printed)
    assert away is not None and 200 <= int(away[1]) <= 400


def test_check_on_a_real_survey_tells_its_cover_and_its_worth(tmp_path: Path) -> None:
    survey = real("soil_survey_export")
    (tmp_path / "farm.toml").write_text(
        f"[fields]\nfile = '{survey / 'spatial' / 'aoi_a_aoi.shp'}'\n[soil]\nfile = '{survey}'\n"
    )
    printed = cli("check", tmp_path / "farm.toml").stdout
    assert "1 field, 44.9 acres" in printed  # 44.8 by the survey's own account
    assert "covers all of 1 field" in printed
    assert "3 map units in the fields" in printed
    assert "do not show spots smaller than about 1.5 to 6 acres. Walk the field." in printed


# ---- run -----------------------------------------------------------------------------------------


def test_run_on_boundaries_alone_writes_all_and_says_what_is_not_known(tmp_path: Path) -> None:
    fields = geojson(tmp_path / "fields.geojson", "Home", HOSTILE)
    out = tmp_path / "out"
    result = cli("run", fields, "--out", out, "--tables")
    assert result.exit_code == 0
    for name in (
        "map.html",
        "report.html",
        "report.pdf",
        "fields.csv",
        "zones.gpkg",
        "zones.kml",
        "zones.gpx",
        "findings.csv",
    ):
        assert (out / name).stat().st_size > 0
        assert name in result.stdout
    flat = " ".join(result.stdout.split())
    assert "Home (F1)" in flat
    assert "not known" in flat
    assert "No soil survey was given" in flat
    assert f"Open {out / 'map.html'}" in result.stdout
    assert "Reading the fields" in result.stderr
    assert sorted(p.name for p in tmp_path.iterdir()) == ["fields.geojson", "out"]


def test_run_prints_json_with_the_same_answer(tmp_path: Path) -> None:
    fields = geojson(tmp_path / "fields.geojson", "Home", HOSTILE)
    result = cli("run", fields, "--out", tmp_path / "out", "--json", "--quiet")
    assert result.stderr == ""
    summary = json.loads(result.stdout)
    assert [f["field_id"] for f in summary["fields"]] == ["F1", "F2"]
    assert summary["fields"][1]["name"] == HOSTILE
    assert {f["verdict"] for f in summary["fields"]} == {"not known"}
    assert summary["fields"][0]["area_acres"] == pytest.approx(2.6, abs=0.05)
    assert sorted(summary["files"]) == sorted(
        p.name for p in (tmp_path / "out").iterdir() if not p.name.startswith(".")
    )
    assert any(note["level"] == "warning" for note in summary["notes"])


def test_quiet_prints_nothing(tmp_path: Path) -> None:
    fields = geojson(tmp_path / "fields.geojson", "Home")
    result = cli("run", fields, "--out", tmp_path / "out", "--quiet")
    assert (result.exit_code, result.stdout, result.stderr) == (0, "", "")


@pytest.mark.parametrize("command", ["run", "check"])
def test_each_bad_input_ends_in_one_message_and_leaves_nothing(
    tmp_path: Path, command: str
) -> None:
    fields = geojson(tmp_path / "fields.geojson", "Home")
    out = ["--out", tmp_path / "results" / "out"] if command == "run" else []

    def message(config: Path) -> str:
        before = {p.name for p in tmp_path.iterdir()}
        return told(cli(command, config, *out), tmp_path, before).replace(
            "Reading the fields\n", ""
        )

    config = tmp_path / "farm.toml"
    config.write_text('[fields]\nfile = "field.geojson"\n[shed]\nacres = 4\n')
    text = message(config)
    assert "line 2, [fields] file:" in text
    assert "'fields.geojson'" in text
    assert "line 3, [shed]: unknown table" in text

    config.write_text('[fields]\nfile = "fields.geojson"\n[field.North]\ndrained = true\n')
    assert "[field.North]: there is no field with this id" in message(config)

    config.write_text("[fields\n")
    assert "line 1: Expected ']'" in message(config)

    fields.write_text('{"type": "FeatureCol')
    assert str(fields) in message(fields)

    lonely = tmp_path / "plain.csv"
    lonely.write_text("id,name\n1,Home\n")
    assert str(lonely) in message(lonely)

    assert "does not exist" in message(tmp_path / "none.gpkg")
    assert "names that begin with /vsi are not read" in message(Path("/vsimem/x.gpkg"))
    assert not (tmp_path / "results").exists()


def test_an_output_folder_that_is_a_file_is_told_before_any_work(tmp_path: Path) -> None:
    fields = geojson(tmp_path / "fields.geojson", "Home")
    message = told(cli("run", fields, "--out", fields), tmp_path, {"fields.geojson"})
    assert message == (
        f"{fields} is a file, a folder was expected. "
        "Give --out the name of a folder; it is made if it is not there.\n"
    )


def test_a_users_own_file_in_the_output_folder_is_kept(tmp_path: Path) -> None:
    fields = geojson(tmp_path / "fields.geojson", "Home")
    (tmp_path / "fields.csv").write_text("mine")
    result = cli("run", fields, "--out", tmp_path, "--quiet")
    message = told(result, tmp_path, {"fields.geojson", "fields.csv"})
    assert "this program did not write and would replace:\n  - fields.csv\nGive --out" in message
    assert (tmp_path / "fields.csv").read_text() == "mine"


@pytest.mark.skipif(sys.platform == "win32", reason="written in the words of another shell")
@pytest.mark.parametrize("to", ["| head -1; exit ${PIPESTATUS[0]}", ">&-"])
def test_output_that_nobody_reads_ends_without_a_traceback(to: str) -> None:
    command = f'"{sys.executable}" -c "from maps.cli import main; main()" crop sunn_hemp {to}'
    ended = subprocess.run(["bash", "-c", command], capture_output=True, text=True, check=False)
    assert ended.returncode in (0, 1)
    assert ended.stderr == ""
