"""Annual climate normals: two real files of both periods, and every special value by hand."""

import pandas as pd
import pytest
from frost_fields import LAT, LON, two_fields, value
from real_data import real

from layers.frost.reader import read_frost
from layers.frost.stated import Stated
from suitability.columns import FROST
from suitability.contract import check
from suitability.errors import InputError
from suitability.july_days import july_day

OLD = "normals_annualseasonal_1981-2010_USW00094765.csv"
NEW = "normals_annualseasonal_1991-2020_USW00094765.csv"
# Read in the published file of 1991-2020 for Lebanon NH by eye.
PRINTED = {
    ("last_spring", 32): {10: "05-24", 50: "05-09", 90: "04-27"},
    ("first_autumn", 32): {10: "09-23", 50: "10-06", 90: "10-19"},
    ("season", 32): {10: 167, 50: 148, 90: 128},
    ("last_spring", 28): {10: "05-11", 50: "04-29", 90: "04-17"},
    ("first_autumn", 28): {10: "10-03", 50: "10-15", 90: "11-01"},
}


def lebanon(name):
    fields = two_fields().assign(lat_deg=43.62, lon_deg=-72.30)
    return read_frost(real("frost", name), fields)


@pytest.mark.parametrize(("event", "threshold_f"), PRINTED)
def test_lebanon_reads_as_printed(event, threshold_f):
    frost = lebanon(NEW).frost
    column = "season_d" if event == "season" else "date_mmdd"
    for prob, printed in PRINTED[event, threshold_f].items():
        assert value(frost, "a", event, threshold_f, prob, column) == printed


def test_a_middle_season_is_not_the_distance_of_middle_dates():
    frost = lebanon(NEW).frost
    last, first = (
        july_day(value(frost, "a", event, 32, 50)) for event in ("last_spring", "first_autumn")
    )
    assert first + 365 - last == 150
    assert value(frost, "a", "season", 32, 50, "season_d") == 148


@pytest.mark.parametrize(("name", "years"), [(OLD, None), (NEW, 22.0)])
def test_both_periods_give_every_date(name, years):
    read = lebanon(name)
    # 3 events, 6 temperatures, 9 odds, 2 fields.
    assert len(check(read.frost, FROST, name)) == 3 * 6 * 9 * 2
    assert set(read.frost["freeze_years_in_ten"]) == {10.0}  # 1000 tenths, or 100.0 percent
    assert value(read.frost, "b", "first_autumn", 28, 10, "n_years") == years
    assert [n.level for n in read.notes] == ["info", "info"]
    assert "representative (R)" in read.notes[0].text
    for (_, event, _), rows in read.frost.groupby(["field_id", "event", "threshold_c"]):
        rows = rows.sort_values("prob_pct")
        place = rows["season_d"] if event == "season" else rows["date_mmdd"].map(july_day)
        rises = place.diff().iloc[1:] >= 0
        assert rises.all() if event == "first_autumn" else (place.diff().iloc[1:] <= 0).all()


def made(tmp_path, values, *, layout="flags", station=None, shuffle=False):
    """A file of one station near the fields, in the layout of either period."""
    row = {
        "STATION": "USX00000001",
        "LATITUDE": f" {LAT}",
        "LONGITUDE": f"{LON}",
        "ELEVATION": "100.0",
        "NAME": "MADE UP, GA US",
        **(station or {}),
    }
    for name, text in values.items():
        column = f"ANN-TMIN-{name}"
        row[column] = f"{text:>8}" if layout == "flags" else text
        if layout == "flags":
            row |= {f"meas_flag_{column}": " ", f"comp_flag_{column}": "S"}
            row[f"years_{column}"] = "30"
        elif layout == "attributes":
            row[f"{column}_ATTRIBUTES"] = "S"
    table = pd.DataFrame([row])
    if shuffle:
        table = table[sorted(table.columns, key=lambda name: name[::-1])]
    path = tmp_path / "normals.csv"
    table.to_csv(path, index=False, quoting=1)
    return path


def frost_of(path, **stated):
    return read_frost(path, two_fields(), Stated(**stated)).frost


def test_columns_in_any_order_and_padded_values(tmp_path):
    values = {"PRBFST-T28FP10": "11/13", "PRBFST-T28FP50": "12/08", "PRBGSL-T28FP10": "328.0"}
    plain, mixed = (frost_of(made(tmp_path, values, shuffle=s)) for s in (False, True))
    keys = ["event", "threshold_c", "prob_pct", "field_id"]
    pd.testing.assert_frame_equal(
        plain.sort_values(keys, ignore_index=True), mixed.sort_values(keys, ignore_index=True)
    )
    assert value(plain, "a", "first_autumn", 28, 10) == "11-13"
    assert value(plain, "a", "season", 28, 10, "season_d") == 328


def test_too_few_freezes_for_the_odds_is_a_date_that_is_empty(tmp_path):
    values = {"PRBOCC-LSTH028": "42.0", "PRBFST-T28FP40": "01/08", "PRBFST-T28FP50": "-6666"}
    frost = frost_of(made(tmp_path, values))
    assert value(frost, "a", "first_autumn", 28, 50) is None
    assert value(frost, "a", "first_autumn", 28, 50, "freeze_years_in_ten") == 4.2
    assert value(frost, "a", "first_autumn", 28, 40) == "01-08"


@pytest.mark.parametrize("code", ["-9999", "-5555", "-7777", "-4444", "-6666", "-8888", "-9999.0"])
def test_a_code_is_no_date_and_not_known_where_most_years_freeze(tmp_path, code):
    values = {"PRBOCC-LSTH028": "97.0", "PRBFST-T28FP40": "11/30", "PRBFST-T28FP50": code}
    frost = frost_of(made(tmp_path, values))
    assert frost["prob_pct"].tolist() == [40.0, 40.0]


@pytest.mark.parametrize("code", ["-6666", "-8888"])
def test_without_the_odds_of_any_freeze_a_code_is_not_known(tmp_path, code):
    frost = frost_of(made(tmp_path, {"PRBFST-T28FP40": "11/30", "PRBFST-T28FP50": code}))
    assert frost["prob_pct"].tolist() == [40.0, 40.0]


def test_a_missing_value_is_never_an_empty_date(tmp_path):
    values = {"PRBOCC-LSTH028": "12.0", "PRBFST-T28FP10": "12/30", "PRBFST-T28FP50": "-9999"}
    assert frost_of(made(tmp_path, values))["prob_pct"].tolist() == [10.0, 10.0]


def test_risk_all_year_round_is_said(tmp_path):
    read = read_frost(made(tmp_path, {"PRBLST-T36FP10": "-4444"}), two_fields())
    assert not len(read.frost)
    (note,) = [n for n in read.notes if n.level == "warning"]
    assert "it can freeze all year round at 2.22 C" in note.text


def test_a_season_that_rounds_to_nothing(tmp_path):
    frost = frost_of(made(tmp_path, {"PRBGSL-T28FP90": "-7777"}))
    assert value(frost, "a", "season", 28, 90, "season_d") == 0


@pytest.mark.parametrize(
    ("layout", "texts", "dates", "years"),
    [
        ("attributes", ["420", "1000"], {}, [4.2, 10.0]),  # tenths by their size
        ("flags", ["42.0", "100.0"], {}, [4.2, 10.0]),  # percent by their point
        ("attributes", ["42.0", "100.0"], {}, [4.2, 10.0]),
        ("attributes", ["42", "100"], {}, [0.42, 1.0]),  # the custom of the layout
        ("flags", ["42", "100"], {}, [4.2, 10.0]),
        ("attributes", ["42", "100"], {"PRBFST-T32FP90": "12/12"}, [4.2, 10.0]),  # by the dates
        ("flags", ["-7777", "100.0"], {}, [0.0, 10.0]),
        ("attributes", ["-9999", "1000"], {}, [None, 10.0]),
    ],
)
def test_odds_of_any_freeze_in_percent_or_tenths(tmp_path, layout, texts, dates, years):
    odds = dict(zip(("PRBOCC-LSTH028", "PRBOCC-LSTH032"), texts, strict=True))
    values = odds | {"PRBFST-T28FP10": "12/01", "PRBFST-T32FP10": "11/01"} | dates
    if years[0] in (0.42, 0.0):
        values["PRBFST-T28FP10"] = "-9999"
        values["PRBGSL-T28FP90"] = "300"
    frost = frost_of(made(tmp_path, values, layout=layout))
    got = [frost.loc[frost["threshold_c"] == t, "freeze_years_in_ten"] for t in (-2.22, 0.0)]
    for series, expected in zip(got, years, strict=True):
        if expected is None:
            assert series.isna().all()
        else:
            assert series.tolist() == pytest.approx([expected] * len(series))


def test_odds_of_any_freeze_in_no_unit_are_not_used(tmp_path):
    values = {"PRBOCC-LSTH028": "12", "PRBFST-T28FP10": "-9999", "PRBGSL-T28FP90": "300"}
    read = read_frost(made(tmp_path, values, layout="bare"), two_fields())
    assert read.frost["freeze_years_in_ten"].isna().all()
    assert any("percent or tenths of a percent cannot be told" in n.text for n in read.notes)


def refusal(path, **stated):
    with pytest.raises(InputError) as caught:
        frost_of(path, **stated)
    return str(caught.value)


@pytest.mark.parametrize(
    ("values", "said"),
    [
        ({"PRBFST-T28FP10": "13/02"}, "there is no month-day '13/02'; the month stands first"),
        ({"PRBFST-T28FP10": "soon"}, "'soon' is no month and day; expected MM-DD"),
        ({"PRBGSL-T28FP10": "900"}, "expected 0 to 366 days"),
        ({"PRBGSL-T28FP10": "05/01"}, "expected 0 to 366 days"),
        ({"PRBOCC-LSTH028": "5000"}, "expected 0 to 100 percent, or 0 to 1000 tenths"),
        (
            {"PRBOCC-LSTH028": "20.0", "PRBFST-T28FP90": "12/20"},
            "fits neither percent nor tenths of a percent",
        ),
        (
            {"PRBLST-T28FP10": "03/01", "PRBLST-T28FP90": "04/01"},
            "10 % is 03-01 and 90 % is 04-01, but later dates have smaller odds",
        ),
        (
            {"PRBFST-T28FP10": "12/20", "PRBFST-T28FP90": "11/20"},
            "10 % is 12-20 and 90 % is 11-20, but later dates have larger odds",
        ),
        (
            {"PRBGSL-T28FP10": "200", "PRBGSL-T28FP90": "260"},
            "10 % is 200 days and 90 % is 260 days, but longer seasons have smaller odds",
        ),
        ({"PRBFST-T28FP10": "04/04"}, "04-04 at 10 %: are events swapped?"),
        (
            {"PRBLST-T28FP10": "10/10"},
            "last spring freeze at -2.22 C: 10-10 at 10 %: are events swapped?",
        ),
    ],
)
def test_what_cannot_be_is_refused(tmp_path, values, said):
    told = refusal(made(tmp_path, {"PRBFST-T32FP10": "11/01", **values}))
    assert said in told
    assert "nan" not in told and "last_spring" not in told and "first_autumn" not in told
    assert "normals.csv" in told


def test_all_faults_come_at_once(tmp_path):
    values = {"PRBFST-T28FP10": "13/02", "PRBGSL-T28FP10": "900"}
    told = refusal(made(tmp_path, values, station={"LATITUDE": "3165.0"}))
    assert "LATITUDE is '3165.0', expected -90 to 90" in told
    assert "13/02" in told
    assert "900" in told


def test_january_comes_after_december(tmp_path):
    values = {"PRBFST-T28FP70": "12/26", "PRBFST-T28FP80": "01/02", "PRBFST-T28FP90": "01/04"}
    frost = frost_of(made(tmp_path, values))
    assert value(frost, "a", "first_autumn", 28, 90) == "01-04"


def test_a_station_too_far_off_is_not_taken_unless_named(tmp_path):
    path = made(tmp_path, {"PRBFST-T28FP10": "11/13"}, station={"LATITUDE": "33.65"})
    read = read_frost(path, two_fields())
    assert not len(read.frost)
    (note,) = [n for n in read.notes if n.level == "warning"]
    # Two degrees of latitude are 222 km.
    assert "lies 222 km off or more, beyond 80 km" in note.text
    assert note.field_ids == ("a", "b")
    named = read_frost(path, two_fields(), Stated(station="usx00000001"))
    assert len(named.frost) == 2
    assert any(n.level == "caution" and "138 mi (222 km) off" in n.text for n in named.notes)
    assert "It has USX00000001" in refusal(path, station="USX00000002")


def test_the_nearest_of_several_stations(tmp_path):
    near = made(tmp_path, {"PRBFST-T28FP10": "11/13"})
    table = pd.read_csv(near, dtype=str)
    far = table.assign(STATION="USX00000002", LATITUDE="31.2")
    far["ANN-TMIN-PRBFST-T28FP10"] = "11/20"
    both = tmp_path / "two.csv"
    pd.concat([far, table]).to_csv(both, index=False)
    assert value(frost_of(both), "a", "first_autumn", 28, 10) == "11-13"
    assert value(frost_of(both, station="USX00000002"), "a", "first_autumn", 28, 10) == "11-20"
    nowhere = tmp_path / "nowhere.csv"
    pd.concat([far, table]).drop(columns=["LATITUDE"]).to_csv(nowhere, index=False)
    told = refusal(nowhere)
    assert "holds 2 stations (USX00000002, USX00000001), and 2 of them have no coordinates" in told
    assert 'station = "USX00000002"' in told
    twice = tmp_path / "twice.csv"
    pd.concat([table, table]).to_csv(twice, index=False)
    assert "a station stands in more than one row" in refusal(twice)


def test_one_station_without_a_place_is_taken_and_said(tmp_path):
    path = made(tmp_path, {"PRBFST-T28FP10": "11/13"}, station={"LATITUDE": "", "LONGITUDE": ""})
    read = read_frost(path, two_fields())
    assert len(read.frost) == 2
    assert any("does not say where USX00000001 MADE UP, GA US lies" in n.text for n in read.notes)
