"""How long it stands too wet after sowing, and whether that drowns the crop: counted day by day."""

import numpy as np
from numpy.typing import ArrayLike, NDArray

from suitability.compiled import compiled
from suitability.crop import Crop

STATE_SIZE = 7
RUN = 0  # saturated days on end up to today [d]
LONGEST_EARLY = 1  # longest run while the stand is young [d]
LONGEST_LATER = 2  # longest run reached after that [d]
WET_DAYS = 3  # all saturated days [d]
SEW30 = 4  # sum of water table above 30 cm [cm d]
DROWNED_DAY = 5  # day after sowing on which the run passed what the crop bears; 0 never
DAYS = 6  # days since sowing, the sowing day being 1 [d]

PARAMETERS = (
    "saturated_air_frac",
    "saturated_table_cm",
    "warm_enough_c",
    "run_good_d",
    "run_fair_d",
    "run_poor_d",
    "early_d",
    "relaxed_after_d",
    "relaxed_by_d",
)
SATURATED_AIR, SATURATED_TABLE_CM, WARM_ENOUGH_C = 0, 1, 2
RUN_GOOD_D, RUN_FAIR_D, RUN_POOR_D = 3, 4, 5
EARLY_D, RELAXED_AFTER_D, RELAXED_BY_D = 6, 7, 8

_SEW_DEPTH_CM = 30.0  # the 30 of SEW30


def waterlogging_parameters(crop: Crop) -> NDArray[np.float64]:
    """Parameters of the step, in the order of ``PARAMETERS``, from the crop file."""
    return np.array([crop.number(f"wet_runs.{name}") for name in PARAMETERS])


def sew30_cm_d(water_table_cm: ArrayLike) -> float:
    """Sum of water table above 30 cm depth [cm d], of daily depths; days without a table count 0.

    References
    ----------
    Sieben (1964), as recalled: the sum over days of max(0, 30 - depth in cm).

    >>> sew30_cm_d([10, 20, 25, 30, 45, 60, 28])
    37.0
    """
    depth_cm = np.asarray(water_table_cm, dtype=float)
    return float(np.nansum(np.maximum(0.0, _SEW_DEPTH_CM - depth_cm)))


@compiled
def is_saturated(
    air_filled_frac: float, water_table_cm: float, soil_temp_c: float, p: NDArray[np.float64]
) -> bool:
    """Too little air for roots, in soil warm enough for that to harm; a NaN table is a deep one."""
    wet = air_filled_frac < p[SATURATED_AIR] or water_table_cm < p[SATURATED_TABLE_CM]
    return bool(wet and soil_temp_c >= p[WARM_ENOUGH_C])


@compiled
def waterlogging_step(
    state: NDArray[np.float64],
    air_filled_frac: float,
    water_table_cm: float,
    soil_temp_c: float,
    p: NDArray[np.float64],
) -> None:
    """Count one day after sowing, in place.

    Parameters
    ----------
    state : (STATE_SIZE,) of this stand, zeros on the sowing day before the first call.
    air_filled_frac : air-filled porosity 0-15 cm [frac]; water_table_cm : depth below the surface
        [cm], NaN where there is none; soil_temp_c : daily mean of the top 15 cm [degC].
    p : of ``waterlogging_parameters``.
    """
    state[DAYS] += 1.0
    if water_table_cm < _SEW_DEPTH_CM:
        state[SEW30] += _SEW_DEPTH_CM - water_table_cm
    if not is_saturated(air_filled_frac, water_table_cm, soil_temp_c, p):
        state[RUN] = 0.0
        return
    state[RUN] += 1.0
    state[WET_DAYS] += 1.0
    longest = LONGEST_EARLY if state[DAYS] <= p[EARLY_D] else LONGEST_LATER
    state[longest] = max(state[longest], state[RUN])
    if state[DROWNED_DAY] == 0.0 and state[RUN] > bearable_run_d(state[DAYS], p):
        state[DROWNED_DAY] = state[DAYS]


@compiled
def bearable_run_d(days_after_sowing_d: float, p: NDArray[np.float64]) -> float:
    """Longest run of saturated days that a stand of this age survives [d]."""
    older = days_after_sowing_d > p[RELAXED_AFTER_D]
    return float(p[RUN_POOR_D] + (p[RELAXED_BY_D] if older else 0.0))


@compiled
def run_class(run_d: float, days_after_sowing_d: float, p: NDArray[np.float64]) -> int:
    """Class of a run of saturated days: 0 is S1, 1 S2, 2 S3, 3 N."""
    borne_d = run_d - (p[RELAXED_BY_D] if days_after_sowing_d > p[RELAXED_AFTER_D] else 0.0)
    if borne_d <= p[RUN_GOOD_D]:
        return 0
    if borne_d <= p[RUN_FAIR_D]:
        return 1
    return 2 if borne_d <= p[RUN_POOR_D] else 3
