"""The shaded picture: flat is grey, no heights are white, and only ground near fields is shown."""

import geopandas as gpd
import numpy as np
import pytest
import shapely

from layers.elevation import GroundGroup
from layers.grid import Grid
from layers.ground_picture import LEVEL, WHITE, picture_of, shaded

CRS = "EPSG:32616"
TWO = gpd.GeoDataFrame(
    {"field_id": ["A", "B"]},
    geometry=[
        shapely.box(500300, 3500300, 500500, 3500500),
        shapely.box(502000, 3500000, 502100, 3500100),
    ],
    crs=CRS,
)


def _heights(slope_frac: float) -> GroundGroup:
    """800 m x 800 m around field A in 4 m cells, rising to the south-east."""
    rows, columns = np.mgrid[0:200, 0:200]
    values = (100 + slope_frac * 4 * (rows + columns) / 2**0.5).astype(np.float32)
    return GroundGroup(Grid(values, (4.0, 0, 500000, 0, -4.0, 3500800), TWO.crs), ("A",))


def _canvas(cell_m: float) -> Grid:
    shape = (int(1000 / cell_m), int(2200 / cell_m))
    return Grid(np.zeros(shape, np.float32), (cell_m, 0, 500000, 0, -cell_m, 3500900), TWO.crs)


def _at(picture: np.ndarray, x: float, y: float, cell_m: float) -> int:
    return int(picture[int((3500900 - y) / cell_m), int((x - 500000) / cell_m)])


def test_a_field_beside_all_heights_is_white_not_level():
    made = picture_of([_heights(0.0)], TWO, metric=False)
    assert made is not None
    picture = shaded(made, TWO, _canvas(10), 10)
    assert _at(picture, 500400, 3500400, 10) == LEVEL  # level ground with heights
    assert _at(picture, 502050, 3500050, 10) == WHITE  # field B: not known
    assert _at(picture, 500500 + 230, 3500400, 10) == LEVEL  # 230 m beside field A
    assert _at(picture, 500500 + 270, 3500400, 10) == WHITE  # has heights, but lies apart


def test_slopes_to_the_light_are_brighter_than_level_ground():
    made = picture_of([_heights(0.05)], TWO, metric=False)
    assert made is not None
    # Drawn steepness 0.4 of a slope of 5 %: 8 times. Facing the light, rising 0.4:
    # (0.7071 + 0.7071 x 0.4) / sqrt(1.16) = 0.9191; x 218 / 0.7071 = 283, as bright as white.
    assert made.exaggeration == 8
    assert _at(shaded(made, TWO, _canvas(5), 5), 500400, 3500400, 5) == WHITE
    turned = picture_of([_heights(-0.05)], TWO, metric=False)
    assert turned is not None
    # Turned away: (0.7071 - 0.2828) / 1.0770 = 0.3939; x 218 / 0.7071 = 121.
    tone = _at(shaded(turned, TWO, _canvas(5), 5), 500400, 3500400, 5)
    assert tone == pytest.approx(121, abs=2)


def test_it_is_chosen_by_the_fields_that_are_asked_for():
    steep = _heights(0.2)
    assert picture_of([steep], TWO[TWO["field_id"] == "B"], metric=False) is None
    one = picture_of([steep], TWO[TWO["field_id"] == "A"], metric=False)
    assert one is not None and one.exaggeration == 2 and len(one.lines)
    assert one.lines.total_bounds[2] <= 500540
