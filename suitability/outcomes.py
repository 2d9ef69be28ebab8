"""What became of a stand in one year: it worked, or the first thing that failed it."""

import numpy as np
from numpy.typing import NDArray

from suitability import establishment as est
from suitability import season_end
from suitability.case_run import (
    AGE_STEP_D,
    CAUSE,
    DROWNED_D,
    DRY_MATTER_KG_HA,
    END_CAUSE,
    END_D,
    SOWN_D,
    STAND,
)

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
END_CAUSES = {
    season_end.FREEZE: "freeze",
    season_end.COLD_STOP: "cold",
    season_end.NEXT_CROP: "next crop",
}
_OF_SEED = {est.COLD: COLD_SOIL, est.DROUGHT: DRY_SEEDBED, est.CRUST: CRUST, est.WET: WET_SEEDBED}
MATURE_D = 60  # age at which dry matter is compared between sowings


def outcome(
    result: NDArray[np.float32],
    standing: NDArray[np.float32],
    days_to_close: NDArray[np.float64],
    season_needed_d: float,
    least_dry_matter_kg_ha: float,
) -> dict[str, NDArray[np.float64]]:
    """Outcome of each stand for a gap that closes on a given day.

    Parameters
    ----------
    result : (..., N_RESULT) and standing : (..., n_ages, N_STANDING), as ``case_run`` fills them.
    days_to_close : days from the first day of the sowing week to the close of the gap [d]; shape
        that broadcasts to ``...``. NaN where the week is not of this gap.
    season_needed_d, least_dry_matter_kg_ha : what makes a season long enough.

    Returns
    -------
    Arrays of shape ``...``: ``outcome`` (a code of this module, UNKNOWN where not simulated),
    ``growing_days`` from sowing to the end [d], ``end_cause`` (code of ``season_end``),
    ``dry_matter_60d_kg_ha`` 60 days after sowing or at the end if that comes first, and
    ``dry_matter_end_kg_ha``. Causes stand in the order of time: no stand, drowned, too short, too
    little.
    """
    stand = result[..., STAND].astype(float)
    open_d = days_to_close - result[..., SOWN_D]
    cold_d = np.where(np.isnan(result[..., END_D]), np.inf, result[..., END_D])
    end_d = np.minimum(cold_d, open_d)
    end_cause = np.where(cold_d <= open_d, result[..., END_CAUSE], season_end.NEXT_CROP)
    drowned_d = result[..., DROWNED_D]
    drowned = (drowned_d > 0) & (drowned_d <= end_d)
    alive_d = np.where(drowned, drowned_d, end_d)
    dry_matter = standing[..., DRY_MATTER_KG_HA]
    at_end = np.where(stand > 0, _at_age(dry_matter, alive_d), 0.0)
    at_60 = np.where(stand > 0, _at_age(dry_matter, np.minimum(alive_d, MATURE_D)), 0.0)
    code = np.full(stand.shape, WORKS)
    code[at_end < least_dry_matter_kg_ha] = TOO_LITTLE
    short = end_d < season_needed_d
    code[short] = np.where(end_cause == season_end.NEXT_CROP, NEXT_CROP, EARLY_COLD)[short]
    code[drowned] = DROWNED
    for cause, of_seed in _OF_SEED.items():
        code[(stand == 0) & (result[..., CAUSE] == cause)] = of_seed
    code[np.isnan(stand) | np.isnan(open_d)] = UNKNOWN
    unknown = code == UNKNOWN
    numbers = {
        "growing_days": np.where(stand > 0, end_d, 0.0),
        "end_cause": end_cause.astype(float),
        "dry_matter_60d_kg_ha": np.where(drowned & (drowned_d < MATURE_D), 0.0, at_60),
        "dry_matter_end_kg_ha": np.where(drowned, 0.0, at_end),
    }
    shown = {name: np.where(unknown, np.nan, values) for name, values in numbers.items()}
    return {"outcome": code.astype(float), **shown}


def _at_age(values: NDArray[np.float32], age_d: NDArray[np.float64]) -> NDArray[np.float64]:
    """Value at an age by a straight line between the ages that were kept; 0 before emergence."""
    n_ages = values.shape[-1]
    kept = np.nan_to_num(values, nan=0.0)
    place = np.clip(np.nan_to_num(age_d, nan=0.0) / AGE_STEP_D, 0.0, n_ages)
    below = np.floor(place).astype(int)
    share = place - below
    padded = np.concatenate([np.zeros((*kept.shape[:-1], 1)), kept], axis=-1)
    upper = np.minimum(below + 1, n_ages)
    low = np.take_along_axis(padded, below[..., None], axis=-1)[..., 0]
    high = np.take_along_axis(padded, upper[..., None], axis=-1)[..., 0]
    high = np.where(high == 0.0, low, high)  # nothing is kept after the end
    return np.asarray(low + share * (high - low))
