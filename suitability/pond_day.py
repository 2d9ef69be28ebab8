"""Water of a tree of ponds from one day to the next: plain scalar steps, compiled."""

import numpy as np
from numpy.typing import NDArray

from suitability.compiled import compiled

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Flags = NDArray[np.bool_]

# flows [m3] over the whole record
INFLOW, RAIN, FED, EVAPORATED, INFILTRATED, LEFT, STORED = 0, 1, 2, 3, 4, 5, 6
FLOWS = 7

_MM_PER_M = 1000.0
_CM_PER_M = 100.0


@compiled
def between(x: float, xs: Floats, ys: Floats) -> float:
    """Linear value of ``ys`` at ``x``, the end values outside; ``xs`` never falls."""
    last = xs.shape[0] - 1
    if x >= xs[last]:
        return float(ys[last])
    if x <= xs[0]:
        return float(ys[0])
    low, high = 0, last
    while high - low > 1:
        middle = (low + high) // 2
        if xs[middle] <= x:
            low = middle
        else:
            high = middle
    span = xs[high] - xs[low]
    if span <= 0.0:
        return float(ys[low])
    return float(ys[low] + (ys[high] - ys[low]) * (x - xs[low]) / span)


@compiled
def covering(pond: int, parent: Ints, active: Flags) -> int:
    """The pond that now covers this one: itself, or what it is joined into."""
    while not active[pond]:
        pond = parent[pond]
    return pond


@compiled
def settle(
    volume: Floats,
    active: Flags,
    parent: Ints,
    sibling: Ints,
    spill_to: Ints,
    volume_m3: Floats,
) -> float:
    """Let what stands above the pour points run on, until all fits; returns what left [m3]."""
    left = 0.0
    last = volume_m3.shape[1] - 1
    for first in range(volume.shape[0]):
        pond = first
        while active[pond] and volume[pond] > volume_m3[pond, last]:
            other = sibling[pond]
            if other >= 0 and active[other] and volume[other] >= volume_m3[other, last]:
                joined = parent[pond]
                volume[joined] = volume[pond] + volume[other]
                volume[pond], volume[other] = 0.0, 0.0
                active[pond], active[other], active[joined] = False, False, True
                pond = joined
                continue
            excess = volume[pond] - volume_m3[pond, last]
            volume[pond] = volume_m3[pond, last]
            if spill_to[pond] < 0:
                left += excess
                break
            pond = covering(spill_to[pond], parent, active)
            volume[pond] += excess
    return left


@compiled
def fall_apart(volume: Floats, active: Flags, first: Ints, second: Ints, volume_m3: Floats) -> None:
    """Part each joined pond that has sunk below where its children meet."""
    last = volume_m3.shape[1] - 1
    for pond in range(volume.shape[0] - 1, -1, -1):  # parents before their children
        if not active[pond] or first[pond] < 0 or volume[pond] >= volume_m3[pond, 0]:
            continue
        a, b = first[pond], second[pond]
        full = volume_m3[a, last] + volume_m3[b, last]
        volume[a] = min(volume[pond] * volume_m3[a, last] / full, volume_m3[a, last])
        volume[b] = volume[pond] - volume[a]
        volume[pond] = 0.0
        active[pond], active[a], active[b] = False, True, True


@compiled
def run_ponds(
    parent: Ints,
    spill_to: Ints,
    level_m: Floats,
    area_m2: Floats,
    volume_m3: Floats,
    catchment_m2: Floats,
    runoff_mm: Floats,
    rain_mm: Floats,
    et0_mm: Floats,
    ksat_mm_d: Floats,
    water_table_cm: Floats,
    table_from_m: Floats,
    free_mm: Floats,
    lost_mm: Floats,
    volume: Floats,
    active: Flags,
    filled_mm: Floats,
    levels: Floats,
    known: Flags,
    flows: Floats,
) -> None:
    """Fill ``levels`` (n_ponds, n_days) and ``known`` (n_days,), and add to ``flows`` (FLOWS,).

    Parameters as ``ponds.pond_days``, all at full shape; ``catchment_m2`` is 0 for ponds made of
    others. ``volume``, ``active`` and ``filled_mm`` (n_ponds,) are those of ``ponds.PondState`` and
    are left as on the last evening. What the soil takes in under a joined pond is the mean of the
    ponds in it, each by its area when full.
    """
    n, last = parent.shape[0], level_m.shape[1] - 1
    first, second = np.full(n, -1, np.int64), np.full(n, -1, np.int64)
    sibling = np.full(n, -1, np.int64)
    for pond in range(n):
        above = parent[pond]
        if above >= 0 and first[above] < 0:
            first[above] = pond
        elif above >= 0:
            second[above] = pond
            sibling[pond], sibling[first[above]] = first[above], pond
    leaf = first < 0
    inflow, catchment, weight = np.zeros(n), np.zeros(n), np.zeros(n)
    sinking, rising, table = np.zeros(n), np.zeros(n), np.zeros(n)
    for day in range(rain_mm.shape[0]):
        known[day] = np.isfinite(rain_mm[day]) and np.isfinite(et0_mm[day])
        for pond in range(n):
            if leaf[pond] and not np.isfinite(runoff_mm[pond, day]):
                known[day] = False
        if known[day]:
            for values in (inflow, catchment, weight, sinking, rising):
                values[:] = 0.0
            table[:] = -np.inf
            # What the ground of each pond without children gives to the water that covers it.
            for pond in range(n):
                if not leaf[pond]:
                    continue
                over = covering(pond, parent, active)
                inflow[over] += runoff_mm[pond, day] / _MM_PER_M * catchment_m2[pond]
                catchment[over] += catchment_m2[pond]
            for pond in range(n):
                if not active[pond]:
                    continue
                area = between(volume[pond], volume_m3[pond], area_m2[pond])
                area = area if volume[pond] > 0.0 else 0.0
                # Under the pond there is no ground to run off from: its rain counts in full.
                dry = max(0.0, catchment[pond] - area)
                share = dry / catchment[pond] if catchment[pond] > 0.0 else 0.0
                arriving, falling = inflow[pond] * share, rain_mm[day] / _MM_PER_M * area
                volume[pond] += arriving + falling
                flows[INFLOW] += arriving
                flows[RAIN] += falling
            flows[LEFT] += settle(volume, active, parent, sibling, spill_to, volume_m3)
            for pond in range(n):
                if not leaf[pond]:
                    continue
                over = covering(pond, parent, active)
                size, rate = area_m2[pond, last], ksat_mm_d[pond] / _MM_PER_M
                water_at = table_from_m[pond] - water_table_cm[pond, day] / _CM_PER_M
                weight[over] += size
                if water_at >= level_m[pond, 0]:
                    rising[over] += size * rate
                    table[over] = max(table[over], water_at)
                else:  # also where there is no table (NaN)
                    room_mm = max(0.0, free_mm[pond, day] - filled_mm[pond])
                    sinks_mm = min(ksat_mm_d[pond], room_mm + lost_mm[pond, day])
                    sinking[over] += size * sinks_mm / _MM_PER_M
                    if volume[over] > 0.0:
                        filled_mm[pond] += max(sinks_mm - lost_mm[pond, day], -filled_mm[pond])
                    else:
                        filled_mm[pond] = max(0.0, filled_mm[pond] - et0_mm[day])
            for pond in range(n):
                if not active[pond]:
                    continue
                area = between(volume[pond], volume_m3[pond], area_m2[pond])
                gone = min(volume[pond], et0_mm[day] / _MM_PER_M * area)
                volume[pond] -= gone
                flows[EVAPORATED] += gone
                gone = min(volume[pond], sinking[pond] / weight[pond] * area)
                volume[pond] -= gone
                flows[INFILTRATED] += gone
                room = between(table[pond], level_m[pond], volume_m3[pond]) - volume[pond]
                if rising[pond] > 0.0 and room > 0.0:
                    wetted = between(table[pond], level_m[pond], area_m2[pond])
                    fed = min(room, rising[pond] / weight[pond] * wetted)
                    volume[pond] += fed
                    flows[FED] += fed
            fall_apart(volume, active, first, second, volume_m3)
        for pond in range(n):
            if leaf[pond]:
                over = covering(pond, parent, active)
                height = between(volume[over], volume_m3[over], level_m[over])
                levels[pond, day] = max(height, level_m[pond, 0])
