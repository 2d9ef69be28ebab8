"""Odds of parts and ponds on the cells of hand-made ground."""

import numpy as np
import pandas as pd
import pytest
from wet_land import ALL, fields, land, pocket, sloping, soil, units, with_hollow

from layers.field_ponds import field_ponds
from layers.wet_cells import wet_cells, years_by_week
from suitability.columns import WET_CAUSES
from suitability.ground import PART_KEYS

NO_UNITS = pd.DataFrame(columns=["field_id", "mukey", "cause", "compname"])
NO_PARTS = pd.DataFrame(columns=PART_KEYS)
WEEK = pd.Series({"A": "06-04", "B": "07-02"})
MOST_PCT = 75.0


def odds_of(ground, **years):
    """Odds of every part by its soil; NaN for soils that are not named."""
    table = ground.parts[[*PART_KEYS, "area_ha"]].copy()
    return table.assign(years_in_ten=table["cokey"].map(years).astype(float))


def laid(ground, odds, wet_units=NO_UNITS, wet_parts=NO_PARTS, pond_years=None):
    cells = ground.cells[0]
    ponds = field_ponds(cells, ground) if pond_years is not None else None
    found = {}
    if ponds is not None:
        found = {w: np.full(ponds.height_m.shape, y) for w, y in pond_years.items()}
    years = odds["years_in_ten"].to_numpy()
    return wet_cells(cells, ground, odds, years, ponds, found, WEEK, wet_units, wet_parts, MOST_PCT)


def cause_at(wet, where):
    return {WET_CAUSES[c] for c in np.unique(wet.cause[where])}


def test_a_placed_soil_has_its_own_odds_and_the_ground_around_that_of_the_rest():
    ground = land(with_hollow(), [soil("upland", 90), pocket(10)])
    wet = laid(ground, odds_of(ground, upland=0.5, pocket=9.0))
    cells = ground.cells[0]
    inside = cells.field >= 0
    own = inside & (cells.component == ground.cokeys.index("pocket"))
    assert own.sum() == 400 and np.unique(wet.years_in_ten[own]).tolist() == [9.0]
    assert np.unique(wet.years_in_ten[inside & ~own]).tolist() == [0.5]
    assert np.isnan(wet.years_in_ten[~inside]).all()
    assert cause_at(wet, own) == {"wet inclusion"}
    assert np.unique(wet.cause[~inside]).tolist() == [-1]
    assert not wet.surveyed.any()


@pytest.mark.parametrize(
    ("wet_pct", "years"),
    # Of planar ground nobody knows which third of it is the wet soil: 9 years of 10 on a third is
    # no 3 years of 10 all over.
    [(35, 0.0), (74, 0.0), (75, 9.0), (90, 9.0)],
)
def test_on_planar_ground_a_lesser_wet_soil_wets_no_cell(wet_pct, years):
    ground = land(sloping(), [soil("upland", 100 - wet_pct), soil("bog", wet_pct)])
    assert ground.placed.empty
    wet = laid(ground, odds_of(ground, upland=0.0, bog=9.0))
    inside = ground.cells[0].field >= 0
    assert np.unique(wet.years_in_ten[inside]).tolist() == [years]


def test_what_was_not_placed_of_a_soil_lies_anywhere_in_proportion_to_the_ground():
    # The hollow takes 1 % of the 10 % pocket; what is left of it wets neither high nor low ground,
    # also where the position has little ground of its own.
    ground = land(with_hollow(), [soil("upland", 90), pocket(10)])
    rest = ground.parts[
        (ground.parts["cokey"] == "pocket") & (ground.parts["position"] == "unplaced")
    ]
    assert rest["area_ha"].sum() > 2.0
    wet = laid(ground, odds_of(ground, upland=0.0, pocket=10.0))
    cells = ground.cells[0]
    around = (cells.field >= 0) & (cells.component < 0)
    assert np.unique(wet.years_in_ten[around]).tolist() == [0.0]


def test_odds_not_known_stay_so_and_do_not_hide_those_that_are():
    ground = land(sloping(), [soil("upland", 50), soil("other", 50)])
    inside = ground.cells[0].field >= 0
    none = laid(ground, odds_of(ground))
    assert np.isnan(none.years_in_ten).all() and not none.surveyed.any()
    half = laid(ground, odds_of(ground, other=4.0))
    assert np.unique(half.years_in_ten[inside]).tolist() == [4.0]


def test_water_that_stands_more_often_than_the_soil_is_wet_counts_by_the_fields_own_week():
    farm = fields(A=(30, 30, 300, 570), B=(300, 30, 570, 570))
    ground = land(with_hollow(), [soil("upland", 100)], farm)  # the hollow lies in both
    wet = laid(ground, odds_of(ground, upland=2.0), pond_years={"06-04": 6.0, "07-02": 1.0})
    cells = ground.cells[0]
    hollow = np.zeros(cells.field.shape, bool)
    hollow[90:110, 90:110] = True
    west, east = hollow & (cells.field == 0), hollow & (cells.field == 1)
    assert np.unique(wet.years_in_ten[west]).tolist() == [6.0]
    assert cause_at(wet, west) == {"ponded"}
    assert np.unique(wet.years_in_ten[east]).tolist() == [2.0]
    assert cause_at(wet, east) == {"runs together"}


def test_a_pond_that_was_not_simulated_wets_nothing_and_hides_nothing():
    ground = land(with_hollow(), [soil("upland", 100)])
    wet = laid(ground, odds_of(ground, upland=2.0), pond_years={"06-04": np.nan})
    inside = ground.cells[0].field >= 0
    assert np.unique(wet.years_in_ten[inside]).tolist() == [2.0]


def test_a_unit_that_the_survey_calls_wet_is_marked_with_its_cause_and_soil():
    soil_map = units(flat=ALL, bog=(300, 0, 600, 600))
    ground = land(sloping(), [soil("upland", 100), soil("mire", 100, "bog")], soil_map=soil_map)
    wet_units = pd.DataFrame([("A", "bog", "ponded", "Mire")], columns=NO_UNITS.columns)
    wet = laid(ground, odds_of(ground, upland=0.0, mire=0.4), wet_units)
    cells = ground.cells[0]
    there = (cells.field == 0) & (cells.unit == ground.mukeys.index("bog"))
    assert (wet.surveyed == there).all() and there.sum() > 10_000
    assert cause_at(wet, there) == {"ponded"}
    assert np.unique(wet.soil[there]).tolist() == [ground.cokeys.index("mire")]
    assert np.unique(wet.years_in_ten[there]).tolist() == pytest.approx([0.4])


def test_without_odds_wet_soil_by_the_survey_is_drawn_where_it_was_placed():
    ground = land(with_hollow(), [soil("upland", 90), pocket(10)])
    wet_parts = ground.parts.loc[ground.parts["cokey"] == "pocket", PART_KEYS]
    cells = ground.cells[0]
    own = (cells.field >= 0) & (cells.component == ground.cokeys.index("pocket"))
    blind = laid(ground, odds_of(ground), wet_parts=wet_parts)
    assert (blind.surveyed == own).all() and own.any()
    assert np.isnan(blind.years_in_ten[own]).all()
    # Where there are odds, they decide.
    seen = laid(ground, odds_of(ground, upland=0.0, pocket=0.0), wet_parts=wet_parts)
    assert not seen.surveyed.any()


def test_open_water_is_no_wet_ground():
    water = {"cokey": "lake", "mukey": "lake", "compname": "Lake", "kind": "water"}
    water["comppct_pct"] = 100
    soil_map = units(flat=ALL, lake=(270, 270, 330, 330))
    ground = land(with_hollow(), [soil("upland", 100), water], soil_map=soil_map)
    wet = laid(ground, odds_of(ground, upland=5.0), pond_years={"06-04": 10.0})
    lake = ground.cells[0].water
    assert lake.sum() == 400
    assert np.isnan(wet.years_in_ten[lake]).all() and (wet.cause[lake] == -1).all()


def test_each_week_is_laid_as_if_all_were_sown_in_it():
    ground = land(with_hollow(), [soil("upland", 60), pocket(10), soil("bog", 30)])
    cells, ponds = ground.cells[0], field_ponds(ground.cells[0], ground)
    by_week = {
        "05-21": odds_of(ground, upland=0.5, pocket=9.0, bog=4.0),
        "06-04": odds_of(ground, upland=2.0, bog=1.0),  # the pocket is not known
        "07-02": odds_of(ground),
    }
    standing = {
        w: np.full(ponds.height_m.shape, y) for w, y in {"06-04": 3.0, "07-02": 1.0}.items()
    }
    years_in = years_by_week(
        cells,
        ground,
        ground.parts,
        np.stack([table["years_in_ten"] for table in by_week.values()], axis=1),
        tuple(by_week),
        ponds,
        standing,
        MOST_PCT,
    )
    for week, odds in by_week.items():
        alone = wet_cells(
            cells,
            ground,
            ground.parts,
            odds["years_in_ten"].to_numpy(),
            ponds,
            standing,
            pd.Series({"A": week, "B": week}),
            NO_UNITS,
            NO_PARTS,
            MOST_PCT,
        )
        np.testing.assert_array_equal(years_in(week), alone.years_in_ten[cells.dry])
        assert np.isnan(alone.years_in_ten[~cells.dry]).all()
    assert np.nanmax(years_in("06-04")) == 3.0 and np.nanmax(years_in("07-02")) == 1.0
