"""How easily the surface crusts over the seed."""

import numpy as np
from numpy.typing import ArrayLike, NDArray


def crust_index(
    silt_fine_pct: ArrayLike, silt_coarse_pct: ArrayLike, clay_pct: ArrayLike, om_pct: ArrayLike
) -> NDArray[np.float64]:
    """FAO crusting index, higher is worse; NaN where any input is missing.

    Parameters
    ----------
    silt_fine_pct, silt_coarse_pct : silt of 0.002-0.02 and 0.02-0.05 mm [pct of the fine earth].
    clay_pct : clay [pct]; om_pct : organic matter [pct]. Any shape.

    References
    ----------
    (1.5 fine silt + 0.75 coarse silt) / (clay + 10 organic matter): FAO, crusting index of soils.

    >>> float(crust_index(30, 30, 15, 1.0))
    2.7
    """
    fine, coarse, clay, om = (
        np.asarray(v, dtype=float) for v in (silt_fine_pct, silt_coarse_pct, clay_pct, om_pct)
    )
    binder = clay + 10 * om
    with np.errstate(divide="ignore", invalid="ignore"):
        return np.asarray(np.where(binder > 0, (1.5 * fine + 0.75 * coarse) / binder, np.nan))
