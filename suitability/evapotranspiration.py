"""How much sun and evaporation a day brings, from its temperature range and the latitude alone.

The ``..._step`` functions take and give single numbers and may be called from compiled code; the
others take arrays of any shape. Both run the same line.
"""

from collections.abc import Callable
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from suitability.compiled import compiled

Floats = NDArray[np.float64]


@compiled
def extraterrestrial_step(lat_deg: Any, doy: Any) -> Any:
    """Radiation above the air [MJ/m2/d] for one day; see ``extraterrestrial_mj_m2_d``."""
    lat = np.radians(lat_deg)
    near = 1 + 0.033 * np.cos(2 * np.pi * doy / 365)
    tilt = 0.409 * np.sin(2 * np.pi * doy / 365 - 1.39)
    sunset = np.arccos(np.minimum(np.maximum(-np.tan(lat) * np.tan(tilt), -1.0), 1.0))
    high = sunset * np.sin(lat) * np.sin(tilt) + np.cos(lat) * np.cos(tilt) * np.sin(sunset)
    return 24 * 60 / np.pi * 0.0820 * near * high


@compiled
def solar_from_range_step(tmax_c: Any, tmin_c: Any, ra_mj_m2_d: Any) -> Any:
    """Solar radiation [MJ/m2/d] for one day; see ``solar_from_range_mj_m2_d``."""
    share = 0.16 * np.sqrt(np.maximum(tmax_c - tmin_c, 0.0))
    return np.minimum(share, 0.75) * ra_mj_m2_d


@compiled
def net_longwave_step(tmax_c: Any, tmin_c: Any, solar_mj_m2_d: Any, ra_mj_m2_d: Any) -> Any:
    """Net loss of heat radiation [MJ/m2/d] for one day; see ``net_longwave_mj_m2_d``."""
    vapour_kpa = 0.6108 * np.exp(17.27 * tmin_c / (tmin_c + 237.3))
    glow = 4.903e-9 * ((tmax_c + 273.16) ** 4 + (tmin_c + 273.16) ** 4) / 2
    clear = np.minimum(solar_mj_m2_d / (0.75 * ra_mj_m2_d), 1.0)
    return glow * (0.34 - 0.14 * np.sqrt(vapour_kpa)) * (1.35 * clear - 0.35)


@compiled
def hargreaves_step(tmax_c: Any, tmin_c: Any, ra_mj_m2_d: Any) -> Any:
    """Evaporation of the reference grass [mm/d] for one day; see ``hargreaves_et0_mm_d``."""
    mean_c = (tmax_c + tmin_c) / 2
    spread = np.sqrt(np.maximum(tmax_c - tmin_c, 0.0))
    return np.maximum(0.0023 * (mean_c + 17.8) * spread * 0.408 * ra_mj_m2_d, 0.0)


def extraterrestrial_mj_m2_d(lat_deg: ArrayLike, doy: ArrayLike) -> Floats:
    """Radiation on a level place above the air, Ra [MJ/m2/d].

    Parameters
    ----------
    lat_deg : latitude, north positive [deg]; doy : day of the year 1-366; any shapes that combine.
        NaN in gives NaN out. Within the polar circles days and nights of 24 h are clamped.

    References
    ----------
    Allen et al. (1998), FAO Irrigation and Drainage Paper 56, equations 21 and 23-25; example 8:
    20 S on 3 September.

    >>> round(float(extraterrestrial_mj_m2_d(-20, 246)), 1)
    32.2
    """
    return _each(extraterrestrial_step, lat_deg, doy)


def solar_from_range_mj_m2_d(tmax_c: ArrayLike, tmin_c: ArrayLike, ra_mj_m2_d: ArrayLike) -> Floats:
    """Solar radiation at the ground [MJ/m2/d]: clear days have wide temperature ranges.

    Parameters
    ----------
    tmax_c, tmin_c : highest and lowest air temperature [degC]; ra_mj_m2_d : radiation above the
        air [MJ/m2/d]; any shapes that combine. NaN in gives NaN out.

    Notes
    -----
    The coefficient is that of inland places (0.16); right at a coast it reads low (0.19 there).
    Never more than clear sky, 0.75 Ra.

    References
    ----------
    Allen et al. (1998), FAO-56, equation 50 (Hargreaves); limit by equation 36.
    """
    return _each(solar_from_range_step, tmax_c, tmin_c, ra_mj_m2_d)


def net_longwave_mj_m2_d(
    tmax_c: ArrayLike, tmin_c: ArrayLike, solar_mj_m2_d: ArrayLike, ra_mj_m2_d: ArrayLike
) -> Floats:
    """Heat radiation that the ground loses to the sky, net [MJ/m2/d].

    Parameters
    ----------
    tmax_c, tmin_c : air temperature [degC]; solar_mj_m2_d : solar radiation at the ground;
        ra_mj_m2_d : above the air [MJ/m2/d]; any shapes that combine. NaN in gives NaN out.

    Notes
    -----
    Vapour in the air follows from dew at the lowest temperature (equation 48), which overstates it
    in dry country.

    References
    ----------
    Allen et al. (1998), FAO-56, equation 39; clear sky by equation 36.
    """
    return _each(net_longwave_step, tmax_c, tmin_c, solar_mj_m2_d, ra_mj_m2_d)


def hargreaves_et0_mm_d(tmax_c: ArrayLike, tmin_c: ArrayLike, ra_mj_m2_d: ArrayLike) -> Floats:
    """Evaporation of well-watered reference grass, ET0 [mm/d]; never below zero.

    Parameters
    ----------
    tmax_c, tmin_c : air temperature [degC]; ra_mj_m2_d : radiation above the air [MJ/m2/d]; any
        shapes that combine. NaN in gives NaN out.

    References
    ----------
    Allen et al. (1998), FAO-56, equation 52; example 20: Lyon in July, 26.6 and 14.8 degC.

    >>> round(float(hargreaves_et0_mm_d(26.6, 14.8, 40.6)), 1)
    5.0
    """
    return _each(hargreaves_step, tmax_c, tmin_c, ra_mj_m2_d)


def _each(step: Callable[..., Any], *values: ArrayLike) -> Floats:
    """The plain Python of a compiled step on whole arrays."""
    plain = getattr(step, "py_func", step)
    result: Floats = plain(*(np.asarray(v, dtype=np.float64) for v in values))
    return result
