"""Years in ten of a week: thirty years written by hand; the week that is recommended."""

from dataclasses import replace

import numpy as np
import pandas as pd
import pytest

from suitability.crop import load_crop
from suitability.field_years import FieldYears
from suitability.odds import wilson_interval
from suitability.outcomes import (
    COLD_SOIL,
    CRUST,
    DROWNED,
    DRY_SEEDBED,
    EARLY_COLD,
    TOO_LITTLE,
    UNKNOWN,
    WET_SEEDBED,
    WORKS,
)
from suitability.week_odds import (
    best_weeks,
    flood_class,
    flood_years_in_ten,
    week_odds,
    works_at,
)

CROP = load_crop("sunn_hemp")
NO_FLOOD = pd.Series(dtype=float)
THIRTY = [WORKS] * 24 + [DRY_SEEDBED] * 3 + [DROWNED] * 2 + [EARLY_COLD]


def years_of(*weeks_of_codes, field_ids=("A",), weeks=("05-14", "05-21", "05-28")):
    """FieldYears of one field from a list of outcomes for each week; dry matter is the year."""
    codes = np.array(weeks_of_codes, dtype=np.int8).T[None]
    codes = np.repeat(codes, len(field_ids), axis=0)
    n_years = codes.shape[1]
    known = codes != UNKNOWN
    counted = np.broadcast_to(np.arange(n_years, dtype=np.float32)[None, :, None], codes.shape)
    number = np.where(known, counted, np.nan).astype(np.float32)
    return FieldYears(
        tuple(field_ids),
        tuple(range(1991, 1991 + n_years)),
        weeks[: codes.shape[2]],
        codes,
        codes,
        np.where(known, np.where(codes == WORKS, 100, 50), np.nan).astype(np.float32),
        number,
        10 * number,
        *[number] * 4,
    )


def test_thirty_years_by_hand():
    row = week_odds(years_of(THIRTY), NO_FLOOD, CROP).iloc[0]
    assert (row["field_id"], row["sow_date"], row["n_years"]) == ("A", "05-14", 30)
    assert row["works_years_in_ten"] == pytest.approx(8.0)
    assert row["germination_risk_years_in_ten"] == pytest.approx(1.0)
    assert row["dry_seedbed_years_in_ten"] == pytest.approx(1.0)
    assert row["waterlogging_years_in_ten"] == pytest.approx(2 / 3)
    assert row["season_short_years_in_ten"] == pytest.approx(1 / 3)
    assert row["early_cold_years_in_ten"] == pytest.approx(1 / 3)
    # Wilson score interval of 24 of 30, from the formula by hand: 0.627 to 0.905.
    assert row["works_least_years_in_ten"] == pytest.approx(6.27, abs=0.005)
    assert row["works_most_years_in_ten"] == pytest.approx(9.05, abs=0.005)
    assert row["reach_45d_years_in_ten"] == 10 and row["reach_60d_years_in_ten"] == 8
    assert row["growing_days_p50"] == 100


def test_the_interval_is_that_of_a_statistics_library():
    stats = pytest.importorskip("scipy.stats")
    for yes in (0, 7, 24, 30):
        theirs = stats.binomtest(yes, 30).proportion_ci(method="wilson")
        ours = [float(v) for v in wilson_interval(yes, 30)]
        assert ours == pytest.approx([theirs.low, theirs.high], abs=1e-12)


def test_quantiles_run_straight_between_the_years_in_order():
    row = week_odds(years_of(THIRTY), NO_FLOOD, CROP).iloc[0]  # dry matter 0, 1, ... 29
    for p in (10, 50, 90):
        assert row[f"dry_matter_60d_kg_ha_p{p}"] == pytest.approx(29 * p / 100)
    gaps = [*THIRTY[:12], *[UNKNOWN] * 18]
    row = week_odds(years_of(gaps), NO_FLOOD, CROP).iloc[0]
    assert row["n_years"] == 12
    expected = np.quantile(np.arange(12), 0.9)
    assert row["dry_matter_60d_kg_ha_p90"] == pytest.approx(expected)


@pytest.mark.parametrize("flood", [0.0, 0.3, 2.7, 7.5])
def test_works_and_the_three_risks_add_to_ten(flood):
    codes = [WORKS] * 12 + [COLD_SOIL, CRUST, WET_SEEDBED, DROWNED, TOO_LITTLE, EARLY_COLD] * 2
    row = week_odds(years_of(codes), pd.Series({"A": flood}), CROP).iloc[0]
    risks = ("germination_risk", "waterlogging", "season_short")
    total = row["works_years_in_ten"] + sum(row[f"{r}_years_in_ten"] for r in risks)
    assert total == pytest.approx(10)
    causes = ("cold_soil", "dry_seedbed", "crust", "wet_seedbed", "drowned", "early_cold")
    causes += ("next_crop", "too_little_growth")
    told = sum(row[f"{c}_years_in_ten"] for c in causes)
    assert told + flood + row["works_years_in_ten"] == pytest.approx(10)


def test_flood_years_are_taken_off_as_independent():
    row = week_odds(years_of(THIRTY), pd.Series({"A": 2.7}), CROP).iloc[0]
    assert row["works_years_in_ten"] == pytest.approx(8.0 * 0.73)
    assert row["waterlogging_years_in_ten"] == pytest.approx(2 / 3 * 0.73 + 2.7)
    assert row["works_least_years_in_ten"] == pytest.approx(6.27 * 0.73, abs=0.005)
    # What works has 100 days, the rest 50: a flooded year has neither.
    reached = [row[f"reach_{age}d_years_in_ten"] for age in (45, 60, 90)]
    assert reached == pytest.approx([10.0 * 0.73, 8.0 * 0.73, 8.0 * 0.73])


def test_flood_odds_are_the_middle_of_their_class():
    # Survey Manual: rare 1-5, occasional 5-50, frequent over 50 times in 100 years.
    spans = {"rare": (0.1, 0.5), "occasional": (0.5, 5.0), "frequent": (5.0, 10.0)}
    for name, (low, high) in spans.items():
        middle = CROP.number(f"odds.flood_{name}_years_in_ten")
        assert middle == pytest.approx((low + high) / 2, abs=0.051)
        assert flood_class(middle + 1e-9, CROP) == (name, low, high)
    assert flood_class(0.0, CROP) is None and flood_class(1.0, CROP) is None


def test_a_flood_governs_where_more_than_a_tenth_of_the_ground_has_it():
    events = {"1": "occasional long", "2": "none", "3": "frequent very brief", "4": "rare brief"}
    keys = {"position": "unplaced", "drained": False}
    rows = [("A", "1", 11.0), ("A", "2", 89.0), ("B", "1", 10.0), ("B", "2", 90.0)]
    rows += [("C", "3", 5.0), ("D", "4", 5.0), ("E", "1", 6.0), ("E", "4", 6.0), ("E", "2", 88.0)]
    parts = pd.DataFrame(
        [{"field_id": f, "mukey": m, "cokey": m, **keys, "area_ha": a} for f, m, a in rows]
    )
    findings = parts.drop(columns="area_ha").assign(
        factor="flooding", value_text=parts["mukey"].map(events)
    )
    floods = flood_years_in_ten(parts, findings, CROP)
    occasional = CROP.number("odds.flood_occasional_years_in_ten")
    rare = CROP.number("odds.flood_rare_years_in_ten")
    assert floods.to_dict() == {
        "A": occasional,
        "B": 0.0,  # a tenth, not more
        "C": 0.0,  # hours under water do no harm
        "D": rare,
        "E": rare,  # 12 % floods at least rarely, 6 % more often
    }


def test_fewer_than_ten_years_give_no_odds():
    assert CROP.number("odds.least_years") == 10
    nine, ten = [WORKS] * 9 + [UNKNOWN] * 21, [WORKS] * 10 + [UNKNOWN] * 20
    found = week_odds(years_of(nine, ten), NO_FLOOD, CROP)
    assert found["sow_date"].tolist() == ["05-21"]
    none = week_odds(years_of(nine), NO_FLOOD, CROP)
    assert none.empty and "works_years_in_ten" in none
    at = works_at(years_of(nine), pd.Series({"A": "05-14"}), NO_FLOOD, CROP)
    assert at.isna().all()


def test_a_field_with_weeks_half_known_and_none_good_has_no_odds():
    late = [EARLY_COLD] * 30
    nine = [WORKS] * 9 + [UNKNOWN] * 21
    assert week_odds(years_of(nine, late), NO_FLOOD, CROP).empty, "unknown is not bad"
    never = [UNKNOWN] * 30
    gap = replace(years_of(never, late), in_gap=np.array([[True, True]]))
    assert week_odds(gap, NO_FLOOD, CROP).empty
    outside = replace(gap, in_gap=np.array([[False, True]]))
    assert week_odds(outside, NO_FLOOD, CROP)["works_years_in_ten"].tolist() == [0]
    good = [WORKS] * 24 + [DROWNED] * 6  # 8 in 10: what is not known can only be as good
    assert week_odds(years_of(nine, good), NO_FLOOD, CROP)["sow_date"].tolist() == ["05-21"]
    at = works_at(years_of(nine, late), pd.Series({"A": "05-21"}), NO_FLOOD, CROP)
    assert at["A"] == 0, "a week that is asked for is told"


def test_works_at_reads_each_fields_own_week():
    years = years_of(THIRTY, [WORKS] * 30, field_ids=("A", "B"))
    weeks = pd.Series({"B": "05-14", "A": "05-21"})
    at = works_at(years, weeks, pd.Series({"B": 5.0}), CROP)
    assert at.to_dict() == pytest.approx({"B": 4.0, "A": 10.0})


def odds(*rows):
    columns = ["field_id", "sow_date", "works_years_in_ten", "dry_matter_end_kg_ha_p50"]
    return pd.DataFrame(rows, columns=columns)


def test_of_weeks_near_the_best_the_one_that_grows_most():
    assert CROP.number("odds.near_best_years_in_ten") == 1
    table = odds(("A", "05-14", 8.0, 6000), ("A", "05-21", 9.0, 5000), ("A", "05-28", 7.9, 9000))
    best = best_weeks(table, pd.Series(dtype=object), CROP)
    assert best["sow_date"].to_dict() == {"A": "05-14"}, "1.1 years fewer is not near"
    same = odds(("A", "05-21", 9.0, 5000), ("A", "05-14", 9.0, 5000))
    assert best_weeks(same, pd.Series(dtype=object), CROP).at["A", "sow_date"] == "05-14"


def test_weeks_before_the_soil_is_warm_are_passed_over_unless_none_is_left():
    table = odds(
        ("A", "04-02", 9.0, 9000),
        ("A", "05-14", 8.5, 5000),
        ("B", "04-02", 9.0, 9000),
        ("C", "04-02", 9.0, 9000),
        ("C", "05-14", 8.5, 5000),
    )
    best = best_weeks(table, pd.Series({"A": "04-20", "B": "04-20", "C": None}), CROP)
    assert best["sow_date"].to_dict() == {"A": "05-14", "B": "04-02", "C": "04-02"}


def test_the_day_it_is_warm_counts_as_warm():
    table = odds(("A", "04-02", 9.0, 9000), ("A", "05-14", 9.0, 5000))
    assert best_weeks(table, pd.Series({"A": "04-02"}), CROP).at["A", "sow_date"] == "04-02"
