"""What leaves a soil column upward: evaporation from the surface and uptake by roots."""

import numpy as np
from numpy.typing import NDArray

from suitability.compiled import compiled
from suitability.soil_column import (
    AERATION_STRESS,
    AIR_LIMIT,
    CAPACITY,
    DEPLETION_MM,
    EVAPORATED,
    LAYER_BOTTOM_CM,
    LAYER_TOP_CM,
    N_LAYERS,
    PONDED,
    READILY_EVAPORABLE,
    ROOT_LIMIT_CM,
    SATURATION,
    TOTAL_EVAPORABLE,
    WATER_STRESS,
    WILTING,
)

Floats = NDArray[np.float64]


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
def evaporate(
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
def take_up(
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
