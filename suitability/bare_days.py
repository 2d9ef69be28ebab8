"""What runs off and how deep the table stands, day by day on the empty field of one case."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from suitability.compiled import compiled
from suitability.crop import Crop
from suitability.soil_column import (
    BASE_CM,
    CONDUCTANCE,
    N_LAYERS,
    OUT_SIZE,
    RUNOFF_MM,
    SATURATION,
    STATE_SIZE,
    WATER_TABLE_CM,
    start_state,
)
from suitability.soil_water import water_step

Floats = NDArray[np.float64]
_SETTLE_D = 365
_MM_PER_CM = 10.0
_FALLOW = ("fallow_kc", "fallow_cover_frac", "fallow_root_cm", "depletion_frac")


@dataclass(frozen=True)
class BareDays:
    """Days of an empty field, arrays (n_days,) in the rows of the weather record.

    ``runoff_mm`` [mm/d]; ``water_table_cm``, depth of the shallowest table [cm]; ``free_mm``, what
    the pores down to the bottom of the column could still take [mm]. NaN on days without weather.
    ``lost_mm``: what the ground loses below in a day when it is full [mm/d].
    """

    runoff_mm: Floats
    water_table_cm: Floats
    free_mm: Floats
    lost_mm: Floats


def bare_days(
    rain_mm: Floats, et0_mm: Floats, base_cm: Floats, soil: Floats, ground: Floats, crop: Crop
) -> BareDays:
    """Run the empty field of one case through the record, with thin growth and stubble on it.

    Parameters
    ----------
    rain_mm, et0_mm : (n_days,) of the weather cell [mm/d].
    base_cm : (n_days,) depth of the water outside the column.
    soil, ground : arrays of the case, as ``soil_water.water_step`` takes them; BASE_CM is set by
        the day.
    crop : its file holds how much the growth between crops uses (``water_use``).
    """
    fallow = np.array([crop.number(f"water_use.{name}") for name in _FALLOW])
    runoff, table, free = (np.empty(len(rain_mm)) for _ in range(3))
    _run(rain_mm, et0_mm, base_cm, soil, ground, fallow, runoff, table, free)
    lost = _MM_PER_CM * ground[CONDUCTANCE] * np.maximum(base_cm, 0.0)
    return BareDays(runoff, table, free, lost)


@compiled
def _run(
    rain_mm: Floats,
    et0_mm: Floats,
    base_cm: Floats,
    soil: Floats,
    ground: Floats,
    fallow: Floats,
    runoff_mm: Floats,
    water_table_cm: Floats,
    free_mm: Floats,
) -> None:
    state, out = np.zeros(STATE_SIZE), np.zeros(OUT_SIZE)
    start_state(state, soil)
    n_days = rain_mm.shape[0]
    settle = min(_SETTLE_D, n_days)
    for step in range(settle + n_days):  # a year to settle, then the record
        day = step if step < settle else step - settle
        ground[BASE_CM] = base_cm[day]
        water_step(
            state,
            soil,
            ground,
            rain_mm[day],
            0.0,
            0.0,
            et0_mm[day],
            fallow[0],
            fallow[1],
            fallow[2],
            fallow[3],
            out,
        )
        runoff_mm[day] = out[RUNOFF_MM]
        water_table_cm[day] = out[WATER_TABLE_CM]
        free_mm[day] = out[RUNOFF_MM] * 0.0  # not known where the day is not
        for layer in range(N_LAYERS):
            free_mm[day] += soil[SATURATION, layer] - state[layer]
