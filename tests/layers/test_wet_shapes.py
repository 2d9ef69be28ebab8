"""Wet cells become ground to go round: areas kept, slivers gone, causes told, edges smooth."""

import geopandas as gpd
import numpy as np
import pyproj
import pytest
import shapely
from shapely.geometry import Point, Polygon, box

from layers.grid import Grid
from layers.smooth_edges import smoothed
from layers.wet_outlines import cleaning_for
from layers.wet_shapes import NO_CAUSE, NO_SOIL, wet_shapes
from suitability.columns import WET_CAUSES

CRS = pyproj.CRS.from_epsg(32617)
CELL = 3.0
PONDED, TABLE, INCLUSION = (WET_CAUSES.index(c) for c in ("ponded", "water table", "wet inclusion"))


def grid(values, cell=CELL):
    return Grid(np.asarray(values, np.float32), (cell, 0.0, 0.0, 0.0, -cell, 0.0), CRS)


def fields(**shapes):
    return gpd.GeoDataFrame(
        {"field_id": list(shapes), "area_ha": [s.area / 1e4 for s in shapes.values()]},
        geometry=list(shapes.values()),
        crs=CRS,
    )


def drawn(years, ground=None, at_least=3.0, cause=None, cleaning=None, **options):
    years = np.asarray(years, float)
    cause = np.full(years.shape, PONDED) if cause is None else cause
    if ground is None:
        ground = fields(f=box(0, -years.shape[0] * CELL, years.shape[1] * CELL, 0))
    return wet_shapes(
        years >= at_least, grid(years), cause, ground, cleaning or cleaning_for(), **options
    )


def disc(radius_m=60.0, n=100, x=150.0, y=-150.0, years=5.0):
    east, south = np.meshgrid((np.arange(n) + 0.5) * CELL, -(np.arange(n) + 0.5) * CELL)
    return np.where(np.hypot(east - x, south - y) < radius_m, years, 0.0)


def test_a_round_hollow_is_drawn_round_and_as_large():
    found = drawn(disc())
    assert len(found.wet_ground) == 1
    row = found.wet_ground.iloc[0]
    assert row["area_ha"] == pytest.approx(np.pi * 60**2 / 1e4, rel=0.02)
    assert row["area_ha"] == pytest.approx(found.cells_ha, rel=0.02)
    assert abs(found.smoothing_pct) < 0.2
    assert (row["years_in_ten"], row["cause"], row["wet_id"]) == (5.0, "ponded", "f-wet-1")
    # The edge runs along the circle, nowhere a cell off, and no longer goes in steps: steps of
    # cells around a circle are 4/pi times as long as it.
    edge = row["geometry"].exterior
    off = [abs(Point(p).distance(Point(150, -150)) - 60) for p in edge.coords]
    assert max(off) < CELL
    assert edge.length == pytest.approx(2 * np.pi * 60, rel=0.02)


def test_smoothing_keeps_the_area_of_any_shape():
    rng = np.random.default_rng(2)
    from scipy.ndimage import gaussian_filter

    for seed in range(4):
        rough = gaussian_filter(np.random.default_rng(seed).normal(0, 1, (120, 120)), 4)
        found = drawn(np.where(rough > 0.05, 6.0, rng.random()))
        assert found.cells_ha > 1
        assert abs(found.smoothing_pct) <= 2
        whole = shapely.union_all(found.wet_ground.geometry.to_numpy())
        assert whole.is_valid
        assert whole.area / 1e4 == pytest.approx(found.wet_ground["area_ha"].sum())


def test_a_small_square_is_not_rounded_away():
    square = shapely.union_all([box(0, 0, 12, 12)])
    assert smoothed(square, 3.0).area == pytest.approx(144, rel=0.01)


def test_what_the_drill_cannot_mind_is_cleaned_away():
    years = np.zeros((60, 80))
    years[10:30, 10:30] = 5  # 60 x 60 m
    years[15:20, 20] = 0  # a dry slit of 3 m within: closed
    years[20, 30:50] = 5  # a wet ditch of 3 m running off it: opened
    years[40:43, 40:44] = 5  # 9 x 12 m = 108 m2, under 4 x 6.1^2 = 149: dropped
    years[45:50, 60:65] = 5  # 225 m2: kept
    found = drawn(years)
    assert found.wet_ground["area_ha"].tolist() == pytest.approx([0.36, 0.0225], rel=0.03)
    assert found.cells_ha == pytest.approx((3600 - 45 + 180 + 108 + 225) / 1e4)
    assert found.cleaned_ha == pytest.approx((3600 + 225) / 1e4, rel=0.001)
    # A wider drill cares for less, one of 2 m for all of it but the slit.
    assert len(drawn(years, cleaning=cleaning_for(12.0)).wet_ground) == 1
    narrow = drawn(years, cleaning=cleaning_for(2.0))
    assert len(narrow.wet_ground) == 3
    assert narrow.cleaned_ha == pytest.approx(narrow.cells_ha)


def test_a_dry_island_is_kept_only_where_it_is_worth_sowing():
    years = np.zeros((60, 60))
    years[10:50, 10:50] = 5
    years[15:19, 15:18] = 0  # 12 x 9 m: too small to sow
    years[30:40, 30:40] = 0  # 30 x 30 m
    found = drawn(years)
    shape = found.wet_ground.geometry.iloc[0]
    assert len(shape.interiors) == 1
    assert Polygon(shape.interiors[0]).area == pytest.approx(900, rel=0.05)


def test_a_strip_between_wet_ground_and_the_border_too_narrow_to_sow_is_left_out_too():
    years = np.zeros((60, 60))
    years[20:40, 2:30] = 5  # leaves 6 m less 2 m to the border, which lies at 2 m
    ground = fields(f=box(2, -180, 180, 0))
    found = drawn(years, ground)
    # 4 m wide and 60 m long; its corners are rounded with the edge.
    assert found.strips_ha * 1e4 == pytest.approx(240, rel=0.15)
    assert len(found.wet_ground) == 1
    assert found.wet_ground.total_bounds[0] == pytest.approx(2.0)
    assert found.wet_ground["area_ha"].sum() == pytest.approx(
        found.drawn_ha + found.strips_ha, rel=0.01
    )
    # 18 m are enough to sow.
    wide = drawn(np.roll(years, 4, axis=1), ground)
    assert wide.strips_ha == 0 and wide.wet_ground.total_bounds[0] > 15


def test_ground_over_a_border_is_cut_between_the_fields_without_loss():
    years = disc()
    west, east = box(0, -300, 150, 0), box(150, -300, 300, 0)
    found = drawn(years, fields(w=west, e=east))
    both = found.wet_ground.set_index("field_id")
    assert sorted(both.index) == ["e", "w"]
    assert both["area_ha"].tolist() == pytest.approx([np.pi * 1800 / 1e4] * 2, rel=0.03)
    assert both.loc["w", "geometry"].intersection(both.loc["e", "geometry"]).area < 1e-6
    assert both.loc["w", "geometry"].within(west.buffer(1e-6))


def test_fields_in_another_crs_get_their_wet_ground_there():
    ground = fields(f=box(0, -300, 300, 0)).set_crs(CRS, allow_override=True)
    there = ground.to_crs("EPSG:32616")
    found = drawn(disc(), there)
    assert found.wet_ground.crs.to_epsg() == 32616
    back = found.wet_ground.to_crs(CRS).geometry.iloc[0].centroid
    assert (back.x, back.y) == pytest.approx((150, -150), abs=0.5)
    # The area is the field's own, in proportion.
    assert found.wet_ground["area_ha"].iloc[0] == pytest.approx(np.pi * 0.36, rel=0.02)


def test_each_piece_names_the_cause_of_most_of_its_cells():
    years = np.zeros((40, 120))
    cause = np.full(years.shape, NO_CAUSE)
    soil = np.full(years.shape, NO_SOIL)
    years[10:30, 10:30], cause[10:30, 10:30] = 4, PONDED
    years[10:30, 50:70], cause[10:30, 50:70], soil[10:30, 50:70] = 8, INCLUSION, 1
    years[10:30, 90:102], cause[10:30, 90:102] = 3, PONDED
    years[10:30, 102:110], cause[10:30, 102:110] = 8, TABLE
    found = drawn(years, cause=cause, soil=soil, soil_names=("Upland", "Cypress Sink"))
    by_x = found.wet_ground.assign(x=found.wet_ground.centroid.x).sort_values("x")
    assert by_x["cause"].tolist() == ["ponded", "wet inclusion", "ponded"]
    # 12 columns of 3 and 8 of 8 years: 5 on the mean.
    assert by_x["years_in_ten"].tolist() == pytest.approx([4, 8, 5], rel=0.01)
    assert [c if isinstance(c, str) else None for c in by_x["compname"]] == [
        None, "Cypress Sink", None,
    ]  # fmt: skip


def test_odds_that_are_not_known_stay_so():
    years = np.full((30, 30), np.nan)
    wet = np.zeros((30, 30), bool)
    wet[5:20, 5:20] = True
    found = wet_shapes(
        wet, grid(years), np.full((30, 30), TABLE), fields(f=box(0, -90, 90, 0)), cleaning_for()
    )
    assert found.wet_ground["years_in_ten"].isna().all()
    assert found.wet_ground["cause"].tolist() == ["water table"]


@pytest.mark.parametrize(("told", "years"), [(12, 4.0), (8, np.nan)])
def test_a_piece_that_is_mostly_without_odds_shows_none(told, years):
    odds = np.full((40, 60), np.nan)
    wet = np.zeros(odds.shape, bool)
    wet[10:30, 10:30] = True
    odds[10:30, 10 : 10 + told] = 4.0
    whole = fields(f=box(0, -120, 180, 0))
    found = wet_shapes(wet, grid(odds), np.full(odds.shape, TABLE), whole, cleaning_for())
    assert found.wet_ground["years_in_ten"].tolist() == pytest.approx([years], nan_ok=True)


def test_a_dry_farm_has_an_empty_table():
    found = drawn(np.zeros((20, 20)))
    assert len(found.wet_ground) == 0 and found.notes == () and found.cells_ha == 0
    assert found.wet_ground.crs == CRS
    beside = drawn(disc(), fields(f=box(5000, 5000, 5100, 5100)))
    assert len(beside.wet_ground) == 0


def test_the_note_states_the_drill_and_the_smallest_spots():
    (note,) = drawn(disc()).notes
    assert note.text == (
        "Wet ground is drawn from cells of 9.8 ft (3.0 m) for a drill 20 ft (6.1 m) wide: wet "
        "spots under 0.037 acres (149 m2) are not shown, and dry strips under 20 ft (6.1 m) or "
        "pieces under 0.037 acres (149 m2) beside it are left out with it. Smoothing its edges "
        f"changed its area by {drawn(disc()).smoothing_pct:+.1f} %."
    )
