"""Water held and passed by a soil whose survey does not list it, from texture and humus."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class SoilWater:
    """Volumetric water [frac] at 1500 kPa, 33 kPa and saturation; conductivity; density."""

    wilting_frac: Floats
    field_capacity_frac: Floats
    saturation_frac: Floats
    ksat_mm_h: Floats
    bulk_density_g_cm3: Floats


def saxton_rawls(
    sand_pct: ArrayLike, clay_pct: ArrayLike, om_pct: ArrayLike, density_factor: ArrayLike = 1.0
) -> SoilWater:
    """Soil water properties from texture and organic matter.

    Parameters
    ----------
    sand_pct, clay_pct : share of the fine earth [pct]; any shape.
    om_pct : organic matter [pct by weight]; the regression was made for 0 to 8.
    density_factor : density against the normal one of this texture, 0.9 to 1.3.

    Returns
    -------
    SoilWater; NaN in gives NaN out. Not clamped: clays above 60 % are outside the data.

    References
    ----------
    Saxton and Rawls (2006), Soil Sci. Soc. Am. J. 70:1569, equations 1-16. With a density factor
    other than 1 saturation follows from density and field capacity loses 0.2 of the change
    (equations 7-10 and 16).

    >>> float(saxton_rawls(40, 20, 2.5).ksat_mm_h.round(1))
    15.5
    """
    s, c = np.asarray(sand_pct, dtype=float) / 100, np.asarray(clay_pct, dtype=float) / 100
    om = np.asarray(om_pct, dtype=float)
    w = -0.024 * s + 0.487 * c + 0.006 * om + 0.005 * s * om - 0.013 * c * om + 0.068 * s * c
    w = w + 0.031
    wilting = 1.14 * w - 0.02
    f = -0.251 * s + 0.195 * c + 0.011 * om + 0.006 * s * om - 0.027 * c * om + 0.452 * s * c
    f = f + 0.299
    capacity = f + 1.283 * f**2 - 0.374 * f - 0.015
    g = 0.278 * s + 0.034 * c + 0.022 * om - 0.018 * s * om - 0.027 * c * om - 0.584 * s * c
    g = g + 0.078
    drained = 1.636 * g - 0.107
    saturation = capacity + drained - 0.097 * s + 0.043
    density = 2.65 * (1 - saturation) * np.asarray(density_factor, dtype=float)
    packed = 1 - density / 2.65
    packed_capacity = capacity - 0.2 * (saturation - packed)
    slope = (np.log(packed_capacity) - np.log(wilting)) / (np.log(1500) - np.log(33))
    ksat = 1930 * (packed - packed_capacity) ** (3 - slope)
    return SoilWater(wilting, packed_capacity, packed, ksat, density)
