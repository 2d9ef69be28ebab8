"""Slope and relief by field, on ground whose slope is known."""

import geopandas as gpd
import numpy as np
import pyproj
import pytest
from shapely.geometry import box

from layers.degrees_grid import between
from layers.elevation import GroundGroup
from layers.grid import Grid
from layers.relief import field_relief, relief_of_groups, slope, weighted_quantile

CRS = pyproj.CRS.from_epsg(32617)


def grid(values, cell=10.0):
    return Grid(np.asarray(values, np.float32), (cell, 0.0, 0.0, 0.0, -cell, 0.0), CRS)


def fields(**boxes):
    return gpd.GeoDataFrame(
        {"field_id": list(boxes)}, geometry=[box(*b) for b in boxes.values()], crs=CRS
    )


def test_slope_of_planes_is_the_rise_over_the_run():
    east, south = np.meshgrid(np.arange(8) * 10.0, np.arange(6) * 10.0)
    for rise_east, rise_north in ((0.05, 0), (0, 0.02), (0.03, -0.04), (0, 0)):
        steep = slope(grid(100 + rise_east * east - rise_north * south)).values
        assert steep[1:-1, 1:-1] == pytest.approx(100 * np.hypot(rise_east, rise_north), abs=1e-3)
        assert np.isnan(steep[[0, -1]]).all() and np.isnan(steep[:, [0, -1]]).all()


def test_slope_follows_the_published_weights():
    # Horn (1981): ((3 + 2*6 + 9) - (1 + 2*4 + 7)) / (8 * 10) = 8/80 to the east,
    # ((1 + 2*2 + 3) - (7 + 2*8 + 9)) / 80 = -24/80 to the north.
    steep = slope(grid(np.arange(1, 10).reshape(3, 3))).values
    assert steep[1, 1] == pytest.approx(100 * np.hypot(0.1, 0.3))


def test_slope_is_not_known_beside_a_hole_nor_in_it():
    values = np.zeros((7, 7))
    values[3, 3] = np.nan
    unknown = np.isnan(slope(grid(values)).values)
    assert unknown[2:5, 2:5].all() and unknown.sum() == 9 + 24


def test_slope_in_strips_is_the_same(monkeypatch):
    values = np.random.default_rng(1).normal(100, 2, (25, 9))
    whole = slope(grid(values)).values
    monkeypatch.setattr("layers.relief._STRIP_ROWS", 4)
    assert np.array_equal(slope(grid(values)).values, whole, equal_nan=True)


def test_relief_of_a_field():
    # Columns rise 1 m every 10 m: 10 % everywhere. Field a holds the columns of 2 to 5 m.
    heights = grid(np.repeat(np.arange(10.0)[None, :], 10, axis=0))
    table = field_relief(
        heights,
        fields(
            a=(20, -80, 60, -20),
            tiny=(31, -35, 33, -33),
            half=(80, -60, 120, -40),
            beside=(500, -60, 520, -40),
        ),
    ).set_index("field_id")
    assert table.loc["a"].tolist() == pytest.approx([10, 10, 3, 3.5, 100])
    assert table.loc["tiny"].tolist() == pytest.approx([10, 10, 0, 3, 100])
    assert table.loc["half", ["relief_m", "elevation_m", "cover_pct"]].tolist() == [1, 8.5, 50]
    assert table.loc["beside", "cover_pct"] == 0 and table.loc["beside"].isna().sum() == 4


def test_a_tenth_of_a_field_is_steeper_than_the_ninetieth_percentile():
    # Steps of 1 m on one side only: slopes from flat to 10 %.
    along = np.concatenate([np.zeros(50), np.arange(1, 51)])
    heights = grid(np.repeat(along[None, :], 30, axis=0))
    flat, steep, both = (
        field_relief(heights, fields(f=b)).loc[0]
        for b in ((20, -200, 400, -20), (600, -200, 900, -20), (100, -200, 600, -20))
    )
    assert (flat["slope_pct"], flat["slope_p90_pct"]) == (0, 0)
    assert (steep["slope_pct"], steep["slope_p90_pct"]) == pytest.approx((10, 10))
    # 50 columns: 39 flat, one of 5 % at the foot, ten of 10 %.
    assert (both["slope_pct"], both["slope_p90_pct"]) == pytest.approx((105 / 50, 10))


def test_groups_together_keep_every_field_once():
    heights = grid(np.repeat(np.arange(10.0)[None, :], 10, axis=0))
    farm = fields(b=(20, -80, 60, -20), a=(500, -60, 520, -40), c=(40, -80, 60, -20))
    groups = [GroundGroup(heights, ("c",)), GroundGroup(heights, ("b",))]
    table = relief_of_groups(groups, farm)
    assert table["field_id"].tolist() == ["b", "a", "c"]
    assert table["elevation_m"].tolist()[::2] == pytest.approx([3.5, 4.5])
    assert table["cover_pct"].tolist() == [100, 0, 100]
    assert relief_of_groups([], farm)["cover_pct"].tolist() == [0, 0, 0]


def test_between_cells_lies_the_weighted_mean_and_holes_stay():
    values = np.array([[0, 10], [20, np.nan]], np.float32)
    rows = np.array([0.0, 0.0, 0.5, 0.5, 0.0, -0.1, 1.0])
    columns = np.array([0.0, 0.25, 0.0, 0.5, 1.0, 0.0, 0.0])
    got = between(values, rows, columns)
    assert got.tolist()[:3] == [0, 2.5, 10] and np.isnan(got[3])
    assert got[4] == 10 and np.isnan(got[5]) and got[6] == 20
    assert between(np.array([[7]], np.float32), np.zeros(1), np.zeros(1)).tolist() == [7]


def test_a_weighted_quantile_is_one_of_the_values():
    values = np.ma.masked_invalid([5, 1, np.nan, 3])
    assert weighted_quantile(values, [1, 1, 9, 2], 0.25) == 1
    assert weighted_quantile(values, [1, 1, 9, 2], 0.5) == 3
    assert weighted_quantile(values, [1, 1, 9, 2], 0.9) == 5
    assert np.isnan(weighted_quantile([np.nan], [1], 0.5))
    assert np.isnan(weighted_quantile([], [], 0.5))
