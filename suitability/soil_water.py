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
routine of SWAT (Neitsch et al. 2011, equations 2:3.2.3-4). Rise: with the inverse
square of the height above the table.
"""

import numpy as np
from numpy.typing import NDArray

from suitability.compiled import compiled, inlined, spelled_out
from suitability.drying import evaporate, take_up, wetness_frac
from suitability.runoff import retention_now_mm, runoff_mm
from suitability.soil_column import (
    AIR_LIMIT,
    EVAPORATED,
    INTAKE,
    PER_SEED_AVAILABLE,
    PONDED,
    RUN_ON_RATIO,
    SATURATION,
    STORAGE,
    TABLE,
    WILTING,
    Numbers,
    Six,
    exchange_below,
    rise_from_table,
    seep,
    water_tables_cm,
)

Floats = NDArray[np.float64]


@inlined
def water_day(
    before: Numbers,
    soil: tuple[Six, ...],
    ground: Numbers,
    rain_mm: float,
    run_on_mm: float,
    irrigation_mm: float,
    et0_mm: float,
    basal_kc: float,
    cover_frac: float,
    root_depth_cm: float,
    depletion_frac: float,
) -> tuple[Numbers, Numbers]:
    """One day on plain numbers: state and day's results, as ``water_step`` writes them."""
    water = (before[0], before[1], before[2], before[3], before[4], before[5])
    water, drainage = exchange_below(water, before[TABLE], soil, ground)
    water = rise_from_table(water, before[TABLE], soil)

    retention = retention_now_mm(water, soil, ground)
    run_on = run_on_mm + ground[RUN_ON_RATIO] * runoff_mm(rain_mm, retention)
    arriving = rain_mm + run_on
    excess = runoff_mm(arriving, retention)
    surface = before[PONDED] + arriving + irrigation_mm
    soaking = min(surface - excess, ground[INTAKE])
    water, backed_up = seep(water, soaking, soil)
    standing = surface - soaking + backed_up
    runoff = max(0.0, standing - ground[STORAGE])
    evaporated = max(0.0, before[EVAPORATED] - max(0.0, soaking - backed_up))

    water, pond, evaporated, evaporation = evaporate(
        water, standing - runoff, evaporated, soil, ground, et0_mm, basal_kc, cover_frac
    )
    water, transpiration, depletion, ks, ka = take_up(
        water, soil, ground, basal_kc * et0_mm, evaporation, root_depth_cm, depletion_frac
    )
    joined_cm, table_cm = water_tables_cm(water, soil)
    air = (soil[SATURATION][0] + soil[SATURATION][1] - water[0] - water[1]) * (1.0 / 150.0)
    seed_zone = (water[0] - soil[WILTING][0]) * ground[PER_SEED_AVAILABLE]
    wet = 1.0 if air < ground[AIR_LIMIT] or table_cm < 15.0 else 0.0
    after = (
        water[0],
        water[1],
        water[2],
        water[3],
        water[4],
        water[5],
        pond,
        evaporated,
        joined_cm,
    )
    day = (
        runoff,
        drainage,
        evaporation,
        transpiration,
        pond,
        run_on,
        air,
        table_cm,
        depletion,
        ks,
        ka,
        max(0.0, seed_zone),
        wetness_frac(water, soil, ground),
        wet,
    )
    return after, day


@spelled_out
def _six(values: Floats, row: int) -> Six:
    return (
        values[row, 0],
        values[row, 1],
        values[row, 2],
        values[row, 3],
        values[row, 4],
        values[row, 5],
    )


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
        out[:] = np.nan
        return
    before = (
        state[0],
        state[1],
        state[2],
        state[3],
        state[4],
        state[5],
        state[PONDED],
        state[EVAPORATED],
        state[TABLE],
    )
    rows = (
        _six(soil, 0),
        _six(soil, 1),
        _six(soil, 2),
        _six(soil, 3),
        _six(soil, 4),
        _six(soil, 5),
        _six(soil, 6),
    )
    place = (
        ground[0],
        ground[1],
        ground[2],
        ground[3],
        ground[4],
        ground[5],
        ground[6],
        ground[7],
        ground[8],
        ground[9],
        ground[10],
        ground[11],
        ground[12],
        ground[13],
        ground[14],
        ground[15],
        ground[16],
        ground[17],
    )
    after, day = water_day(
        before,
        rows,
        place,
        rain_mm,
        run_on_mm,
        irrigation_mm,
        et0_mm,
        basal_kc,
        cover_frac,
        root_depth_cm,
        depletion_frac,
    )
    for i in range(len(after)):
        state[i] = after[i]
    for i in range(len(day)):
        out[i] = day[i]
