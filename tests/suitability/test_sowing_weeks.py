"""One grid of sowing weeks for all fields."""

from datetime import date, timedelta
from itertools import pairwise

from suitability.sowing_weeks import week_grid, weeks_in, weeks_of


def test_the_grid_is_every_seventh_day_from_new_year():
    grid = week_grid()
    assert grid[:3] == ("01-01", "01-08", "01-15") and grid[-1] == "12-24" and len(grid) == 52
    days = [date(2001, int(w[:2]), int(w[3:])) for w in grid]
    assert {b - a for a, b in pairwise(days)} == {timedelta(days=7)}
    assert "02-29" not in grid


def test_weeks_begin_inside_the_gap():
    assert weeks_in("05-14", "05-28") == ("05-14", "05-21"), "the day it closes is too late"
    assert weeks_in("05-15", "05-21") == (), "a gap of a few days between two weeks"


def test_a_gap_across_new_year_runs_on():
    assert weeks_in("12-20", "01-10") == ("12-24", "01-01", "01-08")


def test_all_weeks_of_all_gaps_once_in_the_order_of_the_year():
    weeks = weeks_of([("05-10", "05-25"), ("05-01", "05-16")])
    assert weeks == ("05-07", "05-14", "05-21") and weeks_of([]) == ()
