"""In how many years ground is too wet: parts by numbers set by hand, ponds by the daily engine."""

import tracemalloc

import engine_farm as ef
import numpy as np
import pandas as pd
import pytest

from suitability.crop import load_crop
from suitability.engine import Simulated
from suitability.establishment import WET
from suitability.ponds import OUTSIDE, PondCurves, stage_classes
from suitability.stand_run import (
    CAUSE,
    DROWNED_D,
    FAILED_D,
    KNOWN_D,
    N_RESULT,
    RUN_EARLY_D,
    STAND,
)
from suitability.wet_odds import _MOST_POND_DAYS, part_odds, pond_odds
from suitability.years import simulate_farm

CROP = load_crop("sunn_hemp")
BORNE_D, EARLY_D = CROP.number("wet_runs.run_poor_d"), CROP.number("wet_runs.early_d")
WEEKS = ("05-21", "06-04")


def simulated(n_cases=1, n_years=10):
    """Every stand came up and never stood wet."""
    result = np.zeros((n_cases, n_years, len(WEEKS), N_RESULT), np.float32)
    result[..., STAND], result[..., KNOWN_D] = 1.0, 150.0
    years = tuple(range(2001, 2001 + n_years))
    return Simulated(pd.DataFrame(), WEEKS, years, result, result[..., None], result, {}, ())


def odds(run, cases=(0,), weeks=("05-21",)):
    table = part_odds(run, pd.DataFrame({"case": list(cases)}), CROP)
    assert table.shape == (len(cases), len(WEEKS))
    return [table[row, WEEKS.index(week)] for row, week in enumerate(weeks)]


@pytest.mark.parametrize(
    ("number", "value", "wet"),
    [
        (RUN_EARLY_D, BORNE_D, False),  # as long as it bears
        (RUN_EARLY_D, BORNE_D + 1, True),
        (DROWNED_D, EARLY_D, True),
        (DROWNED_D, EARLY_D + 1, False),  # drowned later: that is the season, not the sowing
    ],
)
def test_a_year_is_too_wet_by_the_run_after_sowing(number, value, wet):
    run = simulated()
    run.result[0, :3, 0, number] = value
    assert odds(run) == [3.0 if wet else 0.0]


def test_no_stand_counts_only_where_wetness_was_why():
    run = simulated()
    run.result[0, :4, 0, STAND] = 0.0
    assert odds(run) == [0.0]
    run.result[0, :2, 0, CAUSE] = WET
    run.result[0, :2, 0, FAILED_D] = 12.0
    assert odds(run) == [2.0]


def test_years_that_are_not_known_do_not_count():
    run = simulated()
    run.result[0, :2, 0, RUN_EARLY_D] = BORNE_D + 5
    run.result[0, 6:, 0, KNOWN_D] = EARLY_D - 1
    assert odds(run) == [pytest.approx(10 * 2 / 6)]
    run.result[0, :, 0, KNOWN_D] = EARLY_D - 1
    assert np.isnan(odds(run)).all()


def test_a_hole_after_the_first_weeks_takes_no_year_that_stood_dry():
    run = simulated()
    run.result[0, :2, 0, RUN_EARLY_D] = BORNE_D + 5
    # A stand that lived to see the hole: its end is not known, its first weeks are.
    run.result[0, 2:, 0, STAND], run.result[0, 2:, 0, KNOWN_D] = np.nan, EARLY_D + 5
    assert odds(run) == [2.0]


def test_each_part_takes_its_own_case_and_the_week_of_its_field():
    run = simulated(2)
    run.result[1, :5, 1, RUN_EARLY_D] = BORNE_D + 1
    assert odds(run, (0, 1, 1), ("06-04", "06-04", "05-21")) == [0.0, 5.0, 0.0]


def test_a_part_without_a_case_has_no_odds():
    run = simulated()
    assert np.isnan(odds(run, (-1, -1), WEEKS)).all()


# ---- ponds ------------------------------------------------------------------------------------

LOAM, CLAY = (65.0, 12.0), (20.0, 55.0)


@pytest.fixture(scope="module")
def engine():
    arguments, _ = ef.farm([(LOAM, "well", 5.0), (CLAY, "poorly", 5.0)])
    fields, parts, _, _, tables, crop, say = arguments
    done = simulate_farm(fields, parts, tables, crop, say)
    assert done is not None
    return done.engine


def soil_of(engine, drainage):
    """Which of the two is which: the wetter one has the shallower water below."""
    ranked = sorted(engine.boundaries, key=lambda key: engine.boundaries[key].outside_cm[0])
    return ranked[0 if drainage == "poorly" else -1][0]


def boxes(n=1, area_m2=1000.0, depth_m=0.5):
    level = np.tile(np.linspace(100.0, 100.0 + depth_m, 6), (n, 1))
    alone = np.full(n, OUTSIDE)
    return PondCurves(alone, alone, level, np.full((n, 6), area_m2), (level - 100.0) * area_m2)


def years(engine, catchment_ha, floor, catchment, own_soil=None, weeks=("06-04",), place="w"):
    curves = boxes(len(catchment_ha))
    own = np.zeros(len(catchment_ha), bool) if own_soil is None else np.array(own_soil)
    return pond_odds(
        engine,
        curves,
        np.array(catchment_ha, float),
        stage_classes(curves),
        tuple(floor),
        tuple(catchment),
        own,
        place,
        weeks,
    )


def test_more_ground_that_drains_to_a_pond_never_wets_it_less(engine):
    clay, areas = soil_of(engine, "poorly"), [0.1, 0.5, 2.0, 20.0]
    found = years(engine, areas, [clay] * 4, [clay] * 4)["06-04"]
    middle = found.shape[1] // 2  # the floor of a hollow in wet clay is wet without any run-on
    assert (np.diff(found, axis=0) >= 0).all() and found[-1, middle] > found[0, middle]
    assert ((found >= 0) & (found <= 10)).all()


def test_higher_ground_in_a_hollow_is_never_wetter(engine):
    clay = soil_of(engine, "poorly")
    found = years(engine, [5.0], [clay], [clay])["06-04"][0]
    assert (np.diff(found) <= 0).all() and found[-1] == 0.0  # nothing stands over the brim


def test_sand_lets_water_in_that_clay_holds(engine):
    loam, clay = soil_of(engine, "well"), soil_of(engine, "poorly")
    found = years(engine, [20.0, 20.0], [loam, clay], [clay, clay])["06-04"]
    assert found[0, 0] < found[1, 0]


def test_every_week_that_is_asked_for_is_answered(engine):
    loam = soil_of(engine, "well")
    found = years(engine, [1.0], [loam], [loam], weeks=("05-14", "07-02"))
    assert list(found) == ["05-14", "07-02"]


@pytest.mark.parametrize(("floor", "catchment"), [("", "x"), ("x", ""), ("strange", "x")])
def test_a_pond_on_unknown_soil_is_not_simulated_and_spoils_no_other(engine, floor, catchment):
    loam = soil_of(engine, "well")
    names = [(loam if name == "x" else name) for name in (floor, catchment)]
    found = years(engine, [1.0, 1.0], [names[0], loam], [names[1], loam])["06-04"]
    alone = years(engine, [1.0], [loam], [loam])["06-04"]
    assert np.isnan(found[0]).all()
    np.testing.assert_array_equal(found[1], alone[0])


def test_a_table_counted_from_the_brim_stands_higher_in_the_pond_than_one_from_its_floor(engine):
    clay = soil_of(engine, "poorly")
    found = years(engine, [0.1, 0.1], [clay] * 2, [clay] * 2, own_soil=[False, True])["06-04"]
    # From the brim the table of the ground around stands 0.5 m higher over the floor.
    assert (found[0] >= found[1]).all()


def test_days_of_many_hollows_are_never_held_all_at_once(engine):
    clay, n_ponds = soil_of(engine, "poorly"), 3000
    n_days = len(engine.weather["w"].dates)
    tracemalloc.start()
    try:
        found = years(engine, [1.0] * n_ponds, [clay] * n_ponds, [clay] * n_ponds)["06-04"]
        peak = tracemalloc.get_traced_memory()[1]
    finally:
        tracemalloc.stop()
    assert (found == found[0]).all() and 0 < found[0, 0]
    assert n_ponds * n_days > 5 * _MOST_POND_DAYS
    assert peak < 8 * n_ponds * n_days  # one array of a number for each hollow and day
