"""Units in doubt, values that cannot be, days that clash, hostile files: what is said and done."""

import datetime as dt
import gzip

import numpy as np
import pandas as pd
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from real_data import real
from weather_files import PLACE, agronomic, daily_csv, fixed_width, gridded, record

from layers.weather.reader import WeatherSource, read_weather
from layers.weather.units import usual_mean_c
from suitability.columns import WEATHER
from suitability.contract import check
from suitability.errors import InputError


def read(path, middle=PLACE, today=None, **stated):
    return read_weather([WeatherSource(path, **stated)], middle, today)


def refusal(path, **options) -> str:
    with pytest.raises(InputError) as caught:
        read(path, **options)
    assert type(caught.value) is InputError
    return str(caught.value)


def texts(result, level):
    return [n.text for n in result.notes if n.level == level]


def changed(path, change):
    table = pd.read_csv(path, dtype=str)
    change(table).to_csv(path, index=False)
    return path


# ---- units ---------------------------------------------------------------------------------------


def test_usual_mean_is_near_published_normals():
    """Yearly normals 1991-2020 of Gainesville FL, Oak Ridge TN, Fargo ND; values from memory."""
    for lat_deg, mean_c in ((29.7, 20.9), (36.0, 15.2), (46.9, 5.7)):
        months = [usual_mean_c(lat_deg, 0, 30.4 * (m + 0.5)) for m in range(12)]
        assert np.mean(months) == pytest.approx(mean_c, abs=4)


@pytest.mark.parametrize(
    ("system", "wrong"),
    [("us", "c"), ("metric", "f"), ("metric", "tenths_c"), ("tenths", "c"), ("tenths", "f")],
)
def test_a_wrong_temperature_unit_is_refused(tmp_path, system, wrong):
    message = refusal(daily_csv(tmp_path / "w.csv", record(), system), temperature_unit=wrong)
    assert "w.csv, TMAX and TMIN: in" in message
    assert "as stated, the values cannot be" in message
    assert "Correct temperature_unit" in message


@pytest.mark.parametrize(
    ("system", "wrong"), [("us", "mm"), ("metric", "in"), ("metric", "tenths_mm"), ("tenths", "in")]
)
def test_a_wrong_rain_unit_is_refused(tmp_path, system, wrong):
    message = refusal(daily_csv(tmp_path / "w.csv", record(), system), precip_unit=wrong)
    assert "w.csv, PRCP: in" in message and "wet days" in message
    assert "Correct precip_unit" in message


def test_a_right_unit_may_be_stated(tmp_path):
    path = daily_csv(tmp_path / "w.csv", record(), "us")
    result = read(path, temperature_unit="f", precip_unit="in")
    assert any("TMAX and TMIN in F, as farm.toml states" in t for t in texts(result, "info"))


def test_doubt_is_refused_with_the_values_and_the_keys(tmp_path):
    """A January at 42 N of 10 and 0 may be C (mild) or F (hard)."""
    days = pd.DataFrame({"date": pd.date_range("2001-01-01", "2001-01-20")})
    days["tmax_c"], days["tmin_c"], days["precip_mm"] = 10.0, 0.0, 0.0
    days.loc[::3, "tmax_c"], days.loc[::3, "tmin_c"] = 11.0, 1.0
    path = daily_csv(tmp_path / "w.csv", days, place=(42.0, -84.0, 0.0))
    message = refusal(path, middle=(42, -84))
    assert "the file does not say its unit, and it could be in more than one unit" in message
    assert "The values run from 0 to 11" in message
    assert 'under [weather]: temperature_unit = "c" or "f" or "tenths_c"' in message
    assert read(path, middle=(42, -84), temperature_unit="c").weather["tmax_c"].max() == 11
    as_f = read(path, middle=(42, -84), temperature_unit="f").weather["tmax_c"].max()
    assert as_f == pytest.approx(-11.67, abs=0.01)


def test_rain_in_whole_numbers_of_either_size_follows_the_temperatures(tmp_path):
    """30 a wet day is 30 mm or 3 mm; the file's temperatures are in tenths."""
    days = record().assign(precip_mm=lambda d: np.where(d["precip_mm"] > 0, 3.0, 0.0))
    result = read(daily_csv(tmp_path / "w.csv", days, "tenths"))
    assert result.files[0].precip_unit == "tenths_mm"
    assert any("its temperatures are in tenths of C" in t for t in texts(result, "info"))


def test_both_units_in_doubt_are_told_at_once(tmp_path):
    path = daily_csv(tmp_path / "w.csv", record())
    changed(path, lambda t: t.assign(TMAX="5000", TMIN="4000", PRCP="900"))
    message = refusal(path)
    assert "TMAX and TMIN: the file does not say its unit, and it fits none" in message
    assert "PRCP: the file does not say its unit" in message


def test_unit_that_is_not_read(tmp_path):
    (tmp_path / "w.csv").write_text("date,tmax (K),tmin (K)\n2001-07-01,300,290\n")
    assert "column 'tmax (K)': the unit 'K' is not read here" in refusal(tmp_path / "w.csv")


# ---- values and days -----------------------------------------------------------------------------


def test_impossible_values_are_masked_counted_and_named(tmp_path):
    days = record().set_index("date")
    days.loc["2001-07-12", "tmin_c"] = -87.7
    days.loc["2002-07-15", "tmin_c"] = -12.0
    days.loc["2001-04-03", ["tmax_c", "tmin_c"]] = [14.0, 15.5]
    days.loc["2003-03-10", ["tmax_c", "tmin_c"]] = 0.0
    result = read(daily_csv(tmp_path / "w.csv", days.reset_index()))
    got = result.weather.set_index("date")
    for day, columns in (
        ("2001-07-12", ["tmin_c"]),
        ("2002-07-15", ["tmin_c"]),
        ("2001-04-03", ["tmax_c", "tmin_c"]),
        ("2003-03-10", ["tmax_c", "tmin_c"]),
    ):
        assert got.loc[day, columns].isna().all()
    assert got["tmax_c"].isna().sum() == 2 and got["tmin_c"].isna().sum() == 4
    (said,) = [t for t in texts(result, "warning") if "cannot be" in t]
    assert "low of 1 days beyond -70 to 50 C (first 2001-07-12: -87.7 C)" in said
    assert "low of 1 days impossible for the season (first 2002-07-15: -12.0 C)" in said
    assert "with the low above the high (first 2001-04-03: 14.0 C and 15.5 C)" in said
    assert any("high and low of 1 days are both 0" in t for t in texts(result, "warning"))


def test_a_jump_and_a_stuck_thermometer(tmp_path):
    days = record().set_index("date")
    days.loc["2001-01-20", "tmax_c"] = 47.0
    days.loc["2002-05-01":"2002-05-25", "tmin_c"] = 14.3
    result = read(daily_csv(tmp_path / "w.csv", days.reset_index()))
    got = result.weather.set_index("date")
    assert np.isnan(got.at[pd.Timestamp("2001-01-20"), "tmax_c"])
    assert got.loc["2002-05-01":"2002-05-25", "tmin_c"].isna().all()
    assert "low of 25 days the same for 20 days or more" in " ".join(texts(result, "warning"))


def test_days_twice(tmp_path):
    path = daily_csv(tmp_path / "w.csv", record())
    changed(path, lambda t: pd.concat([t, t.iloc[[5, 6]]]))
    result = read(path)
    assert len(result.weather) == 1095
    assert any(
        "2 days stood more than once with the same values" in t for t in texts(result, "info")
    )


def test_days_in_conflict_are_masked_and_many_are_refused(tmp_path):
    path = daily_csv(tmp_path / "w.csv", record())
    changed(path, lambda t: pd.concat([t, t.iloc[[5]].assign(PRCP="77.7")]))
    result = read(path)
    got = result.weather.iloc[5]
    assert np.isnan(got["precip_mm"]) and np.isfinite(got["tmax_c"])
    (said,) = [t for t in texts(result, "warning") if "which is right is not known" in t]
    assert "USW00000001 2001-01-06 (row 7)" in said
    changed(path, lambda t: pd.concat([t, t.assign(PRCP="7.7")]))
    assert "days stand more than once with different values" in refusal(path)


def test_a_hole_of_years_stays_a_hole(tmp_path):
    days = record("1995-01-01", "2004-12-31")
    year = days["date"].dt.year
    result = read(daily_csv(tmp_path / "w.csv", days[(year < 1997) | (year > 2001)]))
    got = result.weather.set_index("date")
    assert len(got) == len(days) and got.loc["1997":"2001"].drop(columns="weather_id").isna().all(
        axis=None
    )
    assert any(
        "nothing was recorded 1997-01-01 to 2001-12-31" in t for t in texts(result, "caution")
    )


@pytest.mark.parametrize(
    ("dates", "words"),
    [
        (pd.date_range("2001-01-01", periods=40, freq="MS").strftime("%Y-%m"), "holds months"),
        (pd.date_range("2001-01-01", periods=40, freq="MS").strftime("%Y-%m-%d"), "31 days apart"),
        (pd.date_range("2001-01-01", periods=40, freq="7D").strftime("%Y-%m-%d"), "7 days apart"),
        (
            pd.date_range("2001-07-01", periods=40, freq="h").strftime("%Y-%m-%d %H:%M"),
            "times of day",
        ),
    ],
)
def test_what_is_no_daily_file(tmp_path, dates, words):
    table = pd.DataFrame({"date": dates, "tmax_c": 25.0, "tmin_c": 14.0, "precip_mm": 1.0})
    table.to_csv(tmp_path / "w.csv", index=False)
    assert words in refusal(tmp_path / "w.csv")


def test_days_that_cannot_be(tmp_path):
    path = daily_csv(tmp_path / "w.csv", record())
    message = refusal(path, today=dt.date(2003, 12, 29))
    assert "2 days lie after today, 2003-12-29: row 1095 2003-12-30" in message
    changed(path, lambda t: t.assign(DATE=["1900-01-01", *t["DATE"][1:]]))
    assert "row 2 1900-01-01 stand 101 years before all other days" in refusal(path)
    changed(path, lambda t: t.assign(DATE=["1700-01-01", *t["DATE"][1:]]))
    assert "1 days lie before 1850: row 2 1700-01-01" in refusal(path)
    changed(path, lambda t: t.assign(DATE=["2001-02-30", "soon", *t["DATE"][2:]]))
    assert "no date: row 2 '2001-02-30', row 3 'soon'. Expected a day as YYYY-MM-DD" in refusal(
        path
    )


def test_text_where_a_number_was_expected(tmp_path):
    path = daily_csv(tmp_path / "w.csv", record())
    changed(path, lambda t: t.assign(TMAX=["warm", "inf", *t["TMAX"][2:]]))
    assert "column TMAX: no number in row 2 'warm', row 3 'inf'" in refusal(path)


def test_no_rain_for_years_is_not_believed(tmp_path):
    result = read(daily_csv(tmp_path / "w.csv", record().assign(precip_mm=0.0)))
    assert result.weather["precip_mm"].isna().all()
    assert "0 on every day of a year or more" in " ".join(texts(result, "warning"))


# ---- places --------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("place", "words"),
    [
        ((0.0, 0.0, 0.0), "is in the sea off Africa and stands for 'not known'"),
        ((-84.0, 31.5, 60.0), "latitude -84, longitude 31.5 seem to have changed places"),
        ((31.5, 84.0, 60.0), "lacks the minus of a western longitude"),
        ((95.0, -184.0, 60.0), "is not on earth"),
        ((31.5, -84.0, 20000.0), "a height of 20000 m is not on land"),
    ],
)
def test_places_that_cannot_be(tmp_path, place, words):
    message = refusal(daily_csv(tmp_path / "w.csv", record(), place=place))
    assert words in message and "Give lat, lon and elevation_m in farm.toml" in message


def test_place_of_the_farm_file_goes_first(tmp_path):
    path = daily_csv(tmp_path / "w.csv", record(), place=(0.0, 0.0, 0.0))
    result = read(path, lat_deg=31.0, lon_deg=-84.2, elevation_m=77.0)
    assert result.stations.loc[0, ["lat_deg", "lon_deg", "elevation_m"]].tolist() == [31, -84.2, 77]


def test_stations_without_a_place(tmp_path):
    one = daily_csv(tmp_path / "a.csv", record(), station="A", place=None)
    two = daily_csv(tmp_path / "b.csv", record(), station="B", place=None)
    with pytest.raises(InputError) as caught:
        read_weather([WeatherSource(one), WeatherSource(two)], PLACE)
    message = str(caught.value)
    assert "a.csv does not say where its stations lie (A)" in message and "b.csv" in message
    pd.concat([pd.read_csv(one), pd.read_csv(two)]).to_csv(tmp_path / "c.csv", index=False)
    assert "does not say where its stations lie (A, B)" in refusal(tmp_path / "c.csv")
    assert "holds 2 stations (A, B), but farm.toml states one place" in refusal(
        tmp_path / "c.csv", lat_deg=31.0, lon_deg=-84.0
    )


# ---- hostile and broken files --------------------------------------------------------------------


@pytest.mark.parametrize("write", [daily_csv, fixed_width, gridded, agronomic])
def test_cut_short_in_the_middle_of_a_row(tmp_path, write):
    path = write(tmp_path / "w.any", record())
    data = path.read_bytes()
    lines = data.rstrip().split(b"\n")
    path.write_bytes(b"\n".join([*lines[:-1], lines[-1][:15]]))
    assert "w.any" in refusal(path)


@pytest.mark.parametrize("write", [daily_csv, fixed_width, gridded, agronomic])
@pytest.mark.parametrize("name", ["w.xls", "w.jpg", "w"])
def test_the_extension_says_nothing(tmp_path, write, name):
    days = record()
    got = read(write(tmp_path / name, days)).weather
    assert np.nanmax(np.abs(got["tmax_c"].to_numpy() - days["tmax_c"].to_numpy())) < 0.06


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (gzip.compress(b"STATION,DATE,PRCP\n"), "is packed (gzip)"),
        (b"PK\x03\x04rest", "is packed (zip or spreadsheet)"),
        (b"", "is empty (0 bytes)"),
        (bytes(4096), "is not a text file"),
        (b"hello world\n", "is no daily weather that is read here; it begins 'hello world'"),
        (b"\xef\xbb\xbfSTATION,DATE,PRCP\n", "holds a header but no day"),
        (b"STATION,DATE,TMAX,TMIN,PRCP\nA,2001-07-01,,,\n", "not one high, low or rain"),
        (
            b"STATION,DATE,TMAX,TMIN\n,2001-07-01,30,20\n",
            "column STATION is empty in 1 rows: row 2",
        ),
        (b"STATION,DATE,TMAX,TMIN\nA,2001-07-01,30\n", "rows are uneven: row 2 has 3"),
    ],
)
def test_broken_files(tmp_path, data, words):
    (tmp_path / "w.csv").write_bytes(data)
    message = refusal(tmp_path / "w.csv")
    assert words in message and "w.csv" in message


def test_addresses_and_virtual_names_are_not_opened():
    for name in ("/vsicurl/x.csv", "https://example.org/w.csv"):
        with pytest.raises(InputError):
            read_weather([WeatherSource(name)], PLACE)


_FUZZ = settings(
    max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)


def any_answer(path) -> None:
    """A table that keeps its contract, or one InputError."""
    try:
        result = read(path)
    except InputError as error:
        assert str(error)
    else:
        check(result.weather, WEATHER, "weather")


@_FUZZ
@given(data=st.binary(max_size=400))
def test_any_bytes(tmp_path, data):
    (tmp_path / "f").write_bytes(data)
    any_answer(tmp_path / "f")


_STARTS = (
    "STATION,DATE,TMAX,TMIN,PRCP,LATITUDE,LONGITUDE\n",
    "date,tmax_c,tmin_f,rain (in)\n",
    "year;yday;tmax (deg c);tmin (deg c)\n",
    "@ INSI LAT LONG ELEV\n  A 31 -84 60\n@DATE SRAD TMAX TMIN RAIN\n",
    "USW00000001200107TMAX  333  0",
)
_CELL = st.one_of(
    st.sampled_from(
        ["2001-07-01", "7/2/2001", "2001182", "01183", "-99", "-9999", "33.1", "20", "T", "A", ""]
    ),
    st.floats().map(str),
    st.integers().map(str),
    st.text(max_size=5),
)


@_FUZZ
@given(
    start=st.sampled_from(_STARTS),
    rows=st.lists(st.lists(_CELL, min_size=4, max_size=7), max_size=6),
    mark=st.sampled_from([",", ";", " "]),
)
def test_any_cells_under_a_known_header(tmp_path, start, rows, mark):
    text = start + "\n".join(mark.join(row) for row in rows)
    (tmp_path / "f").write_bytes(text.encode("utf-8", "surrogatepass"))
    any_answer(tmp_path / "f")


@_FUZZ
@given(
    which=st.integers(0, 3), at=st.floats(0, 1), data=st.binary(min_size=1, max_size=8),
    cut=st.booleans(),
)  # fmt: skip
def test_any_damage_to_a_sound_file(tmp_path, which, at, data, cut):
    write = (daily_csv, fixed_width, gridded, agronomic)[which]
    path = write(tmp_path / "f", record("2001-06-01", "2001-07-31"))
    sound = path.read_bytes()
    place = int(at * len(sound))
    path.write_bytes(sound[:place] + data + (b"" if cut else sound[place + len(data) :]))
    any_answer(path)


# ---- real files ----------------------------------------------------------------------------------


def test_real_florida_station():
    result = read(
        real("weather", "ghcnd_gainesville_fl_USW00012816_1960-2022.csv"), middle=(29.69, -82.27)
    )
    assert (result.files[0].temperature_unit, result.files[0].precip_unit) == ("f", "in")
    got = result.weather.set_index("date")
    # As written in the file: 103 F and 6.95 in are its largest values.
    assert got["tmax_c"].max() == pytest.approx((103 - 32) / 1.8)
    assert got["precip_mm"].max() == pytest.approx(6.95 * 25.4)
    assert any("1970-01-01 to 1983-12-31" in t for t in texts(result, "caution"))
    # Normal of Gainesville 1991-2020, about 47 in a year; value from memory.
    assert got.loc["1991":"2020", "precip_mm"].sum() / 30 == pytest.approx(47 * 25.4, rel=0.05)


def test_real_tennessee_grid_point():
    result = read(real("weather", "daymet_oakridge_tn_single_pixel.csv"), middle=(36.0, -84.3))
    got = result.weather.set_index("date")
    assert got.index[got["tmax_c"].isna()].strftime("%Y-%m-%d").tolist() == [
        "2000-12-31", "2004-12-31", "2008-12-31",
    ]  # fmt: skip
    first = got.loc["2000-01-01"]
    assert first[["tmax_c", "tmin_c", "precip_mm"]].tolist() == [17.0, 2.5, 0.0]
    assert first["solar_mj_m2_d"] == pytest.approx(310.4 * 34560 / 1e6, abs=1e-3)
    assert result.stations.loc[0, "elevation_m"] == 279
