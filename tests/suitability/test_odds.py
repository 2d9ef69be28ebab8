"""Intervals against a statistics library and printed values."""

import numpy as np
import pytest
from scipy.stats import binomtest

from suitability.odds import wilson_interval


@pytest.mark.parametrize(
    ("yes", "years"), [(0, 30), (3, 30), (8, 10), (15, 30), (24, 30), (30, 30), (1, 1)]
)
def test_wilson_interval_equals_the_statistics_library(yes, years):
    # scipy.stats.binomtest, method "wilson" (package registry)
    ours = wilson_interval(yes, years)
    theirs = binomtest(yes, years).proportion_ci(0.95, method="wilson")
    assert [float(v) for v in ours] == pytest.approx([theirs.low, theirs.high], abs=1e-9)


def test_no_years_give_no_odds():
    low, high = wilson_interval([0, 5], [0, 10])
    assert np.isnan(low[0]) and np.isnan(high[0])
    assert 0 < low[1] < 0.5 < high[1] < 1
