"""What leaves a soil column upward: evaporation from the surface and uptake by roots."""

from suitability.compiled import inlined
from suitability.soil_column import (
    AIR_LIMIT,
    CAPACITY,
    READILY_EVAPORABLE,
    ROOT_LIMIT_CM,
    SATURATION,
    TOTAL_EVAPORABLE,
    WILTING,
    Numbers,
    Six,
)

_NOTHING = 1e-12  # keeps a quotient of nothing by nothing at 0


@inlined
def evaporation_reduction(depletion_mm: float, tew_mm: float, rew_mm: float) -> float:
    """Kr of FAO-56 equation 74: 1 while the surface is wet, falling to 0 at TEW.

    >>> evaporation_reduction(5.0, 18.0, 8.0), evaporation_reduction(13.0, 18.0, 8.0)
    (1.0, 0.5)
    """
    return min(1.0, max(0.0, (tew_mm - depletion_mm) / (tew_mm - rew_mm)))


@inlined
def water_stress(depletion_mm: float, taw_mm: float, depletion_frac: float) -> float:
    """Ks of FAO-56 equation 84: 1 while easily available water lasts, 0 when all is used.

    >>> round(float(water_stress(80.0, 110.0, 0.6)), 3)
    0.682
    """
    left = (taw_mm - depletion_mm) / max((1.0 - depletion_frac) * taw_mm, _NOTHING)
    return min(1.0, max(0.0, left)) if taw_mm > 0.0 else 1.0


@inlined
def evaporate(
    water: Six,
    pond_mm: float,
    evaporated_mm: float,
    soil: tuple[Six, ...],
    ground: Numbers,
    et0_mm: float,
    basal_kc: float,
    cover_frac: float,
) -> tuple[Six, float, float, float]:
    """Evaporation from the pond and the top 10 cm (equations 71-77).

    Returns
    -------
    water, pond [mm], De [mm], evaporation [mm].
    """
    bare = max(1.0 - cover_frac, 0.01)
    per_bare = 1.0 / bare
    kc_max = max(1.2, basal_kc + 0.05)
    from_pond = min(pond_mm, min(kc_max - basal_kc, bare * kc_max) * et0_mm)
    missing = max(0.0, soil[CAPACITY][0] - water[0]) + max(0.0, soil[CAPACITY][1] - water[1])
    depletion = min(evaporated_mm, missing * per_bare)  # rewetted from below, it dries anew
    depletion = 0.0 if from_pond > 0.0 else depletion
    kr = evaporation_reduction(depletion, ground[TOTAL_EVAPORABLE], ground[READILY_EVAPORABLE])
    wanted = max(0.0, min(kr * (kc_max - basal_kc), bare * kc_max) * et0_mm - from_pond)
    # Only the upper half of 5-15 cm lies in the evaporating 10 cm; it dries to half of wilting.
    top = max(0.0, water[0] - 0.5 * soil[WILTING][0])
    under = max(0.0, 0.5 * (water[1] - 0.75 * soil[WILTING][1]))
    from_soil = min(wanted, top + under)
    from_top = from_soil * (top / max(top + under, _NOTHING))
    left = (
        water[0] - from_top,
        water[1] - (from_soil - from_top),
        water[2],
        water[3],
        water[4],
        water[5],
    )
    depletion = min(depletion + from_soil * per_bare, ground[TOTAL_EVAPORABLE])
    return left, pond_mm - from_pond, depletion, from_pond + from_soil


@inlined
def wetness_frac(water: Six, soil: tuple[Six, ...], ground: Numbers) -> float:
    """Water in the top 10 cm, 0 dry to 1 all that can evaporate."""
    above = water[0] - 0.5 * soil[WILTING][0] + 0.5 * (water[1] - 0.5 * soil[WILTING][1])
    return min(1.0, max(0.0, above / ground[TOTAL_EVAPORABLE]))


@inlined
def rooted_fracs(depth_cm: float) -> Six:
    """Share of each layer that roots down to ``depth_cm`` reach."""
    return (
        min(1.0, max(0.0, 0.2 * depth_cm)),
        min(1.0, max(0.0, 0.1 * (depth_cm - 5.0))),
        min(1.0, max(0.0, (1.0 / 15.0) * (depth_cm - 15.0))),
        min(1.0, max(0.0, (1.0 / 30.0) * (depth_cm - 30.0))),
        min(1.0, max(0.0, 0.025 * (depth_cm - 60.0))),
        min(1.0, max(0.0, 0.01 * (depth_cm - 100.0))),
    )


@inlined
def _usable_mm(water: Six, soil: tuple[Six, ...], rooted: Six) -> Six:
    """Water above wilting within reach of roots, by layer [mm]."""
    dry = soil[WILTING]
    return (
        rooted[0] * max(0.0, water[0] - dry[0]),
        rooted[1] * max(0.0, water[1] - dry[1]),
        rooted[2] * max(0.0, water[2] - dry[2]),
        rooted[3] * max(0.0, water[3] - dry[3]),
        rooted[4] * max(0.0, water[4] - dry[4]),
        rooted[5] * max(0.0, water[5] - dry[5]),
    )


@inlined
def _sum(a: Six) -> float:
    return a[0] + a[1] + a[2] + a[3] + a[4] + a[5]


@inlined
def _times(a: Six, b: Six) -> float:
    """Sum of products."""
    return a[0] * b[0] + a[1] * b[1] + a[2] * b[2] + a[3] * b[3] + a[4] * b[4] + a[5] * b[5]


@inlined
def take_up(
    water: Six,
    soil: tuple[Six, ...],
    ground: Numbers,
    wanted_mm: float,
    other_mm: float,
    root_depth_cm: float,
    depletion_frac: float,
) -> tuple[Six, float, float, float, float]:
    """Uptake by roots; ``wanted_mm`` is Kcb ET0, ``other_mm`` evaporation, for equation 82's p.

    Returns
    -------
    water, transpiration [mm], depletion of the root zone [mm], Ks, Ka.
    """
    depth_cm = min(root_depth_cm, ground[ROOT_LIMIT_CM])
    rooted = rooted_fracs(depth_cm)
    cap, dry, full = soil[CAPACITY], soil[WILTING], soil[SATURATION]
    holds = _times(rooted, cap) - _times(rooted, dry)
    missing = (
        max(0.0, cap[0] - water[0]),
        max(0.0, cap[1] - water[1]),
        max(0.0, cap[2] - water[2]),
        max(0.0, cap[3] - water[3]),
        max(0.0, cap[4] - water[4]),
        max(0.0, cap[5] - water[5]),
    )
    depletion = _times(rooted, missing)
    air_mm = _times(rooted, full) - _times(rooted, water)
    p = min(0.8, max(0.1, depletion_frac + 0.04 * (5.0 - wanted_mm - other_mm)))
    ks = water_stress(depletion, holds, p)
    needed_mm = 10.0 * depth_cm * ground[AIR_LIMIT]
    ka = min(1.0, max(0.0, air_mm) / max(needed_mm, _NOTHING)) if needed_mm > 0.0 else 1.0
    usable = _usable_mm(water, soil, rooted)
    reach = _sum(usable)
    taken = min(wanted_mm * ks * ka, reach)
    # Roots thin out downward; what an upper layer cannot give is taken from all that is left.
    per_cm = 1.0 / max(depth_cm, 1.0)
    thinning = (
        1.0,
        max(0.0, 1.0 - 5.0 * per_cm),
        max(0.0, 1.0 - 15.0 * per_cm),
        max(0.0, 1.0 - 30.0 * per_cm),
        max(0.0, 1.0 - 60.0 * per_cm),
        max(0.0, 1.0 - 100.0 * per_cm),
    )
    share = taken / max(_times(usable, thinning), _NOTHING)
    g0 = usable[0] * min(1.0, share)
    g1 = usable[1] * min(1.0, share * thinning[1])
    g2 = usable[2] * min(1.0, share * thinning[2])
    g3 = usable[3] * min(1.0, share * thinning[3])
    g4 = usable[4] * min(1.0, share * thinning[4])
    g5 = usable[5] * min(1.0, share * thinning[5])
    given = g0 + g1 + g2 + g3 + g4 + g5
    more = max(0.0, taken - given) / max(reach - given, _NOTHING)
    left = (
        water[0] - g0 - more * (usable[0] - g0),
        water[1] - g1 - more * (usable[1] - g1),
        water[2] - g2 - more * (usable[2] - g2),
        water[3] - g3 - more * (usable[3] - g3),
        water[4] - g4 - more * (usable[4] - g4),
        water[5] - g5 - more * (usable[5] - g5),
    )
    return left, _sum(water) - _sum(left), depletion, ks, ka
