"""How far the heights can be trusted: their noise and the steps they are stored in."""

import numpy as np
from numpy.typing import NDArray

_SAMPLE = 500_000
_MAD_PER_SIGMA = 0.6745  # median of |x| of a normal distribution with sigma 1
_DIGITS = 4  # heights are looked at in tenths of a millimetre
_MULTIPLE = 0.1  # of a step
_MOST = 0.99


def noise_m(heights_m: NDArray[np.float32]) -> float:
    """Standard deviation of the noise from cell to cell [m]; NaN with fewer than 3 x 3 cells.

    Planes and evenly bent ground come to zero. The median keeps banks and ditches from counting as
    noise. Error that neighbouring cells share, as of a whole flight line, does not show.

    References
    ----------
    Immerkaer (1996), Fast noise variance estimation, Computer Vision and Image Understanding
    64(2), 300-302: the mask 1 -2 1 / -2 4 -2 / 1 -2 1, whose squares add up to 36.
    """
    z = heights_m
    if min(z.shape) < 3:
        return float("nan")
    # The mask is the second difference along rows of the second difference along columns.
    along = z[:, :-2] - 2 * z[:, 1:-1] + z[:, 2:]
    both = np.abs(along[:-2] - 2 * along[1:-1] + along[2:])
    known = both[np.isfinite(both)]
    return float(np.median(known)) / 6 / _MAD_PER_SIGMA if known.size else float("nan")


def step_m(heights_m: NDArray[np.float32]) -> float:
    """Step in which the heights are stored [m], 0.0001 where it is finer or there is none.

    NaN where all are one, so that nothing tells.
    """
    known = heights_m[np.isfinite(heights_m)]
    few = known[:: max(1, known.size // _SAMPLE)]
    rises = np.diff(np.unique(np.round(few.astype(np.float64), _DIGITS)))
    if not rises.size:
        return float("nan")
    multiples = rises / rises.min()
    whole = np.abs(multiples - np.rint(multiples)) <= _MULTIPLE
    return max(float(rises.min()), 10.0**-_DIGITS) if whole.mean() >= _MOST else 10.0**-_DIGITS
