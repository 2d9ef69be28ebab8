"""Contour lines of ground whose lines are known without drawing them."""

import geopandas as gpd
import numpy as np
import pytest
import shapely

from layers.contours import contour_step_m, contours
from layers.elevation import GroundGroup
from layers.grid import Grid
from suitability.conversions import M_PER_FT

CRS = "EPSG:32616"
LEFT, TOP = 500000.0, 3500300.0
FIELDS = gpd.GeoDataFrame(
    {"field_id": ["A"]}, geometry=[shapely.box(500060, 3500060, 500240, 3500240)], crs=CRS
)


def _group(height_m) -> GroundGroup:
    """Heights of 300 x 300 m in 3 m cells; ``height_m`` of the metres east and south."""
    south, east = (np.mgrid[0:100, 0:100] + 0.5) * 3.0
    values = np.asarray(height_m(east, south), np.float32)
    return GroundGroup(Grid(values, (3.0, 0, LEFT, 0, -3.0, TOP), FIELDS.crs), ("A",))


def test_lines_of_a_cone_are_circles():
    # A cone with its top of 30 m in the middle that falls 1 m in 10 m.
    cone = _group(lambda x, y: 30 - 0.1 * np.hypot(x - 150, y - 150))
    lines = contours([cone], FIELDS, 2.0, 40)
    # The corners of the field lie 127 m from the top, 40 m beyond them it is 13.3 m high.
    assert sorted(set(lines["height_m"])) == [14, 16, 18, 20, 22, 24, 26, 28]
    assert set(lines.loc[lines["is_main"], "height_m"]) == {20}  # each fifth: 10, 20, 30 m
    for height, shape in zip(lines["height_m"], lines.geometry, strict=True):
        away = shapely.distance(
            shapely.points(shapely.get_coordinates(shape)), shapely.Point(500150, 3500150)
        )
        # Within the cell of the height; smoothing rounds the tip by a little.
        assert away == pytest.approx(10 * (30 - height), abs=1.5)


def test_lines_end_where_the_fields_do():
    plane = _group(lambda x, y: 0.02 * x)
    lines = contours([plane], FIELDS, 1.0, 40)
    # 180 m of field and 40 m on both sides rise from 0.4 to 5.6 m.
    assert lines["height_m"].tolist() == [1, 2, 3, 4, 5]
    assert lines.total_bounds == pytest.approx([500050, 3500020, 500250, 3500280], abs=0.5)


def test_the_step_is_the_least_round_one_with_fifteen_lines_or_less():
    # Field of 180 m on a plane of 2 %: 60 cells from 0.62 to 4.2 m, 3.6 m = 11.7 ft: a foot apart.
    gentle = _group(lambda x, y: 0.02 * x)
    assert contour_step_m([gentle], FIELDS, metric=False) == pytest.approx(M_PER_FT)
    assert contour_step_m([gentle], FIELDS, metric=True) == 0.5
    # 18 m of relief = 59 ft: 5 ft apart (2 ft would be 29 lines); 2 m (1 m would be 18).
    steep = _group(lambda x, y: 0.1 * x)
    assert contour_step_m([steep], FIELDS, metric=False) == pytest.approx(5 * M_PER_FT)
    assert contour_step_m([steep], FIELDS, metric=True) == 2
    # Heights in whole metres cannot show a foot.
    assert contour_step_m([gentle], FIELDS, metric=False, least_m=1.0) == pytest.approx(
        5 * M_PER_FT
    )


def test_holes_and_roughness_make_no_lines():
    rng = np.random.default_rng(7)
    rough = _group(lambda x, y: 10 + rng.normal(0, 0.05, x.shape))
    assert len(contours([rough], FIELDS, M_PER_FT, 40)) == 0
    hole = _group(lambda x, y: np.where(x > 150, np.nan, 0.02 * x))
    lines = contours([hole], FIELDS, 1.0, 40)
    assert lines["height_m"].tolist() == [1, 2]
    assert lines.total_bounds[2] < 500150
    nothing = _group(lambda x, y: np.full(x.shape, np.nan))
    assert contour_step_m([nothing], FIELDS, metric=False) == 0
