"""Columns of the verdict out of freeze dates, and the season that a killing freeze ends."""

import farm_tables
import numpy as np
import pandas as pd
import pytest

from suitability.columns import FROST
from suitability.contract import empty, names
from suitability.freeze_columns import freeze_columns
from suitability.ground import ground
from suitability.season import derive


def frost(rows, **columns):
    table = pd.DataFrame(
        [
            {"field_id": "a", "event": e, "threshold_c": t, "prob_pct": p, "date_mmdd": d}
            for e, t, p, d in rows
        ],
        columns=names(FROST),
    )
    numbers = ["season_d", "freeze_years_in_ten", "by_year_end_years_in_ten", "n_years"]
    return table.astype(dict.fromkeys(numbers, float)).assign(**columns)


def autumn(*dates, **columns):
    rows = [("first_autumn", -2.2, 10.0 * (i + 1), d) for i, d in enumerate(dates)]
    return freeze_columns(frost(rows, **columns)).loc["a"]


def test_each_column_takes_its_event_temperature_and_odds():
    got = freeze_columns(
        frost(
            [
                ("last_spring", 0.0, 10.0, "04-04"),
                ("last_spring", 0.0, 50.0, "03-13"),
                ("first_autumn", 0.0, 10.0, "11-02"),
                ("first_autumn", 0.0, 50.0, "11-19"),
                ("last_spring", -2.22, 10.0, "03-25"),
                ("first_autumn", -2.22, 10.0, "11-13"),
                ("first_autumn", 2.22, 10.0, "10-20"),
            ]
        )
    ).loc["a"]
    assert got.iloc[:6].tolist() == ["04-04", "03-13", "11-02", "11-19", "11-13", None]
    assert np.isnan(got["freeze_years_in_ten"])


def test_years_by_the_end_of_december_between_two_dates():
    # 31 December lies 5 of 7 days on the way from 70 to 80 %: 7.7 years of ten.
    dates = ["11-13", "11-20", "11-24", "11-28", "12-08", "12-13", "12-26", "01-02", "01-04"]
    assert autumn(*dates)["freeze_years_in_ten"] == pytest.approx(7 + 5 / 7)


def test_years_beyond_the_outermost_dates():
    # 10 days for each tenth; the last date is 11 December, two more tenths to the end of the year.
    assert autumn("11-21", "12-01", "12-11", None)["freeze_years_in_ten"] == pytest.approx(5.0)
    capped = autumn("11-21", "12-01", "12-11", None, freeze_years_in_ten=3.4)
    assert capped["freeze_years_in_ten"] == pytest.approx(3.4)
    # First of ten on 5 January, second ten days later: half a year of ten by 31 December.
    assert autumn("01-05", "01-15")["freeze_years_in_ten"] == pytest.approx(0.5)
    assert autumn("02-05", "02-15")["freeze_years_in_ten"] == 0.0
    assert autumn("10-03", "10-04", "10-05")["freeze_years_in_ten"] == 10.0


def test_what_is_stated_goes_first_and_one_date_says_nothing():
    stated = autumn("11-21", "12-01", by_year_end_years_in_ten=6.6)
    assert stated["freeze_years_in_ten"] == 6.6
    assert np.isnan(autumn("11-21", None)["freeze_years_in_ten"])
    assert np.isnan(autumn("11-21", "11-21")["freeze_years_in_ten"])
    assert autumn(None, None, freeze_years_in_ten=0.0)["freeze_years_in_ten"] == 0.0
    assert not len(freeze_columns(empty(FROST)))


def season(closes, freeze):
    fields = farm_tables.fields("a", gap_opens="05-15", gap_closes=closes)
    if freeze != "no column":
        fields["first_freeze_28f_p10"] = freeze
    soils = farm_tables.components(), farm_tables.horizons(), farm_tables.months()
    (derived,) = derive(ground(fields, farm_tables.parts(("a", "1", "dry", 10.0)), *soils))
    return derived.values.iloc[0], derived.origin.iloc[0]


def test_the_season_ends_with_the_gap_or_a_killing_freeze_before():
    # 15 May to 15 September 123 days, to 13 November 182, to 15 December 214.
    assert season("09-15", "11-13") == (123.0, "farm file")
    assert season("12-15", "11-13") == (182.0, "weather")
    assert season("12-15", None) == (214.0, "farm file")
    assert season("12-15", "no column") == (214.0, "farm file")
    assert season("12-15", "01-05") == (214.0, "farm file")
    days, _ = season(None, "11-13")
    assert np.isnan(days)
