"""One record in every layout gives the same table of days."""

import numpy as np
import pandas as pd
import pytest
from weather_files import PLACE, agronomic, daily_csv, fixed_width, gridded, in_unit, record

from layers.weather.header_names import measure_and_unit
from layers.weather.reader import WeatherSource, read_weather
from suitability.columns import STATIONS, WEATHER
from suitability.contract import check, names


def read(path, **stated):
    return read_weather([WeatherSource(path, **stated)], PLACE)


def texts(result, level=None):
    return [n.text for n in result.notes if level in (None, n.level)]


def same(result, days, *, within_c=0.051, within_mm=0.051):
    got = result.weather.set_index("date")
    want = days.set_index("date")
    assert list(got.index) == list(want.index)
    for column in ("tmax_c", "tmin_c"):
        assert np.abs(got[column] - want[column]).max() <= within_c
    assert np.abs(got["precip_mm"] - want["precip_mm"]).max() <= within_mm


@pytest.mark.parametrize(
    ("system", "temperature", "rain"),
    [("metric", "c", "mm"), ("us", "f", "in"), ("tenths", "tenths_c", "tenths_mm")],
)
@pytest.mark.parametrize("date_format", ["%Y-%m-%d", "%m/%d/%Y", "%Y%m%d"])
def test_station_file_in_each_system_of_units(tmp_path, system, temperature, rain, date_format):
    days = record()
    result = read(daily_csv(tmp_path / "w.csv", days, system, date_format=date_format))
    assert (result.files[0].temperature_unit, result.files[0].precip_unit) == (temperature, rain)
    # Whole degrees F and hundredths of an inch are rounder than the record.
    coarse = system == "us"
    same(result, days, within_c=0.28 if coarse else 0.051, within_mm=0.13 if coarse else 0.051)
    check(result.weather, WEATHER, "weather")
    check(result.stations, STATIONS, "stations")
    station = result.stations.iloc[0]
    assert (station["weather_id"], station["elevation_m"]) == ("USW00000001", 60.0)
    why = next(t for t in texts(result) if "TMAX and TMIN in" in t)
    assert "the file does not say it, its values do" in why and "is usual" in why


def test_columns_in_any_order_and_others_beside_them(tmp_path):
    days = record()
    path = daily_csv(tmp_path / "w.csv", days)
    table = pd.read_csv(path).assign(SNOW=0, TAVG=99, TOBS="x")
    table[sorted(table.columns, reverse=True)].to_csv(path, index=False)
    same(read(path), days)


def test_two_stations_in_one_file_stay_apart(tmp_path):
    days = record()
    one = daily_csv(tmp_path / "a.csv", days, station="USW00000001")
    two = daily_csv(
        tmp_path / "b.csv",
        days.assign(precip_mm=days["precip_mm"] + 1),
        station="USW00000002",
        place=(32.0, -84.5, 90.0),
    )
    both = pd.concat([pd.read_csv(one), pd.read_csv(two)]).sort_values(["DATE", "STATION"])
    both.to_csv(tmp_path / "w.csv", index=False)
    result = read(tmp_path / "w.csv")
    assert result.stations["weather_id"].tolist() == ["USW00000001", "USW00000002"]
    assert result.stations["lat_deg"].tolist() == [31.5, 32.0]
    own = result.weather[result.weather["weather_id"] == "USW00000002"]
    assert np.allclose(own["precip_mm"], days["precip_mm"] + 1)


@pytest.mark.parametrize("code", ["-9999", "-99", "", "-999.9", "M"])
def test_missing_codes(tmp_path, code):
    days = record()
    path = daily_csv(tmp_path / "w.csv", days)
    table = pd.read_csv(path, dtype=str)
    table.loc[10, ["TMAX", "PRCP"]] = code
    table.to_csv(path, index=False)
    got = read(path).weather
    assert got.loc[10, ["tmax_c", "precip_mm"]].isna().all()
    assert got["tmax_c"].isna().sum() == 1 and got["tmin_c"].notna().all()


def test_in_tenths_minus_99_is_a_cold_night_in_winter_and_none_in_summer(tmp_path):
    days = record()
    cold = days["date"].isin(pd.to_datetime(["2002-01-14", "2002-01-15", "2002-01-16"]))
    days.loc[cold, "tmin_c"] = [-7.0, -9.9, -6.0]
    days.loc[cold, "tmax_c"] = 2.0
    days.loc[days["date"] == "2002-07-15", "tmin_c"] = -9.9
    got = read(daily_csv(tmp_path / "w.csv", days, "tenths")).weather.set_index("date")
    assert got.at[pd.Timestamp("2002-01-15"), "tmin_c"] == pytest.approx(-9.9)
    assert np.isnan(got.at[pd.Timestamp("2002-07-15"), "tmin_c"])


def test_attributes_mask_what_failed_the_publishers_checks(tmp_path):
    path = daily_csv(tmp_path / "w.csv", record())
    table = pd.read_csv(path).assign(TMAX_ATTRIBUTES=",,7")
    table.loc[[3, 4], "TMAX_ATTRIBUTES"] = ",S,7"
    table.to_csv(path, index=False)
    result = read(path)
    assert result.weather["tmax_c"].isna().sum() == 2
    assert any("left out: 2 of TMAX" in t for t in texts(result, "warning"))


def test_fixed_width_without_flags_is_the_record(tmp_path):
    days = record()
    result = read(fixed_width(tmp_path / "w.dly", days), lat_deg=31.5, lon_deg=-84.0)
    same(result, days)
    assert result.files[0].temperature_unit == "tenths_c"
    assert not texts(result, "warning")


def test_fixed_width_by_hand(tmp_path):
    """One line typed by the format description: value 5, flags of measure, quality, source."""

    def line(element, first):
        blank = "-9999   " * 28
        return f"USW00000001200107{element}" + first + blank

    text = [
        line("TMAX", "  333  0  344 I0  350  0"),
        line("TMIN", "  211  0  222  0 -877 X0"),
        line("PRCP", "    0T 0  127  0    0  0"),
    ]
    (tmp_path / "w.dly").write_text("\n".join(text))
    result = read(tmp_path / "w.dly")
    got = result.weather
    assert got["date"].dt.day.tolist() == [1, 2, 3]
    assert got["tmax_c"].fillna(-1).tolist() == pytest.approx([33.3, -1, 35.0])
    assert got["tmin_c"].fillna(-1).tolist() == pytest.approx([21.1, 22.2, -1])
    assert got["precip_mm"].tolist() == pytest.approx([0, 12.7, 0])
    assert any("1 of TMAX, 1 of TMIN" in t for t in texts(result, "warning"))


def test_grid_point_misses_the_last_day_of_a_leap_year(tmp_path):
    days = record("2003-01-01", "2005-12-31")
    result = read(gridded(tmp_path / "w.csv", days))
    got = result.weather.set_index("date")
    assert len(got) == len(days)
    assert got.index[got["tmax_c"].isna()].tolist() == [pd.Timestamp("2004-12-31")]
    leap = days.set_index("date").loc["2004-02-29"]
    assert got.at[pd.Timestamp("2004-02-29"), "tmax_c"] == leap["tmax_c"]
    # 350 W/m2 over 40,000 s of daylight: 14 MJ/m2.
    assert got["solar_mj_m2_d"].dropna().unique().tolist() == pytest.approx([14.0])
    assert result.stations.loc[0, ["lat_deg", "lon_deg", "elevation_m"]].tolist() == [31.5, -84, 60]


@pytest.mark.parametrize("digits", [7, 5])
def test_crop_model_file(tmp_path, digits):
    days = record("1998-06-01", "2001-05-31")
    result = read(agronomic(tmp_path / "SOME9801.WTH", days, digits))
    same(result, days)
    assert result.stations.loc[0, ["weather_id", "elevation_m"]].tolist() == ["SOME", 60.0]
    assert result.weather["solar_mj_m2_d"].eq(18.5).all()
    said = any("two digits were read as 1998 to 2001" in t for t in texts(result))
    assert said == (digits == 5)


def test_crop_model_file_whose_columns_touch_or_are_blank(tmp_path):
    text = (
        "@ INSI      LAT     LONG  ELEV\n  SOME   31.500  -84.000    60\n"
        "@DATE  SRAD  TMAX  TMIN  RAIN\n"
        "01182  20.1  33.0  21.0 101.6\n"
        "01183        32.0  20.0   0.0\n"
        "01184  20.1  31.0   -99   0.0\n"
        "01185  20.1  31.0  20.0   0.0\n"
    )
    (tmp_path / "w.wth").write_text(text)
    got = read(tmp_path / "w.wth").weather
    assert got["date"].iloc[0] == pd.Timestamp("2001-07-01")
    assert got["precip_mm"].tolist() == [101.6, 0, 0, 0]
    assert got["solar_mj_m2_d"].isna().tolist() == [False, True, False, False]
    assert got["tmin_c"].isna().tolist() == [False, False, True, False]


@pytest.mark.parametrize(
    ("header", "system"),
    [
        ("date,tmax_c,tmin_c,precip_mm", "metric"),
        ("Date,Max Temp (°F),Min Temp (°F),Rain (in)", "us"),
        ("DATE,TMAX [0.1 C],TMIN [0.1 C],PRCP [0.1 mm]", "tenths"),
    ],
)
def test_plain_table_with_units_in_its_header(tmp_path, header, system):
    days = record()
    table = in_unit(days, system)
    table.insert(0, "date", days["date"].dt.strftime("%Y-%m-%d"))
    table.columns = header.split(",")
    table.to_csv(tmp_path / "my weather.csv", index=False)
    result = read(tmp_path / "my weather.csv")
    coarse = system == "us"
    same(result, days, within_c=0.28 if coarse else 0.051, within_mm=0.13 if coarse else 0.051)
    assert result.stations.loc[0, "weather_id"] == "my weather"
    assert any("as the file or its layout states" in t for t in texts(result))
    assert any("taken to lie in the middle of the farm" in t for t in texts(result, "caution"))


def test_plain_table_with_year_month_day(tmp_path):
    days = record()
    table = days.rename(columns={"date": "when"})
    for part in ("year", "month", "day"):
        table[part] = getattr(days["date"].dt, part)
    table.drop(columns="when").to_csv(tmp_path / "w.csv", index=False)
    same(read(tmp_path / "w.csv"), days)


def test_semicolons_decimal_commas_utf16_and_day_first(tmp_path):
    days = record()
    table = days.assign(date=days["date"].dt.strftime("%d/%m/%Y"))
    text = table.to_csv(index=False, sep=";", decimal=",")
    (tmp_path / "w.csv").write_bytes(text.encode("utf-16"))
    result = read(tmp_path / "w.csv")
    same(result, days)
    assert any("read as day/month/year" in t for t in texts(result, "caution"))


def test_two_files_of_one_station_follow_each_other(tmp_path):
    days = record()
    early, late = days[:600], days[590:]
    sources = [
        WeatherSource(daily_csv(tmp_path / "a.csv", early, "us")),
        WeatherSource(daily_csv(tmp_path / "b.csv", late, "metric")),
    ]
    result = read_weather(sources, PLACE)
    assert len(result.stations) == 1
    assert result.weather["date"].tolist() == days["date"].tolist()
    assert result.weather[["tmax_c", "tmin_c", "precip_mm"]].notna().all(axis=None)
    assert [f.temperature_unit for f in result.files] == ["f", "c"]


@pytest.mark.parametrize(
    ("header", "expected"),
    [
        ("tmax_f", ("tmax", "f")),
        ("Minimum Temperature (C)", ("tmin", "c")),
        ("rain_in", ("precip", "in")),
        ("precip", ("precip", None)),
        ("prcp (mm/day)", ("precip", "mm")),
        ("srad (W/m^2)", ("solar", "w_m2")),
        ("tmax (K)", ("tmax", "?K")),
        ("TOBS", (None, None)),
        ("tavg_c", (None, None)),
        ("max_wind", (None, None)),
    ],
)
def test_header_names(header, expected):
    assert measure_and_unit(header) == expected


def test_tables_have_the_declared_columns_in_order(tmp_path):
    result = read(daily_csv(tmp_path / "w.csv", record()))
    assert list(result.weather.columns) == names(WEATHER)
    assert list(result.stations.columns) == names(STATIONS)
