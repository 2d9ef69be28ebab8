"""Light and shade: planes whose brightness can be worked out with a pencil."""

import numpy as np
import pyproj
import pytest

from layers.grid import Grid
from layers.terrain.hillshade import FLAT, hillshade

CRS = pyproj.CRS.from_epsg(32616)


def _plane(east_frac: float, north_frac: float, cell_m: float = 3.0) -> Grid:
    """Heights that rise by so much a metre towards the east and the north."""
    rows, columns = np.mgrid[0:7, 0:9]
    heights = 100 + east_frac * cell_m * columns - north_frac * cell_m * rows
    return Grid(heights.astype(np.float32), (cell_m, 0, 5e5, 0, -cell_m, 3.5e6), CRS)


def test_level_ground_has_the_sine_of_the_lights_height():
    # sin 45 deg = 0.7071; no exaggeration changes it.
    assert hillshade(_plane(0, 0), 10) == pytest.approx(0.7071, abs=1e-4)
    assert FLAT == pytest.approx(0.7071, abs=1e-4)


@pytest.mark.parametrize(
    ("east", "north", "expected"),
    [
        # Towards the light: a slope of 1 that rises to the south-east faces the north-west light
        # squarely, so 1; turned away it gets none: sin 45 - cos 45 x 1 = 0.
        (2**-0.5, -(2**-0.5), 1.0),
        (-(2**-0.5), 2**-0.5, 0.0),
        # Across the light (rising to the north-east): 0.7071 / sqrt(1 + 1) = 0.5.
        (2**-0.5, 2**-0.5, 0.5),
        # Rising to the east at 1: (0.7071 + 0.7071 x 0.7071) / sqrt 2 = 0.8536.
        (1.0, 0.0, 0.8536),
    ],
)
def test_slopes_of_45_degrees(east: float, north: float, expected: float):
    shade = hillshade(_plane(east, north), 1)
    assert shade == pytest.approx(expected, abs=2e-4)  # up to the edge


def test_ten_times_as_steep_is_as_a_plane_ten_times_as_steep():
    gentle = hillshade(_plane(0.03, -0.02), 10)
    assert gentle == pytest.approx(hillshade(_plane(0.3, -0.2), 1), abs=1e-5)


def test_ground_without_heights_has_no_light():
    grid = _plane(0.1, 0.0)
    grid.values[3, 4] = np.nan
    shade = hillshade(grid, 1)
    assert np.isnan(shade[3, 4]) and np.isnan(shade).sum() == 1
    assert np.nanmax(np.abs(shade - hillshade(_plane(0.1, 0.0), 1))) < 1e-4
