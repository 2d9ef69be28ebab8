"""farm.toml: what it takes, and every fault in words that name the line and the cure."""

import datetime
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from maps.farm_file import FarmFile, farm_file_for, read_farm_file
from suitability.errors import InputError

FIELDS = '[fields]\nfile = "fields.gpkg"\n'
ONE_YEAR = (
    "give MM-DD of one year. Of a field that stands empty across New Year, enter the warm part: as "
    'opens the day from which it could be sown in spring or summer, such as "04-01", as closes the '
    "day of the same year by which it must be free"
)


@pytest.fixture
def farm(tmp_path: Path) -> Path:
    for name in ("fields.gpkg", "survey.zip", "dem.tif", "a.csv", "b.csv", "frost.csv"):
        (tmp_path / name).write_text("something")
    return tmp_path


def read(farm: Path, text: str | bytes) -> FarmFile:
    path = farm / "farm.toml"
    path.write_bytes(text if isinstance(text, bytes) else text.encode())
    return read_farm_file(path)


def message(farm: Path, text: str | bytes) -> str:
    with pytest.raises(InputError) as caught:
        read(farm, text)
    return str(caught.value)


def fault(farm: Path, text: str) -> str:
    """The only fault of a farm file, as told."""
    told = message(farm, text).splitlines()
    assert told[0] == f"{farm / 'farm.toml'} cannot be used:"
    assert told[-1].startswith("Mend these lines; 'suitability new DIR'")
    assert len(told) == 3, told
    return told[1].removeprefix("  - ")


def test_only_fields_is_needed_and_the_rest_is_not_known(farm: Path) -> None:
    got = read(farm, FIELDS)
    assert got.fields.file == farm / "fields.gpkg"
    assert (got.farm.crop, got.farm.units, got.farm.state) == ("sunn_hemp", "us", "")
    assert (got.soil, got.elevation, got.weather, got.frost) == (None, None, (), None)
    assert (got.gap.opens, got.gap.closes) == (None, None)
    assert got.known_of == {}
    assert got.path == farm / "farm.toml"
    assert got.title == farm.name
    assert got.input_files == (("fields", farm / "fields.gpkg"),)


def test_every_table_is_read(farm: Path) -> None:
    got = read(
        farm,
        f"""
[farm]
name = "Home place"
units = "Metric"
state = "ga"
{FIELDS}layer = "l"
id = "ID"
owner = "OWNER"
[fields.columns]
drained = "TILE"
[soil]
file = "survey.zip"
[elevation]
file = "dem.tif"
vertical_unit = "ft"
[weather]
file = "a.csv"
lat = 31
lon = -84.5
elevation_m = 58
temperature_unit = "tenths_c"
precip_unit = "in"
[frost]
file = "frost.csv"
[gap]
opens = "05-15"
closes = "09-30"
[herbicide]
product = "atrazine"
date = 2025-04-01
[field.7]
drained = true
irrigated_mm_week = 25
soil_test_date = 2025-03-01
soil_test_ph = 6.1
herbicide_date = "2025-04-10"
legume_last_year = 2021
gap_opens = 2025-06-01
use = "Graze"
[field."North 40"]
next_crop = "rye"
""",
    )
    assert (got.title, got.farm.units, got.farm.state) == ("Home place", "metric", "GA")
    assert (got.fields.layer, got.fields.id, got.fields.owner) == ("l", "ID", "OWNER")
    assert got.column_names == {"drained": "TILE"}
    assert got.elevation is not None
    assert got.elevation.vertical_unit == "ft"
    (weather,) = got.weather
    assert (weather.lat, weather.lon, weather.elevation_m) == (31.0, -84.5, 58.0)
    assert (weather.temperature_unit, weather.precip_unit) == ("tenths_c", "in")
    assert (got.gap.opens, got.gap.closes) == ("05-15", "09-30")
    assert got.herbicide is not None
    told = (got.herbicide.product, got.herbicide.date)
    assert told == ("atrazine", datetime.date(2025, 4, 1))
    assert got.known_of == {
        "7": {
            "drained": True,
            "irrigated_mm_week": 25.0,
            "soil_test_date": datetime.date(2025, 3, 1),
            "soil_test_ph": 6.1,
            "herbicide_date": datetime.date(2025, 4, 10),
            "legume_last_year": 2021.0,
            "gap_opens": "06-01",
            "use": "graze",
        },
        "North 40": {"next_crop": "rye"},
    }
    assert [layer for layer, _ in got.input_files] == [
        "fields", "soil", "elevation", "weather", "frost",
    ]  # fmt: skip
    assert got.with_units("us").farm.units == "us"
    assert got.with_units("us").path == got.path


@pytest.mark.parametrize(
    "weather",
    [
        '[weather]\nfile = ["a.csv", "b.csv"]\nlat = 31\nlon = -84',
        '[[weather]]\nfile = "a.csv"\nlat = 31\nlon = -84\n[[weather]]\nfile = "b.csv"',
        'weather = [{ file = "a.csv", lat = 31, lon = -84 }, { file = "b.csv" }]',
    ],
)
def test_weather_files_in_each_way_of_writing_them(farm: Path, weather: str) -> None:
    top, below = (weather + "\n", "") if weather.startswith("weather") else ("", weather)
    got = read(farm, top + FIELDS + below)
    assert [w.file.name for w in got.weather] == ["a.csv", "b.csv"]
    assert got.weather[0].lat == 31


def test_several_weather_files_need_a_place_each_unless_the_file_names_one(farm: Path) -> None:
    two = FIELDS + '[[weather]]\nfile = "a.csv"\n[[weather]]\nfile = "b.csv"\n'
    told = message(farm, two)
    for line, number, name in ((4, 1, "a.csv"), (6, 2, "b.csv")):
        assert (
            f"line {line}, [[weather]] number {number} file: '{name}' does not say where its "
            "station lies; with several weather files give each its lat, lon (degrees) and "
            "elevation_m under its own [[weather]]"
        ) in told
    (farm / "b.csv").write_text('"STATION","LATITUDE","LONGITUDE"\n')
    assert len(read(farm, two).weather) == 2


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("", '[fields]: the table is missing; add [fields] and under it file = "your file"'),
        ("[fields]\n", "line 1, [fields] file: is missing"),
        (
            '[fields]\nfile = ""',
            "line 2, [fields] file: is empty; give a text or take the line out",
        ),
        ("[fields]\nfile = 7", "line 2, [fields] file: must be text in quotes, got 7"),
        (FIELDS + 'fiel = "x"', "line 3, [fields] fiel: unknown key; did you mean 'file'?"),
        (FIELDS + 'crop = "x"', "line 3, [fields] crop: unknown key here; it belongs under [farm]"),
        ("[soill]\n" + FIELDS, "line 1, [soill]: unknown table; did you mean 'soil'?"),
        ("opens = 1\n" + FIELDS, "line 1, [opens]: unknown key; it belongs under [gap]"),
        (
            "soil = 'survey.zip'\n" + FIELDS,
            "line 1, [soil]: must be a table: write [soil] and under it "
            "file = \"...\" or another key, got 'survey.zip'",
        ),
        (
            FIELDS + "columns = 3",
            "line 3, [fields.columns]: must be a table: [fields.columns] and under it "
            'drained = "COLUMN", got 3',
        ),
        (
            FIELDS + '[fields.columns]\ndraind = "X"',
            "line 4, [fields.columns] draind: unknown key; did you mean 'drained'?",
        ),
        (
            '[farm]\ncrop = "sun_hemp"\n' + FIELDS,
            "line 2, [farm] crop: no crop 'sun_hemp'; did you mean 'sunn_hemp'?",
        ),
        (
            '[farm]\nunits = "imperial"\n' + FIELDS,
            "line 2, [farm] units: 'imperial' is not one of us, metric",
        ),
        (
            '[farm]\nstate = "Georgia"\n' + FIELDS,
            "line 2, [farm] state: must be the two letters of a state, such as GA, got 'Georgia'",
        ),
        ("[farm]\nname = 40\n" + FIELDS, "line 2, [farm] name: must be text in quotes, got 40"),
        (
            FIELDS + '[elevation]\nfile = "dem.tif"\nvertical_unit = "feet"',
            "line 5, [elevation] vertical_unit: 'feet' is not one of m, ft",
        ),
        (
            FIELDS + "[elevation]\nfile = []",
            "line 4, [elevation] file: is an empty list; give the name of a file or folder",
        ),
        (
            FIELDS + '[soil_grid]\nfile = "dem.tif"\nproperty = "clay"\nfrom_cm = 0\nto_cm = 30',
            "line 3, [soil_grid] unit: is missing; clay is stated in pct or g/kg or frac",
        ),
        (
            FIELDS + '[soil_grid]\nfile = "dem.tif"\nproperty = "water_table"\nunit = "pct"',
            "line 6, [soil_grid] unit: 'pct' is no unit of water_table; expected cm or m or mm or "
            "in or ft",
        ),
        (
            FIELDS + '[soil_grid]\nfile = "dem.tif"\nproperty = "drainage_class"\n'
            'classes = { 1 = "wet" }',
            "line 6, [soil_grid] classes: 1 = 'wet': 'wet' is not one of excessively, somewhat "
            "excessively, well, moderately well, somewhat poorly, poorly, very poorly",
        ),
        (
            FIELDS + '[[soil_grid]]\nfile = "dem.tif"\nproperty = "loam"',
            "line 5, [soil_grid] property: 'loam' is not one of sand, silt, clay, bulk_density, "
            "ph, water_table, drainage_class",
        ),
        (
            FIELDS + '[[soil_grid]]\nfile = "dem.tif"\nproperty = "water_table"\nunit = "cm"\n'
            '[[soil_grid]]\nfile = "dem.tif"\nproperty = "ph"\nunit = "ph"\nfrom_cm = 0',
            "line 7, [[soil_grid]] number 2 to_cm: is missing; give the depths the raster is of, "
            "such as from_cm = 0, to_cm = 30",
        ),
        (
            FIELDS + '[weather]\nfile = "a.csv"\nlat = 131\nlon = 1',
            "line 5, [weather] lat: must be a number from -90 to 90 degrees, got 131 degrees; "
            "is it in another unit?",
        ),
        (
            FIELDS + '[weather]\nfile = "a.csv"\nlat = nan\nlon = 1',
            "line 5, [weather] lat: must be a number from -90 to 90 degrees, got nan degrees; "
            "is it in another unit?",
        ),
        (
            FIELDS + '[weather]\nfile = "a.csv"\nlat = "31 N"\nlon = 1',
            "line 5, [weather] lat: must be a number from -90 to 90 degrees, without quotes, "
            "got '31 N'",
        ),
        (
            FIELDS + '[weather]\nfile = "a.csv"\nlat = 31',
            "line 5, [weather] lat: lon is missing; give both, degrees",
        ),
        (
            FIELDS + '[gap]\nopens = "06-31"',
            'line 4, [gap] opens: there is no month-day "06-31"; the month stands first, '
            'such as "05-15"',
        ),
        (
            FIELDS + '[gap]\ncloses = "02-29"',
            'line 4, [gap] closes: "02-29" is not a day of every year; write "02-28" or "03-01"',
        ),
        (
            FIELDS + '[gap]\nopens = "5/15"',
            "line 4, [gap] opens: must be month-day, MM-DD, such as \"05-15\", got '5/15'",
        ),
        (
            FIELDS + '[gap]\nopens = "09-01"\ncloses = "05-01"',
            "line 5, [gap] closes: the gap closes (05-01) before it opens (09-01); " + ONE_YEAR,
        ),
        (
            FIELDS + '[gap]\nopens = "05-01"\ncloses = "09-01"\n[field.7]\ngap_closes = "04-01"',
            "line 7, [field.7] gap_closes: the gap closes (04-01) before it opens (05-01); "
            + ONE_YEAR,
        ),
        (
            FIELDS + "[field.7]\nsoil_test_ph = 61",
            "line 4, [field.7] soil_test_ph: must be a number from 3 to 10, got 61; "
            "is it in another unit?",
        ),
        (
            FIELDS + "[field.7]\nirrigated_mm_week = -1",
            "line 4, [field.7] irrigated_mm_week: must be a number from 0 to 100 mm/week, "
            "got -1 mm/week; is it in another unit?",
        ),
        (
            FIELDS + "[field.7]\nsoil_test_ph = true",
            "line 4, [field.7] soil_test_ph: must be a number from 3 to 10, without quotes, "
            "got true",
        ),
        (
            FIELDS + '[field.7]\ndrained = "yes"',
            "line 4, [field.7] drained: must be true or false, without quotes, got 'yes'",
        ),
        (
            FIELDS + '[field.7]\nuse = "hay"',
            "line 4, [field.7] use: 'hay' is not one of graze, cut, cover",
        ),
        (
            FIELDS + '[herbicide]\nproduct = "none"\ndate = "spring"',
            "line 5, [herbicide] date: must be a date, YYYY-MM-DD, such as 2025-03-01, got "
            "'spring'",
        ),
        (
            FIELDS + '[field.7]\nsoil_test_date = "3/1/2025"',
            "line 4, [field.7] soil_test_date: must be a date, YYYY-MM-DD, such as 2025-03-01, "
            "got '3/1/2025'",
        ),
        (
            FIELDS + "[field.7]\nsoil_test_date = 0205-03-01",
            "line 4, [field.7] soil_test_date: 0205-03-01 is not between the years 1950 and 2100",
        ),
        (
            FIELDS + "[field.7.2]\ndrained = true",
            'line 3, [field.7] 2: unknown table; an id with a dot stands in quotes: [field."7.2"]',
        ),
        (
            FIELDS + "[field]\ndrained = true",
            "line 4, [field.drained]: what is known of a field stands under its own table, "
            "such as [field.7], got true",
        ),
    ],
)
def test_each_fault_is_told_with_its_line_and_its_cure(
    farm: Path, text: str, expected: str
) -> None:
    assert fault(farm, text) == expected


@pytest.mark.parametrize(
    ("name", "expected"),
    [
        ("/vsicurl/http://somewhere/x.gpkg", "names that begin with /vsi are not read"),
        ("\\\\vsizip\\\\x.zip", "does not exist"),
        ("https://somewhere/x.gpkg", "this is a web or database address"),
        ("PG:dbname=farm", "does not exist"),
        ("field.gpkg", "The nearest name there is 'fields.gpkg'"),
        ("data\\fields.gpkg", "holds a control letter; in paths write / instead of"),
    ],
)
def test_only_existing_local_files_are_taken(farm: Path, name: str, expected: str) -> None:
    told = fault(farm, f'[fields]\nfile = "{name}"')
    assert told.startswith("line 2, [fields] file: ")
    assert expected in told


def test_a_folder_is_taken_for_a_survey_but_not_for_weather(farm: Path) -> None:
    (farm / "export").mkdir()
    assert read(farm, FIELDS + '[soil]\nfile = "export"').soil is not None
    assert "is a folder; expected a file" in fault(farm, FIELDS + '[weather]\nfile = "export"')


def test_all_faults_come_at_once_in_the_order_of_the_file(farm: Path) -> None:
    told = message(
        farm,
        '[gap]\nopens = "x"\n[farm]\nunits = "u"\n[soil]\n' + FIELDS + "[field.7]\nuse = 1\nph = 6",
    )
    lines = [line.split(":")[0] for line in told.splitlines()[1:-1]]
    assert lines == [
        "  - line 2, [gap] opens",
        "  - line 4, [farm] units",
        "  - line 5, [soil] file",
        "  - line 9, [field.7] use",
        "  - line 10, [field.7] ph",
    ]


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        (
            "[fields]\nfile = fields.gpkg",
            "line 2: Invalid value in: file = fields.gpkg\nText, file",
        ),
        ('[fields]\nfile = "C:\\maps\\f"', "line 2: a backslash in double quotes in: file"),
        (FIELDS + '[fields]\nid = "x"', "line 3: this key or [table] stands twice in: [fields]"),
        (FIELDS + 'file = "b"', 'line 3: this key or [table] stands twice in: file = "b"'),
        ("[gap]\nopens = 05-15", "month-days stand in quotes"),
        ("[field.North 40]\n", 'A name with a blank or a dot stands in quotes: [field."North 40"]'),
        ("[fields]\nfile = ", "line 2: Invalid value"),
    ],
)
def test_what_is_not_toml_is_told_with_its_line(farm: Path, text: str, expected: str) -> None:
    assert expected in message(farm, text)


def test_windows_encodings_are_read(farm: Path) -> None:
    text = FIELDS + '[farm]\nname = "Peña"\n'
    windows = text.replace("\n", "\r\n")
    assert read(farm, text.encode("utf-8-sig")).title == "Peña"
    assert read(farm, windows.encode("utf-16")).title == "Peña"
    assert "line 4, [farm] nme" in message(farm, windows.replace("name", "nme"))


def test_other_encodings_and_other_files_are_told(farm: Path) -> None:
    latin = (FIELDS + '[farm]\nname = "Peña"\n').encode("latin-1")
    assert "line 4: a letter that is not UTF-8: 'name = \"Peña\"'. Open the file in a text" in (
        message(farm, latin)
    )
    assert "is not a text file. Name the farm file" in message(farm, b"SQLite format 3\0\0\0")
    assert "is larger than 256 KB: not a farm file" in message(farm, b"#" * 300_000)


def test_a_farm_file_that_is_not_there_is_told(tmp_path: Path) -> None:
    with pytest.raises(InputError, match=r"There is no file .*none\.toml\. Name the farm file"):
        read_farm_file(tmp_path / "none.toml")
    with pytest.raises(InputError, match="is a folder, a farm file was expected"):
        read_farm_file(tmp_path)


def test_a_boundary_file_alone_is_a_farm_of_its_fields(farm: Path) -> None:
    got = farm_file_for(farm / "fields.gpkg")
    assert got.fields.file == farm / "fields.gpkg"
    assert (got.title, got.farm.units, got.soil) == ("fields", "us", None)
    assert got.weather == ()
    assert got.with_units("metric").farm.units == "metric"
    assert got.path == farm / "fields.gpkg"
    assert got.input_files == (("fields", farm / "fields.gpkg"),)
    with pytest.raises(InputError, match="does not exist"):
        farm_file_for(farm / "none.geojson")
    with pytest.raises(InputError, match="is a folder"):
        farm_file_for(farm)
    (farm / "farm.toml").write_text(FIELDS)
    assert farm_file_for(farm).path == farm / "farm.toml"


@settings(
    max_examples=150, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(st.binary(max_size=300) | st.text(max_size=300).map(lambda t: (FIELDS + t).encode("utf-8")))
def test_any_bytes_give_a_farm_or_one_message(farm: Path, raw: bytes) -> None:
    try:
        read(farm, raw)
    except InputError as error:
        assert str(error).startswith(str(farm / "farm.toml"))


_toml_value = st.sampled_from(
    ['""', '"x"', "7", "-1.5", "nan", "true", "[]", '["a.csv", 3]', "{}", "{ file = 1 }",
     "2025-02-30", "2025-02-28", "12:30:00", "[[1], [2]]", '"05-15"', '"/vsimem/x"']
)  # fmt: skip
_key = st.sampled_from(
    ["farm", "fields", "soil", "soil_grid", "soil_grid.unit", "elevation", "weather", "frost",
     "gap", "field", "field.7", "fields.columns", "gap.opens", "farm.units",
     "weather.lat", "field.7.drained", "plan", '"."']
)  # fmt: skip


@settings(
    max_examples=150, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(st.lists(st.tuples(_key, _toml_value), max_size=5))
def test_any_values_of_any_kind_give_a_farm_or_one_message(
    farm: Path, pairs: list[tuple[str, str]]
) -> None:
    try:
        read(farm, "\n".join(f"{key} = {value}" for key, value in pairs))
    except InputError as error:
        assert str(error).startswith(str(farm / "farm.toml"))


def test_elevation_may_be_one_name_or_several(farm: Path) -> None:
    one = read(farm, FIELDS + '[elevation]\nfile = "dem.tif"').elevation
    several = read(farm, FIELDS + '[elevation]\nfile = ["dem.tif", "."]')
    assert one is not None and [path.name for path in one.file] == ["dem.tif"]
    assert [layer for layer, _ in several.input_files] == ["fields", "elevation", "elevation"]


def test_soil_grids_say_what_their_numbers_mean(farm: Path) -> None:
    got = read(
        farm,
        FIELDS + '[[soil_grid]]\nfile = "dem.tif"\nproperty = "pH"\nunit = "pH"\nscale = 0.1\n'
        'from_cm = 0\nto_cm = 30\n[[soil_grid]]\nfile = "dem.tif"\n'
        'property = "drainage_class"\nclasses = { 1 = "Well", 7 = "very poorly" }',
    ).soil_grid
    assert (got[0].property, got[0].unit, got[0].scale, got[0].to_cm) == ("ph", "ph", 0.1, 30)
    assert got[1].classes == {1.0: "well", 7.0: "very poorly"}


def test_the_type_of_the_seed_is_one_of_three_and_unknown_where_not_said(tmp_path: Path) -> None:
    (tmp_path / "fields.gpkg").write_bytes(b"x")
    farm = tmp_path / "farm.toml"
    farm.write_text("[fields]\nfile = 'fields.gpkg'\n[seed]\ntype = 'seed-setting'\n")
    assert read_farm_file(farm).seed.type == "seed-setting"
    farm.write_text("[fields]\nfile = 'fields.gpkg'\n")
    assert read_farm_file(farm).seed.type == "unknown"
    farm.write_text("[fields]\nfile = 'fields.gpkg'\n[seed]\ntype = 'dwarf'\n")
    with pytest.raises(InputError, match="'dwarf' is not one of tropical, seed-setting, unknown"):
        read_farm_file(farm)
