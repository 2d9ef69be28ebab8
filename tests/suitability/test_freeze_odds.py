"""Own freeze dates by hand-made records, by the standard library's quantiles, and on a real one."""

import statistics

import numpy as np
import pandas as pd
import pytest
from real_data import real

from suitability.columns import FROST
from suitability.contract import check
from suitability.freeze_columns import freeze_columns
from suitability.freeze_odds import freeze_odds, freeze_seasons
from suitability.july_days import july_day, mmdd_of


def record(freezes, *, tmin_c=-5.0, seasons=None, cell="w"):
    """Days of July to June at 10 C, but for a freeze on each given (season, MM-DD)."""
    years = seasons or sorted({season for season, _ in freezes})
    days = pd.DatetimeIndex(
        np.concatenate([pd.date_range(f"{y}-07-01", f"{y + 1}-06-30").to_numpy() for y in years])
    )
    table = pd.DataFrame({"weather_id": cell, "date": days, "tmin_c": 10.0})
    cold = {pd.Timestamp(f"{y + (mmdd < '07')}-{mmdd}") for y, mmdd in freezes}
    return table.assign(tmin_c=table["tmin_c"].mask(table["date"].isin(cold), tmin_c))


def row(odds, event, threshold_c, prob):
    found = odds[
        (odds["event"] == event) & (odds["threshold_c"] == threshold_c) & (odds["prob_pct"] == prob)
    ]
    assert len(found) == 1
    return found.iloc[0]


# Ten seasons: five with one freeze each in November, five without.
HALF = [(2001 + 2 * i, day) for i, day in enumerate(["11-10", "11-12", "11-14", "11-16", "11-18"])]


def test_half_the_autumns_without_a_freeze():
    odds = freeze_odds(record(HALF, seasons=range(2001, 2011)))
    first = odds[(odds["event"] == "first_autumn") & (odds["threshold_c"] == -2.22)]
    dates = first.set_index("prob_pct")["date_mmdd"]
    # Ranks are 1.1, 2.2, 3.3, 4.4 and 5.5 of 10; the sixth and later are without a freeze.
    # 10 November + 0.1 of two days; + 2.4 of the first three steps; and so on, rounded down.
    assert dates[[10, 20, 30, 40]].tolist() == ["11-10", "11-12", "11-14", "11-16"]
    assert dates[[50, 60, 70, 80, 90]].isna().all()
    assert set(first["freeze_years_in_ten"]) == {5.0}
    assert set(first["n_years"]) == {10.0}
    last = odds[(odds["event"] == "last_spring") & (odds["threshold_c"] == -2.22)]
    dates = last.set_index("prob_pct")["date_mmdd"]
    # The last freeze is the same day: 10 % is the latest, 9.9th of ten, rounded up.
    assert dates[[10, 20, 30, 40]].tolist() == ["11-18", "11-16", "11-14", "11-12"]
    assert dates[[50, 60, 70, 80, 90]].isna().all()
    # Every other season has no freeze, so that no season between two freezes has an end.
    seasons = odds[odds["event"] == "season"]
    assert not len(seasons)  # nine pairs are fewer than ten


def test_the_table_keeps_its_contract():
    odds = freeze_odds(record(HALF, seasons=range(2001, 2013)))
    check(odds.rename(columns={"weather_id": "field_id"}), FROST, "own odds")
    seasons = odds[odds["event"] == "season"]
    assert len(seasons) == 18
    assert seasons["season_d"].isna().all()
    assert seasons["date_mmdd"].isna().all()


def test_a_place_without_any_freeze_has_no_date():
    odds = freeze_odds(record([], seasons=range(2001, 2012)))
    assert len(odds) == 2 * 3 * 9
    assert odds["date_mmdd"].isna().all()
    assert set(odds["freeze_years_in_ten"]) == {0.0}
    got = freeze_columns(odds.rename(columns={"weather_id": "field_id"})).loc["w"]
    assert got["freeze_years_in_ten"] == 0.0
    assert got["first_freeze_28f_p10"] is None


def test_a_season_is_ranked_as_a_length_not_made_of_two_dates():
    # Late springs come before late autumns here, so that lengths vary less than the dates.
    spring = ["03-01", "03-05", "03-09", "03-31"] * 3
    autumn = ["11-30", "11-02", "11-04", "11-06"] * 3
    freezes = [(2001 + i, day) for i, day in enumerate(spring)]
    freezes += [(2002 + i, day) for i, day in enumerate(autumn)]
    odds = freeze_odds(record(freezes, seasons=range(2001, 2014)))
    # 1 March to 30 November is 274 days, then 242, 240 and 220: the middle two of twelve are
    # 240 and 242, half-way 241.
    assert row(odds, "season", 0.0, 50)["season_d"] == 241
    last, first = (row(odds, e, 0.0, 50)["date_mmdd"] for e in ("last_spring", "first_autumn"))
    assert july_day(first) + 365 - july_day(last) != 241


def test_dates_and_lengths_run_with_their_odds():
    rng = np.random.default_rng(3)
    days = rng.integers(july_day("10-15"), july_day("12-20"), 30)
    freezes = [(2000 + i, mmdd_of(int(d))) for i, d in enumerate(days)]
    freezes += [(2000 + i, mmdd_of(int(d) + 100)) for i, d in enumerate(days[::-1])]
    odds = freeze_odds(record(freezes))
    for (event, _), rows in odds.groupby(["event", "threshold_c"]):
        place = (
            rows["season_d"] if event == "season" else rows["date_mmdd"].map(july_day)
        ).to_numpy()
        steps = np.diff(place[np.argsort(rows["prob_pct"].to_numpy())])
        assert (steps >= 0).all() if event == "first_autumn" else (steps <= 0).all()
        assert place.max() > place.min()


def test_28_f_stands_in_a_record_of_tenths_as_minus_2_2():
    cold = record([(y, "12-01") for y in range(2001, 2012)], tmin_c=-2.2)
    assert row(freeze_odds(cold), "first_autumn", -2.22, 50)["date_mmdd"] == "12-01"
    mild = record([(y, "12-01") for y in range(2001, 2012)], tmin_c=-2.1)
    odds = freeze_odds(mild)
    assert row(odds, "first_autumn", -2.22, 50)["date_mmdd"] is None
    assert row(odds, "first_autumn", 0.0, 50)["date_mmdd"] == "12-01"


def test_missing_days_count_only_when_it_can_freeze():
    weather = record([(y, "11-20") for y in range(2001, 2012)])
    # 12 days of July, and 10 of December, may be missing; 11 of December may not.
    july = weather["date"].between("2003-07-05", "2003-07-16")
    ten = weather["date"].between("2004-12-01", "2004-12-10")
    eleven = weather["date"].between("2005-12-01", "2005-12-11")
    weather.loc[july, "tmin_c"] = np.nan
    weather = weather[~ten & ~eleven]
    seasons = freeze_seasons(weather, 0.0).set_index("season")
    assert seasons["missing_d"].loc[[2003, 2004, 2005, 2006]].tolist() == [0, 10, 11, 0]
    assert seasons.index[~seasons["counted"]].tolist() == [2005]
    assert set(freeze_odds(weather)["n_years"]) == {10.0}  # and no season: 9 pairs


def test_a_hole_of_years_is_not_bridged():
    years = [*range(1950, 1956), *range(1990, 1997)]
    weather = record([(y, "12-01") for y in years], seasons=years)
    seasons = freeze_seasons(weather, 0.0)
    assert len(seasons) == 47
    assert seasons.loc[seasons["counted"], "season"].tolist() == years
    odds = freeze_odds(weather)
    assert set(odds.loc[odds["event"] != "season", "n_years"]) == {13.0}
    # 1955 to 1990 is no season: 5 + 6 pairs, each a whole year long and so without an end.
    assert set(odds.loc[odds["event"] == "season", "n_years"]) == {11.0}


def test_too_few_seasons_give_no_odds():
    assert len(freeze_odds(record([(y, "12-01") for y in range(2001, 2010)]))) == 0
    assert len(freeze_odds(record(HALF).iloc[:0])) == 0


def test_odds_beyond_the_record_are_left_out():
    weather = record([(y, "12-01") for y in range(2001, 2011)])
    odds = freeze_odds(weather, thresholds_f=(32,), odds_pct=(5, 10, 95))
    assert odds["prob_pct"].tolist() == [10.0, 10.0]


def test_odds_by_the_end_of_the_year_leave_out_a_freeze_in_january():
    weather = record([*HALF, (2002, "01-05")], seasons=range(2001, 2011))
    odds = freeze_odds(weather)
    # By 31 December five of ten, at all six of ten.
    assert set(odds["by_year_end_years_in_ten"]) == {5.0}
    assert set(odds["freeze_years_in_ten"]) == {6.0}


def test_a_leap_day_is_the_28th():
    weather = record([(2003, "02-29")], seasons=[2003])
    assert freeze_seasons(weather, 0.0)["first_day"].tolist() == [july_day("02-28")]


def test_each_cell_has_its_own_odds():
    both = pd.concat(
        [
            record([(y, "12-01") for y in range(2001, 2012)], cell="cold"),
            record([], seasons=range(2001, 2012), cell="warm"),
        ]
    )
    odds = freeze_odds(both).set_index("weather_id")
    assert odds.loc["cold", "date_mmdd"].notna().sum() == 36
    assert odds.loc["warm", "date_mmdd"].isna().all()


def florida():
    raw = pd.read_csv(real("weather", "ghcnd_gainesville_fl_USW00012816_1960-2022.csv"))
    # Degrees F: a July mean of 71 for the lowest temperature can be nothing else.
    tmin_c = ((raw["TMIN"] - 32) / 1.8).round(1)
    return pd.DataFrame({"weather_id": "fl", "date": pd.to_datetime(raw["DATE"]), "tmin_c": tmin_c})


def test_north_florida_by_the_standard_library():
    weather = florida()
    seasons = freeze_seasons(weather, -2.22)
    assert seasons["season"].min() == 1959
    left_out = [1959, *range(1969, 1984)]
    assert seasons.loc[~seasons["counted"], "season"].tolist() == left_out
    odds = freeze_odds(weather)
    at_32 = freeze_seasons(weather, 0.0).query("counted")
    assert len(at_32) == 47
    assert at_32["first_day"].notna().all()
    # quantiles(method="exclusive") has the same plotting positions, i / (n + 1).
    tenths = statistics.quantiles(at_32["first_day"], n=10, method="exclusive")
    first = [row(odds, "first_autumn", 0.0, p)["date_mmdd"] for p in range(10, 100, 10)]
    assert first == [mmdd_of(int(np.floor(round(t, 6)))) for t in tenths]
    tenths = statistics.quantiles(at_32["last_day"], n=10, method="exclusive")[::-1]
    last = [row(odds, "last_spring", 0.0, p)["date_mmdd"] for p in range(10, 100, 10)]
    assert last == [mmdd_of(int(np.ceil(round(t, 6)))) for t in tenths]
    # Three of 47 seasons without 28 F, and 31 with it by the end of December.
    killing = row(odds, "first_autumn", -2.22, 50)
    assert killing["freeze_years_in_ten"] == pytest.approx(10 * 44 / 47)
    assert killing["by_year_end_years_in_ten"] == pytest.approx(10 * 31 / 47)
    long = odds[(odds["event"] == "season") & (odds["threshold_c"] == -2.22)]
    assert long.loc[long["season_d"].isna(), "prob_pct"].tolist() == [10.0, 20.0]
