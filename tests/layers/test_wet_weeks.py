"""Wet ground by sowing week on hand-made cells: odds of the spots, acres, marks, other fields."""

import geopandas as gpd
import numpy as np
import pandas as pd
import pytest
import shapely
from wet_land import CRS, fields, land, sloping, soil

from layers.field_wet import field_wet
from layers.marked_ground import apply_marks
from layers.wet_cells import WetCells
from layers.wet_outlines import cleaning_for
from layers.wet_weeks import _mean, wet_weeks
from suitability.columns import WET_CAUSES

LEAST = 3.0
BEST, EARLY, LATE = "06-04", "05-21", "07-02"
# Cells of 3 m: A is 180 x 180 of them from the lower left corner at 30, 30.
SPOT = (slice(90, 110), slice(90, 110))  # 60 m x 60 m, metres 270-330 both ways
WEST = (slice(90, 110), slice(90, 100))  # its western half
NORTH = (slice(40, 60), slice(90, 110))  # 60 m x 60 m more, in no drawn spot


def grid(**patches):
    years = np.zeros((200, 200), np.float32)
    for where, value in patches.values():
        years[where] = value
    return years


def run(by_week, *, farm=None, free=None, best=BEST, marks=None, least=LEAST):
    """Odds and acres, where each week's cells have the years of ten set by hand."""
    farm = fields() if farm is None else farm
    ground = land(sloping(), [soil("upland", 100)], farm)
    cause = np.full((200, 200), WET_CAUSES.index("ponded"), np.int16)
    blank = np.zeros((200, 200), bool)
    sow = {name: best for name in farm["field_id"]} if isinstance(best, str) else best
    base = np.zeros((200, 200), np.float32)
    for number, name in enumerate(ground.field_ids):
        here = ground.cells[0].field == number
        base[here] = by_week[sow[name]][here]
    wet = (WetCells(base, cause, np.full((200, 200), -1, np.int32), blank),)
    drawn = field_wet(ground, wet, farm, least, cleaning_for(), pd.Series(dtype=object)).wet_ground
    weeks = pd.DataFrame(
        [(n, w) for n in farm["field_id"] for w in (free or {}).get(n, by_week)],
        columns=["field_id", "sow_date"],
    )

    def marked(pieces):
        if marks is None:
            return pieces
        plain = pieces.assign(years_in_ten=np.nan, cause="ponded", compname=None)
        return apply_marks(plain, marks, farm)[0]

    found = wet_weeks(
        ground,
        wet,
        lambda _number, week: by_week[week][ground.cells[0].dry],
        weeks,
        pd.Series(sow),
        drawn,
        farm,
        least,
        cleaning_for(),
        marked,
    )
    assert found.least_years_in_ten == least
    return drawn, found


def odds(found, wet_id="A-wet-1"):
    rows = found.spots[found.spots["wet_id"] == wet_id]
    return dict(zip(rows["sow_date"], rows["years_in_ten"], strict=True))


def acres_ha(found, field_id="A"):
    rows = found.fields[found.fields["field_id"] == field_id]
    return dict(zip(rows["sow_date"], rows["wet_ha"], strict=True))


def test_a_spot_has_the_mean_odds_of_its_cells_in_every_week():
    drawn, found = run(
        {
            EARLY: grid(all=(SPOT, 9.0)),
            BEST: grid(all=(SPOT, 5.0)),
            LATE: grid(all=(SPOT, 1.0), west=(WEST, 3.0)),  # half 3, half 1
        }
    )
    assert len(drawn) == 1
    assert odds(found) == {
        EARLY: pytest.approx(9.0),
        BEST: pytest.approx(5.0),
        LATE: pytest.approx(2.0, abs=0.01),
    }


def test_in_the_recommended_week_it_says_what_wet_ground_says():
    uneven = grid(all=(SPOT, 4.0), west=(WEST, 8.5))
    drawn, found = run({EARLY: grid(), BEST: uneven})
    assert odds(found)[BEST] == pytest.approx(drawn["years_in_ten"].iloc[0], abs=1e-6)
    assert acres_ha(found)[BEST] == drawn["area_ha"].sum()


def test_ground_that_only_other_weeks_wet_counts_in_their_acres():
    drawn, found = run(
        {
            EARLY: grid(all=(SPOT, 6.0), more=(NORTH, 3.0)),
            BEST: grid(all=(SPOT, 5.0), more=(NORTH, 2.9)),
            LATE: grid(all=(SPOT, 2.9)),
        }
    )
    assert len(drawn) == 1  # no new shapes
    assert acres_ha(found) == {
        EARLY: pytest.approx(0.72, rel=0.01),  # two squares of 60 m
        BEST: pytest.approx(0.36, rel=0.01),
        LATE: 0.0,
    }


def test_the_users_own_odds_decide_what_is_too_wet():
    weeks = {EARLY: grid(all=(SPOT, 6.0)), BEST: grid(all=(SPOT, 5.0))}
    _, found = run(weeks, least=5.5)
    assert acres_ha(found) == {EARLY: pytest.approx(0.36, rel=0.01), BEST: 0.0}
    assert found.spots.empty


def test_a_field_has_only_the_weeks_in_which_it_is_free():
    farm = fields(A=(30, 30, 300, 570), B=(300, 30, 570, 570))  # the spot lies in both
    weeks = {
        EARLY: grid(all=(SPOT, 2.0)),
        BEST: grid(all=(SPOT, 5.0)),
        LATE: grid(all=(SPOT, 7.0)),
    }
    free = {"A": [EARLY, BEST], "B": [BEST, LATE]}
    _, found = run(weeks, farm=farm, free=free, best={"A": BEST, "B": LATE})
    assert odds(found, "A-wet-1") == {EARLY: 2.0, BEST: 5.0}
    assert odds(found, "B-wet-1") == {BEST: 5.0, LATE: 7.0}
    # 27 m x 60 m and 33 m x 60 m or so: halves of the square.
    assert acres_ha(found, "A") == {EARLY: 0.0, BEST: pytest.approx(0.18, rel=0.02)}
    assert set(acres_ha(found, "B")) == {BEST, LATE}


def test_ground_of_unknown_odds_takes_no_part_and_all_unknown_stays_so():
    unknown = grid(all=(SPOT, np.nan))
    part = grid(all=(SPOT, 4.0), west=(WEST, np.nan))
    _, found = run({EARLY: unknown, BEST: grid(all=(SPOT, 5.0)), LATE: part})
    assert np.isnan(odds(found)[EARLY])
    assert odds(found)[LATE] == pytest.approx(4.0)
    assert acres_ha(found)[EARLY] == 0.0


def test_the_growers_marks_count_in_every_week():
    marks = gpd.GeoDataFrame(
        {"kind": ["dry", "wet"]},
        # The eastern half of the spot never is wet; 50 m x 50 m elsewhere always is.
        geometry=[shapely.box(300, 270, 330, 330), shapely.box(100, 100, 150, 150)],
        crs=CRS,
    )
    _, found = run({EARLY: grid(), BEST: grid(all=(SPOT, 5.0))}, marks=marks)
    assert acres_ha(found) == {
        EARLY: pytest.approx(0.25),
        BEST: pytest.approx(0.25 + 0.18, rel=0.02),
    }


def test_no_weeks_give_empty_tables():
    _, found = run({BEST: grid()}, free={"A": []})
    assert found.fields.empty and found.spots.empty


def test_ten_years_of_ten_are_never_more():
    # On 30,000 cells the mean of tens came out as 10.000000000000002.
    rng = np.random.default_rng(1)
    for _ in range(50):
        share = rng.random(30_000).astype(np.float32)
        assert _mean(np.full(30_000, 10, np.float32), share) <= 10.0
