"""Fields look to the nearest station, by kilometres and height; lows and highs by lapse rate."""

import numpy as np
import pandas as pd
import pytest

from layers.weather.cells import at_height, nearest_stations, weather_cells
from layers.weather.heights_beside import beside_stations
from layers.weather.places import distance_km
from suitability.columns import STATIONS, WEATHER
from suitability.contract import check

KM_PER_DEG = 6371.0 * np.pi / 180


def stations(**rows):
    """Stations by id: km north of 32 N 84 W, and height."""
    return pd.DataFrame(
        {
            "weather_id": list(rows),
            "name": None,
            "lat_deg": [32 + km / KM_PER_DEG for km, _ in rows.values()],
            "lon_deg": -84.0,
            "elevation_m": [float(m) for _, m in rows.values()],
        }
    ).astype({"name": object})


def fields(**km_north):
    return pd.DataFrame(
        {
            "field_id": list(km_north),
            "lat_deg": [32 + km / KM_PER_DEG for km in km_north.values()],
            "lon_deg": -84.0,
        }
    )


def days(*ids, tmax_c=30.0, tmin_c=20.0, first="2001-01-01", last="2001-12-31"):
    day = pd.date_range(first, last)
    one = pd.DataFrame(
        {
            "date": day,
            "tmax_c": tmax_c,
            "tmin_c": tmin_c,
            "precip_mm": 1.0,
            "solar_mj_m2_d": np.nan,
        }
    )
    return pd.concat([one.assign(weather_id=i) for i in ids], ignore_index=True)


def test_distance_against_a_printed_one():
    """London to Paris, 51.5074 N 0.1278 W to 48.8566 N 2.3522 E: 344 km (value from memory)."""
    assert distance_km(51.5074, -0.1278, 48.8566, 2.3522) == pytest.approx(344, abs=1)
    assert distance_km(32.0, -84.0, 33.0, -84.0) == pytest.approx(KM_PER_DEG)


@pytest.mark.parametrize(
    ("field_m", "station_m", "km", "said"),
    [
        (280.0, 98.0, 5, "as far apart as feet and metres"),  # 85 m of ground in feet
        (30.0, 98.4, 5, "as far apart as feet and metres"),  # and a station in feet
        (320.0, 160.0, 5, "much for so short a way"),
        (300.0, 160.0, 5, None),
        (280.0, 98.0, 15, None),  # hills enough can lie between
        (9.0, 3.0, 5, None),  # a ratio of small heights tells nothing
        (np.nan, 98.0, 5, None),
        (280.0, np.nan, 5, None),
    ],
)
def test_heights_that_do_not_fit_a_station_near_by_are_said(field_m, station_m, km, said):
    heights = pd.Series({"F": field_m})
    notes = beside_stations(fields(F=km), stations(A=(0, station_m)), heights)
    assert [n.level for n in notes] == (["caution"] if said else [])
    if said:
        assert said in notes[0].text and "Check vertical_unit" in notes[0].text
        assert f"{field_m:.0f} m above the sea, and station A, 5 km away" in notes[0].text
    cells = weather_cells(fields(F=km), stations(A=(0, station_m)), days("A"), heights)
    assert [n for n in cells.notes if "vertical_unit" in n.text] == notes


def test_nearest_by_distance():
    found, notes = nearest_stations(fields(F=10, G=40), stations(A=(0, 100), B=(45, 100)))
    assert found.to_dict() == {"F": "A", "G": "B"}
    assert found.index.name == "field_id"
    assert "1 field looks to station A, 6 mi (10 km) away." in [n.text for n in notes]


def test_height_counts_ten_metres_a_kilometre():
    two = stations(VALLEY=(30, 200), HILL=(10, 500))
    height_m = pd.Series({"F": 200.0})
    # HILL 10 km and 300 m: counts as 40 km. VALLEY: 30 km.
    assert nearest_stations(fields(F=0), two, field_elevation_m=height_m)[0]["F"] == "VALLEY"
    assert nearest_stations(fields(F=0), two)[0]["F"] == "HILL"


def test_beyond_the_limit_is_not_known():
    found, notes = nearest_stations(fields(F=79, G=81), stations(A=(0, 0)))
    assert found["F"] == "A" and found["G"] is None
    (warning,) = [n for n in notes if n.level == "warning"]
    assert warning.field_ids == ("G",)
    assert "1 of 2 fields have no station with highs, lows and rain within 80 km" in warning.text
    assert "the nearest is 81 km away" in warning.text


def test_a_short_record_stands_back_behind_a_long_one_within_reach():
    two = stations(SHORT=(5, 0), LONG=(30, 0), FAR=(200, 0))
    years = pd.Series({"SHORT": 4, "LONG": 25, "FAR": 60})
    assert nearest_stations(fields(F=0), two, years=years)[0]["F"] == "LONG"
    years["LONG"] = 3
    assert nearest_stations(fields(F=0), two, years=years)[0]["F"] == "SHORT"


def test_equally_near_is_settled_by_name_and_order_changes_nothing():
    two = stations(B=(-10, 0), A=(10, 0))
    for table in (two, two[::-1]):
        assert nearest_stations(fields(F=0), table)[0]["F"] == "A"


def test_a_station_without_rain_is_not_looked_to():
    weather = days("A", "B")
    weather.loc[weather["weather_id"] == "A", "precip_mm"] = np.nan
    cells = weather_cells(fields(F=0), stations(A=(1, 0), B=(20, 0)), weather)
    assert cells.weather_id["F"] == "B"
    assert cells.stations["weather_id"].tolist() == ["B"]


def test_lapse_by_hand():
    """500 m up: highs 3.5 C less (7 a km), lows 1.5 C less (3 a km); Bolstad et al. 1998."""
    got = at_height(days("A").head(1), 500).iloc[0]
    assert (got["tmax_c"], got["tmin_c"]) == pytest.approx((26.5, 18.5))
    down = at_height(days("A").head(1), -200).iloc[0]
    assert (down["tmax_c"], down["tmin_c"]) == pytest.approx((31.4, 20.6))


def test_a_low_never_passes_the_high():
    got = at_height(days("A", tmax_c=10.0, tmin_c=9.5).head(1), 500).iloc[0]
    assert got["tmax_c"] == got["tmin_c"] == pytest.approx((6.5 + 8.0) / 2)


def test_heights_become_few_cells():
    height_m = pd.Series({"F": 129.0, "G": 131.0, "H": 230.0, "I": np.nan, "J": 30.0})
    cells = weather_cells(
        fields(F=0, G=0, H=0, I=0, J=0, K=500), stations(A=(5, 100)), days("A"), height_m
    )
    assert cells.weather_id.to_dict() == {
        "F": "A", "G": "A+60m", "H": "A+120m", "I": "A", "J": "A-60m", "K": None,
    }  # fmt: skip
    by_id = cells.stations.set_index("weather_id")["elevation_m"]
    assert by_id.to_dict() == {"A": 100, "A+60m": 160, "A+120m": 220, "A-60m": 40}
    tmin_c = cells.weather.groupby("weather_id")["tmin_c"].mean()
    assert tmin_c["A+120m"] == pytest.approx(20 - 0.36)
    said = [n.text for n in cells.notes]
    assert any(
        "about 120 m above station A: highs were taken 0.8 C less, lows 0.4" in t for t in said
    )
    assert any("For 1 of 6 fields a height is not known" in t for t in said)
    check(cells.weather, WEATHER, "weather")
    check(cells.stations, STATIONS, "stations")


def test_no_height_of_the_station_leaves_its_weather_as_it_is():
    cells = weather_cells(fields(F=0), stations(A=(5, np.nan)), days("A"), pd.Series({"F": 300.0}))
    assert cells.weather_id["F"] == "A"
    assert any("the height of the station is not known" in n.text for n in cells.notes)


def test_no_station_at_all():
    cells = weather_cells(fields(F=0), stations(A=(500, 0)), days("A"))
    assert cells.weather_id["F"] is None
    assert cells.weather.empty and cells.stations.empty
