"""One case through the whole record: bare ground day by day, and a stand from every sowing week.

The bare ground runs once, and its state on each sowing day is kept; a stand is run on from there,
as often as it is asked for. All of it is plain scalar code, compiled; what the years mean is
counted elsewhere.
"""

import numpy as np
from numpy.typing import NDArray

from suitability.compiled import compiled, inlined
from suitability.soil_column import (
    AIR_FRAC,
    AIR_LIMIT,
    BASE_CM,
    OUT_SIZE,
    SEED_ZONE_FRAC,
    STATE_SIZE,
    start_state,
)
from suitability.soil_heat import N_STATE
from suitability.soil_water import water_step
from suitability.stand_run import (
    DEPLETION,
    ET0_MM,
    FALLOW_COVER,
    FALLOW_KC,
    FALLOW_ROOT_CM,
    RAIN_MM,
    SETTLE_D,
    SOW_MOISTURE,
    SOWN_D,
    WEEK_D,
    lacks,
    run_stand,
    warm_step,
)

Floats = NDArray[np.float64]

# A start: days into the week on which the stand is sown, then the ground's water and heat.
START_SIZE = 1 + STATE_SIZE + N_STATE


@compiled
def bare_starts(
    weather: Floats,
    base_cm: Floats,
    sow_day: NDArray[np.int64],
    soil: Floats,
    ground: Floats,
    surface: Floats,
    heat_layers: Floats,
    start_c: float,
    p_water: Floats,
    starts: Floats,
) -> None:
    """Fill ``starts`` with the bare ground of one case on the day on which each stand is sown.

    Parameters
    ----------
    weather : (N_WEATHER, n_days). A day with a missing number leaves the ground as it was; no stand
        starts where one lies less than ``settle_d`` before the sowing.
    base_cm : (n_days,) depth of the water outside the column.
    sow_day : (n_stands,) row of the first day of the sowing week, a week or more apart; -1 for a
        stand not to run. It is sown on the first day of the week that is fit, else on the last.
    soil, ground : arrays of ``soil_water.water_step``; BASE_CM is set by the day.
    surface, heat_layers : of ``soil_heat.SoilHeat``; start_c : temperature to start the ground at.
    p_water : parameters of water use.
    starts : (n_stands, START_SIZE), overwritten; NaN where no stand starts.
    """
    n_days = weather.shape[1]
    n_stands = sow_day.shape[0]
    water, heat = np.zeros(STATE_SIZE), np.full(N_STATE, start_c)
    out = np.zeros(OUT_SIZE)
    starts[:] = np.nan
    start_state(water, soil)
    for day in range(min(365, n_days)):  # a year to settle
        _bare_day(
            weather, base_cm, day, water, heat, soil, ground, surface, heat_layers, p_water, out
        )
    since_hole_d = p_water[SETTLE_D]
    stand = 0
    for day in range(n_days):
        while stand < n_stands and (sow_day[stand] < 0 or sow_day[stand] <= day):
            if sow_day[stand] < 0 or since_hole_d < p_water[SETTLE_D]:
                stand += 1
                continue
            # Sown on the first day of its week on which the seed bed is moist and bears a tractor.
            last = day == sow_day[stand] + WEEK_D - 1
            if not (last or _workable(out, ground, p_water)):
                break
            starts[stand, 0] = day - sow_day[stand]
            for i in range(STATE_SIZE):
                starts[stand, 1 + i] = water[i]
            for i in range(N_STATE):
                starts[stand, 1 + STATE_SIZE + i] = heat[i]
            stand += 1
        since_hole_d = 0.0 if lacks(weather, day) else since_hole_d + 1.0
        _bare_day(
            weather, base_cm, day, water, heat, soil, ground, surface, heat_layers, p_water, out
        )


@compiled
def run_stands(
    weather: Floats,
    base_cm: Floats,
    sow_day: NDArray[np.int64],
    last_age_d: NDArray[np.int64],
    starts: Floats,
    soil: Floats,
    ground: Floats,
    crust_index: float,
    irrigation_mm_week: float,
    surface: Floats,
    heat_layers: Floats,
    p_water: Floats,
    p_est: Floats,
    p_grow: Floats,
    p_wet: Floats,
    p_end: Floats,
    offset_c: float,
    result: Floats,
    standing: Floats,
) -> None:
    """Fill ``result`` and ``standing`` for every stand of one case.

    Parameters
    ----------
    weather, base_cm, sow_day, soil, ground, surface, heat_layers, p_water : as ``bare_starts``. A
        stand is run up to a day with a missing number, and KNOWN_D tells how far.
    last_age_d : (n_stands,) days after sowing to run on to, the sowing day being 1.
    starts : of ``bare_starts``; a stand that has none stays NaN.
    crust_index : of the surface, may be NaN.
    irrigation_mm_week : given at once, each seventh day on which the stand or its seed bed is dry.
    p_est, p_grow, p_wet, p_end : parameters of establishment, growth, waterlogging and the end of
        the season.
    offset_c : added to the simulated soil temperature, to see what its error does [degC].
    result : (n_stands, N_RESULT); standing : (n_stands, n_ages, N_STANDING). Both overwritten.
    """
    water, heat = np.zeros(STATE_SIZE), np.zeros(N_STATE)
    result[:] = np.nan
    standing[:] = np.nan
    whole_d = _whole_days(weather)
    for stand in range(sow_day.shape[0]):
        if sow_day[stand] < 0 or np.isnan(starts[stand, 0]):
            continue
        for i in range(STATE_SIZE):
            water[i] = starts[stand, 1 + i]
        for i in range(N_STATE):
            heat[i] = starts[stand, 1 + STATE_SIZE + i]
        day = sow_day[stand] + int(starts[stand, 0])
        result[stand, SOWN_D] = starts[stand, 0]
        run_stand(
            weather,
            base_cm,
            day,
            last_age_d[stand],
            whole_d[day],
            water,
            heat,
            soil,
            ground,
            crust_index,
            irrigation_mm_week,
            surface,
            heat_layers,
            p_water,
            p_est,
            p_grow,
            p_wet,
            p_end,
            offset_c,
            result[stand],
            standing[stand],
        )


@compiled
def _whole_days(weather: Floats) -> NDArray[np.int64]:
    """For each day, how many days from it on have weather without a hole."""
    n_days = weather.shape[1]
    whole = np.zeros(n_days, np.int64)
    run = 0
    for day in range(n_days - 1, -1, -1):
        run = 0 if lacks(weather, day) else run + 1
        whole[day] = run
    return whole


@compiled
def _workable(out: Floats, ground: Floats, p_water: Floats) -> bool:
    """Whether the evening before left the seed bed moist enough, and firm enough to drive on."""
    return bool(out[SEED_ZONE_FRAC] >= p_water[SOW_MOISTURE] and out[AIR_FRAC] >= ground[AIR_LIMIT])


@inlined
def _bare_day(
    weather: Floats,
    base_cm: Floats,
    day: int,
    water: Floats,
    heat: Floats,
    soil: Floats,
    ground: Floats,
    surface: Floats,
    heat_layers: Floats,
    p_water: Floats,
    out: Floats,
) -> None:
    """A day of the empty field: thin growth and stubble on it."""
    ground[BASE_CM] = base_cm[day]
    water_step(
        water,
        soil,
        ground,
        weather[RAIN_MM, day],
        0.0,
        0.0,
        weather[ET0_MM, day],
        p_water[FALLOW_KC],
        p_water[FALLOW_COVER],
        p_water[FALLOW_ROOT_CM],
        p_water[DEPLETION],
        out,
    )
    warm_step(weather, day, heat, water, ground, p_water[FALLOW_COVER], surface, heat_layers)
