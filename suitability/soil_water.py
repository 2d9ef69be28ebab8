"""Water of one soil column from one day to the next: rain in, runoff, seepage, evaporation, roots.

Six layers of fixed depth hold water between wilting and saturation. One day runs in this order:
exchange with the ground below and rise from the water table (by the table of the evening before),
rain with runoff and ponding, seepage down with back-up from below, evaporation, uptake by roots.
Every millimetre is accounted for:

``rain + run_on + irrigation = runoff + drainage + evaporation + transpiration + rise in storage``

where drainage is what left at the lower boundary and through drains, less what came in from
below (so it may be negative). ``stored_mm`` is the sum that belongs on the right.

The arrays ``soil`` and ``ground`` of a case are made by ``suitability.profile.soil_rows`` and
``suitability.ground_position.ground_row``. Weather that is missing makes a day unknown: all of
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

Floats = NDArray[np.float64]

LAYER_TOP_CM = (0.0, 5.0, 15.0, 30.0, 60.0, 100.0)
LAYER_BOTTOM_CM = (5.0, 15.0, 30.0, 60.0, 100.0, 200.0)
N_LAYERS = 6
LAST = 5
COLUMN_CM = 200.0  # a water table reported at this depth: none within the column

# state, length STATE_SIZE: water of the six layers [mm], then
PONDED, EVAPORATED, TABLE = 6, 7, 8  # pond [mm]; FAO-56 De [mm]; table joined to the bottom [cm]
STATE_SIZE = 9

# soil, shape (SOIL_ROWS, N_LAYERS)
WILTING, CAPACITY, SATURATION = 0, 1, 2  # [mm]
SEEP_FRAC, SEEP_MOST = 3, 4  # share of the free water that leaves in a day; most [mm/d]
RISE_FACTOR, RISE_POWER = 5, 6  # rise [mm/d] = factor * height above the table [m] ** power
SOIL_ROWS = 7

# ground, length GROUND_SIZE
RETENTION_DRY, RETENTION_MEAN, RETENTION_WET, RETENTION_FULL = 0, 1, 2, 3  # curve number S [mm]
INTAKE = 4  # most that soaks in [mm/d]
TOTAL_EVAPORABLE, READILY_EVAPORABLE = 5, 6  # FAO-56 TEW and REW [mm]
BASE_CM, CONDUCTANCE = 7, 8  # level of the water outside [cm deep]; exchange [mm/d per mm of head]
DRAIN_CM, DRAIN_CONDUCTANCE = 9, 10  # depth of drains; 0 conductance: none
STORAGE = 11  # water the surface holds before it runs off [mm]
RUN_ON_RATIO = 12  # area that runs onto this ground, as a multiple of it
ROOT_LIMIT_CM = 13
AIR_LIMIT = 14  # air-filled porosity under which roots lack air [frac]
GROUND_SIZE = 15

# out, length OUT_SIZE
RUNOFF_MM, DRAINAGE_MM, EVAPORATION_MM, TRANSPIRATION_MM, PONDED_MM, RUN_ON_MM = 0, 1, 2, 3, 4, 5
AIR_FRAC = 6  # air-filled porosity of 0-15 cm
WATER_TABLE_CM = 7  # top of the shallowest saturated ground, perched or not
DEPLETION_MM = 8  # water missing in the root zone against field capacity
WATER_STRESS, AERATION_STRESS = 9, 10  # Ks and Ka, 1 none to 0 full
SEED_ZONE_FRAC = 11  # 0-5 cm: 0 at wilting point, 1 at field capacity, may be more
WETNESS_FRAC = 12  # 0-30 cm: share of the pores that holds water
SATURATED = 13  # 1 where 0-15 cm lack air or the table stands within 15 cm, else 0
OUT_SIZE = 14

_FULL_FRAC = 0.95  # a layer this full of free water counts as saturated


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
def _retention_mm(state: Floats, soil: Floats, ground: Floats) -> float:
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


@compiled
def _exchange_below(state: Floats, soil: Floats, ground: Floats) -> float:
    """Outflow [mm] to the ground outside and through drains; negative where water comes in."""
    table_cm = state[TABLE]
    flow = 10.0 * ground[CONDUCTANCE] * (ground[BASE_CM] - table_cm)
    if flow > 0.0:
        flow = min(flow, max(0.0, state[LAST] - soil[CAPACITY, LAST]))
    state[LAST] -= flow
    if ground[DRAIN_CONDUCTANCE] > 0.0 and table_cm < ground[DRAIN_CM]:
        wanted = 10.0 * ground[DRAIN_CONDUCTANCE] * (ground[DRAIN_CM] - table_cm)
        drained = min(wanted, max(0.0, state[LAST - 1] - soil[CAPACITY, LAST - 1]))
        state[LAST - 1] -= drained
        flow += drained
    return float(flow)


@compiled
def _rise_from_table(state: Floats, soil: Floats) -> None:
    """Move water from below the table into drier layers above it, as far as it can climb."""
    table_cm = state[TABLE]
    free = state[LAST] - soil[CAPACITY, LAST]
    if table_cm >= COLUMN_CM or free <= 0.0:
        return
    risen = 0.0
    for i in range(LAST):
        if LAYER_BOTTOM_CM[i] > table_cm:
            break
        missing = soil[CAPACITY, i] - state[i]
        if missing > 0.0:
            height_m = (table_cm - 0.5 * (LAYER_TOP_CM[i] + LAYER_BOTTOM_CM[i])) / 100.0
            most = soil[RISE_FACTOR, i] * height_m ** soil[RISE_POWER, i] - risen
            moved = min(missing, most, free - risen)
            if moved > 0.0:
                state[i] += moved
                risen += moved
    state[LAST] -= risen


@compiled
def _seep(state: Floats, soil: Floats) -> float:
    """Free water moves down; what finds no room backs up. Returns what comes out on top [mm]."""
    for i in range(LAST):
        free = state[i] - soil[CAPACITY, i]
        if free > 0.0:
            moved = min(free * soil[SEEP_FRAC, i], soil[SEEP_MOST, i])
            state[i] -= moved
            state[i + 1] += moved
    for i in range(LAST, 0, -1):
        over = state[i] - soil[SATURATION, i]
        if over > 0.0:
            state[i] -= over
            state[i - 1] += over
    over = state[0] - soil[SATURATION, 0]
    if over > 0.0:
        state[0] -= over
        return float(over)
    return 0.0


@compiled
def evaporation_reduction(depletion_mm: float, tew_mm: float, rew_mm: float) -> float:
    """Kr of FAO-56 equation 74: 1 while the surface is wet, falling to 0 at TEW.

    >>> evaporation_reduction(5.0, 18.0, 8.0), evaporation_reduction(13.0, 18.0, 8.0)
    (1.0, 0.5)
    """
    if depletion_mm <= rew_mm:
        return 1.0
    if depletion_mm >= tew_mm:
        return 0.0
    return (tew_mm - depletion_mm) / (tew_mm - rew_mm)


@compiled
def water_stress(depletion_mm: float, taw_mm: float, depletion_frac: float) -> float:
    """Ks of FAO-56 equation 84: 1 while easily available water lasts, 0 when all is used.

    >>> round(float(water_stress(80.0, 110.0, 0.6)), 3)
    0.682
    """
    if depletion_mm <= depletion_frac * taw_mm:
        return 1.0
    if depletion_mm >= taw_mm:
        return 0.0
    return (taw_mm - depletion_mm) / ((1.0 - depletion_frac) * taw_mm)


@compiled
def _evaporate(
    state: Floats, soil: Floats, ground: Floats, et0_mm: float, basal_kc: float, cover_frac: float
) -> float:
    """Evaporation [mm] from the pond and the top 10 cm (equations 71-77)."""
    bare = max(1.0 - cover_frac, 0.01)
    kc_max = max(1.2, basal_kc + 0.05)
    wet_mm = min(kc_max - basal_kc, bare * kc_max) * et0_mm
    from_pond = min(state[PONDED], wet_mm)
    state[PONDED] -= from_pond
    missing = max(0.0, soil[CAPACITY, 0] - state[0]) + max(0.0, soil[CAPACITY, 1] - state[1])
    depletion = min(state[EVAPORATED], missing)  # rewetted from below, it evaporates again
    if from_pond > 0.0:
        depletion = 0.0
    kr = evaporation_reduction(depletion, ground[TOTAL_EVAPORABLE], ground[READILY_EVAPORABLE])
    wanted = min(kr * (kc_max - basal_kc), bare * kc_max) * et0_mm - from_pond
    if wanted <= 0.0:
        state[EVAPORATED] = depletion
        return float(from_pond)
    # Only the upper half of 5-15 cm lies in the evaporating 10 cm; it dries to half of wilting.
    top = max(0.0, state[0] - 0.5 * soil[WILTING, 0])
    under = max(0.0, 0.5 * (state[1] - 0.75 * soil[WILTING, 1]))
    from_soil = min(wanted, top + under)
    if from_soil > 0.0:
        from_top = from_soil * top / (top + under)
        state[0] -= from_top
        state[1] -= from_soil - from_top
    state[EVAPORATED] = min(depletion + from_soil / bare, ground[TOTAL_EVAPORABLE])
    return float(from_pond + from_soil)


@compiled
def _usable_mm(state: Floats, soil: Floats, i: int, depth_cm: float) -> float:
    """Water above wilting in the rooted part of a layer [mm]."""
    rooted = min(1.0, (depth_cm - LAYER_TOP_CM[i]) / (LAYER_BOTTOM_CM[i] - LAYER_TOP_CM[i]))
    return float(rooted * max(0.0, state[i] - soil[WILTING, i]))


@compiled
def _take_up(
    state: Floats,
    soil: Floats,
    ground: Floats,
    wanted_mm: float,
    other_mm: float,
    root_depth_cm: float,
    depletion_frac: float,
    out: Floats,
) -> float:
    """Transpiration [mm]; ``wanted_mm`` is Kcb ET0. Writes depletion and both stresses."""
    depth_cm = min(root_depth_cm, ground[ROOT_LIMIT_CM])
    holds = depletion = air = weights = reach = 0.0
    for i in range(N_LAYERS):
        if LAYER_TOP_CM[i] >= depth_cm:
            break
        thick_cm = LAYER_BOTTOM_CM[i] - LAYER_TOP_CM[i]
        rooted = min(1.0, (depth_cm - LAYER_TOP_CM[i]) / thick_cm)
        holds += rooted * (soil[CAPACITY, i] - soil[WILTING, i])
        depletion += rooted * max(0.0, soil[CAPACITY, i] - state[i])
        air += rooted * (soil[SATURATION, i] - state[i])
        usable = _usable_mm(state, soil, i, depth_cm)
        reach += usable
        weights += usable * (1.0 - LAYER_TOP_CM[i] / depth_cm)
    ks = ka = 1.0
    if holds > 0.0:
        p = min(0.8, max(0.1, depletion_frac + 0.04 * (5.0 - wanted_mm - other_mm)))
        ks = water_stress(depletion, holds, p)
        ka = min(1.0, air / (10.0 * depth_cm) / ground[AIR_LIMIT])
    out[DEPLETION_MM] = depletion
    out[WATER_STRESS] = ks
    out[AERATION_STRESS] = ka
    left = min(wanted_mm * ks * ka, reach)
    if left <= 0.0 or weights <= 0.0:
        return 0.0
    # Roots thin out downward. What an upper layer cannot give is taken from all that is left.
    per_weight = left / weights
    taken = 0.0
    for i in range(N_LAYERS):
        if LAYER_TOP_CM[i] >= depth_cm:
            break
        usable = _usable_mm(state, soil, i, depth_cm)
        given = min(usable, per_weight * usable * (1.0 - LAYER_TOP_CM[i] / depth_cm))
        state[i] -= given
        taken += given
    if left - taken > 1e-9:
        share = (left - taken) / (reach - taken)
        for i in range(N_LAYERS):
            if LAYER_TOP_CM[i] >= depth_cm:
                break
            state[i] -= share * _usable_mm(state, soil, i, depth_cm)
        taken = left
    return float(taken)


@compiled
def _joined_table_cm(state: Floats, soil: Floats) -> float:
    """Depth of the water table that rests on the bottom of the column [cm]."""
    for i in range(LAST, -1, -1):
        full = (state[i] - soil[CAPACITY, i]) / (soil[SATURATION, i] - soil[CAPACITY, i])
        if full < _FULL_FRAC:
            return float(
                LAYER_BOTTOM_CM[i] - max(0.0, full) * (LAYER_BOTTOM_CM[i] - LAYER_TOP_CM[i])
            )
    return 0.0


@compiled
def _shallowest_table_cm(state: Floats, soil: Floats) -> float:
    """Depth of the shallowest saturated ground, perched or joined to the bottom [cm]."""
    above = 0.0  # share of free water in the layer above
    for i in range(N_LAYERS):
        full = (state[i] - soil[CAPACITY, i]) / (soil[SATURATION, i] - soil[CAPACITY, i])
        if full >= _FULL_FRAC:
            if i == 0:
                return 0.0
            return float(LAYER_TOP_CM[i] - above * (LAYER_TOP_CM[i] - LAYER_TOP_CM[i - 1]))
        above = max(0.0, full)
    return float(COLUMN_CM - above * (COLUMN_CM - LAYER_TOP_CM[LAST]))


@compiled
def stored_mm(state: Floats) -> float:
    """Water in the column and on it [mm]."""
    total = state[PONDED]
    for i in range(N_LAYERS):
        total += state[i]
    return float(total)


@compiled
def start_state(state: Floats, soil: Floats) -> None:
    """Fill ``state`` at field capacity, no pond, no table; let a year or two run before use."""
    for i in range(N_LAYERS):
        state[i] = soil[CAPACITY, i]
    state[PONDED] = 0.0
    state[EVAPORATED] = 0.0
    state[TABLE] = COLUMN_CM


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
    drainage = _exchange_below(state, soil, ground)
    _rise_from_table(state, soil)

    retention = _retention_mm(state, soil, ground)
    run_on = run_on_mm
    if ground[RUN_ON_RATIO] > 0.0:
        run_on += ground[RUN_ON_RATIO] * runoff_mm(rain_mm, retention)
    arriving = rain_mm + run_on
    excess = runoff_mm(arriving, retention)
    surface = state[PONDED] + arriving + irrigation_mm
    soaking = min(surface - excess, ground[INTAKE])
    state[0] += soaking
    backed_up = _seep(state, soil)
    state[EVAPORATED] = max(0.0, state[EVAPORATED] - (soaking - backed_up))
    standing = surface - soaking + backed_up
    runoff = max(0.0, standing - ground[STORAGE])
    state[PONDED] = standing - runoff

    evaporation = _evaporate(state, soil, ground, et0_mm, basal_kc, cover_frac)
    transpiration = _take_up(
        state,
        soil,
        ground,
        basal_kc * et0_mm,
        evaporation,
        root_depth_cm,
        depletion_frac,
        out,
    )
    state[TABLE] = _joined_table_cm(state, soil)

    out[RUNOFF_MM] = runoff
    out[DRAINAGE_MM] = drainage
    out[EVAPORATION_MM] = evaporation
    out[TRANSPIRATION_MM] = transpiration
    out[PONDED_MM] = state[PONDED]
    out[RUN_ON_MM] = run_on
    pores = soil[SATURATION, 0] + soil[SATURATION, 1]
    out[AIR_FRAC] = (pores - state[0] - state[1]) / (10.0 * LAYER_BOTTOM_CM[1])
    out[WATER_TABLE_CM] = _shallowest_table_cm(state, soil)
    out[SEED_ZONE_FRAC] = max(
        0.0, (state[0] - soil[WILTING, 0]) / (soil[CAPACITY, 0] - soil[WILTING, 0])
    )
    out[WETNESS_FRAC] = (state[0] + state[1] + state[2]) / (pores + soil[SATURATION, 2])
    wet = out[AIR_FRAC] < ground[AIR_LIMIT] or out[WATER_TABLE_CM] < LAYER_BOTTOM_CM[1]
    out[SATURATED] = 1.0 if wet else 0.0
