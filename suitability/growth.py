"""How much stands in the field, how tall and how good, day by day after emergence.

Light caught by the leaves becomes dry matter; cold, drought and lack of air slow it; old stands use
light less well. As the stand grows a falling share of it is leaf, and from that share follow
nitrogen, crude protein and digestibility.
"""

import math

import numpy as np
from numpy.typing import NDArray

from suitability.compiled import compiled
from suitability.crop import Crop

STATE_SIZE = 12
DAYS = 0  # days since emergence [d]
THERMAL = 1  # thermal time since emergence [degC d]
DRY_MATTER = 2  # shoots [kg/ha]
COVER = 3  # fraction of the light caught, which is also ground cover [frac]
HEIGHT = 4  # [m]
STEM = 5  # stem share of the shoots [frac]
NITROGEN_PCT = 6  # of the whole shoots [pct]
NITROGEN = 7  # in the shoots [kg/ha]
PROTEIN_PCT = 8  # crude protein, whole shoots [pct]
ROOT = 9  # depth of rooting [cm]
DIGESTIBLE_PCT = 10  # digestible part of the whole shoots [pct]
LEAF_AREA = 11  # m2 of leaf on m2 of ground

PARAMETERS = (
    "base_c",
    "full_low_c",
    "full_high_c",
    "ceiling_c",
    "start_kg_ha",
    "light_use_g_mj",
    "extinction",
    "leaf_area_m2_kg",
    "leaf_most_frac",
    "leaf_at_1_t_frac",
    "leaf_power",
    "full_vigour_cd",
    "old_cd",
    "old_vigour_frac",
    "height_at_1_t_m",
    "height_power",
    "height_most_m",
    "leaf_nitrogen_pct",
    "stem_nitrogen_pct",
    "leaf_digestible_pct",
    "stem_digestible_pct",
    "root_start_cm",
    "root_growth_cm_d",
    "root_most_cm",
)
BASE_C, FULL_LOW_C, FULL_HIGH_C, CEILING_C, START_KG_HA, LIGHT_USE = 0, 1, 2, 3, 4, 5
EXTINCTION, LEAF_AREA_M2_KG, LEAF_MOST, LEAF_AT_1_T, LEAF_POWER = 6, 7, 8, 9, 10
FULL_VIGOUR_CD, OLD_CD, OLD_VIGOUR = 11, 12, 13
HEIGHT_AT_1_T_M, HEIGHT_POWER, HEIGHT_MOST_M = 14, 15, 16
LEAF_NITROGEN_PCT, STEM_NITROGEN_PCT, LEAF_DIGESTIBLE_PCT, STEM_DIGESTIBLE_PCT = 17, 18, 19, 20
ROOT_START_CM, ROOT_GROWTH_CM_D, ROOT_MOST_CM = 21, 22, 23

_KG_PER_T = 1000.0
_KG_HA_PER_G_M2 = 10.0
_NITROGEN_TO_PROTEIN = 6.25  # crude protein is defined so


def growth_parameters(crop: Crop) -> NDArray[np.float64]:
    """Parameters of the step, in the order of ``PARAMETERS``, from the crop file."""
    return np.array([crop.number(f"growth.{name}") for name in PARAMETERS])


@compiled
def emerge(state: NDArray[np.float64], emerged_frac: float, p: NDArray[np.float64]) -> None:
    """Set the state of a stand on the day it comes up; fewer seedlings start with less."""
    state[:] = 0.0
    state[DRY_MATTER] = p[START_KG_HA] * emerged_frac
    state[ROOT] = p[ROOT_START_CM]
    _describe(state, p)


@compiled
def growth_step(
    state: NDArray[np.float64],
    tmax_c: float,
    tmin_c: float,
    solar_mj_m2_d: float,
    water_stress: float,
    air_stress: float,
    p: NDArray[np.float64],
) -> None:
    """Grow one stand by a day, in place.

    Parameters
    ----------
    state : (STATE_SIZE,) of this stand, begun by ``emerge``.
    tmax_c, tmin_c : air [degC]; solar_mj_m2_d : global radiation [MJ/m2/d].
    water_stress, air_stress : 1 none, 0 growth stands still, for want of water and of air [frac].
    p : of ``growth_parameters``.

    References
    ----------
    Light caught times light use: Monteith (1977), Phil. Trans. R. Soc. B 281:277.
    """
    mean_c = 0.5 * (tmax_c + tmin_c)
    state[DAYS] += 1.0
    state[THERMAL] += max(0.0, min(mean_c, p[FULL_HIGH_C]) - p[BASE_C])
    ease = warmth_frac(mean_c, p) * water_stress * air_stress
    gain_g_m2 = p[LIGHT_USE] * solar_mj_m2_d * state[COVER] * ease * vigour_frac(state[THERMAL], p)
    state[DRY_MATTER] += _KG_HA_PER_G_M2 * gain_g_m2
    deeper_cm = p[ROOT_GROWTH_CM_D] * warmth_frac(mean_c, p) * air_stress
    state[ROOT] = min(p[ROOT_MOST_CM], state[ROOT] + deeper_cm)
    _describe(state, p)


@compiled
def warmth_frac(mean_c: float, p: NDArray[np.float64]) -> float:
    """How far the day's mean temperature lets the crop use light [frac]."""
    if mean_c <= p[BASE_C] or mean_c >= p[CEILING_C]:
        return 0.0
    if mean_c < p[FULL_LOW_C]:
        return float((mean_c - p[BASE_C]) / (p[FULL_LOW_C] - p[BASE_C]))
    if mean_c > p[FULL_HIGH_C]:
        return float((p[CEILING_C] - mean_c) / (p[CEILING_C] - p[FULL_HIGH_C]))
    return 1.0


@compiled
def vigour_frac(thermal_cd: float, p: NDArray[np.float64]) -> float:
    """What age leaves of the use of light: old stands respire more and drop leaf [frac]."""
    if thermal_cd <= p[FULL_VIGOUR_CD]:
        return 1.0
    aged = min(1.0, (thermal_cd - p[FULL_VIGOUR_CD]) / (p[OLD_CD] - p[FULL_VIGOUR_CD]))
    return float(1.0 - (1.0 - p[OLD_VIGOUR]) * aged)


@compiled
def _describe(state: NDArray[np.float64], p: NDArray[np.float64]) -> None:
    """All that follows from the dry matter that stands."""
    tonnes_ha = state[DRY_MATTER] / _KG_PER_T
    leaf = p[LEAF_MOST]
    if tonnes_ha > 0.0:
        leaf = min(leaf, p[LEAF_AT_1_T] * tonnes_ha ** -p[LEAF_POWER])
    leaf_kg_m2 = leaf * state[DRY_MATTER] / (_KG_HA_PER_G_M2 * _KG_PER_T)
    state[LEAF_AREA] = p[LEAF_AREA_M2_KG] * leaf_kg_m2
    state[COVER] = 1.0 - math.exp(-p[EXTINCTION] * state[LEAF_AREA])
    state[HEIGHT] = min(p[HEIGHT_MOST_M], p[HEIGHT_AT_1_T_M] * tonnes_ha ** p[HEIGHT_POWER])
    state[STEM] = 1.0 - leaf
    state[NITROGEN_PCT] = leaf * p[LEAF_NITROGEN_PCT] + (1.0 - leaf) * p[STEM_NITROGEN_PCT]
    state[NITROGEN] = state[DRY_MATTER] * state[NITROGEN_PCT] / 100.0
    state[PROTEIN_PCT] = _NITROGEN_TO_PROTEIN * state[NITROGEN_PCT]
    digestible_pct = leaf * p[LEAF_DIGESTIBLE_PCT] + (1.0 - leaf) * p[STEM_DIGESTIBLE_PCT]
    state[DIGESTIBLE_PCT] = digestible_pct
