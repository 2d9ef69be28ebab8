"""The year so far carried on by past years: splice, warmth, time left and the stand, by hand."""

from datetime import date

import numpy as np
import pandas as pd
import plan_farm as farm
import pytest

from suitability.crop import load_crop
from suitability.feed_window import WindowRule
from suitability.stand_now import stand_now
from suitability.this_season import carried, soil_mean_c, soil_now, spliced, time_left

CROP = load_crop("sunn_hemp")
STATIONS = pd.DataFrame({"weather_id": ["w"], "lat_deg": [31.0], "lon_deg": [-84.0]})
RULE = WindowRule(45.0, 0.457, 56.0, 9.0)


def _weather(years, mean_c, first="01-01", last="12-31"):
    """Every day as warm as ``mean_c`` says of its day of the year, 10 degrees from low to high."""
    days = pd.DatetimeIndex(
        [d for y in years for d in pd.date_range(f"{y}-{first}", f"{y}-{last}")]
    )
    mean = np.array([mean_c(d) for d in days.day_of_year], dtype=float)
    return pd.DataFrame(
        {
            "weather_id": "w",
            "date": days,
            "tmax_c": mean + 5,
            "tmin_c": mean - 5,
            "precip_mm": 0.0,
            "solar_mj_m2_d": np.nan,
        }
    )


def _spring(start_c):
    """``start_c`` until 1 March, then a tenth of a degree warmer each day, to 28 at most."""
    return lambda doy: min(start_c + max(doy - 60, 0) / 10, 28.0)


def test_every_year_begins_as_this_one():
    past = _weather((2010, 2012, 2026), lambda doy: 10.0)
    this = _weather((2026,), lambda doy: 20.0, last="05-10")
    this.loc[this["date"] == "2026-02-03", "tmax_c"] = np.nan
    table = spliced(past, this, date(2026, 5, 10)).set_index("date")
    assert set(table.index.year) == {2010, 2012}, "this year is no past year"
    assert table.loc["2010-05-10", "tmax_c"] == 25 and table.loc["2012-01-01", "tmin_c"] == 15
    assert table.loc["2010-05-11", "tmax_c"] == 15, "the rest is the past year's"
    assert table.loc["2010-02-03", "tmax_c"] == 15, "a hole of this year stays the past year's"
    assert table.loc["2012-02-29", "tmax_c"] == 15, "2026 has no 29 February"
    assert past.set_index("date").loc["2010-05-10", "tmax_c"] == 15, "nothing is changed in place"


def test_each_pair_of_past_and_present_cells_is_carried_on_for_itself():
    past = pd.concat(
        [
            _weather((2010, 2011), lambda doy: 10.0),
            _weather((2010,), lambda doy: 12.0).assign(weather_id="v"),
        ]
    )
    places = pd.concat([STATIONS, STATIONS.assign(weather_id="v")])
    this = pd.concat(
        [
            _weather((2026,), lambda doy: 15.0, last="01-31").assign(weather_id="cool"),
            _weather((2026,), lambda doy: 20.0, last="01-31").assign(weather_id="mild"),
        ]
    )
    of_past = pd.Series({"1": "w", "2": "w", "3": "v", "4": "w", "5": None}, dtype=object)
    of_this = pd.Series({"1": "cool", "2": "mild", "3": "mild", "4": "cool", "5": "cool"})
    year = carried(past, places, of_past, this, of_this, date(2026, 1, 31))
    cell = year.weather_id
    assert cell["1"] == cell["4"] and cell.nunique() == 3 and cell["5"] is None
    high = year.weather.set_index(["weather_id", "date"])["tmax_c"]
    told = [[high[cell[i], pd.Timestamp(d)] for d in ("2010-01-31", "2010-02-01")] for i in "123"]
    assert told == [[20, 15], [25, 15], [25, 17]]
    assert sorted(year.stations["weather_id"]) == sorted(cell.dropna().unique())


def test_a_warm_spring_brings_the_day_forward():
    past = _weather(range(2010, 2022), _spring(10.0))
    asked = {}
    for name, start_c in (("cold", 6.0), ("usual", 10.0), ("warm", 14.0)):
        this = _weather((2026,), _spring(start_c), last="04-30")
        weather = spliced(past, this, date(2026, 4, 30))
        asked[name] = soil_now(weather, STATIONS, "w", date(2026, 4, 30), CROP)
    assert asked["cold"].mean_c < asked["usual"].mean_c < asked["warm"].mean_c
    assert asked["warm"].held_p80 < asked["usual"].held_p80 <= asked["cold"].held_p80
    assert asked["warm"].held_years_in_ten == 10 and asked["cold"].held_years_in_ten == 0


def test_a_thermometer_moves_the_estimate():
    past = _weather(range(2010, 2022), _spring(10.0))
    this = _weather((2026,), _spring(10.0), last="04-30")
    weather = spliced(past, this, date(2026, 4, 30))
    plain, moved = (
        soil_now(weather, STATIONS, "w", date(2026, 4, 30), CROP, offset_c=c) for c in (0.0, 3.0)
    )
    assert moved.mean_c == pytest.approx(plain.mean_c + 3) and moved.held_p80 < plain.held_p80
    # A tenth of a degree a day: 3 degrees are about 30 days.
    ahead = pd.Timestamp(f"2001-{plain.held_p80}") - pd.Timestamp(f"2001-{moved.held_p80}")
    assert 20 <= ahead.days <= 40


def test_the_mean_of_the_soil_is_of_the_days_asked_for():
    weather = _weather((2010, 2011), lambda doy: 20.0)
    mean = soil_mean_c(weather, STATIONS, "w", date(2026, 6, 1), 5)
    assert 20 < mean < 28, "steady air of 20 degrees under the sun of June"
    short = weather[weather["date"].dt.strftime("%m-%d") < "05-01"]
    assert np.isnan(soil_mean_c(short, STATIONS, "w", date(2026, 6, 1), 5))


def test_time_left_by_hand():
    weeks = pd.DataFrame(
        {
            "field_id": ["a"] * 4,
            "sow_date": ["06-04", "06-11", "06-18", "06-25"],
            "works_years_in_ten": [9.0, 7.0, 5.0, 4.9],
        }
    )
    # 12 June lies in the week of 11 June; 5 years of 10 is the least that is worth sowing.
    left = time_left(weeks, ["a", "b"], date(2026, 6, 12), CROP)
    assert left.loc["a"].tolist()[:3] == ["06-11", 7.0, "06-18"]
    assert left["wait_week"].isna().all(), "no week was recommended"
    assert pd.isna(left.loc["b", "next_week"])
    late = time_left(weeks, ["a"], date(2026, 6, 25), CROP).loc["a"]
    assert late["next_week"] == "06-25" and pd.isna(late["last_week"])
    over = time_left(weeks, ["a"], date(2026, 7, 9), CROP).loc["a"]
    assert pd.isna(over["next_week"])


@pytest.mark.parametrize(
    ("recommended", "day", "wait"),
    [
        ("06-18", date(2026, 6, 1), "06-18"),  # 9 years, and the next week works in 7
        ("06-18", date(2026, 6, 18), None),  # it is the next one
        ("06-11", date(2026, 6, 1), None),  # it works in no more years
        ("06-11", date(2026, 6, 18), None),  # it is over
    ],
)
def test_the_week_to_wait_for(recommended, day, wait):
    weeks = pd.DataFrame(
        {
            "field_id": ["a"] * 3,
            "sow_date": ["06-04", "06-11", "06-18"],
            "works_years_in_ten": [7.0, 7.0, 9.0],
        }
    )
    row = time_left(weeks, ["a"], day, CROP, pd.Series({"a": recommended})).loc["a"]
    assert (None if pd.isna(row["wait_week"]) else row["wait_week"]) == wait
    assert row["wait_years_in_ten"] == 9 if wait else pd.isna(row["wait_years_in_ten"])


def _stand(sown, age_d=30, sim=None, seen=None):
    return stand_now(farm.years(sim), farm.fields(), "a", sown, age_d, "tropical", RULE, CROP, seen)


def test_the_stand_of_a_sowing_by_hand():
    # 0.03 m a day from day 5: 0.457 m at 20.2 days, 0.75 m on day 30; 80 kg a day: 2000 kg.
    now = _stand(date(2026, 6, 13))
    assert now.opens_d == pytest.approx((20.2, 20.2, 20.2), abs=0.1)
    assert now.height_m == pytest.approx((0.75,) * 3)
    assert now.dry_matter_kg_ha == pytest.approx((2000,) * 3)
    assert now.up_years_in_ten == 10


def test_a_measured_height_moves_the_day_on_which_grazing_opens():
    # 0.45 m were simulated for day 20 and 0.2 m are there: 0.0133 m a day, 0.457 m on day 39.3.
    low = _stand(date(2026, 6, 13), seen=(20, 0.2))
    assert low.opens_d == pytest.approx((39.3,) * 3, abs=0.1)
    assert low.carried_height_m == pytest.approx((0.333,) * 3, abs=0.001), "25 days of it"
    assert low.height_m == pytest.approx((0.75,) * 3), "the simulation's own is left"
    least = _stand(date(2026, 6, 13), seen=(20, 0.05))
    assert least.opens_d == pytest.approx((45,) * 3), "by its days"
    early = _stand(date(2026, 6, 13), seen=(3, 0.05))
    assert early.opens_d == pytest.approx((45,) * 3), "nothing stood in the simulation yet"
    assert np.isnan(_stand(date(2026, 6, 13)).carried_height_m[1])


def test_the_window_closes_by_its_rule():
    # Protein is 20 % less 0.2 a day: under 9 % from day 55 on.
    assert _stand(date(2026, 6, 13)).closes_d == pytest.approx((55,) * 3, abs=0.1)


def test_years_without_a_stand_count_in_its_odds_only():
    sim = farm.simulated(failed=((0, 1, 2), (), (), ()))
    now = _stand(date(2026, 6, 13), sim=sim)
    assert now.up_years_in_ten == 7 and now.height_m[1] == pytest.approx(0.75)


def test_a_sowing_outside_the_gap_is_not_known():
    assert _stand(date(2026, 5, 20)) is None
    assert _stand(date(2026, 6, 26)) is None, "a week that is not simulated"
