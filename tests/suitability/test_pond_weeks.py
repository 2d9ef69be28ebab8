"""Years in which water stands too long over ground in hollows: levels set by hand."""

import numpy as np
import pytest

from suitability.pond_weeks import WetYears

WINDOW_D, BORNE_D = 21, 5


def of_levels(levels, heights, sow_day, known=None, stretch=1000, window=WINDOW_D, borne=BORNE_D):
    levels = np.atleast_2d(np.asarray(levels, float))
    n_days = levels.shape[1]
    years = WetYears(
        heights, sow_day, np.ones(n_days, bool) if known is None else known, window, borne
    )
    for first in range(0, n_days, stretch):
        years.take(levels[:, first : first + stretch])
    return years


def test_a_year_counts_where_water_stands_longer_than_the_crop_bears():
    # Over the floor at 10.0 water stands 6 days, over 10.1 it does 5.
    level = np.full(60, 10.0)
    level[3:9] = 10.5
    level[3] = 10.05
    years = of_levels(level, [[10.0, 10.1, 10.5]], [[0]])
    assert years.years_in_ten(0).tolist() == [[10.0, 0.0, 0.0]]
    assert years.n_years.tolist() == [1]


def test_only_days_of_the_window_count_and_two_spells_do_not_add_up():
    level = np.full(100, 10.0)
    level[5:25] = 11.0  # 20 days, of which sowing on day 20 sees 5 and sowing on day 19 sees 6
    level[30:34] = 11.0
    years = of_levels(level, [[10.0]], [[20, -1], [19, -1], [0, 60]])
    assert [years.years_in_ten(week)[0, 0] for week in range(3)] == [0.0, 10.0, 5.0]
    assert years.n_years.tolist() == [1, 1, 2]


def test_the_last_day_of_the_window_counts_and_the_next_does_not():
    level = np.full(60, 10.0)
    level[15:21] = 11.0
    assert of_levels(level, [[10.0]], [[0]]).years_in_ten(0)[0, 0] == 10.0
    level[15] = 10.0
    level[21:30] = 11.0
    assert of_levels(level, [[10.0]], [[0]]).years_in_ten(0)[0, 0] == 0.0


def test_windows_without_weather_or_beyond_the_record_do_not_count():
    level = np.full(60, 11.0)
    known = np.ones(60, bool)
    known[30] = False
    years = of_levels(level, [[10.0]], [[0, 20, 31], [10, 40, -1]], known)
    assert years.n_years.tolist() == [2, 0]
    assert years.years_in_ten(0)[0, 0] == 10.0
    assert np.isnan(years.years_in_ten(1)).all()


def by_hand(levels, heights, starts):
    """The definition, day by day."""
    wet = np.zeros((len(starts), *heights.shape))
    for week, days in enumerate(starts):
        for first in days:
            run = np.zeros(heights.shape)
            longest = np.zeros(heights.shape)
            for day in range(first, first + WINDOW_D):
                run = np.where(levels[:, day, None] > heights, run + 1, 0)
                longest = np.maximum(longest, run)
            wet[week] += longest > BORNE_D
    return 10 * wet / len(starts[0])


@pytest.mark.parametrize("stretch", [1000, 37, 1])
def test_many_weeks_in_stretches_are_as_by_the_definition(stretch):
    rng = np.random.default_rng(4)
    levels = np.abs(np.cumsum(rng.normal(0, 0.1, (6, 900)), axis=1)) % 1.0
    heights = np.sort(rng.random((6, 5)), axis=1)
    starts = np.array([[d, d + 300, d + 600] for d in range(40, 200, 7)])
    years = of_levels(levels, heights, starts, stretch=stretch)
    expected = by_hand(levels, heights, starts)
    found = np.array([years.years_in_ten(week) for week in range(len(starts))])
    np.testing.assert_allclose(found, expected)
    assert 0 < found.mean() < 10
