"""Does the seed come up? One day of a sown field, and what fails it where it does not.

Seed takes up water once the top 5 cm are moist enough, then needs thermal time to emerge. It stands
still while the soil is too dry or saturated. Four losses thin the stand: slow emergence in cold
soil, drying out after water uptake, saturation, and a crust over the seed. The fractions are of the
seedlings that would come up from the same seed in good conditions.
"""

import numpy as np
from numpy.typing import NDArray

from suitability.compiled import compiled
from suitability.crop import Crop

STATE_SIZE = 13
THERMAL = 0  # thermal time gathered towards emergence [degC d]
DAYS = 1  # days since sowing, the sowing day being 1 [d]
GROWING = 2  # days neither too dry nor saturated to grow [d]
SATURATED = 3  # saturated days while the seed is in the ground [d]
DRY = 4  # days too dry to live on, since water uptake [d]
SLAKED = 5  # 1 once a rain has broken the surface down
DRYING = 6  # days without softening rain since then [d]
POSSIBLE = 7  # thermal time the soil's warmth alone would have given [degC d]
STATUS = 8
CAUSE = 9
EMERGED = 10  # fraction of the seedlings that came up [frac]
PARCHED = 11  # days too dry to grow on [d]
SWOLLEN = 12  # 1 once the seed has taken up water

WAITING, UP, FAILED = 0, 1, 2  # STATUS
NO_CAUSE, COLD, DROUGHT, CRUST, WET = 0, 1, 2, 3, 4  # CAUSE

PARAMETERS = (
    "base_c",
    "optimum_c",
    "ceiling_c",
    "emergence_cd",
    "latest_d",
    "least_emerged_frac",
    "prompt_d",
    "slow_loss_frac",
    "imbibe_moisture_frac",
    "dying_moisture_frac",
    "dry_bearable_d",
    "dry_loss_frac",
    "saturated_air_frac",
    "saturated_loss_frac",
    "saturated_least_frac",
    "crust_rain_mm",
    "crust_soften_mm",
    "crust_hard_d",
    "crust_index_low",
    "crust_index_high",
    "crust_loss_frac",
)
BASE_C, OPTIMUM_C, CEILING_C, EMERGENCE_CD, LATEST_D, LEAST_EMERGED = 0, 1, 2, 3, 4, 5
PROMPT_D, SLOW_LOSS, IMBIBE, DYING, DRY_BEARABLE_D, DRY_LOSS = 6, 7, 8, 9, 10, 11
SATURATED_AIR, SATURATED_LOSS, SATURATED_LEAST = 12, 13, 14
CRUST_RAIN_MM, CRUST_SOFTEN_MM, CRUST_HARD_D = 15, 16, 17
CRUST_INDEX_LOW, CRUST_INDEX_HIGH, CRUST_LOSS = 18, 19, 20


def establishment_parameters(crop: Crop) -> NDArray[np.float64]:
    """Parameters of the step, in the order of ``PARAMETERS``, from the crop file."""
    return np.array([crop.number(f"establishment.{name}") for name in PARAMETERS])


@compiled
def thermal_rate_cd(
    temperature_c: float, base_c: float, optimum_c: float, ceiling_c: float
) -> float:
    """Thermal time of one day [degC d]: rises from base to optimum, falls to 0 at the ceiling."""
    if temperature_c <= base_c or temperature_c >= ceiling_c:
        return 0.0
    if temperature_c <= optimum_c:
        return temperature_c - base_c
    return (optimum_c - base_c) * (ceiling_c - temperature_c) / (ceiling_c - optimum_c)


@compiled
def establishment_step(
    state: NDArray[np.float64],
    soil_temp_seed_c: float,
    seed_moisture_frac: float,
    air_filled_frac: float,
    rain_mm: float,
    crust_index: float,
    p: NDArray[np.float64],
) -> None:
    """Move one sown stand on by a day, in place; nothing changes once it is up or has failed.

    Parameters
    ----------
    state : (STATE_SIZE,) of this stand, zeros on the sowing day before the first call.
    soil_temp_seed_c : daily mean at seed depth [degC].
    seed_moisture_frac : 0-5 cm, 0 at wilting point, 1 at field capacity [frac].
    air_filled_frac : air-filled porosity 0-15 cm [frac of volume].
    rain_mm : rain and irrigation of the day [mm].
    crust_index : FAO index of the surface; NaN where not known: then no crust is counted, and the
        caller says so.
    p : of ``establishment_parameters``.
    """
    if state[STATUS] != WAITING:
        return
    state[DAYS] += 1.0
    _weather_the_surface(state, rain_mm, p)
    rate_cd = thermal_rate_cd(soil_temp_seed_c, p[BASE_C], p[OPTIMUM_C], p[CEILING_C])
    state[POSSIBLE] += rate_cd
    moist = seed_moisture_frac >= p[IMBIBE]
    saturated = air_filled_frac < p[SATURATED_AIR]
    if saturated:
        state[SATURATED] += 1.0
    if not moist:
        state[PARCHED] += 1.0
    if moist:
        state[SWOLLEN] = 1.0
    if state[SWOLLEN] > 0.0 and seed_moisture_frac < p[DYING]:
        state[DRY] += 1.0
    if moist and not saturated:
        state[GROWING] += 1.0
        state[THERMAL] += rate_cd
    if state[THERMAL] >= p[EMERGENCE_CD]:
        _emerge(state, crust_index, p)
    elif state[DAYS] >= p[LATEST_D]:
        _give_up(state, p)


@compiled
def _weather_the_surface(
    state: NDArray[np.float64], rain_mm: float, p: NDArray[np.float64]
) -> None:
    if rain_mm >= p[CRUST_RAIN_MM]:
        state[SLAKED] = 1.0
        state[DRYING] = 0.0
    elif rain_mm >= p[CRUST_SOFTEN_MM]:
        state[DRYING] = 0.0
    elif state[SLAKED] > 0.0:
        state[DRYING] += 1.0


@compiled
def _emerge(state: NDArray[np.float64], crust_index: float, p: NDArray[np.float64]) -> None:
    """Count the seedlings; too few is a failure, laid to the largest loss."""
    cold = min(1.0, p[SLOW_LOSS] * max(0.0, state[GROWING] - p[PROMPT_D]))
    drought = min(1.0, p[DRY_LOSS] * max(0.0, state[DRY] - p[DRY_BEARABLE_D]))
    wet = 1.0 - max(p[SATURATED_LEAST], 1.0 - p[SATURATED_LOSS] * state[SATURATED])
    crust = 0.0
    if crust_index > p[CRUST_INDEX_LOW]:
        span = p[CRUST_INDEX_HIGH] - p[CRUST_INDEX_LOW]
        proneness = min(1.0, (crust_index - p[CRUST_INDEX_LOW]) / span)
        crust = p[CRUST_LOSS] * proneness * min(1.0, state[DRYING] / p[CRUST_HARD_D])
    state[EMERGED] = (1.0 - cold) * (1.0 - drought) * (1.0 - wet) * (1.0 - crust)
    if state[EMERGED] >= p[LEAST_EMERGED]:
        state[STATUS] = UP
        return
    state[STATUS] = FAILED
    most = max(max(cold, drought), max(wet, crust))
    if wet == most:
        state[CAUSE] = WET
    elif drought == most:
        state[CAUSE] = DROUGHT
    elif crust == most:
        state[CAUSE] = CRUST
    else:
        state[CAUSE] = COLD


@compiled
def _give_up(state: NDArray[np.float64], p: NDArray[np.float64]) -> None:
    """Not up in time: cold where warmth alone was too little, else what held it most days."""
    state[STATUS] = FAILED
    if state[POSSIBLE] < p[EMERGENCE_CD]:
        state[CAUSE] = COLD
    elif state[SATURATED] >= state[PARCHED]:
        state[CAUSE] = WET
    else:
        state[CAUSE] = DROUGHT
