"""Saturated days counted by hand, SEW30, and what the crop bears."""

import numpy as np
import pytest

from suitability import waterlogging_days as w
from suitability.crop import load_crop

CROP = load_crop("sunn_hemp")
P = w.waterlogging_parameters(CROP)
NAN = float("nan")


def count(pattern, table_cm=NAN, soil_c=25.0):
    """State after days of a pattern such as '..WW.': W lacks air."""
    state = np.zeros(w.STATE_SIZE)
    for sign in pattern:
        w.waterlogging_step(state, 0.05 if sign == "W" else 0.2, table_cm, soil_c, P)
    return state


def test_each_parameter_sits_at_its_index():
    indices = (
        w.SATURATED_AIR,
        w.SATURATED_TABLE_CM,
        w.WARM_ENOUGH_C,
        w.RUN_GOOD_D,
        w.RUN_FAIR_D,
        w.RUN_POOR_D,
        w.EARLY_D,
        w.RELAXED_AFTER_D,
        w.RELAXED_BY_D,
    )
    assert indices == tuple(range(len(P)))
    for name, value in zip(w.PARAMETERS, P, strict=True):
        assert value == CROP.number(f"wet_runs.{name}")
    assert (P[w.SATURATED_AIR], P[w.SATURATED_TABLE_CM], P[w.EARLY_D]) == (0.10, 15.0, 21.0)


def test_sew30_of_seven_days():
    # 20 + 10 + 5 + 0 + 0 + 0 + 2 = 37 (definition of Sieben 1964, worked by hand)
    depths = [10, 20, 25, 30, 45, 60, 28]
    assert w.sew30_cm_d(depths) == 37.0
    state = np.zeros(w.STATE_SIZE)
    for depth in [*depths, NAN]:
        w.waterlogging_step(state, 0.2, depth, 25.0, P)
    assert state[w.SEW30] == 37.0
    assert w.sew30_cm_d([NAN, 10]) == 20.0


@pytest.mark.parametrize(
    ("air", "table", "soil", "wet"),
    [
        (0.0999, NAN, 20.0, True),
        (0.10, NAN, 25.0, False),
        (0.3, 14.9, 25.0, True),
        (0.3, 15.0, 25.0, False),
        (0.01, 0.0, 19.9, False),
    ],
)
def test_a_saturated_day(air, table, soil, wet):
    assert w.is_saturated(air, table, soil, P) is wet


def test_runs_early_and_later():
    state = count("WW.WWW." + "." * 14 + ".WWWW.")  # days 4-6; from day 23 four more
    assert state[w.LONGEST_EARLY] == 3
    assert state[w.LONGEST_LATER] == 4
    assert (state[w.WET_DAYS], state[w.RUN], state[w.DROWNED_DAY]) == (9, 0, 0)


def test_a_run_across_the_third_week_counts_whole_in_the_later_part():
    state = count("." * 19 + "WWWW")  # days 20-23
    assert (state[w.LONGEST_EARLY], state[w.LONGEST_LATER]) == (2, 4)


def test_it_drowns_on_the_sixth_day_when_young_and_on_the_eighth_when_older():
    assert count("WWWWW")[w.DROWNED_DAY] == 0
    assert count("WWWWWW")[w.DROWNED_DAY] == 6
    assert count("." * 30 + "WWWWWWW")[w.DROWNED_DAY] == 0
    assert count("." * 30 + "W" * 8)[w.DROWNED_DAY] == 38
    assert count("." * 10 + "W" * 9)[w.DROWNED_DAY] == 16, "the first day counts"


@pytest.mark.parametrize(
    ("run", "young", "older"),
    [(0, 0, 0), (1, 0, 0), (2, 1, 0), (3, 2, 0), (4, 2, 1), (5, 2, 2), (6, 3, 2), (8, 3, 3)],
)
def test_class_of_a_run(run, young, older):
    assert w.run_class(float(run), 10.0, P) == young
    assert w.run_class(float(run), 31.0, P) == older


def test_more_wet_days_never_help():
    for pattern in ("..W..WW..", "WW.WW.WW", "." * 28 + "WW.WWW"):
        for i, sign in enumerate(pattern):
            if sign == ".":
                less, more = count(pattern), count(pattern[:i] + "W" + pattern[i + 1 :])
                for index in (w.LONGEST_EARLY, w.LONGEST_LATER, w.WET_DAYS):
                    assert more[index] >= less[index]
