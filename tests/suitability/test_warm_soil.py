"""The warm-and-holding day on series made by hand, and its odds over years."""

import numpy as np
import pandas as pd
import pytest

from suitability.crop import load_crop
from suitability.errors import InputError
from suitability.warm_soil import (
    NEVER,
    WarmRule,
    warm_and_holding,
    warm_dates,
    warm_odds,
    warm_rule,
)

RULE = WarmRule(threshold_c=18.0, window_d=5, hold_d=21, search_from_doy=32, least_years=10)
DOY = np.arange(1, 366)


def year(warm_from, cold=(), level=20.0, base=10.0):
    """A year that steps from base to level on a day; ``cold`` days fall back to base."""
    soil = np.where(warm_from <= DOY, level, base)
    for day in cold:
        soil[day - 1] = base
    return soil


def test_the_crop_file_sets_the_rule():
    assert warm_rule(load_crop("sunn_hemp")) == WarmRule(18.3, 5, 21, 32, 10)


def test_last_day_of_the_first_warm_window():
    # Means of 5 days over the step from 10 to 20 on day 100: 12, 14, 16, 18, 20 on days 100-104.
    # 18 is reached on day 103, which is the last day of that window.
    assert warm_and_holding(DOY, year(100), RULE) == 103


def test_a_touch_that_does_not_hold_is_no_date():
    # Warm from day 80; two cold days on 95 and 96 take a mean to 16: back to 18 on day 100.
    assert warm_and_holding(DOY, year(80, cold=(95, 96)), RULE) == 100
    # One cold day leaves the mean at 18, which is not below.
    assert warm_and_holding(DOY, year(80, cold=(95,)), RULE) == 83


def test_the_hold_is_counted_in_windows_to_the_last_day():
    # The first warm window ends on day 83, so windows to day 104 must hold. Cold days 103 and 104
    # take the one of day 104 to 16; with 104 and 105 it stands at 18 and the next is not asked.
    assert warm_and_holding(DOY, year(80, cold=(103, 104)), RULE) == 108
    assert warm_and_holding(DOY, year(80, cold=(104, 105)), RULE) == 83


def test_no_window_before_the_search_counts():
    # Warm all year: the first window wholly in the search is 1 to 5 February.
    assert warm_and_holding(DOY, np.full(365, 25.0), RULE) == 36


def test_never_and_not_known_are_told_apart():
    assert warm_and_holding(DOY, np.full(365, 10.0), RULE) == NEVER
    assert np.isnan(warm_and_holding(DOY[:120], np.full(120, 10.0), RULE))
    assert np.isnan(warm_and_holding(DOY, np.full(365, np.nan), RULE))
    assert np.isnan(warm_and_holding([], [], RULE))


def test_one_missing_day_in_five_is_borne_and_more_are_not():
    soil = year(100)
    soil[[110, 120]] = np.nan
    assert warm_and_holding(DOY, soil, RULE) == 103
    soil[111] = np.nan
    assert np.isnan(warm_and_holding(DOY, soil, RULE))
    # A hole in the cold part, which a later cold window settles, hides nothing.
    soil = year(100)
    soil[60:70] = np.nan
    assert warm_and_holding(DOY, soil, RULE) == 103


def test_a_series_that_starts_late_or_ends_early_is_not_known():
    assert np.isnan(warm_and_holding(DOY[150:], np.full(215, 25.0), RULE))
    assert np.isnan(warm_and_holding(DOY[:110], year(100)[:110], RULE))
    # A start in March is no harm where cold days after it settle the earlier ones.
    assert warm_and_holding(DOY[45:], year(100)[45:], RULE) == 103


def test_threshold_exactly():
    at = year(100, level=18.0)
    assert warm_and_holding(DOY, at, RULE) == 104
    assert warm_and_holding(DOY, np.where(at == 18.0, np.nextafter(18.0, 0), at), RULE) == NEVER


def odds(days):
    dates = pd.DataFrame(
        {"weather_id": "w", "year": np.arange(2000, 2000 + len(days)), "doy": days}
    )
    return warm_odds(dates, RULE).iloc[0]


def test_years_in_ten():
    # Sorted 91..100: five of ten by the 5th, day 95 = 5 April; eight by the 8th, day 98 = 8 April.
    told = odds([100.0, 91, 93, 92, 95, 94, 97, 96, 99, 98])
    assert (told.soil_65f_held_p50, told.soil_65f_held_p80, told.n_years) == ("04-05", "04-08", 10)


def test_years_that_never_hold_are_the_latest():
    told = odds([91.0, 92, 93, 94, 95, 96, 97, NEVER, NEVER, NEVER])
    assert told.soil_65f_held_p50 == "04-05"
    assert told.soil_65f_held_p80 is None


def test_too_few_known_years_give_no_date():
    told = odds([91.0] * 9 + [np.nan] * 5)
    assert told.soil_65f_held_p50 is None and told.soil_65f_held_p80 is None
    assert told.n_years == 9


def made_up_weather(years=3):
    dates = pd.date_range("2019-01-01", periods=365 * years + 1)
    turn = 2 * np.pi * (dates.day_of_year - 20) / 365
    mean = 18 - 9 * np.cos(turn)
    return pd.DataFrame(
        {"weather_id": "a", "date": dates, "tmax_c": mean + 6, "tmin_c": mean - 6, "precip_mm": 0.0}
    )


STATIONS = pd.DataFrame({"weather_id": ["a", "b"], "lat_deg": [32.5, 30.0], "lon_deg": [-85, -84]})


def test_a_mean_year_is_warm_on_the_same_date_in_leap_years():
    told = warm_dates(made_up_weather(), STATIONS, RULE)
    assert told["year"].tolist() == [2019, 2020, 2021]
    assert told["doy"].between(70, 120).all()
    assert np.ptp(told["doy"]) <= 1


def test_cells_are_kept_apart_and_order_does_not_matter():
    cool = made_up_weather()
    warm = cool.assign(weather_id="b", tmax_c=cool["tmax_c"] + 3, tmin_c=cool["tmin_c"] + 3)
    both = pd.concat([warm, cool])
    told = warm_dates(both, STATIONS, RULE)
    shuffled = warm_dates(both.sample(frac=1, random_state=1), STATIONS, RULE)
    pd.testing.assert_frame_equal(told, shuffled)
    first = told.pivot(index="year", columns="weather_id", values="doy")
    assert (first["b"] < first["a"]).all()


def test_days_left_out_of_the_table_are_missing_days():
    weather = made_up_weather()
    gone = weather["date"].between("2020-03-01", "2020-05-31")
    told = warm_dates(weather[~gone], STATIONS, RULE).set_index("year")["doy"]
    assert np.isnan(told[2020]) and np.isfinite(told[2019]) and np.isfinite(told[2021])


def test_a_cell_without_a_place_is_an_error():
    with pytest.raises(InputError, match="weather cell 'a' is not in the list of stations"):
        warm_dates(made_up_weather(), STATIONS[1:], RULE)
