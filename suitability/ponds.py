"""How long water stands in closed depressions: one bucket each, day by day over all years.

A depression is a bucket with its own curve of level, area and volume. Water comes from its
catchment, as rain on the pond, from the pond that spills into it and from the water table; it goes
by evaporation, into the soil and over the pour point. Where two depressions are full they become
one pond, their parent in the tree, and fall apart again as it sinks. One day runs in this order:
what comes in (by the pond's area of the evening before), what spills, evaporation, soil, what the
table feeds. A pond counts by its level in the evening.

Every cubic metre is accounted for: see ``PondDays``.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from suitability.pond_day import FLOWS, STORED, run_ponds

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
M2_PER_HA = 10_000.0
OUTSIDE = -1


@dataclass(frozen=True)
class PondCurves:
    """Closed depressions as buckets, children before their parents.

    ``parent`` (n_ponds,) is the pond that two full ones make together, ``OUTSIDE`` where none.
    ``spill_to`` (n_ponds,) is the pond without children that takes what spills: its sibling's
    nearest where it has a parent, else the next one downhill, ``OUTSIDE`` where none.
    ``level_m``, ``area_m2`` and ``volume_m3`` (n_ponds, n_levels) rise along each row: from the
    floor, or from the level at which the children meet, up to the pour point. Heights are above
    one datum. The first volume of a parent is the sum of its children's last ones.
    """

    parent: Ints
    spill_to: Ints
    level_m: Floats
    area_m2: Floats
    volume_m3: Floats

    @property
    def is_leaf(self) -> NDArray[np.bool_]:
        """Ponds that are not made of others."""
        leaf = np.ones(len(self.parent), dtype=bool)
        leaf[self.parent[self.parent != OUTSIDE]] = False
        return leaf

    @property
    def brim_m(self) -> Floats:
        """Height up to which water can stand over each pond, joined with its neighbours."""
        brim = self.level_m[:, -1].copy()
        for pond in range(len(brim) - 1, -1, -1):  # a parent stands behind its children
            if self.parent[pond] != OUTSIDE:
                brim[pond] = brim[self.parent[pond]]
        return brim


@dataclass(frozen=True)
class PondState:
    """How the ponds stand on an evening, arrays (n_ponds,); ``pond_days`` takes it on in place.

    ``volume_m3`` of water; ``active`` where it stands for itself, False while it is joined with
    another or apart; ``filled_mm`` what the pores below hold of it [mm].
    """

    volume_m3: Floats
    active: NDArray[np.bool_]
    filled_mm: Floats

    @classmethod
    def dry(cls, curves: PondCurves) -> "PondState":
        """No water in any pond."""
        n_ponds = len(curves.parent)
        return cls(np.zeros(n_ponds), curves.is_leaf, np.zeros(n_ponds))


@dataclass(frozen=True)
class PondDays:
    """Level of the water over each pond by day, and where the water went.

    ``level_m`` (n_ponds, n_days), its floor where it is dry and NaN for a pond made of others.
    ``known`` (n_days,) is False where a number of the weather is missing: the ponds stay as they
    were. Volumes are [m3] over all these days and ponds; from dry ponds on,
    ``inflow + rain + fed = evaporated + infiltrated + left + stored``.
    """

    level_m: NDArray[np.float64]
    known: NDArray[np.bool_]
    inflow_m3: float
    rain_m3: float
    fed_m3: float
    evaporated_m3: float
    infiltrated_m3: float
    left_m3: float
    stored_m3: float


def pond_days(
    curves: PondCurves,
    catchment_ha: ArrayLike,
    runoff_mm: ArrayLike,
    rain_mm: ArrayLike,
    et0_mm: ArrayLike,
    ksat_mm_d: ArrayLike,
    water_table_cm: ArrayLike,
    table_from_m: ArrayLike | None = None,
    free_mm: ArrayLike = np.inf,
    lost_mm: ArrayLike = np.inf,
    state: PondState | None = None,
) -> PondDays:
    """Run all ponds through the record.

    Parameters
    ----------
    curves : the buckets.
    catchment_ha : (n_ponds,) ground that drains straight into each pond without children, its own
        area within [ha]; of other ponds it is not looked at.
    runoff_mm : (n_days,) or (n_ponds, n_days) runoff of the catchment [mm/d].
    rain_mm, et0_mm : (n_days,) of the weather cell [mm/d].
    ksat_mm_d : one number or (n_ponds,), what the soil under the pond takes in [mm/d].
    water_table_cm : (n_days,) or (n_ponds, n_days) depth of the table, NaN where there is none
        [cm]. The soil takes nothing in while the table stands at the floor or above it; a table
        above the water feeds the pond, no faster than ksat.
    table_from_m : (n_ponds,) height of the ground that the depth is counted from [m]; left out,
        the floor of each pond.
    free_mm, lost_mm : one number, (n_days,) or (n_ponds, n_days): what the pores below the floor
        can take in all [mm], and what leaves them below in a day when they are full [mm/d]. Once a
        pond has filled them it sinks no faster than they lose; a dry pond's pores open again as
        fast as grass would dry them.
    state : how they stand before the first day, all dry where left out; changed to how they stand
        after the last, so that a long record can be run in stretches.
    """
    n_ponds = len(curves.parent)
    floor = curves.level_m[:, 0]
    ground = floor if table_from_m is None else np.asarray(table_from_m, dtype=float)
    rain, et0 = np.asarray(rain_mm, dtype=float), np.asarray(et0_mm, dtype=float)
    shape = (n_ponds, len(rain))
    levels = np.full(shape, np.nan)
    flows = np.zeros(FLOWS)
    known = np.zeros(len(rain), dtype=bool)
    stand = PondState.dry(curves) if state is None else state
    run_ponds(
        curves.parent,
        curves.spill_to,
        curves.level_m,
        curves.area_m2,
        curves.volume_m3,
        np.where(curves.is_leaf, np.asarray(catchment_ha, dtype=float) * M2_PER_HA, 0.0),
        np.broadcast_to(np.asarray(runoff_mm, dtype=float), shape),
        rain,
        et0,
        np.broadcast_to(np.asarray(ksat_mm_d, dtype=float), (n_ponds,)),
        np.broadcast_to(np.asarray(water_table_cm, dtype=float), shape),
        np.broadcast_to(ground, (n_ponds,)),
        np.broadcast_to(np.asarray(free_mm, dtype=float), shape),
        np.broadcast_to(np.asarray(lost_mm, dtype=float), shape),
        stand.volume_m3,
        stand.active,
        stand.filled_mm,
        levels,
        known,
        flows,
    )
    flows[STORED] = stand.volume_m3.sum()
    return PondDays(levels, known, *(float(flow) for flow in flows))


def stage_classes(curves: PondCurves, n_classes: int = 16) -> Floats:
    """Heights [m], (n_ponds, n_classes), at which standing water is asked for.

    They run evenly from the floor to the brim; NaN for a pond made of others, whose ground is
    counted with the pond it drains to.
    """
    steps = np.linspace(0.0, 1.0, n_classes)
    floor = curves.level_m[:, 0]
    heights = floor[:, None] + (curves.brim_m - floor)[:, None] * steps
    return np.where(curves.is_leaf[:, None], heights, np.nan)
