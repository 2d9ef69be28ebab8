"""What ends the season first: a killing freeze, the cold that stops growth, or the next crop."""

import numpy as np
from numpy.typing import NDArray

from suitability.compiled import compiled
from suitability.crop import Crop

STATE_SIZE = 3
COLD_RUN = 0  # days on end too cold to grow [d]
CAUSE = 1  # what ended the season
END_DAY = 2  # day of the count on which it ended; 0 while it lasts
NOT_ENDED, FREEZE, COLD_STOP, NEXT_CROP = 0, 1, 2, 3  # CAUSE

PARAMETERS = ("killing_freeze_c", "growth_stop_c", "growth_stop_run_d")
KILLING_FREEZE_C, GROWTH_STOP_C, GROWTH_STOP_RUN_D = 0, 1, 2


def season_end_parameters(crop: Crop) -> NDArray[np.float64]:
    """Parameters of the step, in the order of ``PARAMETERS``, from the crop file."""
    return np.array([crop.number(f"season_end.{name}") for name in PARAMETERS])


@compiled
def season_end_step(
    state: NDArray[np.float64],
    day: float,
    tmax_c: float,
    tmin_c: float,
    gap_closes: bool,
    p: NDArray[np.float64],
) -> None:
    """Look at one day of a standing crop, in place; nothing changes once the season has ended.

    Parameters
    ----------
    state : (STATE_SIZE,) of this stand, zeros before the first call.
    day : number of the day, in any count that does not begin at 0, such as days since sowing.
    tmax_c, tmin_c : air [degC]; gap_closes : the gap closes, or the next crop is sown, on this day.
    p : of ``season_end_parameters``.
    """
    if state[CAUSE] != NOT_ENDED:
        return
    growing = 0.5 * (tmax_c + tmin_c) >= p[GROWTH_STOP_C]
    state[COLD_RUN] = 0.0 if growing else state[COLD_RUN] + 1.0
    if tmin_c <= p[KILLING_FREEZE_C]:
        state[CAUSE] = FREEZE
    elif state[COLD_RUN] >= p[GROWTH_STOP_RUN_D]:
        state[CAUSE] = COLD_STOP
    elif gap_closes:
        state[CAUSE] = NEXT_CROP
    if state[CAUSE] != NOT_ENDED:
        state[END_DAY] = day
