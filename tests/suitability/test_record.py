"""Which seasons of a record count, by hand; what gaps are filled with."""

import numpy as np
import pandas as pd
import pytest

from suitability.record import MOST_GAP_D, filled, usable_years, years_notes


def record(first="2001-01-01", last="2004-12-31", weather_id="A"):
    day = pd.date_range(first, last)
    number = np.arange(len(day), dtype=float)
    return pd.DataFrame(
        {
            "weather_id": weather_id,
            "date": day,
            "tmax_c": 20 + number % 10,
            "tmin_c": 10 + number % 10,
            "precip_mm": number % 7,
            "solar_mj_m2_d": np.nan,
        }
    )


def lost(table, first, last, *columns):
    gone = table["date"].between(first, last)
    if not columns:
        return table[~gone].reset_index(drop=True)
    return table.assign(**{c: table[c].mask(gone) for c in columns})


def one(table, year, *season, **options):
    years = usable_years(table, *(season or ("05-01", "09-30")), **options)
    return years[years["year"] == year].iloc[0]


def test_gaps_are_counted_by_any_lacking_value():
    table = lost(record(), "2002-06-01", "2002-06-03", "tmax_c")
    table = lost(table, "2002-06-04", "2002-06-04", "precip_mm")
    table = lost(table, "2002-07-10", "2002-07-11")
    row = one(table, 2002)
    assert (row["n_missing"], row["longest_gap_d"], bool(row["usable"])) == (6, 4, True)
    assert one(table, 2003)["n_missing"] == 0


@pytest.mark.parametrize(("last", "usable"), [("2002-06-04", True), ("2002-06-05", False)])
def test_a_gap_of_the_limit_is_borne_and_one_day_more_is_not(last, usable):
    assert MOST_GAP_D == 4
    row = one(lost(record(), "2002-06-01", last), 2002)
    assert bool(row["usable"]) is usable


def test_many_short_gaps_leave_a_season_out():
    """153 days: 15 missing ones are within a tenth, 16 are not."""
    table = record()
    days = pd.date_range("2002-05-01", periods=16, freq="9D")
    for count, usable in ((15, True), (16, False)):
        holed = table[~table["date"].isin(days[:count])]
        row = one(holed, 2002)
        assert (row["n_missing"], row["longest_gap_d"]) == (count, 1)
        assert bool(row["usable"]) is usable


def test_a_gap_outside_the_season_does_not_matter():
    table = lost(record(), "2002-01-01", "2002-04-30")
    assert bool(one(table, 2002)["usable"])
    assert not one(table, 2002, "01-01", "12-31")["usable"]


def test_a_season_across_new_year_bears_its_first_year():
    years = usable_years(record(), "07-01", "06-30")
    assert years["year"].tolist() == [2000, 2001, 2002, 2003, 2004]
    assert years["usable"].tolist() == [False, True, True, True, False]
    assert years["n_missing"].tolist() == [184, 0, 0, 0, 181]


def test_years_of_a_hole_are_listed_and_not_bridged():
    table = pd.concat([record("1967-01-01", "1969-12-31"), record("1984-01-01", "1985-12-31")])
    years = usable_years(table, "05-15", "10-15").set_index("year")
    assert years.index.tolist() == list(range(1967, 1986))
    assert years.index[years["usable"]].tolist() == [1967, 1968, 1969, 1984, 1985]
    assert years.at[1975, "n_missing"] == 154 == years.at[1975, "longest_gap_d"]
    (note,) = years_notes(years.reset_index(), "05-15", "10-15")
    assert note.level == "caution"
    assert "Station A: 5 of 19 seasons 05-15 to 10-15 are whole" in note.text
    assert "a tenth of all days lack in 1970-1983: of these only sowings count whose" in note.text
    assert (
        filled(table)["tmax_c"].isna().sum()
        == (pd.Timestamp("1984-01-01") - pd.Timestamp("1970-01-01")).days
    )


def test_stations_do_not_mix():
    table = pd.concat([lost(record(), "2002-06-01", "2002-06-30"), record(weather_id="B")])
    years = usable_years(table, "05-01", "09-30").set_index(["weather_id", "year"])["usable"]
    assert not years["A", 2002] and years["B", 2002]


def test_29_february():
    years = usable_years(record(), "02-01", "02-29")
    assert years["n_missing"].tolist() == [0, 0, 0, 0]


def test_empty_record():
    years = usable_years(record().iloc[:0], "05-01", "09-30")
    assert list(years.columns) == ["weather_id", "year", "n_missing", "longest_gap_d", "usable"]
    assert not len(years)
    assert not len(filled(record().iloc[:0]))


def test_temperature_is_drawn_straight_across_a_short_gap():
    table = record()
    table.loc[100:104, "tmax_c"] = [20.0, np.nan, np.nan, np.nan, 28.0]
    table.loc[200:206, "tmin_c"] = np.nan
    got = filled(table)
    assert got.loc[101:103, "tmax_c"].tolist() == [22, 24, 26]
    assert got.loc[100:104, "temperature_filled"].tolist() == [False, True, True, True, False]
    assert got.loc[200:206, "tmin_c"].isna().all()
    assert got["temperature_filled"].sum() == 3


def test_no_day_is_made_up_before_or_after_the_record():
    table = record()
    table.loc[0:1, "tmax_c"] = np.nan
    table.loc[len(table) - 2 :, "tmin_c"] = np.nan
    got = filled(table)
    assert got.loc[0:1, "tmax_c"].isna().all() and got["tmin_c"].tail(2).isna().all()
    assert not got["temperature_filled"].any()


def test_rain_comes_from_the_same_days_of_the_nearest_year():
    table = record().set_index("date")
    table.loc["2002-06-01":"2002-06-02", "precip_mm"] = np.nan
    table.loc["2001-06-01":"2001-06-02", "precip_mm"] = [11.0, 0.0]
    table.loc["2003-06-01":"2003-06-02", "precip_mm"] = [33.0, 34.0]
    got = filled(table.reset_index()).set_index("date")
    assert got.loc["2002-06-01":"2002-06-02", "precip_mm"].tolist() == [11, 0]
    assert got["precip_filled"].sum() == 2
    # The year before lacks one of the two days: the year after is the nearest that has both.
    table.loc["2001-06-02", "precip_mm"] = np.nan
    got = filled(table.reset_index()).set_index("date")
    assert got.loc["2002-06-01":"2002-06-02", "precip_mm"].tolist() == [33, 34]


def test_rain_that_no_other_year_has_stays_missing():
    table = lost(record("2001-01-01", "2001-12-31"), "2001-06-01", "2001-06-02", "precip_mm")
    got = filled(table)
    assert got["precip_mm"].isna().sum() == 2 and not got["precip_filled"].any()


def test_absent_rows_come_back_and_the_argument_is_left_alone():
    table = lost(record(), "2002-06-01", "2002-06-02")
    before = table.copy()
    got = filled(table)
    pd.testing.assert_frame_equal(table, before)
    assert len(got) == len(record())
    assert got[["tmax_c", "tmin_c", "precip_mm"]].notna().all(axis=None)


def test_filling_keeps_the_mean_rain():
    """A 1 % loss of days must neither dry nor wet the record: within 1 % of its rain."""
    rng = np.random.default_rng(3)
    table = record("1991-01-01", "2020-12-31")
    table["precip_mm"] = np.where(rng.random(len(table)) < 0.3, rng.exponential(12, len(table)), 0)
    holed = table.assign(precip_mm=table["precip_mm"].mask(rng.random(len(table)) < 0.01))
    assert filled(holed)["precip_mm"].sum() == pytest.approx(table["precip_mm"].sum(), rel=0.01)


def test_a_season_thinned_by_a_third_is_not_made_up():
    table = record()
    thin = table["date"].between("2002-05-01", "2002-09-30") & (table["date"].dt.day % 3 == 0)
    few = table["date"].isin(pd.to_datetime(["2003-06-10", "2003-07-20"]))
    told = filled(table[~thin & ~few]).set_index("date")
    assert told.loc["2002-06-15":"2002-08-15", "tmax_c"].isna().mean() == pytest.approx(1 / 3, 0.1)
    assert told.loc["2002-06-15":"2002-08-15", "precip_mm"].isna().any()
    # Single days of a season that is whole else are filled as ever.
    assert told.loc["2003", ["tmax_c", "tmin_c", "precip_mm"]].notna().all(axis=None)
