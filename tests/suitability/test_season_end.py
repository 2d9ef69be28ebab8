"""What ends the season first."""

import numpy as np
import pytest

from suitability import season_end as s
from suitability.crop import load_crop

CROP = load_crop("sunn_hemp")
P = s.season_end_parameters(CROP)
MILD, COOL, FREEZE = (25.0, 12.0), (12.0, 4.0), (15.0, -2.2)


def end(days, closes_on=None):
    state = np.zeros(s.STATE_SIZE)
    for day, (high, low) in enumerate(days, start=1):
        s.season_end_step(state, float(day), high, low, day == closes_on, P)
    return tuple(state[[s.CAUSE, s.END_DAY]])


def test_parameters_sit_at_their_index_and_28_f_kills():
    indices = (s.KILLING_FREEZE_C, s.GROWTH_STOP_C, s.GROWTH_STOP_RUN_D)
    assert indices == (0, 1, 2)
    assert P[0] == pytest.approx((28 - 32) / 1.8, abs=0.05)  # Oklahoma State University Extension
    for name, value in zip(s.PARAMETERS, P, strict=True):
        assert value == CROP.number(f"season_end.{name}")


def test_the_first_cause_counts():
    assert end([MILD] * 9) == (s.NOT_ENDED, 0)
    assert end([MILD, MILD, FREEZE, MILD]) == (s.FREEZE, 3)
    assert end([MILD, (15.0, -2.1), MILD]) == (s.NOT_ENDED, 0)
    assert end([MILD] * 3 + [COOL] * 5) == (s.COLD_STOP, 8)
    assert end([MILD] * 9, closes_on=4) == (s.NEXT_CROP, 4)
    assert end([MILD, FREEZE] + [MILD] * 5, closes_on=4) == (s.FREEZE, 2)
    assert end([MILD] * 3 + [FREEZE], closes_on=4) == (s.FREEZE, 4)


def test_a_warm_day_starts_the_cold_count_anew():
    assert end([COOL] * 4 + [(16.0, 4.0)] + [COOL] * 4) == (s.NOT_ENDED, 0)
    assert end([COOL] * 4 + [(16.0, 4.0)] + [COOL] * 5) == (s.COLD_STOP, 10)


def test_a_later_freeze_never_shortens_the_season():
    ends = [end([MILD] * n + [FREEZE] + [MILD] * 30)[1] for n in range(20)]
    assert ends == sorted(ends)
