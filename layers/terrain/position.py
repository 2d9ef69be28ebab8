"""Where each cell lies on the ground: shedding, level, gathering, or in a hollow."""

import numpy as np
from numpy.typing import NDArray

from layers.terrain.ground_shape import GroundShape
from layers.terrain.settings import setting
from suitability.columns import POSITIONS

UNPLACED, SHEDDING, LEVEL, GATHERING, HOLLOW = range(len(POSITIONS))


def positions(shape: GroundShape, in_fields: NDArray[np.bool_]) -> NDArray[np.uint8]:
    """Number of each cell's position in ``columns.POSITIONS``; unplaced without ground.

    Parameters
    ----------
    shape : of one group of fields. in_fields : cells in any field; wetness is ranked among them,
        since its numbers mean nothing from one grid to the next.

    Notes
    -----
    In this order, thresholds as in ``tables/terrain.csv``: a hollow; gathering where the wetness
    index is among the highest and the ground lies lower than around it, so that no plane has any;
    shedding where it stands out or is steep; else level.
    """
    known = np.isfinite(shape.wetness)
    ranked = shape.wetness[known & in_fields & ~shape.level_water]
    wet_from = np.quantile(ranked, setting("gathering_quantile")) if ranked.size else np.inf
    rise = rise_m(shape)
    result = np.where(known, np.uint8(LEVEL), np.uint8(UNPLACED))
    out = (shape.above_m >= rise) | (100 * shape.slope_frac >= setting("shedding_slope_pct"))
    result[known & out] = SHEDDING
    result[known & (shape.wetness >= wet_from) & (shape.above_m <= -rise)] = GATHERING
    result[shape.hollow] = HOLLOW
    result[shape.level_water] = UNPLACED
    return result


def rise_m(shape: GroundShape) -> float:
    """Least difference in height that counts as lying higher or lower than around [m]."""
    return max(setting("rise_m"), shape.trusted_m)
