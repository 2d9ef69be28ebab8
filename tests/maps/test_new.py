"""The farm file that ``suitability new`` writes: whole, explained, and right when switched on."""

import re
from importlib.resources import files
from pathlib import Path

import pytest
from click.testing import CliRunner

from maps.cli import suitability
from maps.commands.new import write_new
from maps.farm_file import TABLES, read_farm_file
from suitability.errors import InputError

TEMPLATE = (files("maps") / "templates" / "farm.toml").read_text("utf-8")


def switched_on(text: str) -> str:
    """The template with every setting switched on, as its head tells the user to do."""
    return re.sub(r"^#(?=[^ \n#])", "", text, flags=re.MULTILINE)


def test_it_can_be_read_as_written_once_the_boundary_file_is_there(tmp_path: Path) -> None:
    path = write_new(tmp_path / "farm")
    with pytest.raises(
        InputError, match=r"line \d+, \[fields\] file: .*fields\.gpkg does not exist"
    ):
        read_farm_file(path)
    (path.parent / "fields.gpkg").write_text("x")
    assert read_farm_file(path).known_of == {}


def test_it_can_be_read_with_every_setting_switched_on(tmp_path: Path) -> None:
    for name in ("fields.gpkg", "soil_survey.zip", "clay.tif", "drainage.tif", "elevation.tif",
                 "weather.csv", "frost.csv", "marks.gpx", "culverts.geojson",
                 "water_2024-06-05.tif", "photo.tif"):  # fmt: skip
        (tmp_path / name).write_text("x")
    (tmp_path / "farm.toml").write_text(switched_on(TEMPLATE), encoding="utf-8")
    farm = read_farm_file(tmp_path / "farm.toml")
    assert farm.title == "Home place"
    assert [layer for layer, _ in farm.input_files] == [
        "fields", "soil", "soil_grid", "soil_grid", "elevation", "weather", "frost",
        "marks", "water_seen", "aerial_image", "culverts",
    ]  # fmt: skip
    assert (farm.gap.opens, farm.gap.closes) == ("05-15", "09-30")
    assert len(farm.known_of["7"]) == len(TABLES["field"].model_fields)
    assert len(farm.column_names) == len(TABLES["field"].model_fields)


@pytest.mark.parametrize("table", sorted(TABLES))
def test_every_key_of_every_table_is_shown(table: str) -> None:
    shown = set(re.findall(r"^#?(\w+) = ", TEMPLATE, flags=re.MULTILINE))
    keys = set(TABLES[table].model_fields) - {"columns", "herd"}
    assert keys <= shown
    assert re.search(rf"^#?\[+{table}[\].]", TEMPLATE, flags=re.MULTILINE)


def test_the_command_writes_it_and_says_what_comes_next(tmp_path: Path) -> None:
    folder = tmp_path / "my farm"
    result = CliRunner().invoke(suitability, ["new", str(folder)])
    assert result.exit_code == 0
    assert (folder / "farm.toml").read_text("utf-8") == TEMPLATE
    assert f"Wrote {folder / 'farm.toml'}" in result.stdout
    assert f'suitability run "{folder / "farm.toml"}" --out "{folder / "out"}"' in result.stdout


def test_it_never_overwrites(tmp_path: Path) -> None:
    (tmp_path / "farm.toml").write_text("mine")
    result = CliRunner().invoke(suitability, ["new", str(tmp_path)])
    assert result.exit_code == 2
    assert result.stdout == ""
    assert result.stderr == (
        f"{tmp_path / 'farm.toml'} is there already and is never overwritten. "
        "Give another folder, or move that file away.\n"
    )
    assert (tmp_path / "farm.toml").read_text() == "mine"


def test_a_file_where_the_folder_should_be_is_told(tmp_path: Path) -> None:
    (tmp_path / "x").write_text("")
    with pytest.raises(InputError, match="x is a file; give the name of a folder"):
        write_new(tmp_path / "x")
    with pytest.raises(InputError, match="cannot be written: Not a directory"):
        write_new(tmp_path / "x" / "y")
