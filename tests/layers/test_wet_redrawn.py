"""Ground drawn place by place for many weeks is the ground drawn at once for each of them."""

import geopandas as gpd
import numpy as np
import pyproj
import pytest
import shapely
from shapely.geometry import box

from layers.grid import Grid
from layers.wet_outlines import cleaning_for
from layers.wet_redrawn import Redrawn
from layers.wet_shapes import wet_shapes
from suitability.columns import WET_CAUSES

UTM, STATE_PLANE = pyproj.CRS.from_epsg(32617), pyproj.CRS.from_epsg(2237)
CELL, N = 3.0, 220


def fields(crs=UTM):
    shapes = [box(60, -600, 330, -60), box(330, -600, 600, -60), box(-900, -900, -700, -700)]
    table = gpd.GeoDataFrame({"field_id": ["A", "B", "far"]}, geometry=shapes, crs=UTM).to_crs(crs)
    return table.assign(area_ha=table.geometry.area / 1e4)


def patches(seed, n=14):
    """Discs of many sizes, some beside, some across the border of A and B, some out of reach."""
    rng = np.random.default_rng(seed)
    rows, columns = np.mgrid[:N, :N]
    wet = np.zeros((N, N), dtype=bool)
    for row, column, size in zip(
        rng.uniform(0, N, n), rng.uniform(0, N, n), rng.uniform(1, 18, n), strict=True
    ):
        wet |= np.hypot(rows - row, columns - column) < size
    return wet


def at_once(wet, farm):
    grid = Grid(np.where(wet, 5.0, 0.0).astype(np.float32), (CELL, 0, 0, 0, -CELL, 0), UTM)
    cause = np.full(wet.shape, WET_CAUSES.index("ponded"))
    return wet_shapes(wet, grid, cause, farm, cleaning_for()).wet_ground


@pytest.mark.parametrize("crs", [UTM, STATE_PLANE])
def test_each_week_is_drawn_as_if_it_were_alone(crs):
    farm = fields(crs)
    hollow = patches(1)
    weeks = [hollow, hollow | patches(2), patches(2), hollow & patches(3), hollow & ~hollow, hollow]
    ever = np.logical_or.reduce(weeks)
    grid = Grid(np.zeros((N, N), np.float32), (CELL, 0, 0, 0, -CELL, 0), UTM)
    redrawn = Redrawn(ever, grid, farm, cleaning_for())
    sizes = []
    for wet in weeks:
        mine, alone = redrawn.pieces(wet), at_once(wet, farm)
        assert mine["wet_id"].tolist() == alone["wet_id"].tolist()
        assert mine["area_ha"].to_numpy() == pytest.approx(alone["area_ha"].to_numpy(), rel=1e-9)
        apart = shapely.symmetric_difference(mine.union_all(), alone.union_all())
        assert apart.area == pytest.approx(0.0, abs=1e-3)
        sizes.append(len(mine))
    assert sizes[0] > 4 and sizes[4] == 0 and set(mine["field_id"]) == {"A", "B"}


def test_ground_that_has_not_changed_is_not_drawn_again(monkeypatch):
    drawn = []

    def counted(cells, transform):
        drawn.append(int(cells.sum()))
        return cell_outlines(cells, transform)

    from layers.wet_redrawn import cell_outlines

    monkeypatch.setattr("layers.wet_redrawn.cell_outlines", counted)
    first, second = (np.zeros((N, N), dtype=bool) for _ in range(2))
    first[40:60, 40:60] = second[40:60, 40:60] = True
    second[150:160, 150:160] = True
    grid = Grid(np.zeros((N, N), np.float32), (CELL, 0, 0, 0, -CELL, 0), UTM)
    redrawn = Redrawn(first | second, grid, fields(), cleaning_for())
    for wet in (first, second, first, second):
        redrawn.pieces(wet)
    assert sorted(drawn) == [0, 100, 400]
