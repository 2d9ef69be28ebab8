"""Areas as people read them: few digits, and a comma in thousands."""

import pytest

from maps.legend import Legend


@pytest.mark.parametrize(
    ("area_ha", "us", "metric"),
    [
        # 1 ha is 2.4711 acres.
        (0.0, "0 acres", "0 ha"),
        (0.28, "0.69 acres", "0.28 ha"),
        (4.0, "9.9 acres", "4.0 ha"),
        (404.64, "999.9 acres", "404.6 ha"),  # 999.89
        (404.68, "1,000 acres", "404.7 ha"),  # 999.98
        (27946.97, "69,058 acres", "27,947 ha"),
        (float("nan"), "", ""),
    ],
)
def test_an_area(area_ha: float, us: str, metric: str) -> None:
    assert (Legend("us").area(area_ha), Legend("metric").area(area_ha)) == (us, metric)
