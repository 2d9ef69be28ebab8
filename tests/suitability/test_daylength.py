"""Day length against the printed example, hand values and an astronomy library."""

from datetime import UTC, date, timedelta

import numpy as np
import pytest
from astral import Observer
from astral.sun import dawn, dusk, sunrise, sunset

from suitability.daylength import CIVIL_TWILIGHT_DEG, SUNRISE_DEG, daylength_h, daylight_h


def test_fao_example_9():
    # FAO-56 example 9: 20 S on 3 September, 11.7 h.
    assert daylight_h(-20, 246) == pytest.approx(11.7, abs=0.05)


@pytest.mark.parametrize(
    ("doy", "centre", "sunrise_h", "civil"),
    [(172, 14.14, 14.29, 15.24), (244, 12.74, 12.87, 13.71), (274, 11.76, 11.89, 12.71)],
)
def test_forsythe_at_32_5_north(doy, centre, sunrise_h, civil):
    # The formula worked apart from this program, not printed in the paper.
    told = [daylength_h(32.5, doy, p) for p in (0.0, SUNRISE_DEG, CIVIL_TWILIGHT_DEG)]
    assert told == pytest.approx([centre, sunrise_h, civil], abs=0.005)


@pytest.mark.parametrize("lat", [27.0, 32.5, 38.0])
@pytest.mark.parametrize("doy", [15, 80, 121, 172, 244, 274, 350])
def test_agrees_with_an_astronomy_library(lat, doy):
    # astral computes rise and set by NOAA's solar equations. The formula knows no leap years and
    # runs up to a day and a half ahead of them, which is four minutes at the equinoxes.
    day = date(2021, 1, 1) + timedelta(days=doy - 1)
    place = Observer(latitude=lat, longitude=0.0)

    def hours(first, last):
        return (last(place, day, tzinfo=UTC) - first(place, day, tzinfo=UTC)) / timedelta(hours=1)

    assert daylength_h(lat, doy, SUNRISE_DEG) == pytest.approx(hours(sunrise, sunset), abs=4 / 60)
    assert daylength_h(lat, doy, 6.0) == pytest.approx(hours(dawn, dusk), abs=4 / 60)


def test_twelve_hours_come_weeks_later_with_twilight():
    days = np.arange(172, 366)
    first_short = [
        int(days[np.argmax(daylength_h(32.5, days, p) < 12)]) for p in (SUNRISE_DEG, 6.0)
    ]
    assert 20 <= first_short[1] - first_short[0] <= 30


def test_laws_and_edges():
    assert daylight_h(0, 100) == pytest.approx(12, abs=0.01)
    assert daylight_h([70, 70], [172, 355]) == pytest.approx([24, 0])
    assert daylength_h([70, 70], [172, 355], 0.0) == pytest.approx([24, 0])
    assert np.isnan(daylight_h(np.nan, 100)) and np.isnan(daylength_h(30, np.nan, 0.0))
    assert daylight_h(np.array([20, 30]), 172).shape == (2,)
