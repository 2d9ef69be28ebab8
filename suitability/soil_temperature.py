"""Daily mean soil temperature at a shallow depth, from air temperature, rain and latitude alone."""

import numpy as np
from numpy.typing import ArrayLike, NDArray

from suitability.compiled import compiled
from suitability.errors import InputError, listed
from suitability.evapotranspiration import extraterrestrial_mj_m2_d, hargreaves_step
from suitability.soil_heat import (
    N_STATE,
    SoilHeat,
    conduction_step,
    soil_heat,
    sol_air_step,
    temperature_at_depth,
)

Floats = NDArray[np.float64]
DEEPEST_CM = 100.0


def soil_temperature_c(
    tmax_c: ArrayLike,
    tmin_c: ArrayLike,
    precip_mm: ArrayLike,
    doy: ArrayLike,
    lat_deg: float,
    depth_cm: float,
    wetness_frac: ArrayLike | None = None,
    cover_frac: ArrayLike | None = None,
    coefficients: SoilHeat | None = None,
) -> Floats:
    """Daily mean soil temperature at one depth [degC].

    Parameters
    ----------
    tmax_c, tmin_c : highest and lowest air temperature [degC]; arrays (n_days,), one row a day
        without a day left out.
    precip_mm : rain [mm]; array (n_days,). On days without a record the surface stays as wet as
        it was.
    doy : day of the year 1-366; array (n_days,). lat_deg : latitude [deg].
    depth_cm : 0 to 100 [cm].
    wetness_frac : water in the top 10 cm, 0 dry to 1 all that can evaporate; array (n_days,) or
        one number. None: from rain and evaporation.
    cover_frac : ground shaded by plants or litter, 0 to 1; array (n_days,) or one number. None:
        grass, as on the stations the coefficients come from.
    coefficients : None: those of ``suitability/tables/soil_heat.csv``.

    Returns
    -------
    array (n_days,) [degC]. NaN on every day without both air temperatures (or with tmax below
    tmin, or with an unknown wetness or cover given), and after a gap of more than three days until
    as many days are known again, at most 30. Inside, gaps of up to ten days are bridged by a
    straight line, longer ones by the mean of the other years or days of that season. The ground
    starts from a mean year of the same record; where the record does not touch all seasons it
    starts from its first 30 days, and the first 60 are NaN.

    Raises
    ------
    InputError : lengths differ, days do not follow one another, depth outside 0-100 cm, latitude
        outside -66 to 66 degrees, wetness or cover outside 0-1. All faults in one message.

    Notes
    -----
    The surface strives for the sol-air temperature (Mackey and Wright 1944)::

        T_sol = T_air + [a (1 - e w) Rs - Rnl] / h_air x (1 - cover) / (1 - reference cover)

    Rs from the temperature range (FAO-56 equation 50), net longwave Rnl by equation 39, w the
    wetness. Shade acts as Beer's law of light through leaves, as Zheng et al. (1993), Climate
    Research 2:183, let leaves cut the warming of soil. The ground takes up h_ground (T_sol -
    T_surface) and conducts by Fourier's law, one implicit step a day. a, e, h_air, h_ground were
    fitted on 18 stations under grass; a typical error of a day stands with them in the table.
    Snow and freezing ground are left out.
    """
    tmax, tmin, rain = (np.asarray(v, dtype=np.float64) for v in (tmax_c, tmin_c, precip_mm))
    days = np.asarray(doy, dtype=np.float64)
    known = coefficients or soil_heat()
    cover = known.reference_cover_frac if cover_frac is None else cover_frac
    wetness = np.nan if wetness_frac is None else wetness_frac
    _check(tmax, tmin, rain, days, lat_deg, depth_cm, wetness, cover)
    if not len(tmax):
        return np.empty(0)
    ra = extraterrestrial_mj_m2_d(lat_deg, days)
    tmax = np.where(tmax < tmin, np.nan, tmax)
    surface = known.surface()
    if wetness_frac is None:
        wet = surface_wetness(tmax, tmin, rain, ra, known.evaporable_mm)
    else:
        wet = np.broadcast_to(np.asarray(wetness, dtype=np.float64), tmax.shape).copy()
    shade = np.broadcast_to(np.asarray(cover, dtype=np.float64), tmax.shape).copy()
    sol_air = _sol_air(tmax, tmin, ra, wet, shade, surface)
    missing = np.isnan(sol_air)
    if missing.all():
        return np.full(len(tmax), np.nan)
    year = _mean_year(sol_air, days)
    state, unsettled = _start(sol_air, year, int(days[0]), surface, known.layers())
    result = _run(state, _bridged(sol_air, days, year), depth_cm, surface, known.layers())
    result[missing | _after_gap(missing)] = np.nan
    result[:unsettled] = np.nan
    return result


@compiled
def surface_wetness(
    tmax_c: Floats, tmin_c: Floats, precip_mm: Floats, ra_mj_m2_d: Floats, evaporable_mm: float
) -> Floats:
    """Water in the surface layer each day, 0 dry to 1 all it can evaporate.

    Rain fills it; it dries by the reference evaporation (Hargreaves) x its own wetness. It starts
    half full, and stays as it was on a day without a record of rain or temperature.
    """
    result = np.empty(len(tmax_c))
    wet = 0.5
    for i in range(len(tmax_c)):
        if not np.isnan(precip_mm[i]):
            wet = min(1.0, wet + precip_mm[i] / evaporable_mm)
            et0 = hargreaves_step(tmax_c[i], tmin_c[i], ra_mj_m2_d[i])
            if not np.isnan(et0):
                wet *= np.exp(-et0 / evaporable_mm)
        result[i] = wet
    return result


@compiled
def _sol_air(
    tmax: Floats, tmin: Floats, ra: Floats, wet: Floats, shade: Floats, surface: Floats
) -> Floats:
    result = np.empty(len(tmax))
    for i in range(len(tmax)):
        result[i] = sol_air_step(tmax[i], tmin[i], ra[i], wet[i], shade[i], surface)
    return result


@compiled
def _run(
    state: Floats, sol_air: Floats, depth_cm: float, surface: Floats, layers: Floats
) -> Floats:
    result = np.empty(len(sol_air))
    for i in range(len(sol_air)):
        conduction_step(state, sol_air[i], surface, layers)
        result[i] = temperature_at_depth(state, depth_cm, layers)
    return result


def _mean_year(sol_air: Floats, days: Floats) -> Floats:
    """Mean by day of the year (366,), over 31 days around it; NaN where none of them is known."""
    known = ~np.isnan(sol_air)
    place = days[known].astype(int) - 1
    total = np.bincount(place, sol_air[known], 366)
    count = np.bincount(place, minlength=366).astype(float)
    around = np.arange(-15, 16)
    index = (np.arange(366)[:, None] + around) % 366
    counted = count[index].sum(axis=1)
    summed = total[index].sum(axis=1)
    mean: Floats = np.divide(summed, counted, out=np.full(366, np.nan), where=counted > 0)
    return mean


def _start(
    sol_air: Floats, year: Floats, first_doy: int, surface: Floats, layers: Floats
) -> tuple[Floats, int]:
    """The state before the first day, and how many days it needs to settle."""
    if np.isnan(year).any():
        first = sol_air[~np.isnan(sol_air)][:30]
        return np.full(N_STATE, first.mean()), 60
    state = np.full(N_STATE, year.mean())
    before = np.tile(np.roll(year, 1 - first_doy), 2)
    _run(state, before, 5.0, surface, layers)
    return state, 0


def _gaps(missing: NDArray[np.bool_]) -> list[tuple[int, int]]:
    """First and one past the last row of each gap."""
    edges = np.flatnonzero(np.diff(np.concatenate([[False], missing, [False]]).astype(int)))
    return list(zip(edges[::2].tolist(), edges[1::2].tolist(), strict=True))


def _bridged(sol_air: Floats, days: Floats, year: Floats) -> Floats:
    rows = np.arange(len(sol_air))
    known = ~np.isnan(sol_air)
    result = np.interp(rows, rows[known], sol_air[known])
    for start, stop in _gaps(~known):
        if stop - start > 10:
            usual = year[days[start:stop].astype(int) - 1]
            result[start:stop] = np.where(np.isnan(usual), result[start:stop], usual)
    return np.asarray(result, dtype=np.float64)


def _after_gap(missing: NDArray[np.bool_]) -> NDArray[np.bool_]:
    unsure = np.zeros(len(missing), dtype=bool)
    for start, stop in _gaps(missing):
        if stop - start > 3:
            unsure[stop : stop + min(stop - start, 30)] = True
    return unsure


def _check(
    tmax: Floats,
    tmin: Floats,
    rain: Floats,
    days: Floats,
    lat_deg: float,
    depth_cm: float,
    wetness: ArrayLike,
    cover: ArrayLike,
) -> None:
    faults = []
    if not tmax.ndim == 1 or not tmax.shape == tmin.shape == rain.shape == days.shape:
        shapes = ", ".join(str(v.shape) for v in (tmax, tmin, rain, days))
        faults.append(f"tmax_c, tmin_c, precip_mm and doy must be of one length, got {shapes}")
    elif np.isnan(days).any() or ((days < 1) | (days > 366) | (days != np.floor(days))).any():
        faults.append("doy must be whole days of the year, 1 to 366")
    else:
        turn = np.isin(days[:-1], (365, 366)) & (days[1:] == 1)
        skips = np.flatnonzero((np.diff(days) != 1) & ~turn)
        if len(skips):
            at = int(skips[0])
            faults.append(f"day {days[at + 1]:g} follows day {days[at]:g}: give a row to every day")
    if not -66 <= lat_deg <= 66:
        faults.append(f"latitude {lat_deg:g} deg is outside -66 to 66")
    if not 0 <= depth_cm <= DEEPEST_CM:
        faults.append(f"depth {depth_cm:g} cm is outside 0 to {DEEPEST_CM:g}")
    for name, given in (("wetness_frac", wetness), ("cover_frac", cover)):
        values = np.asarray(given, dtype=np.float64)
        if values.ndim and values.shape != tmax.shape:
            faults.append(f"{name} must be one number or one a day, got shape {values.shape}")
        if ((values < 0) | (values > 1)).any():
            faults.append(f"{name} must be 0 to 1")
    if faults:
        raise InputError(
            listed("Soil temperature cannot be computed", faults, "Mend these inputs.")
        )
