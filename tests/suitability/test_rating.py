"""Limits exactly: on the edge, beside it, on both sides, and not known."""

import numpy as np
import pandas as pd
import pytest

from suitability.crop import Bound, Factor, Value, load_crop
from suitability.rating import rate


def _factor(side, *limits):
    values = [Value(v, "judgement", "x") for v in limits]
    return Factor("inoculation", "soil_ph", bounds=(Bound(side, *values),))


AT_LEAST, AT_MOST = _factor("min", 5.5, 5.0, 4.7), _factor("max", 7.5, 8.0, 8.4)


@pytest.mark.parametrize(
    ("factor", "value", "code"),
    [
        (AT_LEAST, 5.5, 0),
        (AT_LEAST, np.nextafter(5.5, 0), 1),
        (AT_LEAST, 5.0, 1),
        (AT_LEAST, np.nextafter(5.0, 0), 2),
        (AT_LEAST, 4.7, 2),
        (AT_LEAST, np.nextafter(4.7, 0), 3),
        (AT_MOST, 7.5, 0),
        (AT_MOST, np.nextafter(7.5, 9), 1),
        (AT_MOST, 8.4, 2),
        (AT_MOST, np.nextafter(8.4, 9), 3),
        (AT_MOST, np.nan, -1),
    ],
)
def test_class_on_and_beside_each_limit(factor, value, code):
    assert rate(pd.Series([value]), factor)["code"].tolist() == [code]


def test_scores_meet_the_bands_at_the_limits_and_never_fall_as_it_gets_worse():
    rated = rate(pd.Series([5.5, 5.0, 4.7]), AT_LEAST)
    assert rated["score"].tolist() == pytest.approx([2.5, 5.0, 7.5])
    scores = rate(pd.Series(np.linspace(9, 3, 200)), AT_LEAST)["score"]
    assert (scores.diff().dropna() >= 0).all()
    assert scores.min() == 0 and scores.max() == 10
    assert np.isnan(rate(pd.Series([np.nan]), AT_LEAST)["score"][0])


def test_two_sides_take_the_worse():
    factor = Factor("inoculation", "soil_ph", bounds=AT_LEAST.bounds + AT_MOST.bounds)
    rated = rate(pd.Series([6.5, 4.0, 9.0, 5.2, 7.8]), factor)
    assert rated["code"].tolist() == [0, 3, 3, 1, 1]


def test_a_class_that_the_file_does_not_list_is_not_known():
    drainage = next(
        f for f in load_crop("sunn_hemp").of("waterlogging") if f.name == "drainage_class"
    )
    rated = rate(pd.Series(["well", "very poorly", None, "subaqueous"], dtype=object), drainage)
    assert rated["code"].tolist() == [0, 3, -1, -1]
    assert rated["score"].isna().tolist() == [False, False, True, True]
