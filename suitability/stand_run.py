"""One stand from its sowing day to its end, in plain scalar code, and where its results lie."""

import numpy as np
from numpy.typing import NDArray

from suitability import establishment as est
from suitability import growth, season_end
from suitability import waterlogging_days as wet
from suitability.compiled import inlined
from suitability.soil_column import (
    AERATION_STRESS,
    AIR_FRAC,
    BASE_CM,
    CAPACITY,
    EVAPORATED,
    OUT_SIZE,
    SEED_ZONE_FRAC,
    TOTAL_EVAPORABLE,
    WATER_STRESS,
    WATER_TABLE_CM,
    WILTING,
)
from suitability.soil_heat import conduction_step, sol_air_from_step, temperature_at_depth
from suitability.soil_water import water_step

Floats = NDArray[np.float64]

# weather, shape (N_WEATHER, n_days)
TMAX_C, TMIN_C, RAIN_MM, SOLAR, ET0_MM = 0, 1, 2, 3, 4
GROUND_SOLAR, LONGWAVE = 5, 6  # what warms and cools the ground, from the temperature range alone
N_WEATHER = 7

# result of one stand, length N_RESULT; all NaN where it is not to be run
STAND = 0  # 1 a stand came up, 0 not; NaN where a hole in the weather cut the run short
CAUSE = 1  # why not: a code of ``establishment``
EMERGED_D = 2  # day after sowing on which it came up, the sowing day being 1
FAILED_D = 3  # day after sowing on which the seed had failed
DROWNED_D = 4  # day after sowing on which it stood wet longer than it bears; 0 never
RUN_EARLY_D = 5  # longest saturated run of the first three weeks
RUN_LATER_D = 6  # longest reached after them
SEW30_CM_D = 7
END_D = 8  # day after sowing on which cold ended it; NaN where the run stopped before
END_CAUSE = 9  # a code of ``season_end``
STRESS_DRY = 10  # mean of 1 - Ks over the days of growth
LAST_D = 11  # day after sowing on which the run stopped
LAST_DRY_MATTER_KG_HA = 12  # what stood then
SOWN_D = 13  # days into the week on which it was sown, 0 to 6
KNOWN_D = 14  # days from sowing on without a hole in the weather, whatever became of the stand
N_RESULT = 15

# stand at fixed ages, shape (N_AGES, N_STANDING)
AGE_STEP_D = 5
DRY_MATTER_KG_HA, HEIGHT_M, PROTEIN_PCT, NITROGEN_KG_HA = 0, 1, 2, 3
N_STANDING = 4

WEEK_D = 7
_DRY_SEED_BED = 0.5  # of field capacity: irrigation does not wait for wilting

WATER_USE = (
    "basal_kc_full",
    "depletion_frac",
    "seed_depth_cm",
    "fallow_kc",
    "fallow_cover_frac",
    "fallow_root_cm",
    "sow_moisture_frac",
    "settle_d",
)
KC_FULL, DEPLETION, SEED_CM, FALLOW_KC, FALLOW_COVER, FALLOW_ROOT_CM = 0, 1, 2, 3, 4, 5
SOW_MOISTURE, SETTLE_D = 6, 7


@inlined
def lacks(weather: Floats, day: int) -> bool:
    """Whether a number is missing in the weather of this day; the others follow from these."""
    return bool(np.isnan(weather[TMAX_C, day] + weather[TMIN_C, day] + weather[RAIN_MM, day]))


@inlined
def warm_step(
    weather: Floats,
    day: int,
    heat: Floats,
    water: Floats,
    ground: Floats,
    cover_frac: float,
    surface: Floats,
    heat_layers: Floats,
) -> None:
    """Move the ground's temperature over a day; it stays as it was where the weather lacks."""
    mean_c = 0.5 * (weather[TMAX_C, day] + weather[TMIN_C, day])
    if np.isnan(mean_c):
        return
    wetness = 1.0 - water[EVAPORATED] / ground[TOTAL_EVAPORABLE]
    sol_air = sol_air_from_step(
        mean_c, weather[GROUND_SOLAR, day], weather[LONGWAVE, day], wetness, cover_frac, surface
    )
    conduction_step(heat, sol_air, surface, heat_layers)


@inlined
def _moisture_frac(water: Floats, soil: Floats, layer: int) -> float:
    """Water of a layer, 0 at wilting point, 1 at field capacity."""
    holds = soil[CAPACITY, layer] - soil[WILTING, layer]
    return float((water[layer] - soil[WILTING, layer]) / holds)


@inlined
def run_stand(
    weather: Floats,
    base_cm: Floats,
    first_day: int,
    asked_age_d: int,
    whole_d: int,
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
    """Run on to ``asked_age_d``, at most the ``whole_d`` days until a hole in the weather.

    Arguments are those of ``case_run.run_stands``; ``water`` and ``heat``, the ground on the sowing
    day, are used up. ``result`` (N_RESULT,) and ``standing`` (n_ages, N_STANDING) of this stand are
    filled but for SOWN_D; they hold NaN before.
    """
    out = np.zeros(OUT_SIZE)
    seed = np.zeros(est.STATE_SIZE)
    plant = np.zeros(growth.STATE_SIZE)
    wet_days = np.zeros(wet.STATE_SIZE)
    ending = np.zeros(season_end.STATE_SIZE)
    cover, kc, root_cm = p_water[FALLOW_COVER], 0.0, 0.0
    dry_days, grown_days = 0.0, 0.0
    thirsty, ended, over = False, False, False
    last_age_d = min(asked_age_d, whole_d)
    for age in range(1, last_age_d + 1):
        day = first_day + age - 1
        irrigation_mm = irrigation_mm_week if age % WEEK_D == 1 and thirsty else 0.0
        ground[BASE_CM] = base_cm[day]
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
        warm_step(weather, day, heat, water, ground, cover, surface, heat_layers)
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
                result[EMERGED_D] = age
                growth.emerge(plant, seed[est.EMERGED], p_grow)
            elif seed[est.STATUS] == est.FAILED:
                result[FAILED_D] = age
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
        result[LAST_D] = age
        ended = ending[season_end.CAUSE] != season_end.NOT_ENDED
        drowned = wet_days[wet.DROWNED_DAY] > 0.0
        over = seed[est.STATUS] == est.FAILED or drowned or ended
        if over:
            break
    if over or last_age_d == asked_age_d:
        result[STAND] = 1.0 if seed[est.STATUS] == est.UP else 0.0
    result[CAUSE] = seed[est.CAUSE]
    result[DROWNED_D] = wet_days[wet.DROWNED_DAY]
    result[RUN_EARLY_D] = wet_days[wet.LONGEST_EARLY]
    result[RUN_LATER_D] = wet_days[wet.LONGEST_LATER]
    result[SEW30_CM_D] = wet_days[wet.SEW30]
    if ended:
        result[END_D] = ending[season_end.END_DAY]
    result[END_CAUSE] = ending[season_end.CAUSE]
    result[STRESS_DRY] = dry_days / grown_days if grown_days > 0.0 else 0.0
    result[KNOWN_D] = whole_d
    result[LAST_DRY_MATTER_KG_HA] = plant[growth.DRY_MATTER]
