"""The soil-water and soil-temperature step written for numpy: all cases at once, day by day.

A twin of ``suitability.soil_water`` and ``suitability.soil_heat`` to time against and to compare
with. Layers are rows, cases are columns, so that every operation runs along memory.
"""

import numpy as np

from suitability import soil_column as at

TOP = np.array(at.LAYER_TOP_CM)[:, None]
THICK = (np.array(at.LAYER_BOTTOM_CM) - np.array(at.LAYER_TOP_CM))[:, None]
MIDDLE = TOP + THICK / 2
BOTTOM = TOP + THICK
FULL = 0.95


def runoff(rain, retention):
    beyond = np.maximum(0.0, rain - 0.2 * retention)
    return beyond * beyond / (beyond + retention)


def water_step(state, soil, ground, rain, et0, basal_kc, cover, root_cm, p0, out):
    """State (9, n), soil (7, 6, n), ground (15, n), out (14, n); weather and cover are numbers."""
    dry, cap, full = soil[at.WILTING], soil[at.CAPACITY], soil[at.SATURATION]
    water, table = state[:6], state[at.TABLE]

    flow = 10.0 * ground[at.CONDUCTANCE] * (ground[at.BASE_CM] - table)
    flow = np.minimum(flow, np.maximum(0.0, water[5] - cap[5]))
    wanted = 10.0 * ground[at.DRAIN_CONDUCTANCE] * np.maximum(0.0, ground[at.DRAIN_CM] - table)
    drained = np.minimum(wanted, np.maximum(0.0, water[4] - cap[4]))
    water[4] -= drained
    water[5] -= flow

    free = np.where(table < at.COLUMN_CM, np.maximum(0.0, water[5] - cap[5]), 0.0)
    height = np.maximum(1.0, table - MIDDLE[:5])
    most = soil[at.RISE_FACTOR, :5] * 1e4 / (height * height)
    room = np.where(table >= BOTTOM[:5], np.minimum(cap[:5] - water[:5], most), 0.0)
    risen = np.zeros_like(free)
    for i in range(5):
        moved = np.maximum(0.0, np.minimum(room[i], free - risen))
        water[i] += moved
        risen += moved
    water[5] -= risen

    now = water[:3].sum(axis=0)
    wet = 2.0 * np.maximum(0.0, now - dry[:3].sum(axis=0)) * ground[at.PER_TOP_AVAILABLE]
    over = np.maximum(0.0, now - cap[:3].sum(axis=0)) * ground[at.PER_TOP_DRAINABLE]
    s1, s2, s3, s4 = ground[:4]
    retention = np.where(
        wet <= 1.0,
        s1 + wet * (s2 - s1),
        s2 + np.minimum(1.0, wet - 1.0) * (s3 - s2) + over * (s4 - s3),
    )
    run_on = ground[at.RUN_ON_RATIO] * runoff(rain, retention)
    arriving = rain + run_on
    surface = state[at.PONDED] + arriving
    soaking = np.minimum(surface - runoff(arriving, retention), ground[at.INTAKE])
    water[0] += soaking
    for i in range(5):
        moved = np.maximum(0.0, water[i] - cap[i]) * soil[at.SEEP_FRAC, i]
        moved = np.minimum(moved, soil[at.SEEP_MOST, i])
        water[i] -= moved
        water[i + 1] += moved
    for i in range(5, 0, -1):
        moved = np.maximum(0.0, water[i] - full[i])
        water[i] -= moved
        water[i - 1] += moved
    backed = np.maximum(0.0, water[0] - full[0])
    water[0] -= backed
    standing = surface - soaking + backed
    out[at.RUNOFF_MM] = np.maximum(0.0, standing - ground[at.STORAGE])
    pond = standing - out[at.RUNOFF_MM]
    lost = np.maximum(0.0, state[at.EVAPORATED] - np.maximum(0.0, soaking - backed))

    bare, kc_max = max(1.0 - cover, 0.01), max(1.2, basal_kc + 0.05)
    from_pond = np.minimum(pond, min(kc_max - basal_kc, bare * kc_max) * et0)
    missing = np.maximum(0.0, cap - water)
    lost = np.where(from_pond > 0.0, 0.0, np.minimum(lost, (missing[0] + missing[1]) / bare))
    tew, rew = ground[at.TOTAL_EVAPORABLE], ground[at.READILY_EVAPORABLE]
    kr = np.minimum(1.0, np.maximum(0.0, (tew - lost) / (tew - rew)))
    wanted = np.minimum(kr * (kc_max - basal_kc), bare * kc_max) * et0 - from_pond
    wanted = np.maximum(0.0, wanted)
    top = np.maximum(0.0, water[0] - 0.5 * dry[0])
    under = np.maximum(0.0, 0.5 * (water[1] - 0.75 * dry[1]))
    from_soil = np.minimum(wanted, top + under)
    from_top = from_soil * (top / np.maximum(top + under, 1e-12))
    water[0] -= from_top
    water[1] -= from_soil - from_top
    lost = np.minimum(lost + from_soil / bare, tew)
    evaporation = from_pond + from_soil

    depth = np.minimum(root_cm, ground[at.ROOT_LIMIT_CM])
    rooted = np.minimum(1.0, np.maximum(0.0, (depth - TOP) / THICK))
    holds = (rooted * (cap - dry)).sum(axis=0)
    depletion = (rooted * np.maximum(0.0, cap - water)).sum(axis=0)
    air = (rooted * (full - water)).sum(axis=0)
    asked = basal_kc * et0
    p = np.minimum(0.8, np.maximum(0.1, p0 + 0.04 * (5.0 - asked - evaporation)))
    ks = np.minimum(
        1.0, np.maximum(0.0, (holds - depletion) / np.maximum((1.0 - p) * holds, 1e-12))
    )
    ks = np.where(holds > 0.0, ks, 1.0)
    needed = 10.0 * depth * ground[at.AIR_LIMIT]
    ka = np.minimum(1.0, np.maximum(0.0, air) / np.maximum(needed, 1e-12))
    ka = np.where(needed > 0.0, ka, 1.0)
    usable = rooted * np.maximum(0.0, water - dry)
    reach = usable.sum(axis=0)
    taken = np.minimum(asked * ks * ka, reach)
    thinning = np.maximum(0.0, 1.0 - TOP / np.maximum(depth, 1.0))
    share = taken / np.maximum((usable * thinning).sum(axis=0), 1e-12)
    given = usable * np.minimum(1.0, share * thinning)
    sum_given = given.sum(axis=0)
    more = np.maximum(0.0, taken - sum_given) / np.maximum(reach - sum_given, 1e-12)
    given += more * (usable - given)
    water -= given

    part = np.maximum(0.0, (water - cap) * soil[at.PER_DRAINABLE])
    within = BOTTOM - THICK * part
    isfull = part >= FULL
    joined = np.where(isfull[0], 0.0, within[0])
    for i in range(1, 6):
        joined = np.where(isfull[i], joined, within[i])
    shallowest = within[5]
    for i in range(5, 0, -1):
        shallowest = np.where(isfull[i], within[i - 1], shallowest)
    shallowest = np.where(isfull[0], 0.0, shallowest)

    state[at.PONDED], state[at.EVAPORATED], state[at.TABLE] = pond - from_pond, lost, joined
    out[at.DRAINAGE_MM] = flow + drained
    out[at.EVAPORATION_MM] = evaporation
    out[at.TRANSPIRATION_MM] = given.sum(axis=0)
    out[at.PONDED_MM] = state[at.PONDED]
    out[at.RUN_ON_MM] = run_on
    out[at.AIR_FRAC] = (full[0] + full[1] - water[0] - water[1]) * (1.0 / 150.0)
    out[at.WATER_TABLE_CM] = shallowest
    out[at.DEPLETION_MM] = depletion
    out[at.WATER_STRESS] = ks
    out[at.AERATION_STRESS] = ka
    out[at.SEED_ZONE_FRAC] = np.maximum(0.0, (water[0] - dry[0]) * ground[at.PER_SEED_AVAILABLE])
    above = water[0] - 0.5 * dry[0] + 0.5 * (water[1] - 0.5 * dry[1])
    out[at.WETNESS_FRAC] = np.minimum(1.0, np.maximum(0.0, above / tew))
    out[at.SATURATED] = (out[at.AIR_FRAC] < ground[at.AIR_LIMIT]) | (shallowest < 15.0)


def heat_step(heat, tmean, solar, longwave, wetness, cover, surface, layers):
    """State (9, n) of ``soil_heat``; the day's radiation is one for all soils of a cell."""
    gain = surface[0] * solar * (1 - surface[1] * wetness) - longwave
    open_to_sky = (1 - cover) / (1 - surface[6])
    sol_air = tmean + gain * (1e6 / 86400) / surface[2] * open_to_sky
    down = sol_air
    n = len(layers)
    for j in range(n):
        down = layers[j, 1] * heat[j + 1] + layers[j, 2] * down
        heat[j + 1] = down
    for j in range(n - 2, -1, -1):
        heat[j + 1] += layers[j, 3] * heat[j + 2]
    sod, soil = 1 / surface[3], layers[0, 0] / 100 / surface[4]
    heat[0] = sol_air + (heat[1] - sol_air) * sod / (sod + soil)
