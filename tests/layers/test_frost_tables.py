"""Freeze dates in national tables and in anyone's own table, and what names and farm.toml state."""

import zipfile

import pytest
from frost_fields import two_fields, value

from layers.frost.reader import read_frost
from layers.frost.stated import Stated, said_by_name
from suitability.errors import InputError


def frost_of(path, **stated):
    return read_frost(path, two_fields(), Stated(**stated)).frost


def refusal(path, **stated):
    with pytest.raises(InputError) as caught:
        frost_of(path, **stated)
    return str(caught.value)


# ---- national tables ----


def national(tmp_path, name="ann-tmin-prbfst-t28fp10.txt", value="11/13S", more=""):
    path = tmp_path / name
    path.write_text(f"USX00000001        {value}\n{more}")
    return path


def test_a_letter_glued_to_the_date_is_its_completeness(tmp_path):
    read = read_frost(national(tmp_path), two_fields())
    assert value(read.frost, "a", "first_autumn", 28, 10) == "11-13"
    assert any("is standard (S)" in n.text for n in read.notes)
    weak = read_frost(national(tmp_path, value="11/13P"), two_fields())
    assert any(n.level == "caution" and "provisional (P)" in n.text for n in weak.notes)


@pytest.mark.parametrize("code", ["-9999", "-8888", "-7777", "-6666", "-5555", "-4444"])
def test_a_code_gives_no_date(tmp_path, code):
    path = national(tmp_path, value=code, more="USX00000002     11/20R\n")
    frost = frost_of(path)
    assert value(frost, "a", "first_autumn", 28, 10) == "11-20"
    assert frost_of(national(tmp_path, value=code)).empty


def test_a_season_is_in_days(tmp_path):
    path = national(tmp_path, "ann-tmin-prbgsl-t32fp50.txt", "249R")
    assert value(frost_of(path), "b", "season", 32, 50, "season_d") == 249
    assert "expected 0 to 366 days" in refusal(national(tmp_path, path.name, "11/13R"))


def test_a_folder_of_elements_with_its_list_of_stations(tmp_path):
    other = "USX00000002        11/25R\n"
    national(tmp_path, more=other)
    national(tmp_path, "ann-tmin-prbfst-t28fp50.txt", "12/08S", "USX00000002        12/15R\n")
    (tmp_path / "readme.txt").write_text("Freeze dates of all stations.\n")
    (tmp_path / "allstations.txt").write_text(
        "USX00000001  31.6521  -83.7608   97.5 GA TALLOWMERE\n"
        "USX00000002  31.2000  -83.7608   80.0 GA FAR CORNER\n"
    )
    read = read_frost(tmp_path, two_fields())
    assert value(read.frost, "a", "first_autumn", 28, 10) == "11-13"
    assert value(read.frost, "a", "first_autumn", 28, 50) == "12-08"
    assert len(read.files) == 2
    said = " ".join(n.text for n in read.notes)
    assert "left aside: allstations.txt, readme.txt" in said
    assert "USX00000001 GA TALLOWMERE" in said
    packed = tmp_path / "packed.zip"
    with zipfile.ZipFile(packed, "w") as archive:
        for file in tmp_path.glob("*.txt"):
            archive.write(file, f"normals/{file.name}")
    zipped = read_frost(packed, two_fields())
    assert len(zipped.frost) == len(read.frost) == 4
    assert zipped.files == (packed,)


def test_several_stations_without_a_list_ask_which(tmp_path):
    path = national(tmp_path, more="USX00000002        11/25R\n")
    assert 'Name yours under [frost]: station = "USX00000001"' in refusal(path)
    named = frost_of(path, station="USX00000002")
    assert value(named, "a", "first_autumn", 28, 10) == "11-25"


def test_lines_that_are_no_station_are_told(tmp_path):
    path = national(tmp_path, more="total 2\nUSX00000003   31/12R\n")
    told = refusal(path)
    assert "line 2: 'total 2' is no station id and value" in told
    assert "line 3: there is no month-day '31/12'" in told


def test_what_a_national_table_is_of_must_be_stated(tmp_path):
    path = national(tmp_path, "dates.txt")
    told = refusal(path)
    for key in ("event", "threshold_c", "prob_pct"):
        assert f"{key}: stated neither by farm.toml nor by the file name" in told
    frost = frost_of(path, event="first_autumn", threshold_c=-2.2, prob_pct=10.0)
    assert frost["threshold_c"].tolist() == [-2.2, -2.2]
    told = refusal(national(tmp_path), event="last_spring")
    assert "event: farm.toml says last_spring, the file name first_autumn" in told


@pytest.mark.parametrize(
    ("name", "said"),
    [
        ("ann-tmin-prblst-t32fp90.txt", ("last_spring", 0.0, 90.0)),
        ("First Freeze 28F P10.tif", ("first_autumn", -2.22, 10.0)),
        ("last_frost_-2.2c_p50.tif", ("last_spring", -2.2, 50.0)),
        ("fall_m2.2C_10pct.tif", ("first_autumn", -2.2, 10.0)),
        ("season_t32f_p50.asc", ("season", 0.0, 50.0)),
        ("first_to_last_32f.tif", (None, 0.0, None)),  # two events are none
        ("dates.tif", (None, None, None)),
        ("shift28fine_mp10x.tif", (None, None, None)),
    ],
)
def test_what_a_file_name_states(name, said):
    got = said_by_name(name)
    assert tuple(got.get(k) for k in ("event", "threshold_c", "prob_pct")) == said


# ---- a table of one's own ----


def table(tmp_path, text, name="frost.csv"):
    path = tmp_path / name
    path.write_text(text, encoding="utf-8")
    return path


PLAIN = """event,threshold_f,prob_pct,date,season_d
last_spring,32,10,04-04,
last_spring,32,50,3/13,
first_autumn,28,10,Nov 13,
first_autumn,28,50,2020-12-08,
first_autumn,28,90,none,
season,32,50,,249
first_autumn,32,50,,
"""


def test_a_plain_table_in_every_way_to_write_a_day(tmp_path):
    frost = frost_of(table(tmp_path, PLAIN))
    assert value(frost, "a", "last_spring", 32, 10) == "04-04"
    assert value(frost, "a", "last_spring", 32, 50) == "03-13"
    assert value(frost, "b", "first_autumn", 28, 10) == "11-13"
    assert value(frost, "b", "first_autumn", 28, 50) == "12-08"
    assert value(frost, "b", "first_autumn", 28, 90) is None  # said: none by then
    assert value(frost, "b", "season", 32, 50, "season_d") == 249
    with pytest.raises(KeyError):  # an empty date is not known, which is no row
        value(frost, "a", "first_autumn", 32, 50)
    assert len(frost) == 12


def test_semicolons_celsius_and_a_byte_order_mark(tmp_path):
    text = "\ufeffEvent;Threshold_C;Prob_pct;Date\nfirst_autumn;-2,2;10;11-13\n"
    frost = frost_of(table(tmp_path, text))
    assert frost["threshold_c"].tolist() == [-2.2, -2.2]


def test_rows_for_single_fields_go_to_these(tmp_path):
    text = "event,threshold_f,prob_pct,date,field_id\nfirst_autumn,28,10,11-13,a\n"
    read = read_frost(table(tmp_path, text), two_fields())
    assert read.frost["field_id"].tolist() == ["a"]
    assert any("has no freeze dates for 1 of 2 fields" in n.text for n in read.notes)
    told = refusal(table(tmp_path, text.replace(",a\n", ",Z\n")))
    assert "field_id 'Z' is no field of this farm" in told
    assert "The ids are: a, b" in told


def test_stations_of_a_plain_table_are_chosen_by_distance(tmp_path):
    text = (
        "event,threshold_f,prob_pct,date,lat,lon,n_years\n"
        "first_autumn,28,10,11-13,31.6,-83.7,30\n"
        "first_autumn,28,10,11-25,31.1,-83.7,12\n"
    )
    frost = frost_of(table(tmp_path, text))
    assert value(frost, "a", "first_autumn", 28, 10) == "11-13"
    assert value(frost, "a", "first_autumn", 28, 10, "n_years") == 30


def test_columns_that_lack_are_stated_by_name_or_farm_file(tmp_path):
    text = "station,prob_pct,date\nx,10,11-13\n"
    frost = frost_of(table(tmp_path, text, "first_freeze_28F.csv"))
    assert value(frost, "a", "first_autumn", 28, 10) == "11-13"
    told = refusal(table(tmp_path, text))
    assert "event: stated neither" in told
    assert "threshold_c: stated neither" in told


@pytest.mark.parametrize(
    ("row", "said"),
    [
        ("spring,32,10,04-04", "event 'spring' is not one of last_spring, first_autumn, season"),
        ("last_spring,,10,04-04", "threshold_f is empty, expected degrees F"),
        ("last_spring,-20,10,04-04", "threshold_f is '-20', expected -5 to 50 degrees F"),
        ("last_spring,32,0.1,04-04", "prob_pct is '0.1', expected 1 to 99 per cent; is it a frac"),
        ("last_spring,32,,04-04", "prob_pct is empty, expected per cent"),
        ("last_spring,32,10,13-04", "date: there is no month-day '13-04'"),
        ("last_spring,32,10,nan", "date: 'nan' is no month and day"),
        ("last_spring,32,nan,04-04", "prob_pct is 'nan', expected 1 to 99"),
    ],
)
def test_rows_that_cannot_be_are_told(tmp_path, row, said):
    head = "event,threshold_f,prob_pct,date\nfirst_autumn,32,10,11-02\n"
    told = refusal(table(tmp_path, f"{head}{row}\n"))
    assert f"row 3: {said}" in told


def test_the_same_odds_twice_and_the_wrong_way_round(tmp_path):
    head = "event,threshold_f,prob_pct,date\n"
    twice = "first_autumn,28,10,11-02\nfirst_autumn,28,10,11-05\n"
    assert "odds of 10 % stand twice" in refusal(table(tmp_path, head + twice))
    other_way = "last_spring,32,10,02-10\nlast_spring,32,90,04-04\n"
    told = refusal(table(tmp_path, head + other_way))
    assert "10 % is a late last freeze, an early first freeze and a long season" in told


def test_another_file_is_no_freeze_dates(tmp_path):
    for text in ("hello\n", "a,b\n1,2\n", '{"type": "x"}\n'):
        assert "holds no freeze dates. Expected climate normals" in refusal(table(tmp_path, text))
    empty = tmp_path / "folder"
    empty.mkdir()
    assert "holds no file" in refusal(empty)
    (empty / "readme.txt").write_text("nothing")
    assert "holds no freeze dates" in refusal(empty)
