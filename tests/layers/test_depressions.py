"""Closed depressions of known shape: volume, area, pour point, nesting, catchment."""

import tracemalloc

import numpy as np
import pytest
from pyflwdir.dem import fill_depressions

from layers.depressions import find_depressions, pond_cells
from suitability.ponds import OUTSIDE, stage_classes


def fill(raw):
    return fill_depressions(np.asarray(raw, np.float64), nodata=-9999.0)[0]


def found(raw, cell=1.0, depth=0.05, cells=4, **options):
    raw = np.asarray(raw, np.float64)
    return find_depressions(
        raw, fill(raw), cell, cell, least_depth_m=depth, least_cells=cells, **options
    )


def volume_at(curves, pond, level):
    return np.interp(level, curves.level_m[pond], curves.volume_m3[pond])


def plane(rows, columns, rise=0.0):
    """Level ground 10 m high that may rise to the east."""
    return 10.0 + np.zeros((rows, 1)) + rise * np.arange(columns)


def test_a_box_holds_length_times_width_times_depth():
    raw = plane(12, 16)
    raw[3:9, 4:14] = 9.5  # 6 x 10 cells of 2 m: 240 m2, 0.5 m deep
    box = found(raw, cell=2.0)
    assert box.n_ponds == 1 and box.curves.parent.tolist() == [OUTSIDE]
    assert box.curves.volume_m3[0, -1] == pytest.approx(240 * 0.5)
    assert volume_at(box.curves, 0, 9.7) == pytest.approx(240 * 0.2)
    assert box.curves.area_m2[0].tolist() == pytest.approx([240] * 24)
    assert (box.curves.level_m[0, 0], box.curves.level_m[0, -1]) == (9.5, 10.0)
    # Level ground outside drains to the edge: only the floor itself drains to the box.
    assert box.catchment_ha[0] == pytest.approx(0.024)
    assert box.curves.spill_to.tolist() == [OUTSIDE] and not box.cut_by_edge[0]


def test_a_cone_holds_a_third_of_base_times_depth():
    # Radius 100 cells of 1 m, 2 m deep: pi r2 h / 3.
    y, x = np.mgrid[-110:111, -110:111]
    raw = 10.0 + np.minimum(0.0, np.hypot(x, y) / 50.0 - 2.0)
    cone = found(raw, n_levels=65)
    curves = cone.curves
    assert curves.volume_m3[0, -1] == pytest.approx(np.pi * 100**2 * 2 / 3, rel=0.001)
    assert curves.area_m2[0, -1] == pytest.approx(np.pi * 100**2, rel=0.005)
    # Half as deep: an eighth of the water on a quarter of the ground.
    assert volume_at(curves, 0, 9.0) == pytest.approx(np.pi * 50**2 * 1 / 3, rel=0.005)
    assert np.interp(9.0, curves.level_m[0], curves.area_m2[0]) == pytest.approx(
        np.pi * 50**2, rel=0.01
    )


def test_noise_is_no_pond():
    raw = plane(20, 30, rise=0.0)
    raw[3:6, 3:6] -= 0.04  # too shallow
    raw[10:12, 3:4] -= 0.5  # too small
    raw[10:14, 15:20] -= 0.06
    one = found(raw)
    assert one.n_ponds == 1
    assert one.curves.volume_m3[0, -1] == pytest.approx(20 * 0.06, rel=1e-5)
    assert one.drains_to[4, 4] == OUTSIDE and one.drains_to[10, 3] == OUTSIDE
    assert found(plane(6, 6)).n_ponds == 0
    with pytest.raises(ValueError, match="least_depth_m must be above 0"):
        found(raw, depth=0.0)


def nested():
    """Two boxes in a wider one: floors 8.0 and 8.5, a sill between at 9.0, the brim at 10.0."""
    raw = plane(12, 20)
    raw[2:10, 2:18] = 9.0
    raw[4:8, 3:9] = 8.0  # 24 cells
    raw[4:8, 11:17] = 8.5  # 24 cells
    raw[5, 18:20] = 9.8  # the way out, to the east
    return raw


def test_nested_depressions_are_children_of_what_they_make_when_full():
    tree = found(nested())
    curves = tree.curves
    assert tree.n_ponds == 3
    assert curves.parent.tolist() == [2, 2, OUTSIDE]
    floors = curves.level_m[:, 0].tolist()
    west, east = floors.index(8.0), floors.index(8.5)
    assert {west, east} == {0, 1} and floors[2] == 9.0
    assert curves.level_m[:, -1].tolist() == pytest.approx([9.0, 9.0, 9.8])
    assert curves.volume_m3[west, -1] == pytest.approx(24 * 1.0)
    assert curves.volume_m3[east, -1] == pytest.approx(24 * 0.5)
    # Over both: 36 m3, then 8 x 16 cells up to 0.8 m higher.
    assert curves.volume_m3[2, 0] == 36.0
    assert curves.volume_m3[2, -1] == pytest.approx(36 + 128 * 0.8)
    assert curves.spill_to.tolist() == [1, 0, OUTSIDE]
    assert (tree.pour_row[2], tree.pour_column[2]) == (5, 18)
    # All ground within drains to one of the two, and so does the ring of 52 cells at 10 m around
    # it, but for the way out and one beside that.
    assert tree.catchment_ha[2] == pytest.approx(178e-4)
    assert tree.catchment_ha[:2].sum() == pytest.approx(178e-4)
    assert set(np.unique(tree.drains_to[2:10, 2:18])) == {0, 1}
    assert curves.brim_m.tolist() == pytest.approx([9.8] * 3)


def test_a_sill_lower_than_noise_joins_the_two():
    raw = nested()
    raw[4:8, 9:11] = 8.53  # the sill now stands 3 cm over the eastern floor
    one = found(raw)
    assert one.n_ponds == 1
    assert one.curves.level_m[0, 0] == 8.0
    assert one.curves.volume_m3[0, -1] == pytest.approx(
        24 * 1.8 + 24 * 1.3 + 8 * 1.27 + (128 - 56) * 0.8
    )


def slope_with_two_pits():
    """Ground that falls 0.1 m a cell to the west, with two pits one below the other."""
    raw = plane(9, 40, rise=0.1)
    raw[:, 0] -= 0.05
    raw[2:7, 24:29] = raw[4, 23] - 0.5
    raw[2:7, 8:13] = raw[4, 7] - 0.5
    return raw


def test_a_pit_spills_into_the_one_downhill_and_that_one_out():
    raw = slope_with_two_pits()
    pits = found(raw)
    assert pits.n_ponds == 2
    high = int(pits.drains_to[4, 26])
    low = int(pits.drains_to[4, 10])
    assert pits.curves.spill_to[high] == low and pits.curves.spill_to[low] == OUTSIDE
    assert pits.pour_column[high] == 23 and pits.pour_column[low] == 7
    # Rows 2 to 6 from the pit up to the divide drain to it; the next pit's own ground does not.
    assert pits.drains_to[4, 39] == high and pits.drains_to[4, 20] == low
    assert pits.drains_to[4, 3] == OUTSIDE
    assert pits.cut_by_edge[high] and not pits.cut_by_edge[low]
    # The 5 x 16 cells above the upper pit and its 25, and what slants in from its sides.
    assert pits.catchment_ha[high] * 1e4 >= 5 * 16


def test_volumes_agree_with_filled_less_raw_on_rough_ground():
    rng = np.random.default_rng(5)
    from scipy.ndimage import gaussian_filter

    raw = gaussian_filter(rng.normal(0, 1, (150, 170)), 4) * 4
    filled = fill(raw)
    tree = find_depressions(raw, filled, 3.0, 3.0, least_depth_m=0.05, least_cells=5)
    roots = tree.curves.parent == OUTSIDE
    assert roots.sum() > 20 and (~roots).sum() > 10
    # An independent count: labelled regions of the filled less the raw ground.
    from scipy.ndimage import label, sum_labels

    labels, count = label(filled > raw, structure=np.ones((3, 3)))
    numbers = np.arange(1, count + 1)
    held = sum_labels(filled - raw, labels, numbers) * 9
    deep = np.array([(filled - raw)[labels == i].max() for i in numbers])
    cells = np.bincount(labels.ravel())[1:]
    kept = (deep >= 0.05) & (cells >= 5)
    assert roots.sum() == kept.sum()
    assert sorted(tree.curves.volume_m3[roots, -1]) == pytest.approx(sorted(held[kept]))
    # Levels and volumes rise, children come first and hold what the parent begins with.
    assert (np.diff(tree.curves.level_m) >= 0).all() and (np.diff(tree.curves.volume_m3) >= 0).all()
    for pond, above in enumerate(tree.curves.parent):
        assert above == OUTSIDE or above > pond
    # Each cell drains at most to one pond, and a flooded cell always to one.
    flooded = np.isin(labels, numbers[kept])
    assert (tree.drains_to[flooded] >= 0).all()
    leaf = tree.curves.is_leaf
    assert set(np.unique(tree.drains_to)) - {-1} <= set(np.flatnonzero(leaf))
    assert tree.catchment_ha[leaf].sum() == pytest.approx((tree.drains_to >= 0).sum() * 9e-4)
    # Whatever spills goes on to lower ground and never round in a ring.
    for pond in np.flatnonzero(roots):
        seen, at = set(), pond
        while at != OUTSIDE:
            assert at not in seen
            seen.add(at)
            at = tree.curves.spill_to[at]
            while at != OUTSIDE and tree.curves.parent[at] != OUTSIDE:
                at = tree.curves.parent[at]


def test_holes_in_the_heights_are_left_open():
    raw = slope_with_two_pits()
    raw[4, 35] = np.nan
    filled = np.where(np.isnan(raw), np.nan, fill(np.where(np.isnan(raw), -9999.0, raw)))
    pits = find_depressions(raw, filled, 1.0, 1.0, least_depth_m=0.05, least_cells=4)
    assert pits.n_ponds == 2 and pits.drains_to[4, 35] == OUTSIDE


def test_odds_go_to_the_cells_by_their_height():
    raw = nested()
    tree = found(raw)
    heights = stage_classes(tree.curves, 10)
    odds = np.tile(np.linspace(9.0, 0.0, 10), (3, 1))
    cells = pond_cells(tree, raw, heights)
    grid = np.zeros(raw.shape)
    grid[cells.under] = cells.values(odds)
    assert grid[5, 4] == 9.0 and grid[5, 13] == 9.0  # both floors
    # 9.0 m is 1.0 of 1.8 m over the western floor: class 5 of 0 to 9, odds 4.
    assert grid[2, 2] in (4.0, 6.0)
    assert not cells.under[0, 0]
    raw[2, 2] = np.nan
    assert not pond_cells(tree, raw, heights).under[2, 2], "no height, no pond"


def test_ground_of_nested_depressions_is_held_once():
    """A bowl with 80 pits in its sides, which join it one after the other as it fills."""
    y, x = np.mgrid[-150:151, -150:151]
    far = np.hypot(x, y)
    raw = np.minimum(far, 148.0) * 0.05
    for ring in range(80):
        angle = 2.4 * ring
        row, column = (40 + 1.25 * ring) * np.array([np.sin(angle), np.cos(angle)])
        raw -= 0.9 * np.maximum(0, 1 - np.hypot(y - row, x - column) / 5)
    full = fill(raw)
    find_depressions(raw[:9, :9], full[:9, :9], 1.0, 1.0, least_depth_m=0.1, least_cells=4)
    tracemalloc.start()
    try:
        bowl = find_depressions(raw, full, 1.0, 1.0, least_depth_m=0.1, least_cells=4)
        peak = tracemalloc.get_traced_memory()[1]
    finally:
        tracemalloc.stop()
    assert bowl.n_ponds >= 150 and (bowl.curves.parent == OUTSIDE).sum() == 1
    # The last pond holds it all, as counted from the heights themselves.
    deep = full - np.asarray(raw, np.float32)
    assert bowl.curves.area_m2[-1, -1] == (deep > 0).sum()
    assert bowl.curves.volume_m3[-1, -1] == pytest.approx(deep.sum(), rel=1e-6)
    assert peak < 120 * raw.size


def test_odds_are_laid_on_a_large_grid_without_copies_of_it():
    raw = plane(3000, 1000).astype(np.float32)
    raw[100:2900, 100:900] = 9.5
    full = np.maximum(raw, np.float32(10.0))
    box = find_depressions(raw, full, 1.0, 1.0, least_depth_m=0.1, least_cells=4)
    heights = stage_classes(box.curves)
    tracemalloc.start()
    try:
        cells = pond_cells(box, raw, heights)
        laid = np.zeros(raw.shape, np.float32)
        laid[cells.under] = cells.values(np.full(heights.shape, 3.0))
        peak = tracemalloc.get_traced_memory()[1]
    finally:
        tracemalloc.stop()
    assert (laid[100:2900, 100:900] == 3.0).all() and laid.sum() == 3.0 * 2800 * 800
    assert peak < 20 * raw.size
