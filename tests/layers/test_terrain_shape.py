"""Hollows, gathering ground, level water and noise, on ground made by hand and the sample farm."""

import importlib.util
import sys
from pathlib import Path

import geopandas as gpd
import numpy as np
import pyproj
import pytest
import rasterio
import shapely
from affine import Affine
from rasterio.features import geometry_mask

from layers.boundaries import read_fields
from layers.drains import read_drains
from layers.elevation import ElevationRead, GroundGroup
from layers.grid import Grid
from layers.ground_notes import on_drains
from layers.terrain.analysis_grid import analysis_grids, joined
from layers.terrain.burn import burnt
from layers.terrain.ground_shape import ground_shape
from layers.terrain.noise import noise_m, step_m
from layers.terrain.open_water import level_patches
from layers.terrain.position import GATHERING, HOLLOW, LEVEL, SHEDDING, UNPLACED, positions
from layers.terrain.stands_out import above_surroundings_m
from suitability.errors import InputError

CRS = pyproj.CRS.from_epsg(32617)
SAMPLE = Path(__file__).parents[2] / "sample_fields"


def grid(values, cell=3.0):
    return Grid(np.asarray(values, np.float32), (cell, 0.0, 0.0, 0.0, -cell, 0.0), CRS)


def placed(values, cell=3.0):
    shape = ground_shape(grid(values, cell))
    return positions(shape, np.ones(shape.grid.values.shape, bool))


def plane(rows, columns, per_cell_east, per_cell_south):
    row, column = np.mgrid[:rows, :columns]
    return 100 + per_cell_east * column + per_cell_south * row


@pytest.mark.parametrize("slope_pct", [0.0, 0.5, 2.0, 8.0])
def test_a_plane_has_no_hollow_and_no_gathering_ground(slope_pct):
    rise = slope_pct / 100 * 3
    for z in (plane(80, 90, rise, 0.0), plane(80, 90, rise * 0.6, -rise * 0.8)):
        z[30:34, 20:25] = np.nan
        where = placed(z)
        expected = SHEDDING if slope_pct >= 3 else LEVEL
        assert set(np.unique(where[np.isfinite(z)])) == {expected}
        assert (where[np.isnan(z)] == UNPLACED).all()


def test_the_wet_corner_of_a_ten_by_ten_slope():
    # 10 m cells. The ground falls to the lower right corner; there 3 x 3 cells lie 0.5 m below the
    # lowest cell of their rim.
    z = plane(10, 10, -0.1, -0.1)
    z[6:9, 6:9] = z[9, 9] - 0.5
    where = placed(z, 10.0)
    assert (where[6:9, 6:9] == HOLLOW).all() and (where == HOLLOW).sum() == 9
    assert not (where[:5, :5] == GATHERING).any()


def test_hollows_smaller_or_shallower_than_stated_are_none():
    z = plane(60, 60, 0.0, 0.0)
    z[10:14, 10:14] -= 0.5  # 16 cells of 9 m2 = 144 m2
    z[30:40, 30:40] -= 0.09  # 900 m2, 9 cm
    assert not (placed(z) == HOLLOW).any()
    z[10:14, 14] -= 0.5  # 180 m2
    z[30:40, 30:40] -= 0.02
    hollow = placed(z) == HOLLOW
    assert hollow[10:14, 10:15].all() and hollow[30:40, 30:40].all() and hollow.sum() == 120


def test_closed_ground_within_the_noise_of_the_heights_is_no_hollow():
    rng = np.random.default_rng(5)
    z = plane(200, 200, 0.006, 0.0)
    z[100:120, 100:120] -= 0.35
    assert (placed(z) == HOLLOW).sum() > 300
    noisy = z + rng.normal(0, 0.15, z.shape)
    assert ground_shape(grid(noisy)).trusted_m == pytest.approx(0.45, rel=0.05)
    assert not (placed(noisy) == HOLLOW).any()


def test_noise_is_that_which_was_laid_on_bent_ground():
    row, column = np.mgrid[:150, :160] * 1.0
    bent = 100 + 0.02 * column + 1e-4 * row * column + 2e-4 * row**2
    assert noise_m(bent.astype(np.float32)) < 2e-5
    noise = np.random.default_rng(1).normal(0, 0.08, bent.shape)
    assert noise_m((bent + noise).astype(np.float32)) == pytest.approx(0.08, rel=0.03)
    assert np.isnan(noise_m(np.zeros((2, 9), np.float32)))


@pytest.mark.parametrize("step", [1.0, 0.3048, 0.01, 1 / 128])
def test_the_step_of_stored_heights_is_found(step):
    z = np.random.default_rng(2).normal(380, 4, (120, 120))
    stepped = np.rint(z / step) * step
    assert step_m(stepped.astype(np.float32)) == pytest.approx(step, abs=2e-4)
    assert step_m(z.astype(np.float32)) == 1e-4
    assert np.isnan(step_m(np.zeros((5, 5), np.float32)))


def test_a_valley_gathers_and_its_ridges_shed():
    row, column = np.mgrid[:120, :121] * 1.0
    z = 100 + 0.02 * np.abs(column - 60) - 0.01 * row
    where = placed(z)
    assert (where[60:110, 60] == GATHERING).all()
    assert not (where[:, [20, 100]] == GATHERING).any()
    ridge = placed(100 - 0.02 * np.abs(column - 60) - 0.01 * row)
    assert (ridge[20:100, 60] == SHEDDING).all()


def test_height_above_the_surroundings_by_hand():
    # A spike of 1 m: every pair around it is 0. Seen from two cells off, one of twelve has it.
    z = np.zeros((41, 41), np.float32)
    z[20, 20] = 1
    above = above_surroundings_m(np.pad(z, 1, constant_values=np.nan), 6.0, 6.0)
    assert above[20, 20] == 1
    assert above[20, 22] == pytest.approx(-1 / 24)
    tilted = plane(30, 30, 0.3, -0.2).astype(np.float32)
    flat = above_surroundings_m(np.pad(tilted, 1, constant_values=np.nan), 5.0, 5.0)
    assert np.nanmax(np.abs(flat)) < 1e-4


def test_exactly_level_patches_are_water_and_a_level_road_is_not():
    z = plane(80, 80, 0.01, 0.013) + np.random.default_rng(1).normal(0, 0.01, (80, 80))
    z[20:40, 20:40] = 99.5  # a pond below its banks: 400 cells
    z[60:64, 5:75] = 103  # a road above its sides
    z[5:9, 50:54] = 99
    water = level_patches(z.astype(np.float32), 0.001, 111, 0.8)
    assert water[20:40, 20:40].all() and water.sum() == 400


def test_heights_in_whole_metres_show_no_water_and_no_shallow_hollow():
    z = np.rint(plane(100, 100, 0.02, 0.0))
    shape = ground_shape(grid(z))
    assert shape.step_m == 1 and shape.trusted_m == 1
    assert not shape.level_water.any() and not shape.hollow.any()


def test_a_culvert_drains_the_false_pond_of_a_road():
    z = plane(60, 41, 0.0, -0.02) + 0.05 * np.abs(np.arange(41) - 20)
    z[30:33] = 99.5 + 1.5
    assert (ground_shape(grid(z)).hollow).any()
    line = np.array([[61.5, -88.5], [61.5, -100.5]])
    shape = ground_shape(grid(z), [line])
    assert shape.drains_used == (True,)
    assert not shape.hollow.any()
    # The user may have drawn it from the lower to the upper end, or a little short.
    assert not ground_shape(grid(z), [line[::-1]]).hollow.any()
    assert not ground_shape(grid(z), [np.array([[61.5, -91.0], [61.5, -98.0]])]).hollow.any()


def test_burning_never_raises_and_leaves_what_it_does_not_reach():
    z = np.random.default_rng(4).normal(10, 1, (20, 20)).astype(np.float32)
    z[:, 12] = np.nan
    lower, used = burnt(z, [np.array([[3.0, 3.0], [15.0, 9.0]]), np.array([[50.0, 3], [60, 4]])], 2)
    assert used == [True, False]
    assert (lower <= z)[np.isfinite(z)].all() and np.array_equal(np.isnan(lower), np.isnan(z))
    assert (lower[:, 12:] == z[:, 12:])[np.isfinite(z[:, 12:])].all()


def fields_of(size_m, field_id="A"):
    return gpd.GeoDataFrame(
        {"field_id": [field_id], "area_ha": [size_m**2 / 10_000]},
        geometry=[shapely.box(0, -size_m, size_m, 0)],
        crs=CRS,
    )


def test_cells_are_joined_to_what_the_fields_need():
    fine = grid(np.zeros((600, 600)), 1.0)
    read = ElevationRead((GroundGroup(fine, ("A",)),), 1.0, None, False, None, (), ())
    # 400 m: 2000 cells would be 8.9 m, so 3 m holds. 100 m: 2.2 m, so two cells are joined.
    for size_m, cell in ((400, 3.0), (100, 2.0), (40, 1.0)):
        (group,), notes = analysis_grids(read, fields_of(size_m))
        assert group.grid.cell == cell
        assert f"({cell:.1f} m); heights come in cells of 3.3 ft (1.0 m)" in notes[0].text
    coarse = grid(np.zeros((60, 60)), 10.0)
    read = ElevationRead((GroundGroup(coarse, ("A",)),), 10.0, None, False, None, (), ())
    (group,), notes = analysis_grids(read, fields_of(400))
    assert group.grid is coarse and "smaller than about 0.12 acres (500 m2)" in notes[0].text
    # What heights at no resolution show is said with it.
    assert "Neither does running water: a creek or ditch in a field shows" in notes[0].text


def test_joined_cells_are_means_and_half_a_square_is_enough():
    z = np.arange(1, 21, dtype=np.float32).reshape(4, 5)
    z[0, 0] = np.nan
    z[2:, 2:4] = np.nan
    z[2, 2] = 13
    got = joined(grid(z, 1.0), 2)
    assert got.cell == 2 and got.transform[2] == 0
    assert got.values[0].tolist() == [pytest.approx((2 + 6 + 7) / 3), 6, 7.5]
    assert got.values[1, 0] == 14 and np.isnan(got.values[1, 1]) and got.values[1, 2] == 17.5


@pytest.fixture(scope="module")
def sample():
    spec = importlib.util.spec_from_file_location("sample_ground", SAMPLE / "_terrain.py")
    made = importlib.util.module_from_spec(spec)
    sys.modules[spec.name] = made
    spec.loader.exec_module(made)
    with rasterio.open(SAMPLE / "elevation.tif") as dem:
        heights = Grid(dem.read(1), tuple(dem.transform)[:6], pyproj.CRS.from_user_input(dem.crs))
    drains = read_drains(SAMPLE / "culverts.geojson", heights.crs)
    fields = read_fields(SAMPLE / "fields.geojson")[0].to_crs(heights.crs)
    inside = geometry_mask(
        fields.geometry, heights.values.shape, Affine(*heights.transform), invert=True
    )
    lines = [shapely.get_coordinates(line) for line in drains.geometry]
    return made, heights, inside, lines


def test_sample_farm_every_hollow_no_knoll_the_pond_and_the_culvert(sample):
    made, heights, inside, lines = sample
    shape = ground_shape(heights, lines)
    where = positions(shape, inside)
    x, y = made.centres()
    for hollow in made.HOLLOWS:
        core = made.spot_radius(hollow, x, y) < 0.6
        assert (where[core] == HOLLOW).mean() > 0.95
        assert shape.fill_m[core].max() == pytest.approx(-hollow.height_m, abs=0.08)
    for knoll in made.KNOLLS:
        core = made.spot_radius(knoll, x, y) < 0.6
        assert not np.isin(where[core], [HOLLOW, GATHERING]).any()
        assert (where[core] == SHEDDING).mean() > 0.9
    survey = gpd.read_file(SAMPLE / "soil_survey.gpkg", layer="mupolygon").query("musym == 'W'")
    pond = geometry_mask(
        survey.to_crs(heights.crs).buffer(-6).geometry,
        heights.values.shape,
        Affine(*heights.transform),
        invert=True,
    )
    assert shape.level_water[pond].mean() > 0.99
    assert shape.level_water.sum() * 9 < 1.2 * survey.area.sum()
    # The pipe's upper end stood under water as long as nobody told of it.
    row, column = (int(v) for v in np.divide(lines[0][0] - heights.bounds[0:4:3], [3, -3])[::-1])
    assert ground_shape(heights).fill_m[row, column] > 1.0
    assert shape.fill_m[row, column] < 0.1 and not shape.hollow[row, column]


def test_drains_that_are_no_lines_are_refused(tmp_path):
    spots = gpd.GeoDataFrame(geometry=[shapely.Point(0, 0), shapely.box(0, 0, 1, 1)], crs=4326)
    spots.to_file(tmp_path / "spots.geojson")
    with pytest.raises(
        InputError, match=r"spots.geojson(?s:.*)row 1 is a Point(?s:.*)Expected lin"
    ):
        read_drains(tmp_path / "spots.geojson", CRS)


def test_a_drain_without_length_is_refused(tmp_path):
    lines = [shapely.LineString([(-83, 31), (-83.01, 31)]), shapely.LineString([(-83, 31)] * 2)]
    gpd.GeoDataFrame(geometry=lines, crs=4326).to_file(tmp_path / "drains.geojson")
    with pytest.raises(InputError, match="row 2 is a line without length"):
        read_drains(tmp_path / "drains.geojson", CRS)


def test_drains_without_heights_are_said_to_change_nothing():
    line = gpd.GeoDataFrame(geometry=[shapely.LineString([(0, 0), (9, 9)])], crs=CRS)
    (note,) = on_drains(line, [])
    assert (note.level, note.text) == (
        "caution",
        "Without heights what you drew changes nothing: 1 pipe or ditch.",
    )
