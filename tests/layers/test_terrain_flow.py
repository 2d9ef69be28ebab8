"""Filling and flow on ground made by hand, and against libraries that do the same."""

from pathlib import Path

import numpy as np
import pyflwdir
import pyproj
import pytest
import rasterio
from flow_library import upslope_area_m2
from real_data import real

from layers.grid import Grid
from layers.relief import slope
from layers.terrain.fill import filled
from layers.terrain.flow import upslope_cells
from layers.terrain.slope import slope_frac
from layers.terrain.wetness_index import smoothed, wetness_index

SAMPLE = Path(__file__).parents[2] / "sample_fields" / "elevation.tif"


def heights(which):
    path = SAMPLE if which == "sample" else real("soil_survey_with_dem", "elev.tif")
    with rasterio.open(path) as dem:
        return dem.read(1)


def flow(z, cell=1.0, exponent=1.1):
    return upslope_cells(filled(np.asarray(z, np.float32)), cell, cell, exponent)


def rough(n=60, seed=3):
    z = np.random.default_rng(seed).normal(100, 1, (n, n)).astype(np.float32)
    z[20:24, 5:9] = np.nan
    return z


def test_a_pit_of_known_depth_is_filled_to_its_rim():
    z = np.full((7, 7), 10, np.float32)
    z[2:5, 2:5] = 8
    z[3, 3] = 7.5
    depth = filled(z).inner_m - z
    assert depth[3, 3] == 2.5 and depth[2:5, 2:5].sum() == 8 * 2 + 2.5
    assert depth.sum() == 8 * 2 + 2.5


def test_a_pit_spills_over_its_lowest_rim_also_across_a_corner():
    z = np.full((7, 7), 10, np.float32)
    z[3, 3] = 5
    z[2, 2], z[1, 1], z[0, 0] = 6, 5.5, 5
    assert (filled(z).inner_m - z)[3, 3] == 1


def test_a_hole_in_the_heights_drains_what_lies_beside_it():
    z = np.full((9, 9), 10, np.float32)
    z[3:6, 3:6] = 8
    assert (filled(z).inner_m - z)[4, 4] == 2
    z[4, 5] = np.nan
    assert np.nansum(filled(z).inner_m - z) == 0


def test_below_the_sea_and_at_zero_fills_as_above():
    z = np.array([[1, 1, 1], [1, -7.25, 1], [1, -0.5, 1]], np.float32)
    assert filled(z).inner_m[1, 1] == -0.5
    assert filled(-np.zeros((4, 4), np.float32)).inner_m.tolist() == np.zeros((4, 4)).tolist()


@pytest.mark.parametrize("which", ["rough", "sample", "real"])
def test_filled_is_cell_for_cell_what_two_libraries_say(which):
    z = rough() if which == "rough" else heights(which)
    ours = filled(z).inner_m
    known = np.where(np.isnan(z), np.float32(-9999), z)
    theirs, _ = pyflwdir.dem.fill_depressions(known, nodata=-9999.0)
    assert np.array_equal(ours, np.where(np.isnan(z), np.nan, theirs), equal_nan=True)
    pytest.importorskip("fastscapelib")
    second, _ = upslope_area_m2(z, 3.0, 1.1)
    assert np.array_equal(ours, second.astype(np.float32), equal_nan=True)


def test_order_goes_up_and_flats_lead_the_shortest_way_out():
    # A lake bed of 1 m, its outlet on the right.
    z = np.full((7, 9), 5, np.float32)
    z[1:6, 1:8] = 1
    z[3, 8] = 2
    surface = filled(z)
    level = surface.level_m.ravel()[surface.order]
    assert (np.diff(level) >= 0).all() and len(level) == z.size
    steps = surface.steps[1:-1, 1:-1]
    assert [int(steps[3, c]) for c in range(1, 8)] == [7, 6, 5, 4, 3, 2, 1]


def test_all_water_leaves():
    for z in (rough(), np.zeros((20, 30)), heights("sample")):
        surface = filled(np.asarray(z, np.float32))
        through = upslope_cells(surface, 3.0, 3.0, 1.1)
        level, steps = surface.level_m, surface.steps
        around = [(r, c) for r in (-1, 0, 1) for c in (-1, 0, 1) if r or c]
        ends = np.ones(through.shape, bool)
        for down, right in around:
            other = np.roll(level, (down, right), (0, 1))
            nearer = np.roll(steps, (down, right), (0, 1)) < steps
            ends &= ~((other < level) | ((other == level) & nearer))[1:-1, 1:-1]
        ends &= np.isfinite(through)
        assert through[ends].sum() == pytest.approx(np.isfinite(through).sum(), rel=1e-9)


def test_down_a_plane_each_cell_passes_on_what_lies_above_it():
    z = np.repeat(np.arange(8.0)[::-1, None], 15, axis=1)
    through = flow(z)
    # In the middle column, away from the sides, as much comes in from the side as goes out.
    assert through[:5, 7] == pytest.approx([1, 2, 3, 4, 5])


def test_shares_follow_the_slopes_to_the_exponent():
    # Freeman (1991): f_i = S_i^1.1 / sum S^1.1. From the peak: down 1 m to each of four sides; to
    # the four corners 1 m over a length of sqrt 2.
    z = np.array([[0, 0, 0], [0, 1, 0], [0, 0, 0]])
    side, corner = 1.0, (1 / np.sqrt(2)) ** 1.1
    total = 4 * side + 4 * corner
    through = flow(z)
    assert through[1, 1] == 1
    assert through[0, 1] == pytest.approx(1 + side / total)
    assert through[0, 0] == pytest.approx(1 + corner / total)
    assert flow(z, exponent=1.0)[0, 0] == pytest.approx(1 + (1 / np.sqrt(2)) / (4 + 4 / np.sqrt(2)))


def test_down_a_cone_flow_is_the_same_all_around_and_grows_with_distance():
    row, column = np.mgrid[-30:31, -30:31]
    away = np.hypot(row, column)
    through = flow(100 - away)
    # On a cone each metre of contour drains a strip of r / 2.
    ring = (away > 19.5) & (away < 20.5)
    assert through[ring].mean() == pytest.approx(10, rel=0.1)
    assert through == pytest.approx(through[::-1].T)


def test_slope_is_as_in_relief_and_a_plane_keeps_it_to_the_edge():
    z = rough()
    grid = Grid(z, (5.0, 0, 0, 0, -4.0, 0), pyproj.CRS.from_epsg(32617))
    ours = 100 * slope_frac(np.pad(z, 1, constant_values=np.nan), 5.0, 4.0)
    known = np.isfinite(slope(grid).values)
    assert ours[known] == pytest.approx(slope(grid).values[known], rel=1e-4)
    assert np.array_equal(np.isnan(ours), np.isnan(z))
    row, column = np.mgrid[:6, :7].astype(np.float32)
    plane = np.pad(2 * column - 3 * row, 1, constant_values=np.nan)
    plane[3, 3] = np.nan
    steep = slope_frac(plane, 10.0, 10.0)
    assert steep[np.isfinite(steep)] == pytest.approx(np.hypot(0.2, 0.3), rel=1e-5)


def test_wetness_index_by_hand():
    # ln(100 m2 / 10 m / 0.01) = 6.91, ln(5000 m2 / 10 m / 0.002) = 12.43; flatter than 0.001 is
    # 0.001.
    index = wetness_index(
        np.array([1.0, 50.0, 1.0, np.nan]),
        np.array([0.01, 0.002, 0.0, np.nan], np.float32),
        10.0,
        10.0,
        0.001,
    )
    assert index[:3] == pytest.approx([6.908, 12.429, np.log(10 / 0.001)], abs=1e-3)
    assert np.isnan(index[3])


def test_smoothing_keeps_a_constant_and_does_not_spread_holes():
    z = np.full((30, 30), 7, np.float32)
    z[10:15, 10:15] = np.nan
    z[0] = np.nan
    even = smoothed(z, 3.0)
    assert np.array_equal(np.isnan(even), np.isnan(z))
    assert even[np.isfinite(even)] == pytest.approx(7, rel=1e-5)
    spike = np.zeros((31, 31), np.float32)
    spike[15, 15] = 1
    # The top of a Gaussian of sigma 2 is 1 / (2 pi 4); cut at three sigma a little more.
    assert smoothed(spike, 2.0)[15, 15] == pytest.approx(1 / (8 * np.pi), rel=0.02)


@pytest.mark.parametrize("which", ["sample", "real"])
def test_wettest_tenth_is_that_of_a_second_library(which):
    pytest.importorskip("fastscapelib")
    z = heights(which)
    surface = filled(z)
    steep = slope_frac(surface.level_m, 3.0, 3.0)
    _, area_m2 = upslope_area_m2(z, 3.0, 1.1)
    wettest = []
    for cells in (upslope_cells(surface, 3.0, 3.0, 1.1), area_m2 / 9):
        index = smoothed(wetness_index(cells, steep, 3.0, 3.0, 0.001), 10 / 3)
        wettest.append(index >= np.nanquantile(index, 0.9))
    one, other = wettest
    assert (one & other).sum() / (one | other).sum() >= 0.85
