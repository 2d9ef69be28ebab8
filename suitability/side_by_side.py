"""Several columns side by side: the same day step, with instructions that work on four at once.

Arrays hold LANES columns for every number of the step: number k of column c stands at
``k * LANES + c``, a layer's at ``(row * N_LAYERS + layer) * LANES + c``.
"""

import numpy as np
from numpy.typing import NDArray

from suitability.compiled import compiled, spelled_out
from suitability.soil_column import CAPACITY, COLUMN_CM, N_LAYERS, TABLE, Six
from suitability.soil_heat import N_STATE, sol_air_from_step
from suitability.soil_water import water_day

Floats = NDArray[np.float64]
LANES = 16


def in_lanes(columns: list[Floats]) -> Floats:
    """Arrays of up to LANES columns, of one shape, as one array; the last one fills the rest."""
    filled = columns + [columns[-1]] * (LANES - len(columns))
    return np.ascontiguousarray(np.stack([c.ravel() for c in filled], axis=1)).ravel()


def start_lanes(soil: Floats, state_size: int) -> Floats:
    """States at field capacity, no pond, no table: as ``soil_column.start_state``."""
    state = np.zeros((state_size, LANES))
    state[:N_LAYERS] = soil.reshape(-1, N_LAYERS, LANES)[CAPACITY]
    state[TABLE] = COLUMN_CM
    return state.ravel()


@spelled_out
def _six(values: Floats, row: int, c: int) -> Six:
    k = row * N_LAYERS * LANES + c
    return (
        values[k],
        values[k + LANES],
        values[k + 2 * LANES],
        values[k + 3 * LANES],
        values[k + 4 * LANES],
        values[k + 5 * LANES],
    )


@compiled
def water_step_lanes(
    state: Floats,
    soil: Floats,
    ground: Floats,
    rain_mm: Floats,
    run_on_mm: float,
    irrigation_mm: float,
    et0_mm: Floats,
    basal_kc: Floats,
    cover_frac: Floats,
    root_depth_cm: Floats,
    depletion_frac: float,
    out: Floats,
) -> None:
    """As ``soil_water.water_step`` for LANES columns; nothing may be missing.

    ``state``, ``soil``, ``ground`` and ``out`` in lanes; weather and plant one number a column.
    """
    for c in range(LANES):
        before = (
            state[c],
            state[LANES + c],
            state[2 * LANES + c],
            state[3 * LANES + c],
            state[4 * LANES + c],
            state[5 * LANES + c],
            state[6 * LANES + c],
            state[7 * LANES + c],
            state[8 * LANES + c],
        )
        rows = (
            _six(soil, 0, c),
            _six(soil, 1, c),
            _six(soil, 2, c),
            _six(soil, 3, c),
            _six(soil, 4, c),
            _six(soil, 5, c),
            _six(soil, 6, c),
        )
        place = (
            ground[c],
            ground[LANES + c],
            ground[2 * LANES + c],
            ground[3 * LANES + c],
            ground[4 * LANES + c],
            ground[5 * LANES + c],
            ground[6 * LANES + c],
            ground[7 * LANES + c],
            ground[8 * LANES + c],
            ground[9 * LANES + c],
            ground[10 * LANES + c],
            ground[11 * LANES + c],
            ground[12 * LANES + c],
            ground[13 * LANES + c],
            ground[14 * LANES + c],
            ground[15 * LANES + c],
            ground[16 * LANES + c],
            ground[17 * LANES + c],
        )
        after, day = water_day(
            before,
            rows,
            place,
            rain_mm[c],
            run_on_mm,
            irrigation_mm,
            et0_mm[c],
            basal_kc[c],
            cover_frac[c],
            root_depth_cm[c],
            depletion_frac,
        )
        state[c] = after[0]
        state[LANES + c] = after[1]
        state[2 * LANES + c] = after[2]
        state[3 * LANES + c] = after[3]
        state[4 * LANES + c] = after[4]
        state[5 * LANES + c] = after[5]
        state[6 * LANES + c] = after[6]
        state[7 * LANES + c] = after[7]
        state[8 * LANES + c] = after[8]
        out[c] = day[0]
        out[LANES + c] = day[1]
        out[2 * LANES + c] = day[2]
        out[3 * LANES + c] = day[3]
        out[4 * LANES + c] = day[4]
        out[5 * LANES + c] = day[5]
        out[6 * LANES + c] = day[6]
        out[7 * LANES + c] = day[7]
        out[8 * LANES + c] = day[8]
        out[9 * LANES + c] = day[9]
        out[10 * LANES + c] = day[10]
        out[11 * LANES + c] = day[11]
        out[12 * LANES + c] = day[12]
        out[13 * LANES + c] = day[13]


@compiled
def heat_step_lanes(
    state: Floats,
    tmean_c: Floats,
    solar_mj_m2_d: Floats,
    longwave_mj_m2_d: Floats,
    wetness_frac: Floats,
    cover_frac: Floats,
    surface: Floats,
    layers: Floats,
) -> None:
    """As ``soil_heat.soil_temperature_step`` for LANES columns; nothing may be missing.

    ``state`` in lanes; weather, wetness and cover one number a column; ``surface``, ``layers`` of
    ``SoilHeat``.
    """
    sod, soil = 1 / surface[3], layers[0, 0] / 100 / surface[4]
    share = sod / (sod + soil)
    for c in range(LANES):
        sol_air = sol_air_from_step(
            tmean_c[c],
            solar_mj_m2_d[c],
            longwave_mj_m2_d[c],
            wetness_frac[c],
            cover_frac[c],
            surface,
        )
        down = sol_air
        for j in range(1, N_STATE):
            down = layers[j - 1, 1] * state[j * LANES + c] + layers[j - 1, 2] * down
            state[j * LANES + c] = down
        for j in range(N_STATE - 2, 0, -1):
            down = state[j * LANES + c] + layers[j - 1, 3] * down
            state[j * LANES + c] = down
        state[c] = sol_air + (down - sol_air) * share
