"""Own freeze dates laid on the fields, beside published ones; any bytes are a table or refused."""

import numpy as np
import pandas as pd
import pytest
from frost_fields import two_fields, value
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from layers.frost.field_frost import field_frost
from layers.frost.reader import read_frost
from layers.frost.stated import Stated
from suitability.columns import FROST, WEATHER
from suitability.contract import check, empty
from suitability.errors import InputError

PUBLISHED = """event,threshold_c,prob_pct,date
first_autumn,-2.2,10,11-20
first_autumn,-2.2,50,12-01
"""


def weather(seasons=12):
    """Cell w: on 1 December of each season 5 degrees of frost; cell v: on 10 December."""
    days = pd.date_range("2000-07-01", f"{2000 + seasons}-06-30")
    cells = []
    for cell, cold in (("w", 1), ("v", 10)):
        tmin = np.where((days.month == 12) & (days.day == cold), -5.0, 10.0)
        cells.append(pd.DataFrame({"weather_id": cell, "date": days, "tmin_c": tmin}))
    table = pd.concat(cells, ignore_index=True)
    return check(table.assign(tmax_c=20.0, precip_mm=0.0, solar_mj_m2_d=np.nan), WEATHER, "weather")


def parts(*rows):
    table = pd.DataFrame(rows, columns=["field_id", "weather_id", "area_ha"])
    return table.assign(mukey="1", cokey="1", position="unplaced", drained=False)


HERE = parts(("a", "w", 3.0), ("a", "v", 1.0), ("b", "v", 2.0))


def frost(path=None, days=None, where=HERE):
    days = weather() if days is None else days
    return field_frost(path, Stated(), two_fields(), days, where)


def test_a_field_takes_the_cell_that_most_of_its_ground_looks_to():
    read = frost()
    assert value(read.frost, "a", "first_autumn", 28, 50) == "12-01"
    assert value(read.frost, "b", "first_autumn", 28, 50) == "12-10"
    assert set(read.frost["source"]) == {"own computation"}
    told = [n.text for n in read.notes]
    assert "Freeze dates from w: 12 whole seasons from July to June between 2000 and 2012." in told


def test_ground_without_weather_has_no_dates():
    read = frost(where=parts(("a", "w", 3.0), ("b", None, 2.0)))
    assert set(read.frost["field_id"]) == {"a"}
    assert frost(days=empty(WEATHER)).frost.empty


def test_too_few_seasons_are_said():
    read = frost(days=weather(seasons=9))
    assert read.frost.empty
    assert any("9 whole seasons" in n.text and "too few for odds" in n.text for n in read.notes)
    one = frost(days=weather(seasons=1))
    assert any("w: 1 whole season from July to June" in n.text for n in one.notes)


def test_published_dates_are_used_and_the_difference_is_told(tmp_path):
    path = tmp_path / "frost.csv"
    path.write_text(PUBLISHED)
    read = frost(path)
    check(read.frost, FROST, "both")
    killing = read.frost[
        (read.frost["event"] == "first_autumn") & read.frost["threshold_c"].between(-3, -2)
    ]
    # Published odds only: no own one stands between them, and none of 90 % beyond them.
    assert sorted(killing["prob_pct"]) == [10, 10, 50, 50]
    assert set(killing["source"]) == {"frost.csv"}
    assert value(read.frost, "a", "first_autumn", 32, 50, "source") == "own computation"
    told = {n.field_ids: n.text for n in read.notes if "The published one is used" in n.text}
    assert told[("a",)] == (
        "First fall freeze at 28 F (-2.2 C): 10 % published 11-20, by our own computation 12-01 "
        "(11 days later); 50 % published 12-01, by our own computation 12-01 (the same). The "
        "published one is used; ours rests on 12 seasons of the daily weather."
    )
    assert "12-10 (20 days later)" in told[("b",)]


def test_dates_that_agree_take_one_line(tmp_path):
    path = tmp_path / "frost.csv"
    both = "first_autumn,-2.2,50,12-01\nlast_spring,0,50,12-01\n"
    path.write_text(f"event,threshold_c,prob_pct,date\n{both}")
    (told,) = [n.text for n in frost(path).notes if n.field_ids == ("a",) and "same" in n.text]
    assert told == (
        "Published dates and our own, from 12 seasons of the daily weather, are the same in 1 and "
        "5 years of 10: First fall freeze at 28 F (-2.2 C); Last spring freeze at 32 F (0.0 C)."
    )


def test_the_sides_disagree_whether_it_freezes_by_then(tmp_path):
    path = tmp_path / "frost.csv"
    path.write_text(PUBLISHED.replace("12-01", "none"))
    told = " ".join(n.text for n in frost(path).notes)
    assert "50 % published none by then, by our own computation 12-01" in told


def test_a_season_that_a_freeze_ends_is_told():
    fields = two_fields().assign(gap_closes=["12-15", "11-15"])
    read = field_frost(None, Stated(), fields, weather(), HERE)
    (note,) = [n for n in read.notes if "season is counted to that day" in n.text]
    assert note.field_ids == ("a",)
    assert "comes by 12-01" in note.text


def test_no_file_and_no_weather_is_nothing():
    read = frost(days=empty(WEATHER), where=HERE)
    assert (len(read.frost), read.notes, read.files) == (0, (), ())


# ---- any bytes ----

WORDS = st.lists(
    st.sampled_from(
        ["STATION", "ANN-TMIN-PRBFST-T28FP10", "ANN-TMIN-PRBOCC-LSTH028", "event", "threshold_f",
         "prob_pct", "date", "season_d", "first_autumn", "last_spring", "season", "11/13", "-6666",
         "-7777", "28", "10", "nan", "inf", "1e999", "USX00000001 ", "10/03R", ",", "\n", ",", "\n",
         '"', ";", "\t", " ", "02/30", "none", "field_id", "lat", "lon", "LATITUDE", "999"]
    ),
    max_size=60,
)  # fmt: skip
HEADS = st.sampled_from(
    [
        "STATION,ANN-TMIN-PRBFST-T28FP10,ANN-TMIN-PRBGSL-T28FP10\n",
        "event,threshold_f,prob_pct,date,season_d\n",
        "USX00000001   10/03R\n",
        "",
    ]
)
TEXTS = st.builds(lambda head, words: (head + "".join(words)).encode(), HEADS, WORDS)
CELLS = st.sampled_from(
    ["11/13", "12/08", "01/04", "03/13", "-6666", "-9999", "-4444", "28", "32", "10", "50", "90",
     "100.0", "1000", "none", "", "first_autumn", "last_spring", "season", "nan", "a", "310"]
)  # fmt: skip
TABLES = st.sampled_from(
    [
        ["STATION", "ANN-TMIN-PRBFST-T28FP10", "ANN-TMIN-PRBGSL-T28FP10"],
        ["ANN-TMIN-PRBOCC-LSTH028", "ANN-TMIN-PRBLST-T28FP90", "ANN-TMIN-PRBLST-T28FP50"],
        ["event", "threshold_f", "prob_pct", "date"],
        ["prob_pct", "date", "field_id"],
    ]
).flatmap(
    lambda head: st.lists(
        st.lists(CELLS, min_size=len(head), max_size=len(head)), min_size=1, max_size=4
    ).map(lambda rows: "\n".join(",".join(row) for row in [head, *rows]).encode())
)
NAMES = st.sampled_from(
    ["f.csv", "f.csv", "first_28f.csv", "first_freeze_28f_p10.txt", "season_32f_p50.txt",
     "last_32f_p10.tif", "f.geojson", "f.zip", "f.gpkg", "f.asc"]
)  # fmt: skip


@pytest.mark.parametrize(
    "data", [st.binary(max_size=300), TEXTS, TABLES], ids=["bytes", "words", "tables"]
)
def test_any_file_is_a_table_or_one_message(tmp_path, data):
    fields = two_fields()

    @settings(
        max_examples=150, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
    )
    @given(data, NAMES)
    def run(content, name):
        path = tmp_path / name
        path.write_bytes(content)
        try:
            read = read_frost(path, fields)
        except InputError as error:
            assert str(path) in str(error) or name in str(error)
        else:
            check(read.frost, FROST, name)

    run()
