"""Odds out of a number of years, and how sure that number of years makes them."""

import numpy as np
from numpy.typing import ArrayLike, NDArray

_Z_95 = 1.959963984540054  # two-sided 95 % of the standard normal distribution


def wilson_interval(
    n_yes: ArrayLike, n_years: ArrayLike
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """95 % interval of the odds behind ``n_yes`` of ``n_years`` (probability 0-1); NaN for 0 years.

    References
    ----------
    Wilson (1927), J. Am. Stat. Assoc. 22:209, score interval without continuity correction.

    >>> low, high = wilson_interval(24, 30)
    >>> round(float(low), 3), round(float(high), 3)
    (0.627, 0.905)
    """
    yes, years = np.asarray(n_yes, dtype=float), np.asarray(n_years, dtype=float)
    with np.errstate(divide="ignore", invalid="ignore"):
        share = yes / years
        scale = 1 + _Z_95**2 / years
        middle = (share + _Z_95**2 / (2 * years)) / scale
        half = _Z_95 / scale * np.sqrt(share * (1 - share) / years + _Z_95**2 / (4 * years**2))
        low, high = np.clip(middle - half, 0, 1), np.clip(middle + half, 0, 1)
    return np.where(years > 0, low, np.nan), np.where(years > 0, high, np.nan)
