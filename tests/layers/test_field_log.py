"""The field log: units by hand, faults with their cure, and writers at once that lose nothing."""

import csv
import subprocess
import sys
from datetime import date

import geopandas as gpd
import pytest
from shapely.geometry import box

from layers.field_log import COLUMNS, Entry, append, read_log, wet_spots
from layers.log_places import away_m, in_their_fields
from suitability.errors import InputError

DAY = date(2026, 6, 5)
TODAY = date(2026, 6, 30)


def _one(tmp_path, *args, **more):
    path = tmp_path / "field_log.csv"
    append(path, Entry(DAY, "7", *args, **more), TODAY)
    return read_log(path).iloc[-1]


@pytest.mark.parametrize(
    ("what", "value", "unit", "ours"),
    [
        ("soil-temperature", 65.0, "F", 18.333),
        ("soil-temperature", 20.0, "C", 20.0),
        ("stand", 10.0, "plants/ft2", 107.64),
        ("height", 1.5, "ft", 0.4572),
        ("height", 30.0, "in", 0.762),
        ("cut-weight", 4000.0, "lb/ac", 4483.4),
        ("cut-weight", 2.0, "ton/ac", 4483.4),
        ("grazing-days", 280.0, "head-days", 280.0),
    ],
)
def test_values_keep_their_unit_and_are_turned_into_ours(tmp_path, what, value, unit, ours):
    row = _one(tmp_path, what, value, unit)
    assert (row.value, row.unit) == (value, unit)
    assert row.in_our_unit == pytest.approx(ours, rel=1e-4)


def test_the_file_is_plain(tmp_path):
    _one(tmp_path, "sown", note="drilled after rain, 30 lb")
    lines = (tmp_path / "field_log.csv").read_text("utf-8").splitlines()
    assert lines[0] == "date,field_id,what,value,unit,lat_deg,lon_deg,note"
    assert lines[1] == '2026-06-05,7,sown,,,,,"drilled after rain, 30 lb"'


@pytest.mark.parametrize(
    ("args", "words"),
    [
        (("soil-temperature", 650.0, "F"), "from 5 to 140 F, got 650; is it in another unit"),
        (("soil-temperature", 66.0), "needs a unit, one of F, C; got none"),
        (("soil-temperature", float("nan"), "F"), "from 5 to 140 F, got nan"),
        (("height", 2.0, "yd"), "needs a unit, one of ft, in, cm, m; got 'yd'"),
        (("stand",), "needs a value and its unit: plants/ft2, plants/m2"),
        (("sown", 3.0), "sown takes no value, got 3"),
        (("wet-spot",), "a place is missing: give latitude and longitude"),
        (("ploughed",), "'ploughed' is not known"),
    ],
)
def test_faults_say_what_was_expected_and_nothing_is_written(tmp_path, args, words):
    with pytest.raises(InputError, match="Nothing was logged") as error:
        _one(tmp_path, *args)
    assert words in str(error.value) and not (tmp_path / "field_log.csv").exists()


def test_a_day_to_come_is_refused(tmp_path):
    with pytest.raises(InputError, match="2026-07-01 lies in the future"):
        append(tmp_path / "l.csv", Entry(date(2026, 7, 1), "7", "sown"), TODAY)


def test_hostile_cells_are_defused_and_come_back_as_they_were(tmp_path):
    path = tmp_path / "field_log.csv"
    names = ["=1+1", "@x", "'quoted", 'a,"b"', "Größe"]
    for name in names:
        append(path, Entry(DAY, name, "sown", note=f"{name}\nsecond line"), TODAY)
    raw = list(csv.reader(path.read_text("utf-8").splitlines()))[1:]
    assert not any(row[1].startswith(("=", "@", "+", "-")) for row in raw)
    log = read_log(path)
    assert log["field_id"].tolist() == names
    assert log["note"].tolist() == [f"{name} second line" for name in names]


def test_bad_lines_are_told_with_their_numbers(tmp_path):
    path = tmp_path / "field_log.csv"
    good = "2026-06-05,7,sown,,,,,"
    lines = [",".join(COLUMNS), good, "5 June,7,sown,,,,,", "2026-06-05,7,height,9,m,,,", "a,b"]
    path.write_text("\n".join(lines), "utf-8")
    with pytest.raises(InputError) as error:
        read_log(path)
    text = str(error.value)
    assert "line 3:" in text and "line 4: height must be from 0 to 6 m" in text
    assert "line 5: 8 cells were expected, got 2" in text and "line 2" not in text


def test_a_last_line_left_open_is_closed_first(tmp_path):
    path = tmp_path / "field_log.csv"
    path.write_text(",".join(COLUMNS) + "\n2026-06-05,7,sown,,,,,", "utf-8")
    append(path, Entry(DAY, "8", "sown"), TODAY)
    assert read_log(path)["field_id"].tolist() == ["7", "8"]


def test_no_file_is_an_empty_log(tmp_path):
    assert not len(read_log(tmp_path / "none.csv"))


def test_writers_at_once_lose_nothing(tmp_path):
    # Four processes, 50 lines each, all started before any is waited for.
    path = tmp_path / "field_log.csv"
    code = (
        "import sys; from datetime import date; from pathlib import Path\n"
        "from layers.field_log import Entry, append\n"
        "for i in range(50):\n"
        "    note = f'{sys.argv[2]}-{i} ' + 'x' * 3000\n"
        "    append(Path(sys.argv[1]), Entry(date(2026, 6, 5), 'f', 'sown', note=note),"
        " date(2026, 6, 30))\n"
    )
    running = [
        subprocess.Popen([sys.executable, "-c", code, str(path), str(w)], stderr=subprocess.PIPE)
        for w in range(4)
    ]
    for process in running:
        _, told = process.communicate(timeout=60)
        assert process.returncode == 0, told.decode()
    log = read_log(path)
    seen = {note.split()[0] for note in log["note"]}
    assert len(log) == 200 and seen == {f"{w}-{i}" for w in range(4) for i in range(50)}
    assert path.read_text("utf-8").count(",".join(COLUMNS)) == 1, "one heading"


def test_a_place_outside_the_field_it_names_does_not_count(tmp_path):
    path = tmp_path / "field_log.csv"
    fields = gpd.GeoDataFrame(
        {"field_id": ["7"]}, geometry=[box(499900, 3499400, 500100, 3499700)], crs="EPSG:32616"
    )
    # 87 W is 500,000 m east; a hundredth of a degree of longitude is about 950 m at 31.6 N.
    assert away_m(31.63, -87.0, fields, "7") == 0
    assert away_m(31.63, -86.99, fields, "7") == pytest.approx(949 - 100, rel=0.02)
    for lon in (-87.0, -86.99):
        append(path, Entry(DAY, "7", "wet-spot", lat_deg=31.63, lon_deg=lon), TODAY)
    append(path, Entry(DAY, "7", "height", 2.0, "ft"), TODAY)
    assert in_their_fields(read_log(path), fields).tolist() == [True, False, True]


def test_wet_spots_become_marks_of_the_next_run(tmp_path):
    path = tmp_path / "field_log.csv"
    append(path, Entry(DAY, "7", "wet-spot", lat_deg=31.63, lon_deg=-87.0), TODAY)
    fields = gpd.GeoDataFrame(geometry=[box(499900, 3499400, 500100, 3499700)], crs="EPSG:32616")
    spots = wet_spots(read_log(path), fields, 10.0)
    assert spots["kind"].tolist() == ["wet"] and spots.crs == fields.crs
    assert spots.geometry.iloc[0].area == pytest.approx(314.2, rel=0.01)
    # The central meridian of zone 16 is 87 W: 500,000 m east.
    assert spots.geometry.iloc[0].centroid.x == pytest.approx(500000, abs=0.5)
