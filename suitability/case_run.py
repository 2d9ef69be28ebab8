"""One case through the whole record: bare ground day by day, and a stand from every sowing week.

The bare ground runs once. At each sowing day its state is copied, and a stand is run on from
there. All of it is plain scalar code, compiled; what the years mean is counted elsewhere.
"""

import numpy as np
from numpy.typing import NDArray

from suitability import establishment as est
from suitability import growth, season_end
from suitability import waterlogging_days as wet
from suitability.compiled import compiled
from suitability.soil_column import (
    AERATION_STRESS,
    AIR_FRAC,
    AIR_LIMIT,
    CAPACITY,
    EVAPORATED,
    OUT_SIZE,
    SEED_ZONE_FRAC,
    STATE_SIZE,
    TOTAL_EVAPORABLE,
    WATER_STRESS,
    WATER_TABLE_CM,
    WILTING,
    start_state,
)
from suitability.soil_heat import N_STATE, conduction_step, sol_air_step, temperature_at_depth
from suitability.soil_water import water_step

Floats = NDArray[np.float64]

# weather, shape (N_WEATHER, n_days)
TMAX_C, TMIN_C, RAIN_MM, SOLAR, RA, ET0_MM = 0, 1, 2, 3, 4, 5
N_WEATHER = 6

# result of one stand, length N_RESULT; all NaN where the record ends or has a gap
STAND = 0  # 1 a stand came up, 0 not
CAUSE = 1  # why not: a code of ``establishment``
EMERGED_D = 2  # day after sowing on which it came up, the sowing day being 1
DROWNED_D = 3  # day after sowing on which it stood wet longer than it bears; 0 never
RUN_EARLY_D = 4  # longest saturated run of the first three weeks
RUN_LATER_D = 5  # longest reached after them
SEW30_CM_D = 6
END_D = 7  # day after sowing on which cold ended it; NaN where the run stopped before
END_CAUSE = 8  # a code of ``season_end``
STRESS_DRY = 9  # mean of 1 - Ks over the days of growth
SOWN_D = 10  # days into the week on which it was sown, 0 to 6
N_RESULT = 11

# stand at fixed ages, shape (N_AGES, N_STANDING)
AGE_STEP_D = 5
DRY_MATTER_KG_HA, HEIGHT_M, PROTEIN_PCT, NITROGEN_KG_HA = 0, 1, 2, 3
N_STANDING = 4

_WEEK_D = 7
_DRY_SEED_BED = 0.5  # of field capacity: irrigation does not wait for wilting

WATER_USE = (
    "basal_kc_full",
    "depletion_frac",
    "seed_depth_cm",
    "fallow_kc",
    "fallow_cover_frac",
    "fallow_root_cm",
    "sow_moisture_frac",
)
KC_FULL, DEPLETION, SEED_CM, FALLOW_KC, FALLOW_COVER, FALLOW_ROOT_CM = 0, 1, 2, 3, 4, 5
SOW_MOISTURE = 6


@compiled
def run_case(
    weather: Floats,
    sow_day: NDArray[np.int64],
    last_age_d: NDArray[np.int64],
    soil: Floats,
    ground: Floats,
    crust_index: float,
    irrigation_mm_week: float,
    surface: Floats,
    heat_layers: Floats,
    start_c: float,
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
    weather : (N_WEATHER, n_days). A day with a missing number leaves the ground as it was; stands
        that meet one have no result.
    sow_day : (n_stands,) row of the first day of the sowing week, a week or more apart; -1 for a
        stand not to run. It is sown on the first day of the week that is fit, else on the last.
    last_age_d : (n_stands,) days after sowing to run on to, the sowing day being 1.
    soil, ground : arrays of ``soil_water.water_step``; crust_index : of the surface, may be NaN.
    irrigation_mm_week : given at once, each seventh day on which the stand or its seed bed is dry.
    surface, heat_layers : of ``soil_heat.SoilHeat``; start_c : temperature to start the ground at.
    p_water, p_est, p_grow, p_wet, p_end : parameters of water use, establishment, growth,
        waterlogging and the end of the season.
    offset_c : added to the simulated soil temperature, to see what its error does [degC].
    result : (n_stands, N_RESULT); standing : (n_stands, n_ages, N_STANDING). Both overwritten.
    """
    n_days = weather.shape[1]
    n_stands = sow_day.shape[0]
    water, heat = np.zeros(STATE_SIZE), np.full(N_STATE, start_c)
    out = np.zeros(OUT_SIZE)
    water_then, heat_then = np.zeros(STATE_SIZE), np.zeros(N_STATE)
    result[:] = np.nan
    standing[:] = np.nan
    start_state(water, soil)
    for day in range(min(365, n_days)):  # a year to settle
        _bare_day(weather, day, water, heat, soil, ground, surface, heat_layers, p_water, out)
    stand = 0
    for day in range(n_days):
        while stand < n_stands and (sow_day[stand] < 0 or sow_day[stand] <= day):
            if sow_day[stand] < 0:
                stand += 1
                continue
            # Sown on the first day of its week on which the seed bed is moist and bears a tractor.
            last = day == sow_day[stand] + _WEEK_D - 1
            if not (last or _workable(out, ground, p_water)):
                break
            water_then[:] = water
            heat_then[:] = heat
            _run_stand(
                weather,
                day,
                last_age_d[stand],
                water_then,
                heat_then,
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
            result[stand, SOWN_D] = day - sow_day[stand]
            stand += 1
        _bare_day(weather, day, water, heat, soil, ground, surface, heat_layers, p_water, out)


@compiled
def _workable(out: Floats, ground: Floats, p_water: Floats) -> bool:
    """Whether the evening before left the seed bed moist enough, and firm enough to drive on."""
    return bool(out[SEED_ZONE_FRAC] >= p_water[SOW_MOISTURE] and out[AIR_FRAC] >= ground[AIR_LIMIT])


@compiled
def _bare_day(
    weather: Floats,
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
    _warm(weather, day, heat, water, ground, p_water[FALLOW_COVER], surface, heat_layers)


@compiled
def _moisture_frac(water: Floats, soil: Floats, layer: int) -> float:
    """Water of a layer, 0 at wilting point, 1 at field capacity."""
    holds = soil[CAPACITY, layer] - soil[WILTING, layer]
    return float((water[layer] - soil[WILTING, layer]) / holds)


@compiled
def _warm(
    weather: Floats,
    day: int,
    heat: Floats,
    water: Floats,
    ground: Floats,
    cover_frac: float,
    surface: Floats,
    heat_layers: Floats,
) -> None:
    wetness = 1.0 - water[EVAPORATED] / ground[TOTAL_EVAPORABLE]
    sol_air = sol_air_step(
        weather[TMAX_C, day], weather[TMIN_C, day], weather[RA, day], wetness, cover_frac, surface
    )
    if not np.isnan(sol_air):
        conduction_step(heat, sol_air, surface, heat_layers)


@compiled
def _run_stand(
    weather: Floats,
    first_day: int,
    last_age_d: int,
    water: Floats,
    heat: Floats,
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
    """One stand from its sowing day to its end; ``water`` and ``heat`` are used up."""
    out = np.zeros(OUT_SIZE)
    seed = np.zeros(est.STATE_SIZE)
    plant = np.zeros(growth.STATE_SIZE)
    wet_days = np.zeros(wet.STATE_SIZE)
    ending = np.zeros(season_end.STATE_SIZE)
    cover, kc, root_cm = p_water[FALLOW_COVER], 0.0, 0.0
    emerged_d, dry_days, grown_days = 0.0, 0.0, 0.0
    thirsty, failed, drowned, ended = False, False, False, False
    for age in range(1, last_age_d + 1):
        day = first_day + age - 1
        if day >= weather.shape[1]:
            return
        asked = weather[TMAX_C, day] + weather[TMIN_C, day] + weather[RAIN_MM, day]
        if np.isnan(asked):
            return
        irrigation_mm = irrigation_mm_week if age % _WEEK_D == 1 and thirsty else 0.0
        water_step(
            water,
            soil,
            ground,
            weather[RAIN_MM, day],
            0.0,
            irrigation_mm,
            weather[ET0_MM, day],
            kc,
            cover,
            root_cm,
            p_water[DEPLETION],
            out,
        )
        seed_dry = seed[est.STATUS] == est.WAITING and out[SEED_ZONE_FRAC] < _DRY_SEED_BED
        thirsty = seed_dry or out[WATER_STRESS] < 1.0
        _warm(weather, day, heat, water, ground, cover, surface, heat_layers)
        soil_c = temperature_at_depth(heat, p_water[SEED_CM], heat_layers) + offset_c
        wet.waterlogging_step(wet_days, out[AIR_FRAC], out[WATER_TABLE_CM], soil_c, p_wet)
        if seed[est.STATUS] == est.WAITING:
            moisture = out[SEED_ZONE_FRAC]
            if seed[est.SWOLLEN] > 0.0:  # its root has left the top layer before that dries
                moisture = max(moisture, _moisture_frac(water, soil, 1))
            est.establishment_step(
                seed,
                soil_c,
                moisture,
                out[AIR_FRAC],
                weather[RAIN_MM, day] + irrigation_mm,
                crust_index,
                p_est,
            )
            if seed[est.STATUS] == est.UP:
                emerged_d = age
                growth.emerge(plant, seed[est.EMERGED], p_grow)
        else:
            growth.growth_step(
                plant,
                weather[TMAX_C, day],
                weather[TMIN_C, day],
                weather[SOLAR, day],
                out[WATER_STRESS],
                out[AERATION_STRESS],
                p_grow,
            )
            dry_days += 1.0 - out[WATER_STRESS]
            grown_days += 1.0
        if seed[est.STATUS] == est.UP:
            cover = max(p_water[FALLOW_COVER], plant[growth.COVER])
            kc = p_water[KC_FULL] * plant[growth.COVER]
            root_cm = plant[growth.ROOT]
            season_end.season_end_step(
                ending, float(age), weather[TMAX_C, day], weather[TMIN_C, day], False, p_end
            )
            if age % AGE_STEP_D == 0 and age // AGE_STEP_D <= standing.shape[0]:
                row = age // AGE_STEP_D - 1
                standing[row, DRY_MATTER_KG_HA] = plant[growth.DRY_MATTER]
                standing[row, HEIGHT_M] = plant[growth.HEIGHT]
                standing[row, PROTEIN_PCT] = plant[growth.PROTEIN_PCT]
                standing[row, NITROGEN_KG_HA] = plant[growth.NITROGEN]
        failed = seed[est.STATUS] == est.FAILED
        drowned = wet_days[wet.DROWNED_DAY] > 0.0
        ended = ending[season_end.CAUSE] != season_end.NOT_ENDED
        if failed or drowned or ended or age == last_age_d:
            break
    result[STAND] = 1.0 if seed[est.STATUS] == est.UP else 0.0
    result[CAUSE] = seed[est.CAUSE]
    result[EMERGED_D] = emerged_d if emerged_d > 0.0 else np.nan
    result[DROWNED_D] = wet_days[wet.DROWNED_DAY]
    result[RUN_EARLY_D] = wet_days[wet.LONGEST_EARLY]
    result[RUN_LATER_D] = wet_days[wet.LONGEST_LATER]
    result[SEW30_CM_D] = wet_days[wet.SEW30]
    if ended:
        result[END_D] = ending[season_end.END_DAY]
    result[END_CAUSE] = ending[season_end.CAUSE]
    result[STRESS_DRY] = dry_days / grown_days if grown_days > 0.0 else 0.0
