"""Water of one soil column from one day to the next: rain in, runoff, seepage, evaporation, roots.

Six layers of fixed depth hold water between wilting and saturation. One day runs in this order:
exchange with the ground below and rise from the water table (by the table of the evening before),
rain with runoff and ponding, seepage down with back-up from below, evaporation, uptake by roots.
Every millimetre is accounted for:

``rain + run_on + irrigation = runoff + drainage + evaporation + transpiration + rise in storage``

where drainage is what left at the lower boundary and through drains, less what came in from
below (so it may be negative). ``stored_mm`` is the sum that belongs on the right.

The arrays ``soil`` and ``ground`` of a case are made by ``profile.soil_rows`` and
``ground_position.ground_row``; the places in all arrays stand in
``soil_column``. Weather that is missing makes a day unknown: all of
``out`` is NaN and the state stays as it was.

References
----------
Runoff: USDA-NRCS, National Engineering Handbook 630, chapter 10 (curve number, with the retention
moved by topsoil wetness between its dry, mean and wet value). Evaporation and transpiration: Allen
et al. (1998), FAO Irrigation and Drainage Paper 56, equations 69-84 (dual crop coefficient).
Seepage: time of travel through the drainable pores at saturated conductivity, as in the soil-water
routine of SWAT (Neitsch et al. 2011, equations 2:3.2.3-4). Rise: power law of depth to the table.
"""

import numpy as np
from numpy.typing import NDArray

from suitability.compiled import compiled
from suitability.drying import evaporate, take_up
from suitability.runoff import retention_mm, runoff_mm
from suitability.soil_column import (
    AIR_FRAC,
    AIR_LIMIT,
    CAPACITY,
    DRAINAGE_MM,
    EVAPORATED,
    EVAPORATION_MM,
    INTAKE,
    LAYER_BOTTOM_CM,
    OUT_SIZE,
    PONDED,
    PONDED_MM,
    RUN_ON_MM,
    RUN_ON_RATIO,
    RUNOFF_MM,
    SATURATED,
    SATURATION,
    SEED_ZONE_FRAC,
    STORAGE,
    TABLE,
    TRANSPIRATION_MM,
    WATER_TABLE_CM,
    WETNESS_FRAC,
    WILTING,
    exchange_below,
    joined_table_cm,
    rise_from_table,
    seep,
    shallowest_table_cm,
)

Floats = NDArray[np.float64]


@compiled
def water_step(
    state: Floats,
    soil: Floats,
    ground: Floats,
    rain_mm: float,
    run_on_mm: float,
    irrigation_mm: float,
    et0_mm: float,
    basal_kc: float,
    cover_frac: float,
    root_depth_cm: float,
    depletion_frac: float,
    out: Floats,
) -> None:
    """Carry ``state`` over one day and write the day into ``out``.

    Parameters
    ----------
    state : array (STATE_SIZE,), changed in place.
    soil : array (SOIL_ROWS, N_LAYERS); ground : array (GROUND_SIZE,). One case.
    rain_mm, irrigation_mm, et0_mm : of the day [mm].
    run_on_mm : water from elsewhere, beside what the ground's own ratio brings [mm].
    basal_kc : FAO-56 Kcb, 0 on bare ground; cover_frac : ground covered by leaves [frac].
    root_depth_cm : 0 where nothing grows [cm].
    depletion_frac : FAO-56 p at 5 mm/d of the plant [frac].
    out : array (OUT_SIZE,), overwritten. All NaN, and the state untouched, where a number of the
        weather or the plant is missing.
    """
    asked = rain_mm + run_on_mm + irrigation_mm + et0_mm + basal_kc + cover_frac + root_depth_cm
    if not asked < np.inf:
        for k in range(OUT_SIZE):
            out[k] = np.nan
        return
    drainage = exchange_below(state, soil, ground)
    rise_from_table(state, soil)

    retention = retention_mm(state, soil, ground)
    run_on = run_on_mm
    if ground[RUN_ON_RATIO] > 0.0:
        run_on += ground[RUN_ON_RATIO] * runoff_mm(rain_mm, retention)
    arriving = rain_mm + run_on
    excess = runoff_mm(arriving, retention)
    surface = state[PONDED] + arriving + irrigation_mm
    soaking = min(surface - excess, ground[INTAKE])
    state[0] += soaking
    backed_up = seep(state, soil)
    state[EVAPORATED] = max(0.0, state[EVAPORATED] - (soaking - backed_up))
    standing = surface - soaking + backed_up
    runoff = max(0.0, standing - ground[STORAGE])
    state[PONDED] = standing - runoff

    evaporation = evaporate(state, soil, ground, et0_mm, basal_kc, cover_frac)
    transpiration = take_up(
        state,
        soil,
        ground,
        basal_kc * et0_mm,
        evaporation,
        root_depth_cm,
        depletion_frac,
        out,
    )
    state[TABLE] = joined_table_cm(state, soil)

    out[RUNOFF_MM] = runoff
    out[DRAINAGE_MM] = drainage
    out[EVAPORATION_MM] = evaporation
    out[TRANSPIRATION_MM] = transpiration
    out[PONDED_MM] = state[PONDED]
    out[RUN_ON_MM] = run_on
    pores = soil[SATURATION, 0] + soil[SATURATION, 1]
    out[AIR_FRAC] = (pores - state[0] - state[1]) / (10.0 * LAYER_BOTTOM_CM[1])
    out[WATER_TABLE_CM] = shallowest_table_cm(state, soil)
    out[SEED_ZONE_FRAC] = max(
        0.0, (state[0] - soil[WILTING, 0]) / (soil[CAPACITY, 0] - soil[WILTING, 0])
    )
    out[WETNESS_FRAC] = (state[0] + state[1] + state[2]) / (pores + soil[SATURATION, 2])
    wet = out[AIR_FRAC] < ground[AIR_LIMIT] or out[WATER_TABLE_CM] < LAYER_BOTTOM_CM[1]
    out[SATURATED] = 1.0 if wet else 0.0
