"""Counting again once wet ground is drawn: acres add up, and what is left is judged."""

import pandas as pd
import pytest
from farm_tables import components, fields, horizons, months, parts

from suitability.counted import counted, recounted
from suitability.crop import load_crop
from suitability.findings import find
from suitability.ground import PART_KEYS, ground
from suitability.verdict import judge

CROP = load_crop("sunn_hemp")


def again(the_parts, wet_pct, placed=("bog",), never_pct=None, farm=None):
    """Count and judge before and after; percentages in the order of the parts."""
    on = ground(farm or fields("A"), the_parts, components(), horizons(), months())
    findings = find(on, CROP)
    keys = pd.MultiIndex.from_frame(the_parts[PART_KEYS])
    first = counted(on, findings, CROP)
    never = None if never_pct is None else pd.Series(never_pct, keys)
    counts = recounted(first, on, pd.Series(wet_pct, keys), CROP, placed, never)
    judged = judge(farm or fields("A"), counts, findings, CROP, 2026).verdicts
    return counts, judged.iloc[0]


def at(position, *rows):
    table = parts(*(("A", *row) for row in rows))
    return table.assign(position=position)


def test_a_wet_tenth_is_left_out_and_the_rest_is_sown_with_care():
    the_parts = at(["hollow", "level"], ("1", "bog", 1.0), ("1", "dry", 9.0))
    counts, row = again(the_parts, [100.0, 0.0])
    assert (row.verdict, row.conditions) == ("sow with care", "leave_wet_ground")
    assert row.sowable_ha == pytest.approx(9.0) and row.wet_unplaced_pct == 0
    assert row.suitability_class == "S1"
    assert counts.parts[["cokey", "area_ha"]].to_numpy().tolist() == [["dry", 9.0]]


def test_wet_ground_over_several_parts_takes_its_share_of_each():
    the_parts = at(["level", "level"], ("1", "dry", 6.0), ("1", "damp", 4.0))
    counts, row = again(the_parts, [10.0, 25.0])
    assert row.sowable_ha == pytest.approx(10.0 - 0.6 - 1.0)
    assert counts.parts["area_ha"].tolist() == pytest.approx([5.4, 3.0])


def test_placed_wet_soil_that_was_not_drawn_counts_as_sown_ground():
    the_parts = at(["hollow", "level"], ("1", "bog", 1.0), ("1", "dry", 9.0))
    counts, row = again(the_parts, [0.0, 0.0])
    assert row.sowable_ha == pytest.approx(10.0) and row.wet_unplaced_pct == 0
    assert sorted(counts.parts["cokey"]) == ["bog", "dry"]


@pytest.mark.parametrize("position", ["unplaced", "level"])
def test_wet_soil_of_unknown_place_stays_named_as_a_share(position):
    # "level" alone is no place: it tells where ground is level, not where the bog is in it.
    the_parts = at([position, "level"], ("1", "bog", 1.0), ("1", "dry", 9.0))
    counts, row = again(the_parts, [0.0, 0.0], placed=("bog",) if position == "unplaced" else ())
    assert (row.verdict, row.conditions) == ("sow with care", "wet_unplaced")
    assert row.wet_unplaced_pct == pytest.approx(10.0)
    assert counts.parts["cokey"].tolist() == ["dry"]


def test_water_is_left_out_once():
    the_parts = at(["unplaced", "level"], ("4", "pond", 2.0), ("1", "dry", 8.0))
    _, row = again(the_parts, [50.0, 25.0])  # wet ground drawn over the shore
    assert row.water_ha == pytest.approx(2.0)
    assert row.sowable_ha == pytest.approx(10.0 - 2.0 - 2.0)


def test_a_field_with_too_little_left_is_left_out_and_says_why():
    the_parts = at(["hollow", "level"], ("3", "bog", 5.01), ("1", "dry", 4.99))
    _, row = again(the_parts, [100.0, 0.0])
    assert (row.verdict, row.limiting, row.waterlogging) == ("leave out", "waterlogging", "high")
    _, half = again(at(["hollow", "level"], ("3", "bog", 5.0), ("1", "dry", 5.0)), [100.0, 0.0])
    assert half.verdict == "sow with care"


def test_a_field_that_is_wet_all_over_keeps_its_rating():
    _, row = again(at(["hollow"], ("3", "bog", 10.0)), [100.0])
    assert (row.verdict, row.waterlogging) == ("leave out", "high")
    assert row.limiting == "waterlogging"


def test_ground_marked_as_never_wet_is_sown_and_judged_by_the_rest():
    the_parts = at(["hollow", "level"], ("1", "bog", 2.0), ("1", "dry", 8.0))
    counts, row = again(the_parts, [0.0, 0.0], never_pct=[100.0, 0.0])
    assert row.sowable_ha == pytest.approx(10.0)
    assert (row.verdict, row.waterlogging) == ("sow", "low")
    assert counts.parts["cokey"].tolist() == ["dry"]
    # Without the mark a fifth of the field is too wet to sow.
    _, unmarked = again(the_parts, [0.0, 0.0])
    assert unmarked.verdict == "leave out" and unmarked.waterlogging == "high"


def test_a_field_marked_as_never_wet_all_over_is_judged_by_what_it_is():
    counts, row = again(at(["hollow"], ("3", "bog", 10.0)), [0.0], never_pct=[100.0])
    assert counts.parts["area_ha"].tolist() == [10.0]
    assert row.waterlogging == "high"


@pytest.mark.parametrize("share", [0.0, 12.5, 50.0, 100.0])
def test_areas_add_up(share):
    the_parts = at(
        ["hollow", "level", "unplaced", "unplaced"],
        ("1", "bog", 1.0),
        ("1", "dry", 6.0),
        ("1", "bog", 1.0),
        ("4", "pond", 2.0),
    )
    counts, row = again(the_parts, [share] * 4)
    table = counts.shares.by_field.loc["A"]
    whole = table["not_sowable_ha"] + table["wet_unplaced_ha"] + table["sown_ha"]
    assert whole == pytest.approx(10.0)
    assert table["not_sowable_ha"] == pytest.approx(2.0 + 8.0 * share / 100)
    if row.verdict != "leave out":
        assert row.sowable_ha == pytest.approx(10.0 - 2.0 - 8.0 * share / 100)
