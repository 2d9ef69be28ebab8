"""What the place of the ground and its drains change in a soil column."""

import numpy as np
from numpy.typing import NDArray

from suitability.horizon_water import setting
from suitability.profile import THICKNESS_MM, Profiles
from suitability.published import indexed
from suitability.soil_column import (
    AIR_LIMIT,
    BASE_CM,
    CONDUCTANCE,
    DRAIN_CM,
    DRAIN_CONDUCTANCE,
    GROUND_SIZE,
    INTAKE,
    PER_SEED_AVAILABLE,
    PER_TOP_AVAILABLE,
    PER_TOP_DRAINABLE,
    READILY_EVAPORABLE,
    RETENTION_DRY,
    RETENTION_FULL,
    RETENTION_MEAN,
    RETENTION_WET,
    ROOT_LIMIT_CM,
    RUN_ON_RATIO,
    STORAGE,
    TOTAL_EVAPORABLE,
)

Floats = NDArray[np.float64]
MM_PER_IN = 25.4


def retention_mm(curve_number: float) -> float:
    """Retention S of a curve number [mm].

    References
    ----------
    NEH 630 chapter 10: S = 1000 / CN - 10 inches.

    >>> round(retention_mm(80), 1)
    63.5
    """
    return MM_PER_IN * (1000.0 / curve_number - 10.0)


def dry_curve_number(curve_number: float) -> float:
    """Curve number on dry ground (condition I) of one given for mean wetness.

    References
    ----------
    Hawkins et al. (1985), J. Irrig. Drain. Eng. 111:330, fitted to NEH 630 table 10-1.

    >>> [round(dry_curve_number(cn)) for cn in (90, 80, 70, 60, 50)]
    [79, 63, 49, 39, 30]
    """
    return 4.2 * curve_number / (10.0 - 0.058 * curve_number)


def wet_curve_number(curve_number: float) -> float:
    """Curve number on wet ground (condition III) of one given for mean wetness.

    References
    ----------
    As ``dry_curve_number``.

    >>> [round(wet_curve_number(cn)) for cn in (90, 80, 70, 60, 50)]
    [95, 90, 84, 78, 70]
    """
    return 23.0 * curve_number / (10.0 + 0.13 * curve_number)


def ground_row(
    profile: Profiles,
    row: int,
    base_cm: float,
    conductance_per_d: float,
    position: str = "unplaced",
    drained: bool = False,
) -> Floats:
    """``ground`` of ``soil_water.water_step`` for one case, shape (GROUND_SIZE,).

    Parameters
    ----------
    profile, row : the known component.
    base_cm : depth of the water outside the column, negative above the surface [cm].
    conductance_per_d : exchange with it, mm/d per mm of head.
    position : one of ``columns.POSITIONS``; ``tables/ground_positions.csv`` says what it changes.
    drained : drains lie at the depth of ``tables/soil_water.csv`` and the hydrologic group of
        drained ground holds.

    Notes
    -----
    Conductances are damped (``damped_per_d``).
    """
    place = indexed("ground_positions", "position").loc[position]
    curve_number = float((profile.curve_number_drained if drained else profile.curve_number)[row])
    least = least_drainable_frac(profile, row)
    ground = np.empty(GROUND_SIZE)
    ground[RETENTION_DRY] = retention_mm(dry_curve_number(curve_number))
    ground[RETENTION_MEAN] = retention_mm(curve_number)
    ground[RETENTION_WET] = retention_mm(wet_curve_number(curve_number))
    ground[RETENTION_FULL] = retention_mm(setting("saturated_cn"))
    ground[INTAKE] = profile.ksat_mm_d[row, 0]
    ground[TOTAL_EVAPORABLE] = profile.total_evaporable_mm[row]
    ground[READILY_EVAPORABLE] = profile.readily_evaporable_mm[row]
    ground[BASE_CM] = base_cm + float(place["base_shift_cm"])
    ground[CONDUCTANCE] = damped_per_d(conductance_per_d, least)
    ground[DRAIN_CM] = setting("drain_depth_cm")
    ground[DRAIN_CONDUCTANCE] = damped_per_d(setting("drain_per_d"), least) if drained else 0.0
    ground[STORAGE] = float(place["storage_mm"])
    ground[RUN_ON_RATIO] = float(place["run_on_ratio"])
    ground[ROOT_LIMIT_CM] = profile.root_limit_cm[row]
    ground[AIR_LIMIT] = profile.air_limit_frac[row]
    available = (profile.capacity_frac - profile.wilting_frac)[row] * THICKNESS_MM
    drainable = (profile.saturation_frac - profile.capacity_frac)[row] * THICKNESS_MM
    ground[PER_TOP_AVAILABLE] = 1.0 / available[:3].sum()
    ground[PER_TOP_DRAINABLE] = 1.0 / drainable[:3].sum()
    ground[PER_SEED_AVAILABLE] = 1.0 / available[0]
    return ground


def least_drainable_frac(profile: Profiles, row: int) -> float:
    """Least drainable porosity of a column [frac]: a millimetre moves its table the most there."""
    return float((profile.saturation_frac - profile.capacity_frac)[row].min())


def damped_per_d(conductance_per_d: float, drainable_frac: float) -> float:
    """Conductance that never moves the table past its aim in one day: c Sy / (Sy + c)."""
    return conductance_per_d * drainable_frac / (drainable_frac + conductance_per_d)
