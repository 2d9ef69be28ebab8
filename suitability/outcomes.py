"""What became of a stand in one year: it worked, or the first thing that failed it."""

import numpy as np
from numpy.typing import NDArray

from suitability import establishment as est
from suitability import season_end
from suitability.compiled import compiled, inlined
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
MATURE_D = 60  # age at which dry matter is compared between sowings


_NUMBERS = (
    "end_cause",
    "growing_days",
    "dry_matter_60d_kg_ha",
    "dry_matter_end_kg_ha",
    "emerged_d",
    "end_d",
)


def outcome(
    result: Results,
    standing: Results,
    case: NDArray[np.int64],
    days_to_close: Floats,
    season_needed_d: float,
    least_dry_matter_kg_ha: float,
) -> dict[str, Results]:
    """Outcome of the stands of some cases, each for a gap that closes on a given day.

    Parameters
    ----------
    result : (case, year, week, N_RESULT) and standing : (case, year, week, age, N_STANDING), as
        ``engine.simulate`` gives them. case : (pair,) rows of them, one for each case and gap.
    days_to_close : (pair, week) days from the first day of the sowing week to the close of the gap
        [d]; NaN where the week is not of this gap.
    season_needed_d, least_dry_matter_kg_ha : what makes a season long enough.

    Returns
    -------
    Arrays (pair, year, week): ``outcome`` (a code of this module); ``end_cause`` (END_CAUSES);
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
    shape = (len(case), *result.shape[1:3])
    code = np.full(shape, UNKNOWN, dtype=np.float32)
    numbers = np.full((len(_NUMBERS), *shape), np.nan, dtype=np.float32)
    limits = season_needed_d, least_dry_matter_kg_ha
    _fill(result, standing, case, days_to_close, *limits, code, numbers)
    return {"outcome": code, **dict(zip(_NUMBERS, numbers, strict=True))}


@compiled
def _fill(
    result: Results,
    standing: Results,
    case: NDArray[np.int64],
    days_to_close: Floats,
    season_needed_d: float,
    least_dry_matter_kg_ha: float,
    code: Results,
    numbers: Results,
) -> None:
    """Outcomes of the pairs of which the weather is known; ``numbers`` in their order."""
    for pair in range(len(case)):
        for y in range(result.shape[1]):
            for w in range(result.shape[2]):
                of_run, stood = result[case[pair], y, w], standing[case[pair], y, w]
                open_d = days_to_close[pair, w] - of_run[SOWN_D]
                followed_d = min(open_d, float(stood.shape[0] * AGE_STEP_D))
                if np.isnan(open_d) or not of_run[KNOWN_D] >= followed_d:
                    continue
                cold_d = np.inf if np.isnan(of_run[END_D]) else float(of_run[END_D])
                end_d = min(cold_d, followed_d)
                if cold_d <= followed_d:
                    ended_by = float(of_run[END_CAUSE])
                elif followed_d == open_d:
                    ended_by = float(season_end.NEXT_CROP)
                else:
                    ended_by = float(season_end.NOT_ENDED)
                drowned_d = float(of_run[DROWNED_D])
                drowned = 0 < drowned_d <= end_d
                alive_d = drowned_d if drowned else end_d
                # Not known where a hole in the weather after the gap cut the run.
                stand = of_run[STAND] != 0 and of_run[EMERGED_D] <= open_d
                at_end = _at_age(of_run, stood, alive_d) if stand else 0.0
                at_60 = _at_age(of_run, stood, min(alive_d, MATURE_D)) if stand else 0.0
                seed = _of_seed(of_run[CAUSE]) if of_run[FAILED_D] <= open_d else WORKS
                if seed != WORKS:
                    code[pair, y, w] = seed
                elif drowned:
                    code[pair, y, w] = DROWNED
                elif end_d < season_needed_d:
                    code[pair, y, w] = NEXT_CROP if ended_by == season_end.NEXT_CROP else EARLY_COLD
                else:
                    code[pair, y, w] = TOO_LITTLE if at_end < least_dry_matter_kg_ha else WORKS
                here = numbers[:, pair, y, w]
                here[0] = season_end.NOT_ENDED
                here[1] = 0.0
                here[2] = 0.0 if drowned and drowned_d <= MATURE_D else at_60
                here[3] = 0.0 if drowned else at_end
                if stand:
                    since_week_d = of_run[SOWN_D] - 1  # the sowing day is day 1 of the stand
                    here[0] = END_DROWNED if drowned else ended_by
                    here[1] = alive_d
                    here[4] = of_run[EMERGED_D] + since_week_d
                    here[5] = alive_d + since_week_d


@inlined
def _of_seed(cause: float) -> int:
    """Outcome of a seed that came to nothing by this cause; WORKS where it is none of these."""
    if cause == est.COLD:
        return COLD_SOIL
    if cause == est.DROUGHT:
        return DRY_SEEDBED
    if cause == est.CRUST:
        return CRUST
    return WET_SEEDBED if cause == est.WET else WORKS


@inlined
def _at_age(of_run: Results, stood: Results, age_d: float) -> float:
    """Dry matter [kg/ha] at an age, by a straight line between the ages kept.

    Before the first age kept it rises from 0 at the age before; the last point is where the run
    stopped, and later ages have what stood then.
    """
    last_d = 0.0 if np.isnan(of_run[LAST_D]) else float(of_run[LAST_D])
    age = min(max(age_d, 0.0), last_d)
    below = min(int(age // AGE_STEP_D), stood.shape[0])
    low_d = below * AGE_STEP_D
    low = _kept(stood, below)
    if low_d + AGE_STEP_D <= last_d and below < stood.shape[0]:
        high_d, high = float(low_d + AGE_STEP_D), _kept(stood, below + 1)
    else:
        last = of_run[LAST_DRY_MATTER_KG_HA]
        high_d, high = last_d, 0.0 if np.isnan(last) else float(last)
    return float(low + (age - low_d) / max(high_d - low_d, 1e-9) * (high - low))


@inlined
def _kept(stood: Results, step: int) -> float:
    """Dry matter at a kept age [kg/ha], the 0th being the sowing; 0 where nothing stood."""
    value = stood[step - 1, DRY_MATTER_KG_HA] if step > 0 else 0.0
    return 0.0 if np.isnan(value) else float(value)
