"""Ponds day by day: storms, drying at known rates, spilling, the table, and where water went."""

import numpy as np
import pytest

from suitability.pond_weeks import WetYears
from suitability.ponds import (
    OUTSIDE,
    PondCurves,
    PondState,
    pond_days,
    stage_classes,
)


def box(area_m2=1000.0, depth_m=0.5, floor_m=100.0, spill_to=OUTSIDE):
    level = np.linspace(floor_m, floor_m + depth_m, 6)
    return PondCurves(
        np.array([OUTSIDE]),
        np.array([spill_to]),
        level[None, :],
        np.full((1, 6), area_m2),
        (level - floor_m)[None, :] * area_m2,
    )


def twins():
    """Boxes of 100 m2 and 300 m2, both 1 m deep; over them 500 m2, 0.5 m more."""
    rows = [(10.0, 11.0, 100.0, 0.0), (10.0, 11.0, 300.0, 0.0), (11.0, 11.5, 500.0, 400.0)]
    level = np.array([np.linspace(low, high, 5) for low, high, _, _ in rows])
    area = np.array([[a] * 5 for _, _, a, _ in rows])
    volume = np.array([first for *_, first in rows])[:, None] + area * (level - level[:, :1])
    return PondCurves(np.array([2, 2, -1]), np.array([1, 0, -1]), level, area, volume)


def run(curves, catchment_ha, n_days=10, storm=(), rain=0.0, et0=0.0, ksat=0.0, table=np.nan):
    runoff = np.zeros(n_days)
    for day, depth in storm:
        runoff[day] = depth
    days = np.broadcast_to(float(rain), n_days), np.broadcast_to(float(et0), n_days)
    return pond_days(curves, catchment_ha, runoff, *days, ksat, np.broadcast_to(table, n_days))


def closes(days):
    came = days.inflow_m3 + days.rain_m3 + days.fed_m3
    went = days.evaporated_m3 + days.infiltrated_m3 + days.left_m3 + days.stored_m3
    assert came == pytest.approx(went, abs=1e-6)


def test_a_storm_fills_a_box_and_it_dries_at_known_rates():
    # 30 mm off 1.1 ha less the box: 300 m3 on 1,000 m2 stand 300 mm deep; 6 mm/d leave by air and
    # 14 mm/d into the soil, the first on the very day.
    days = run(box(), [1.1], n_days=20, storm=[(2, 30.0)], et0=6.0, ksat=14.0)
    depth_mm = (days.level_m[0] - 100.0) * 1000
    # The dry box has no area: the runoff of the whole 1.1 ha counts, 330 mm.
    assert depth_mm[:4].tolist() == pytest.approx([0, 0, 310, 290])
    assert depth_mm[17] == pytest.approx(330 - 20 * 16) and depth_mm[18] == pytest.approx(0)
    assert days.evaporated_m3 + days.infiltrated_m3 == pytest.approx(330)
    closes(days)


def test_rain_on_the_pond_counts_in_full_and_its_ground_no_longer_runs_off():
    # Day 1: 10 mm off 0.5 ha = 50 m3, 50 mm deep. Day 2: 20 mm of rain, 10 mm of them run off:
    # 1,000 m2 x 20 mm + 4,000 m2 x 10 mm = 60 m3.
    curves = box()
    days = pond_days(curves, [0.5], [10, 10], [0, 20], [0, 0], 0.0, [np.nan, np.nan])
    assert (days.level_m[0] - 100).tolist() == pytest.approx([0.05, 0.11])
    assert (days.inflow_m3, days.rain_m3) == pytest.approx((90, 20))
    closes(days)


def test_what_is_too_much_leaves_over_the_pour_point():
    days = run(box(), [4.0], storm=[(0, 50.0)])  # 2,000 m3 into 500
    assert days.level_m[0].tolist() == pytest.approx([100.5] * 10)
    assert days.left_m3 == pytest.approx(1500)
    closes(days)


def test_a_full_pond_fills_its_sibling_then_both_rise_then_fall_apart():
    # 0.1 ha drains to the small one only. Each day 200 mm bring 200 m3 (less what the pond covers).
    curves = twins()
    runoff = np.zeros((3, 12))
    runoff[0, :3] = 200.0
    days = pond_days(curves, [0.1, 0.0, 9.0], runoff, np.zeros(12), np.zeros(12), 0.0, [[np.nan]])
    small, large = days.level_m[0], days.level_m[1]
    # Day 0: 200 m3: 100 fill the small box, 100 stand 1/3 m deep in the large one.
    assert (small[0], large[0]) == pytest.approx((11, 10 + 1 / 3))
    # Day 1: 900 m2 of open catchment bring 180 m3: 280 of 300.
    assert (small[1], large[1]) == pytest.approx((11, 10 + 280 / 300))
    # Day 2: 180 more: 20 fill the large one, 160 stand over both, 500 m2 wide: 0.32 m.
    assert (small[2], large[2]) == pytest.approx((11.32, 11.32))
    assert np.isnan(days.level_m[2]).all()
    closes(days)
    # At 100 mm/d the 560 m3 lose 50 a day until they part at 400, then each for itself.
    days = pond_days(
        curves, [0.1, 0, 0], runoff, np.zeros(12), [0] * 3 + [100.0] * 9, 0.0, [[np.nan]]
    )
    assert days.level_m[0, 3:6].tolist() == pytest.approx([11.22, 11.12, 11.02])
    # Day 6: 410 - 50 = 360 m3, 90 % of both; day 7 another 0.1 m.
    assert days.level_m[:2, 6].tolist() == pytest.approx([10.9, 10.9])
    assert days.level_m[:2, 7].tolist() == pytest.approx([10.8, 10.8])
    closes(days)


def test_what_both_cannot_hold_leaves():
    days = run(twins(), [1.0, 1.0, 0.0], storm=[(0, 100.0)])  # 2,000 m3 into 400 + 250
    assert days.level_m[:2, 0].tolist() == pytest.approx([11.5, 11.5])
    assert days.left_m3 == pytest.approx(1350)
    closes(days)


def test_a_pond_spills_into_the_next_one_on_the_same_day():
    upper, lower = box(100.0, 1.0, 20.0), box(100.0, 1.0, 10.0)
    chain = PondCurves(
        np.array([-1, -1]),
        np.array([1, -1]),
        *(
            np.vstack([getattr(upper, name), getattr(lower, name)])
            for name in ("level_m", "area_m2", "volume_m3")
        ),
    )
    days = run(chain, [0.1, 0.0], storm=[(0, 150.0)])
    assert days.level_m[:, 0].tolist() == pytest.approx([21.0, 10.5])
    assert days.left_m3 == 0
    days = run(chain, [0.1, 0.0], storm=[(0, 250.0)])
    assert days.level_m[:, 0].tolist() == pytest.approx([21.0, 11.0])
    assert days.left_m3 == pytest.approx(50)
    # A row of ponds, each spilling into the one before it in the table: 100 m3 stay in each.
    row = PondCurves(
        np.full(30, -1),
        np.arange(30) - 1,
        *(
            np.repeat(getattr(upper, name), 30, axis=0)
            for name in ("level_m", "area_m2", "volume_m3")
        ),
    )
    filled = run(row, [0.0] * 29 + [3.1], storm=[(0, 100.0)])
    assert filled.level_m[:, 0].tolist() == pytest.approx([21.0] * 30)
    assert filled.left_m3 == pytest.approx(100)
    closes(filled)
    # The order in which they stand in the table changes nothing.
    turned = PondCurves(
        chain.parent,
        np.array([-1, 0]),
        *(x[::-1].copy() for x in (chain.level_m, chain.area_m2, chain.volume_m3)),
    )
    again = run(turned, [0.0, 0.1], storm=[(0, 250.0)])
    assert again.level_m[::-1].tolist() == days.level_m.tolist()
    closes(again)


def test_the_soil_takes_in_nothing_while_the_table_stands_at_the_floor():
    storm = [(0, 30.0)]
    deep = run(box(), [1.0], storm=storm, ksat=10.0, table=80.0)
    at_floor = run(box(), [1.0], storm=storm, ksat=10.0, table=0.0)
    assert deep.level_m[0, -1] == pytest.approx(100.3 - 0.01 * 10)
    assert at_floor.level_m[0, -1] == pytest.approx(100.3)
    assert at_floor.infiltrated_m3 == 0 and at_floor.fed_m3 == 0


def test_a_pond_that_has_filled_the_pores_below_sinks_no_faster_than_they_lose():
    # 330 mm run in on the second day. The soil lets 50 mm/d in, its pores have room for 70 mm and
    # lose 3 mm/d below: 50 (47 stay), then 23 + 3, then 3 a day.
    quiet = np.zeros(8)
    runoff = quiet.copy()
    runoff[1] = 30.0
    days = pond_days(box(), [1.1], runoff, quiet, quiet, 50.0, np.nan, free_mm=70.0, lost_mm=3.0)
    depth_mm = (days.level_m[0] - 100.0) * 1000
    assert depth_mm[1:6].tolist() == pytest.approx([280, 254, 251, 248, 245])
    closes(days)


def test_the_pores_below_a_dry_pond_open_as_fast_as_grass_dries_them():
    # A pond of 60 mm fills 60 mm of pores and is gone; 5 dry days of 4 mm later 20 mm are open, so
    # of the next 60 mm only 20 sink at once. Its own water also evaporates.
    runoff = np.zeros(10)
    runoff[[1, 7]] = 60.0 / 11
    none, et0 = np.zeros(10), np.full(10, 4.0)
    et0[[1, 7]] = 0.0
    days = pond_days(box(), [1.1], runoff, none, et0, 60.0, np.nan, free_mm=60.0, lost_mm=0.0)
    depth_mm = (days.level_m[0] - 100.0) * 1000
    assert depth_mm[1] == pytest.approx(0) and depth_mm[7] == pytest.approx(40)
    closes(days)


def test_a_table_above_the_floor_feeds_the_pond_as_fast_as_the_soil_lets_it():
    # The ground around lies 0.5 m above the floor, the table 20 cm below it: 0.3 m of pond at last.
    days = pond_days(
        box(), [1.0], np.zeros(10), np.zeros(10), np.zeros(10), 50.0, np.full(10, 20.0), [100.5]
    )
    assert (days.level_m[0] - 100).tolist() == pytest.approx(
        [0.05, 0.1, 0.15, 0.2, 0.25, 0.3, 0.3, 0.3, 0.3, 0.3]
    )
    assert days.fed_m3 == pytest.approx(300)
    closes(days)


def test_on_a_day_without_weather_ponds_stay_as_they_were():
    rain = np.zeros(10)
    rain[6] = np.nan
    curves = box()
    days = pond_days(curves, [1.0], [30.0] + [0.0] * 9, rain, np.full(10, 10.0), 0.0, [np.nan] * 10)
    assert not days.known[6] and days.known.sum() == 9
    assert days.level_m[0, 6] == days.level_m[0, 5] > days.level_m[0, 7]


def random_ponds(seed):
    rng = np.random.default_rng(seed)
    n_days = 3 * 365
    wet = rng.random(n_days) < 0.25
    rain = np.where(wet, rng.gamma(0.8, 22.0, n_days), 0.0)
    runoff = np.maximum(0, rain - 20) * rng.random((3, n_days))
    table = 60 + 80 * np.sin(np.arange(n_days) / 58) + rng.normal(0, 5, n_days)
    return twins(), [0.3, 0.2, 0.0], runoff, rain, 5 * rng.random(n_days), [8.0, 2, 0], table


def test_water_balance_closes_and_no_pond_is_over_full_or_negative():
    for seed in range(5):
        curves, *rest = random_ponds(seed)
        days = pond_days(curves, *rest, table_from_m=[11.0, 11.0, 11.0])
        closes(days)
        levels = days.level_m[:2]
        assert (levels >= 10).all() and (levels <= 11.5 + 1e-9).all()
        assert days.left_m3 > 0 and days.fed_m3 > 0 and days.infiltrated_m3 > 0
        joined = (levels > 11).any(axis=0)
        assert joined.any() and not joined.all()
        assert levels[0, joined] == pytest.approx(levels[1, joined])


def test_wetter_is_never_drier():
    curves, catchment, runoff, rain, et0, ksat, table = random_ponds(3)
    heights = stage_classes(curves)
    found = []
    for times in (1.0, 1.5):
        years = WetYears(heights, [range(100, 1000, 60)], np.ones(len(rain), bool), 21, 5)
        years.take(pond_days(curves, catchment, times * runoff, rain, et0, ksat, table).level_m)
        found.append(years.years_in_ten(0))
    less, more = found
    assert (more[:2] >= less[:2]).all() and (more[:2] > less[:2]).any()
    # Higher ground stands under water no longer than lower ground.
    assert (np.diff(less[:2], axis=-1) <= 0).all()
    assert np.isnan(less[2]).all()  # a pond made of others


def test_a_record_run_in_stretches_is_the_record_run_at_once():
    curves, catchment, runoff, rain, et0, ksat, table = random_ponds(2)
    held = dict(free_mm=40.0, lost_mm=1.0)
    whole = pond_days(curves, catchment, runoff, rain, et0, ksat, table, **held)
    state, levels, flows = PondState.dry(curves), [], []
    for first in range(0, len(rain), 100):
        days = slice(first, first + 100)
        some = (runoff[:, days], rain[days], et0[days], ksat, table[days])
        part = pond_days(curves, catchment, *some, **held, state=state)
        levels.append(part.level_m)
        flows.append((part.inflow_m3, part.fed_m3, part.infiltrated_m3, part.left_m3))
    np.testing.assert_array_equal(np.hstack(levels), whole.level_m)
    assert np.sum(flows, axis=0).tolist() == pytest.approx(
        [whole.inflow_m3, whole.fed_m3, whole.infiltrated_m3, whole.left_m3]
    )
    assert part.stored_m3 == whole.stored_m3


def test_heights_asked_for_run_from_floor_to_the_brim_of_what_they_join():
    heights = stage_classes(twins(), 4)
    assert heights[0].tolist() == pytest.approx([10, 10.5, 11, 11.5])
    assert np.isnan(heights[2]).all()
