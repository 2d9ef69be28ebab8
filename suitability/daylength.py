"""How long the day is: by the sun's centre at the horizon, or with a stated part of twilight."""

import numpy as np
from numpy.typing import ArrayLike, NDArray

Floats = NDArray[np.float64]
SUNRISE_DEG = 0.8333  # the sun's upper edge on the horizon, seen through the air
CIVIL_TWILIGHT_DEG = 6.0


def daylight_h(lat_deg: ArrayLike, doy: ArrayLike) -> Floats:
    """Hours with the sun's centre above the horizon, N [h].

    Parameters
    ----------
    lat_deg : latitude, north positive [deg]; doy : day of the year 1-366; any shapes that combine.
        NaN in gives NaN out. Polar days and nights are 24 and 0.

    References
    ----------
    Allen et al. (1998), FAO Irrigation and Drainage Paper 56, equations 24, 25 and 34; example 9:
    20 S on 3 September.

    >>> round(float(daylight_h(-20, 246)), 1)
    11.7
    """
    lat = np.radians(np.asarray(lat_deg, dtype=np.float64))
    tilt = 0.409 * np.sin(2 * np.pi * np.asarray(doy, dtype=np.float64) / 365 - 1.39)
    sunset = np.arccos(np.clip(-np.tan(lat) * np.tan(tilt), -1, 1))
    result: Floats = 24 / np.pi * sunset
    return result


def daylength_h(lat_deg: ArrayLike, doy: ArrayLike, sun_below_deg: float) -> Floats:
    """Hours with the sun's centre higher than ``sun_below_deg`` under the horizon [h].

    Parameters
    ----------
    lat_deg : latitude, north positive [deg]; doy : day of the year 1-366; any shapes that combine.
    sun_below_deg : 0 for the sun's centre, ``SUNRISE_DEG`` for sunrise to sunset as almanacs give
        it, ``CIVIL_TWILIGHT_DEG`` with civil twilight, which many plants still take for day. Say
        which: 12 h come three to four weeks later in autumn with 6 than with 0.8333.

    Notes
    -----
    NaN in gives NaN out. Polar days and nights are 24 and 0.

    References
    ----------
    Forsythe et al. (1995), Ecological Modelling 80:87-95, equations 1-3. The example is the
    formula worked by hand, not a printed one.

    >>> round(float(daylength_h(32.5, 172, SUNRISE_DEG)), 2)
    14.29
    """
    lat = np.radians(np.asarray(lat_deg, dtype=np.float64))
    day = np.asarray(doy, dtype=np.float64)
    turn = 0.2163108 + 2 * np.arctan(0.9671396 * np.tan(0.00860 * (day - 186)))
    tilt = np.arcsin(0.39795 * np.cos(turn))
    low = np.sin(np.radians(sun_below_deg)) + np.sin(lat) * np.sin(tilt)
    result: Floats = 24 - 24 / np.pi * np.arccos(np.clip(low / (np.cos(lat) * np.cos(tilt)), -1, 1))
    return result
