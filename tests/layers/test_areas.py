"""Areas and lengths are told in acres and feet, with the metric figure beside them."""

import pytest

from layers.areas import area_text, length_text, small_area_text


@pytest.mark.parametrize(
    ("area_ha", "text"),
    [
        # One acre is 4046.8564224 m2.
        (0.93, "2.3 acres (0.93 ha)"),
        (0.40468564224, "1.0 acres (0.4 ha)"),
        (0.0149, "0.037 acres (149 m2)"),
        (12.34, "30.5 acres (12.3 ha)"),
    ],
)
def test_areas(area_ha, text):
    assert area_text(area_ha) == text
    assert small_area_text(area_ha * 10_000) == text


@pytest.mark.parametrize(
    ("length_m", "text"),
    [(6.096, "20 ft (6.1 m)"), (0.1, "0.33 ft (0.10 m)"), (10.0, "33 ft (10 m)")],
)
def test_lengths(length_m, text):
    assert length_text(length_m) == text
