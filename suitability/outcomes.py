"""What became of a stand in one year: it worked, or the first thing that failed it."""

import numpy as np
from numpy.typing import NDArray

from suitability import establishment as est
from suitability import season_end
from suitability.stand_run import (
    AGE_STEP_D,
    CAUSE,
    DROWNED_D,
    DRY_MATTER_KG_HA,
    EMERGED_D,
    END_CAUSE,
    END_D,
    FAILED_D,
    KNOWN_D,
    LAST_D,
    LAST_DRY_MATTER_KG_HA,
    SOWN_D,
    STAND,
)

Floats = NDArray[np.float64]
Results = NDArray[np.float32]

WORKS, COLD_SOIL, DRY_SEEDBED, CRUST, WET_SEEDBED, DROWNED = 0, 1, 2, 3, 4, 5
EARLY_COLD, NEXT_CROP, TOO_LITTLE = 6, 7, 8
UNKNOWN = -1
N_OUTCOMES = 9
WHY_NOT = (
    "",
    "cold soil",
    "dry seedbed",
    "crust",
    "wet seedbed",
    "drowned",
    "early cold",
    "next crop",
    "too little growth",
)
END_DROWNED = 4  # beside the codes of ``season_end``, of which 0 is: no stand, or followed no more
END_CAUSES = {
    season_end.NOT_ENDED: "",
    season_end.FREEZE: "freeze",
    season_end.COLD_STOP: "cold",
    season_end.NEXT_CROP: "next crop",
    END_DROWNED: "drowned",
}
N_END_CAUSES = 5
_OF_SEED = {est.COLD: COLD_SOIL, est.DROUGHT: DRY_SEEDBED, est.CRUST: CRUST, est.WET: WET_SEEDBED}
MATURE_D = 60  # age at which dry matter is compared between sowings


def outcome(
    result: Results,
    standing: Results,
    days_to_close: Floats,
    season_needed_d: float,
    least_dry_matter_kg_ha: float,
) -> dict[str, Floats]:
    """Outcome of each stand for a gap that closes on a given day.

    Parameters
    ----------
    result : (..., N_RESULT) and standing : (..., n_ages, N_STANDING), as ``stand_run`` fills them.
    days_to_close : days from the first day of the sowing week to the close of the gap [d]; shape
        that broadcasts to ``...``. NaN where the week is not of this gap.
    season_needed_d, least_dry_matter_kg_ha : what makes a season long enough.

    Returns
    -------
    Arrays of shape ``...``: ``outcome`` (a code of this module); ``end_cause`` (END_CAUSES);
    ``growing_days`` from sowing to the end, 0 without a stand [d]; ``emerged_d`` and ``end_d``,
    the days on which a stand came up and ended, counted from the first day of the sowing week, the
    0th (NaN without a stand); ``dry_matter_60d_kg_ha`` 60 days after sowing or at the end if that
    comes first, and ``dry_matter_end_kg_ha``.

    Notes
    -----
    Causes stand in the order of time: no stand, drowned, too short, too little. The outcome is
    UNKNOWN, and all else NaN, where the weather has a hole before the gap closes, whatever became
    of the stand until then: to count failures of such years but not successes would mislead.
    """
    open_d = days_to_close - result[..., SOWN_D]
    followed_d = np.minimum(open_d, standing.shape[-2] * AGE_STEP_D)
    unknown = ~(result[..., KNOWN_D] >= followed_d)
    stand = (result[..., STAND] > 0) & (result[..., EMERGED_D] <= open_d)
    cold_d = np.where(np.isnan(result[..., END_D]), np.inf, result[..., END_D])
    end_d = np.minimum(cold_d, followed_d)
    drowned_d = result[..., DROWNED_D]
    drowned = (drowned_d > 0) & (drowned_d <= end_d)
    closed = np.where(followed_d == open_d, season_end.NEXT_CROP, season_end.NOT_ENDED)
    end_cause = np.where(cold_d <= followed_d, result[..., END_CAUSE], closed)
    alive_d = np.where(drowned, drowned_d, end_d)
    at_end = np.where(stand, _at_age(result, standing, alive_d), 0.0)
    at_60 = np.where(stand, _at_age(result, standing, np.minimum(alive_d, MATURE_D)), 0.0)

    code = np.full(open_d.shape, WORKS)
    code[at_end < least_dry_matter_kg_ha] = TOO_LITTLE
    short = end_d < season_needed_d
    code[short] = np.where(end_cause == season_end.NEXT_CROP, NEXT_CROP, EARLY_COLD)[short]
    code[drowned] = DROWNED
    for cause, of_seed in _OF_SEED.items():
        code[(result[..., CAUSE] == cause) & (result[..., FAILED_D] <= open_d)] = of_seed
    code[unknown] = UNKNOWN

    since_week = result[..., SOWN_D] - 1  # the sowing day is day 1 of the stand
    up_d = np.where(stand, result[..., EMERGED_D] + since_week, np.nan)
    over_d = np.where(stand, alive_d + since_week, np.nan)
    ended_by = np.where(drowned, END_DROWNED, end_cause)
    numbers = {
        "end_cause": np.where(stand, ended_by, season_end.NOT_ENDED),
        "growing_days": np.where(stand, alive_d, 0.0),
        "emerged_d": up_d,
        "end_d": over_d,
        "dry_matter_60d_kg_ha": np.where(drowned & (drowned_d <= MATURE_D), 0.0, at_60),
        "dry_matter_end_kg_ha": np.where(drowned, 0.0, at_end),
    }
    shown = {n: np.where(unknown, np.nan, v).astype(float) for n, v in numbers.items()}
    return {"outcome": code.astype(float), **shown}


def _at_age(result: Results, standing: Results, age_d: Floats) -> Floats:
    """Dry matter [kg/ha] at an age, by a straight line between the ages kept.

    Before the first age kept it rises from 0 at the age before; the last point is where the run
    stopped, and later ages have what stood then.
    """
    n_ages = standing.shape[-2]

    def kept(step: NDArray[np.int64]) -> Floats:
        at = np.maximum(step - 1, 0)[..., None]
        values = np.take_along_axis(standing[..., DRY_MATTER_KG_HA], at, axis=-1)[..., 0]
        return np.where(step > 0, np.nan_to_num(values, nan=0.0), 0.0).astype(float)

    last_d = np.nan_to_num(result[..., LAST_D], nan=0.0)
    last = np.nan_to_num(result[..., LAST_DRY_MATTER_KG_HA], nan=0.0)
    age = np.clip(np.nan_to_num(age_d, nan=0.0), 0.0, last_d)
    below = np.minimum(age // AGE_STEP_D, n_ages).astype(int)
    low_d = below * AGE_STEP_D
    whole = (low_d + AGE_STEP_D <= last_d) & (below < n_ages)
    low = kept(below)
    high = np.where(whole, kept(np.where(whole, below + 1, below)), last)
    high_d = np.where(whole, low_d + AGE_STEP_D, last_d)
    share = (age - low_d) / np.maximum(high_d - low_d, 1e-9)
    return np.asarray(low + share * (high - low))
