"""Shares, means and risks of a map unit, by numbers that a person can check."""

import math

import pandas as pd
import pytest
from real_data import real

from layers.soil_map.combine import component_shares, limited_pct
from layers.soil_map.reader import read_soil_survey

# Unit a: 60 soil, 20 soil, 20 water. Unit b: 50 soil, a soil without a share. Unit c: no share.
SOILS = pd.DataFrame(
    {
        "cokey": ["1", "2", "3", "4", "5", "6"],
        "mukey": ["a", "a", "a", "b", "b", "c"],
        "kind": ["soil", "soil", "water", "soil", "soil", "soil"],
        "comppct_pct": [60.0, 20.0, 20.0, 50.0, math.nan, math.nan],
        "wet": pd.Series([False, True, None, None, True, False], dtype=object),
    }
)


def test_soils_share_out_what_the_survey_lists_of_soil():
    shares = component_shares(SOILS)
    assert shares["cokey"].tolist() == ["1", "2", "4", "5", "6"]
    assert shares["share_frac"].tolist() == pytest.approx(
        [0.75, 0.25, 1.0, math.nan, math.nan], nan_ok=True
    )
    assert shares["listed_pct"].tolist() == pytest.approx([80, 80, 50, 50, math.nan], nan_ok=True)


def test_water_and_other_ground_keep_their_area_where_asked_for():
    shares = component_shares(SOILS, ("soil", "water", "not soil"))
    of_a = shares[shares["mukey"] == "a"]
    assert of_a["share_frac"].tolist() == pytest.approx([0.6, 0.2, 0.2])
    assert set(of_a["listed_pct"]) == {100.0}


def test_a_unit_with_shares_of_zero_is_not_known():
    zero = SOILS.assign(comppct_pct=0.0)
    assert component_shares(zero)["share_frac"].isna().all()


def test_order_of_rows_changes_no_share():
    plain = component_shares(SOILS).set_index("cokey")
    shuffled = component_shares(SOILS.iloc[::-1]).set_index("cokey")
    pd.testing.assert_frame_equal(plain, shuffled.loc[plain.index])


def test_a_risk_is_summed_and_the_unknown_stands_beside_it():
    risk = limited_pct(SOILS, "wet").set_index("mukey")
    assert risk.loc["a"].tolist() == [20, 20]
    assert risk.loc["b"].tolist() == [0, 50]
    assert risk.loc["c"].tolist() == [0, 0]


def test_nothing_in_nothing_out():
    none = SOILS.iloc[:0]
    assert not len(component_shares(none))
    assert not len(limited_pct(none, "wet"))


def test_no_table_is_changed():
    before = SOILS.copy()
    component_shares(SOILS)
    limited_pct(SOILS, "wet")
    pd.testing.assert_frame_equal(SOILS, before)


def test_real_wet_inclusion_is_a_twentieth_of_its_unit():
    """Iowa unit 279 (412032): Taintor 90, Mahaska 5, Sperry 5 percent, by eye in comp.txt."""
    soils = read_soil_survey(real("soil_survey_export")).components
    shares = component_shares(soils).set_index("cokey")
    assert shares.loc["20456855", "share_frac"] == pytest.approx(0.05)
    assert set(shares["listed_pct"]) == {100.0}
    of_279 = soils[soils["mukey"] == "412032"].set_index("drainage_class")["comppct_pct"]
    assert of_279.to_dict() == {"poorly": 90.0, "somewhat poorly": 5.0, "very poorly": 5.0}
