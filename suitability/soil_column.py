"""The column of the daily simulation: its layers, the places in its arrays, water moving in it."""

import numpy as np
from numpy.typing import NDArray

from suitability.compiled import compiled, inlined

Floats = NDArray[np.float64]
Six = tuple[float, float, float, float, float, float]  # one number a layer, from the top
Numbers = tuple[float, ...]

LAYER_TOP_CM = (0.0, 5.0, 15.0, 30.0, 60.0, 100.0)
LAYER_BOTTOM_CM = (5.0, 15.0, 30.0, 60.0, 100.0, 200.0)
N_LAYERS = 6
COLUMN_CM = 200.0  # a water table reported at this depth: none within the column

# state, length STATE_SIZE: water of the six layers [mm], then
PONDED, EVAPORATED, TABLE = 6, 7, 8  # pond [mm]; FAO-56 De [mm]; table joined to the bottom [cm]
STATE_SIZE = 9

# soil, shape (SOIL_ROWS, N_LAYERS)
WILTING, CAPACITY, SATURATION = 0, 1, 2  # [mm]
SEEP_FRAC, SEEP_MOST = 3, 4  # share of the free water that leaves in a day; most [mm/d]
RISE_FACTOR = 5  # rise [mm/d] at 1 m above a water table; it falls with the square of the height
PER_DRAINABLE = 6  # 1 / (saturation - capacity) [1/mm]
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
PER_TOP_AVAILABLE, PER_TOP_DRAINABLE = 15, 16  # of 0-30 cm: 1 / (capacity - wilting) and so on
PER_SEED_AVAILABLE = 17  # of 0-5 cm: 1 / (capacity - wilting) [1/mm]
GROUND_SIZE = 18

# out, length OUT_SIZE
RUNOFF_MM, DRAINAGE_MM, EVAPORATION_MM, TRANSPIRATION_MM, PONDED_MM, RUN_ON_MM = 0, 1, 2, 3, 4, 5
AIR_FRAC = 6  # air-filled porosity of 0-15 cm
WATER_TABLE_CM = 7  # top of the shallowest saturated ground, perched or not
DEPLETION_MM = 8  # water missing in the root zone against field capacity
WATER_STRESS, AERATION_STRESS = 9, 10  # Ks and Ka, 1 none to 0 full
SEED_ZONE_FRAC = 11  # 0-5 cm: 0 at wilting point, 1 at field capacity, may be more
WETNESS_FRAC = 12  # 0-10 cm: 0 dry to 1 all that can evaporate (FAO-56 TEW)
SATURATED = 13  # 1 where 0-15 cm lack air or the table stands within 15 cm, else 0
OUT_SIZE = 14

_FULL_FRAC = 0.95  # a layer this full of free water counts as saturated


@inlined
def exchange_below(
    water: Six, table_cm: float, soil: tuple[Six, ...], ground: Numbers
) -> tuple[Six, float]:
    """Outflow [mm] to the ground outside and through drains; negative where water comes in."""
    flow = 10.0 * ground[CONDUCTANCE] * (ground[BASE_CM] - table_cm)
    flow = min(flow, max(0.0, water[5] - soil[CAPACITY][5]))
    wanted = 10.0 * ground[DRAIN_CONDUCTANCE] * max(0.0, ground[DRAIN_CM] - table_cm)
    drained = min(wanted, max(0.0, water[4] - soil[CAPACITY][4]))
    left = (water[0], water[1], water[2], water[3], water[4] - drained, water[5] - flow)
    return left, flow + drained


@inlined
def _risen(
    water: float, capacity: float, factor: float, middle_cm: float, table_cm: float, free_mm: float
) -> float:
    """What climbs from the table into one layer above it, of ``free_mm`` that can [mm]."""
    height_cm = max(1.0, table_cm - middle_cm)
    most = factor * (100.0 * 100.0) / (height_cm * height_cm)
    return max(0.0, min(capacity - water, min(most, free_mm)))


@inlined
def rise_from_table(water: Six, table_cm: float, soil: tuple[Six, ...]) -> Six:
    """Move water from below the table into drier layers above it, as far as it can climb.

    What passes a height on its way up counts against what that height lets through, so that each
    layer takes its own share of what is left.
    """
    free = max(0.0, water[5] - soil[CAPACITY][5]) if table_cm < COLUMN_CM else 0.0
    cap, factor = soil[CAPACITY], soil[RISE_FACTOR]
    # A layer whose bottom lies under the table takes no part.
    reach = free if table_cm >= 5.0 else 0.0
    r0 = _risen(water[0], cap[0], factor[0], 2.5, table_cm, reach)
    reach = free - r0 if table_cm >= 15.0 else 0.0
    r1 = _risen(water[1], cap[1], factor[1], 10.0, table_cm, reach)
    reach = free - r0 - r1 if table_cm >= 30.0 else 0.0
    r2 = _risen(water[2], cap[2], factor[2], 22.5, table_cm, reach)
    reach = free - r0 - r1 - r2 if table_cm >= 60.0 else 0.0
    r3 = _risen(water[3], cap[3], factor[3], 45.0, table_cm, reach)
    reach = free - r0 - r1 - r2 - r3 if table_cm >= 100.0 else 0.0
    r4 = _risen(water[4], cap[4], factor[4], 80.0, table_cm, reach)
    return (
        water[0] + r0,
        water[1] + r1,
        water[2] + r2,
        water[3] + r3,
        water[4] + r4,
        water[5] - (r0 + r1 + r2 + r3 + r4),
    )


@inlined
def _passed_down(water: float, capacity: float, seep_frac: float, most_mm: float) -> float:
    """Free water of a layer that seeps into the next one in a day [mm]."""
    return min(max(0.0, water - capacity) * seep_frac, most_mm)


@inlined
def seep(water: Six, soaking_mm: float, soil: tuple[Six, ...]) -> tuple[Six, float]:
    """Water soaks in and moves down; what finds no room backs up, out on top at last [mm]."""
    cap, frac, most = soil[CAPACITY], soil[SEEP_FRAC], soil[SEEP_MOST]
    w0 = water[0] + soaking_mm
    down = _passed_down(w0, cap[0], frac[0], most[0])
    w0, w1 = w0 - down, water[1] + down
    down = _passed_down(w1, cap[1], frac[1], most[1])
    w1, w2 = w1 - down, water[2] + down
    down = _passed_down(w2, cap[2], frac[2], most[2])
    w2, w3 = w2 - down, water[3] + down
    down = _passed_down(w3, cap[3], frac[3], most[3])
    w3, w4 = w3 - down, water[4] + down
    down = _passed_down(w4, cap[4], frac[4], most[4])
    w4, w5 = w4 - down, water[5] + down
    full = soil[SATURATION]
    over = max(0.0, w5 - full[5])
    w5, w4 = w5 - over, w4 + over
    over = max(0.0, w4 - full[4])
    w4, w3 = w4 - over, w3 + over
    over = max(0.0, w3 - full[3])
    w3, w2 = w3 - over, w2 + over
    over = max(0.0, w2 - full[2])
    w2, w1 = w2 - over, w1 + over
    over = max(0.0, w1 - full[1])
    w1, w0 = w1 - over, w0 + over
    over = max(0.0, w0 - full[0])
    return (w0 - over, w1, w2, w3, w4, w5), over


@inlined
def water_tables_cm(water: Six, soil: tuple[Six, ...]) -> tuple[float, float]:
    """Depth of the table that rests on the bottom, and of the shallowest one, perched or not."""
    cap, per = soil[CAPACITY], soil[PER_DRAINABLE]
    f0 = max(0.0, (water[0] - cap[0]) * per[0])
    f1 = max(0.0, (water[1] - cap[1]) * per[1])
    f2 = max(0.0, (water[2] - cap[2]) * per[2])
    f3 = max(0.0, (water[3] - cap[3]) * per[3])
    f4 = max(0.0, (water[4] - cap[4]) * per[4])
    f5 = max(0.0, (water[5] - cap[5]) * per[5])
    # In a layer that is not full, free water stands on the bottom of it.
    t0, t1, t2 = 5.0 - 5.0 * f0, 15.0 - 10.0 * f1, 30.0 - 15.0 * f2
    t3, t4, t5 = 60.0 - 30.0 * f3, 100.0 - 40.0 * f4, 200.0 - 100.0 * f5
    joined = t0 if f0 < _FULL_FRAC else 0.0
    joined = t1 if f1 < _FULL_FRAC else joined
    joined = t2 if f2 < _FULL_FRAC else joined
    joined = t3 if f3 < _FULL_FRAC else joined
    joined = t4 if f4 < _FULL_FRAC else joined
    joined = t5 if f5 < _FULL_FRAC else joined
    shallowest = t4 if f5 >= _FULL_FRAC else t5
    shallowest = t3 if f4 >= _FULL_FRAC else shallowest
    shallowest = t2 if f3 >= _FULL_FRAC else shallowest
    shallowest = t1 if f2 >= _FULL_FRAC else shallowest
    shallowest = t0 if f1 >= _FULL_FRAC else shallowest
    shallowest = 0.0 if f0 >= _FULL_FRAC else shallowest
    return joined, shallowest


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
