"""How much of a rain runs off, by the curve number and the wetness of the topsoil."""

import numpy as np
from numpy.typing import NDArray

from suitability.compiled import compiled
from suitability.soil_column import (
    CAPACITY,
    RETENTION_DRY,
    RETENTION_FULL,
    RETENTION_MEAN,
    RETENTION_WET,
    SATURATION,
    WILTING,
)

Floats = NDArray[np.float64]


@compiled
def runoff_mm(rain_mm: float, retention_mm: float) -> float:
    """Runoff of a day's rain [mm] by the curve number equation; initial loss is 0.2 S.

    References
    ----------
    NEH 630 chapter 10, equation 10-11; S = 25400 / CN - 254.

    >>> round(float(runoff_mm(75.0, 25400 / 78 - 254)), 2)
    27.82
    """
    beyond = rain_mm - 0.2 * retention_mm
    if beyond <= 0.0:
        return 0.0
    return beyond * beyond / (beyond + retention_mm)


@compiled
def retention_mm(state: Floats, soil: Floats, ground: Floats) -> float:
    """Curve number retention: dry at wilting, mean halfway, wet at field capacity (0-30 cm)."""
    water = state[0] + state[1] + state[2]
    wilting = soil[WILTING, 0] + soil[WILTING, 1] + soil[WILTING, 2]
    capacity = soil[CAPACITY, 0] + soil[CAPACITY, 1] + soil[CAPACITY, 2]
    wet = (water - wilting) / (capacity - wilting)
    if wet <= 0.0:
        return float(ground[RETENTION_DRY])
    if wet <= 0.5:
        return float(
            ground[RETENTION_DRY] + 2.0 * wet * (ground[RETENTION_MEAN] - ground[RETENTION_DRY])
        )
    if wet <= 1.0:
        return float(
            ground[RETENTION_MEAN]
            + (2.0 * wet - 1.0) * (ground[RETENTION_WET] - ground[RETENTION_MEAN])
        )
    saturation = soil[SATURATION, 0] + soil[SATURATION, 1] + soil[SATURATION, 2]
    full = min(1.0, (water - capacity) / (saturation - capacity))
    return float(ground[RETENTION_WET] + full * (ground[RETENTION_FULL] - ground[RETENTION_WET]))
