"""The column of the daily simulation: its layers, the places in its arrays, water moving in it."""

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
def exchange_below(state: Floats, soil: Floats, ground: Floats) -> float:
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
def rise_from_table(state: Floats, soil: Floats) -> None:
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
def seep(state: Floats, soil: Floats) -> float:
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
def joined_table_cm(state: Floats, soil: Floats) -> float:
    """Depth of the water table that rests on the bottom of the column [cm]."""
    for i in range(LAST, -1, -1):
        full = (state[i] - soil[CAPACITY, i]) / (soil[SATURATION, i] - soil[CAPACITY, i])
        if full < _FULL_FRAC:
            return float(
                LAYER_BOTTOM_CM[i] - max(0.0, full) * (LAYER_BOTTOM_CM[i] - LAYER_TOP_CM[i])
            )
    return 0.0


@compiled
def shallowest_table_cm(state: Floats, soil: Floats) -> float:
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
