"""From parts to a field's year: shares of ground by hand, one year and one week."""

import numpy as np
import pandas as pd
import pytest

from suitability import season_end
from suitability.crop import load_crop
from suitability.field_years import GroundYears, field_years
from suitability.outcomes import (
    COLD_SOIL,
    DROWNED,
    DRY_SEEDBED,
    EARLY_COLD,
    END_DROWNED,
    TOO_LITTLE,
    UNKNOWN,
    WORKS,
)

CROP = load_crop("sunn_hemp")
FAILS, KNOWN = 0.1, 0.8
NO_STAND = (COLD_SOIL, DRY_SEEDBED)


def ground(parts, outcomes):
    """Ground of one year and week; each pair's outcome, its dry matter 1000, 2000, ... kg/ha."""
    n = len(outcomes)
    codes = np.full((2, n, 1, 1), season_end.NEXT_CROP, dtype=np.float32)
    numbers = np.full((6, n, 1, 1), np.nan, dtype=np.float32)
    for i, code in enumerate(outcomes):
        codes[0, i] = code
        up = code not in (*NO_STAND, UNKNOWN)
        codes[1, i] = END_DROWNED if code == DROWNED else season_end.NEXT_CROP if up else 0
        numbers[:3, i, 0, 0] = (100, 500, 1000 * (i + 1)) if up else 0
        if up:
            numbers[3:5, i, 0, 0] = 5 + i, 99 - 10 * i
        numbers[5, i] = i
    table = pd.DataFrame(parts, columns=["field_id", "pair", "area_ha"])
    table = table.sort_values(["field_id", "pair", "area_ha"]).reset_index(drop=True)
    of_pair, in_gap = {"codes": codes, "numbers": numbers}, np.ones((n, 1), dtype=bool)
    return GroundYears(table, (2001,), ("05-14",), of_pair, FAILS, KNOWN, in_gap)


def year_of(parts, outcomes):
    years = field_years(ground(parts, outcomes))
    return {
        name: getattr(years, name)[0, 0, 0]
        for name in years.__dataclass_fields__
        if name not in ("field_ids", "years", "weeks", "in_gap")
    }


def test_the_crop_file_has_the_shares_used_here():
    assert CROP.number("policy.field_fails_pct") == 100 * FAILS
    assert CROP.number("policy.least_soil_cover_pct") == 100 * KNOWN


@pytest.mark.parametrize(
    ("bad_ha", "code"), [(11.0, DROWNED), (10.0, WORKS), (10.001, DROWNED), (9.0, WORKS)]
)
def test_a_year_fails_when_more_than_a_tenth_of_the_ground_fails(bad_ha, code):
    parts = [("A", 0, 100 - bad_ha), ("A", 1, bad_ha)]
    assert year_of(parts, [WORKS, DROWNED])["outcome"] == code


def test_failing_ground_adds_up_and_the_largest_cause_stands_for_it():
    parts = [("A", 0, 85.0), ("A", 1, 6.0), ("A", 2, 5.0), ("A", 3, 4.0)]
    found = year_of(parts, [WORKS, DROWNED, DRY_SEEDBED, DRY_SEEDBED])
    assert found["outcome"] == DRY_SEEDBED, "9 % dry against 6 % drowned"
    assert found["stand_frac"] == pytest.approx(0.91)
    tie = year_of([("A", 0, 50.0), ("A", 1, 50.0)], [EARLY_COLD, DROWNED])
    assert tie["outcome"] == DROWNED, "of equals the one that comes first in time"


def test_means_are_of_all_ground_and_days_of_the_ground_that_came_up():
    parts = [("A", 0, 60.0), ("A", 1, 30.0), ("A", 2, 10.0)]
    found = year_of(parts, [WORKS, TOO_LITTLE, DRY_SEEDBED])
    assert found["dry_matter_end_kg_ha"] == 0.6 * 1000 + 0.3 * 2000
    assert found["growing_days"] == 90 and found["dry_matter_60d_kg_ha"] == 450
    assert found["emerged_d"] == 5, "60 of the 90 % that came up"
    assert found["end_d"] == 99, "by day 89 only a third was over"
    assert found["wet_run_d"] == 1, "2 days on a tenth, 1 day or more on 40 %"
    assert found["end_cause"] == season_end.NEXT_CROP


def test_a_wet_corner_neither_moves_the_days_nor_sets_the_wet_run():
    # Each pair is up and over one and ten days after the one before, and a day longer wet.
    parts = [("A", 0, 46.0), ("A", 1, 44.0), ("A", 2, 10.0)]
    found = year_of(parts, [WORKS, WORKS, DROWNED])
    assert (found["emerged_d"], found["end_d"], found["wet_run_d"]) == (6, 89, 1)


def test_no_stand_at_all_has_no_days():
    found = year_of([("A", 0, 1.0)], [COLD_SOIL])
    assert found["outcome"] == COLD_SOIL and found["stand_frac"] == 0
    assert np.isnan(found["emerged_d"]) and np.isnan(found["end_d"])
    assert found["end_cause"] == season_end.NOT_ENDED and found["dry_matter_end_kg_ha"] == 0


@pytest.mark.parametrize(("known_ha", "code"), [(80.0, WORKS), (79.0, UNKNOWN)])
def test_ground_that_is_not_known_is_left_out_until_too_little_is_left(known_ha, code):
    parts = [("A", 0, known_ha), ("A", -1, (100 - known_ha) / 2), ("A", 1, (100 - known_ha) / 2)]
    found = year_of(parts, [WORKS, UNKNOWN])
    assert found["outcome"] == code
    assert np.isnan(found["dry_matter_end_kg_ha"]) == (code == UNKNOWN)


def test_fields_are_apart_and_a_block_of_them_gives_the_same():
    parts = [("B", 1, 3.0), ("A", 0, 89.0), ("C", -1, 2.0), ("A", 1, 11.0)]
    table = ground(parts, [WORKS, DROWNED])
    years = field_years(table)
    assert years.field_ids == ("A", "B", "C") == table.field_ids
    assert years.outcome[:, 0, 0].tolist() == [DROWNED, DROWNED, UNKNOWN]
    block = field_years(table, ["C", "B"])
    assert block.field_ids == ("B", "C")
    np.testing.assert_array_equal(block.outcome, years.outcome[1:])
    np.testing.assert_array_equal(block.dry_matter_end_kg_ha, years.dry_matter_end_kg_ha[1:])
    assert field_years(table, []).outcome.shape == (0, 1, 1)


def test_area_in_other_numbers_changes_nothing():
    parts = [("A", 0, 0.3), ("A", 1, 0.6), ("A", 2, 0.1)]
    for times in (1.0, 2.0, 1e-3, 1e5):
        found = year_of([(f, p, a * times) for f, p, a in parts], [WORKS, WORKS, DROWNED])
        assert found["outcome"] == WORKS, "a tenth exactly does not fail it"
        assert found["dry_matter_end_kg_ha"] == pytest.approx(300 + 1200 + 300)
