"""From a value to a suitability class and a score, by the limits of the crop file."""

import numpy as np
import pandas as pd

from suitability.columns import CLASSES
from suitability.crop import Bound, Factor

UNKNOWN = -1  # class codes: 0 S1, 1 S2, 2 S3, 3 N
_BANDS = np.array([2.5, 5.0, 7.5])  # scores at the worst value of S1, S2 and S3


def rate(values: "pd.Series[float] | pd.Series[str]", factor: Factor) -> pd.DataFrame:
    """Class code and score of each value by one factor's limits.

    Parameters
    ----------
    values : numbers in the factor's unit, or its class texts.

    Returns
    -------
    DataFrame with the same index: ``code`` (0 S1 ... 3 N, -1 not known) and ``score`` (0 best,
    10 worst; NaN where not known). Limits are inclusive: the value ``good`` is still S1.
    Numeric scores run linearly between the limits, 2.5, 5 and 7.5 at good, fair and poor.
    """
    if factor.classes:
        codes = values.map(lambda text: _class_code(factor, text)).astype(int)
        scores = (codes * 2.5 + 1.25).where(codes >= 0).astype(float)
        return pd.DataFrame({"code": codes, "score": scores}, index=values.index)
    numbers = values.to_numpy(dtype=float)
    codes = np.full(len(numbers), UNKNOWN)
    scores = np.full(len(numbers), np.nan)
    for bound in factor.bounds:
        codes = np.maximum(codes, _codes(numbers, bound))
        scores = np.fmax(scores, _scores(numbers, bound))
    return pd.DataFrame({"code": codes, "score": scores}, index=values.index)


def _class_code(factor: Factor, text: object) -> int:
    klass = factor.classes.get(text) if isinstance(text, str) else None
    return UNKNOWN if klass is None else CLASSES.index(klass)


def _limits(bound: Bound) -> tuple[float, float, float]:
    return bound.good.value, bound.fair.value, bound.poor.value


def _codes(numbers: np.ndarray, bound: Bound) -> np.ndarray:
    beyond = np.zeros(len(numbers), dtype=int)
    for limit in _limits(bound):
        beyond += (numbers < limit) if bound.side == "min" else (numbers > limit)
    return np.where(np.isnan(numbers), UNKNOWN, beyond)


def _scores(numbers: np.ndarray, bound: Bound) -> np.ndarray:
    limits = np.array(_limits(bound))
    inner = limits[0] - 2 * (limits[1] - limits[0])  # well inside S1 the score runs out to 0
    outer = limits[2] + (limits[2] - limits[1])
    points = np.array([inner, *limits, outer])
    scores = np.array([0.0, *_BANDS, 10.0])
    if bound.side == "min":
        points, scores = points[::-1], scores[::-1]
    # Equal limits leave no width to interpolate in: np.interp takes the last one.
    return np.asarray(np.interp(numbers, points, scores))
