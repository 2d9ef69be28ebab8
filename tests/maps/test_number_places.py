"""A field's number stands off its wet ground where the field has room for both."""

import pytest
import shapely

from maps.number_places import widest_place

# 100 m square with a wet middle 40 m wide: the number would stand on it.
FIELD = shapely.box(0, 0, 100, 100)
WET_MIDDLE = shapely.box(30, 30, 70, 70)


def test_without_wet_ground_the_widest_place_is_the_middle() -> None:
    x, y, radius = widest_place(FIELD, tolerance=0.1)
    assert (x, y, radius) == pytest.approx((50, 50, 50), abs=0.5)


def test_a_number_keeps_off_wet_ground() -> None:
    # Widest beside it is a corner: a circle of 17.6 m touches two edges and the corner at (30, 30).
    # (30 - r) * sqrt(2) = r, r = 30 * sqrt(2) / (1 + sqrt(2)) = 17.57. Too narrow beside 50 m.
    assert widest_place(FIELD, [WET_MIDDLE], 0.1)[2] == pytest.approx(50, abs=0.5)
    low = shapely.box(0, 0, 100, 45)
    x, y, radius = widest_place(FIELD, [low], 0.1)
    assert radius == pytest.approx(27.5, abs=0.5) and y == pytest.approx(72.5, abs=0.5)
    assert not low.buffer(radius - 1).contains(shapely.Point(x, y))


def test_a_field_that_is_wet_all_over_keeps_its_number() -> None:
    assert widest_place(FIELD, [FIELD], 0.1)[2] == pytest.approx(50, abs=0.5)
