"""One day of heat in the ground: air and sun at the surface, conduction below. Plain scalar steps.

The state is a small array: the surface, then the middle of each layer. ``soil_temperature_step``
moves it by one day; ``temperature_at_depth`` reads any depth without moving it.
"""

from dataclasses import astuple, dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from suitability.compiled import compiled, inlined
from suitability.evapotranspiration import net_longwave_step, solar_from_range_step
from suitability.published import table

Floats = NDArray[np.float64]

# The first two middles are the depth of sowing (1.5 cm) and of the sowing rule (5 cm). The last
# layer reaches below what a year's warmth moves.
LAYER_CM = np.array([3.0, 4.0, 8.0, 15.0, 30.0, 60.0, 120.0, 240.0])
N_STATE = len(LAYER_CM) + 1
_W_M2_PER_MJ_M2_D = 1e6 / 86400


@dataclass(frozen=True)
class SoilHeat:
    """Coefficients of the day step, as ``suitability/tables/soil_heat.csv`` lists them.

    ``absorbed_frac``: share of the sun's radiation that warms dry ground under the reference cover;
    ``evaporated_frac``: share of that which goes into evaporation where the surface is wet;
    ``air_w_m2_k``: heat passed from the warmed surface to the air for each degree;
    ``ground_w_m2_k``: heat passed to the ground through sod and litter for each degree;
    ``conductivity_w_m_k``, ``capacity_mj_m3_k``: of the soil; ``reference_cover_frac``: cover of
    the stations; ``evaporable_mm``: water that dries out of the surface layer.
    """

    absorbed_frac: float
    evaporated_frac: float
    air_w_m2_k: float
    ground_w_m2_k: float
    conductivity_w_m_k: float
    capacity_mj_m3_k: float
    reference_cover_frac: float
    evaporable_mm: float

    def surface(self) -> Floats:
        """The coefficients as the day step takes them."""
        return np.array(astuple(self), dtype=np.float64)

    def layers(self) -> Floats:
        """Weights of the implicit day step, one row a layer: middle [cm], own, above, below.

        A layer's new temperature is ``own`` x its old one + ``above`` x what comes down + ``below``
        x the new one of the layer beneath: the elimination of a tridiagonal system, done once.
        """
        thick_m = LAYER_CM / 100
        middle_m = np.cumsum(thick_m) - thick_m / 2
        store = self.capacity_mj_m3_k * 1e6 * thick_m / 86400
        link = np.zeros(len(thick_m) + 1)
        link[0] = 1 / (1 / self.ground_w_m2_k + middle_m[0] / self.conductivity_w_m_k)
        link[1:-1] = self.conductivity_w_m_k / np.diff(middle_m)
        rows = np.zeros((len(thick_m), 4))
        below = 0.0
        for j in range(len(thick_m)):
            total = store[j] + link[j] + link[j + 1] - link[j] * below
            below = link[j + 1] / total
            rows[j] = middle_m[j] * 100, store[j] / total, link[j] / total, below
        return rows


@lru_cache
def soil_heat() -> SoilHeat:
    """The coefficients of ``suitability/tables/soil_heat.csv``, which names their sources."""
    values = table("soil_heat").set_index("coefficient")["value"]
    return SoilHeat(**{name: float(values[name]) for name in SoilHeat.__dataclass_fields__})


@inlined
def sol_air_from_step(
    tmean_c: float,
    solar_mj_m2_d: float,
    longwave_mj_m2_d: float,
    wetness_frac: float,
    cover_frac: float,
    surface: Floats,
) -> float:
    """As ``sol_air_step`` where the day's radiation is known: it is one for all soils of a cell."""
    dry = surface[0] * solar_mj_m2_d
    gain_mj_m2_d = dry * (1 - surface[1] * wetness_frac) - longwave_mj_m2_d
    open_to_sky = (1 - cover_frac) / (1 - surface[6])
    raised_c: float = gain_mj_m2_d * _W_M2_PER_MJ_M2_D / surface[2] * open_to_sky
    return tmean_c + raised_c


@compiled
def sol_air_step(
    tmax_c: float,
    tmin_c: float,
    ra_mj_m2_d: float,
    wetness_frac: float,
    cover_frac: float,
    surface: Floats,
) -> float:
    """Temperature [degC] the surface strives for: of the air, raised by sun, lowered by sky.

    Parameters
    ----------
    tmax_c, tmin_c : air temperature [degC]; ra_mj_m2_d : radiation above the air [MJ/m2/d].
    wetness_frac : water in the top layer, 0 dry to 1 all it can evaporate.
    cover_frac : ground shaded by plants or litter, 0 to 1; under full shade it is the air's.
    surface : of ``SoilHeat.surface``.
    """
    solar = solar_from_range_step(tmax_c, tmin_c, ra_mj_m2_d)
    longwave = net_longwave_step(tmax_c, tmin_c, solar, ra_mj_m2_d)
    mean_c = (tmax_c + tmin_c) / 2
    return sol_air_from_step(mean_c, solar, longwave, wetness_frac, cover_frac, surface)


@inlined
def conduction_step(state: Floats, sol_air_c: float, surface: Floats, layers: Floats) -> None:
    """Move ``state`` by one day of conduction under this surface temperature; in place."""
    down = sol_air_c
    for j in range(1, N_STATE):
        down = layers[j - 1, 1] * state[j] + layers[j - 1, 2] * down
        state[j] = down
    for j in range(N_STATE - 2, 0, -1):
        down = state[j] + layers[j - 1, 3] * down
        state[j] = down
    # What sod and the upper half of the first layer resist, in series, sets the surface between.
    sod, soil = 1 / surface[3], layers[0, 0] / 100 / surface[4]
    state[0] = sol_air_c + (down - sol_air_c) * sod / (sod + soil)


@compiled
def temperature_at_depth(state: Floats, depth_cm: float, layers: Floats) -> float:
    """Temperature [degC] at a depth [cm] by a straight line between the middles of layers."""
    above_cm, above_c = 0.0, float(state[0])
    for j in range(len(layers)):
        if depth_cm <= layers[j, 0]:
            share = (depth_cm - above_cm) / (layers[j, 0] - above_cm)
            return float(above_c + share * (state[j + 1] - above_c))
        above_cm, above_c = layers[j, 0], float(state[j + 1])
    return above_c


@compiled
def soil_temperature_step(
    state: Floats,
    tmax_c: float,
    tmin_c: float,
    ra_mj_m2_d: float,
    wetness_frac: float,
    cover_frac: float,
    depth_cm: float,
    surface: Floats,
    layers: Floats,
) -> float:
    """Move ``state`` by one day and give the day's mean temperature [degC] at ``depth_cm``.

    Parameters
    ----------
    state : array (N_STATE,) [degC], changed in place.
    tmax_c, tmin_c : air temperature [degC]; ra_mj_m2_d : radiation above the air [MJ/m2/d].
    wetness_frac, cover_frac : as ``sol_air_step``; depth_cm : depth below the surface [cm].
    surface, layers : of ``SoilHeat``.

    Notes
    -----
    Call once a day; read a second depth with ``temperature_at_depth``. NaN in any input gives NaN
    and leaves the state as it was.
    """
    sol_air_c = sol_air_step(tmax_c, tmin_c, ra_mj_m2_d, wetness_frac, cover_frac, surface)
    if np.isnan(sol_air_c):
        return np.nan
    conduction_step(state, sol_air_c, surface, layers)
    return temperature_at_depth(state, depth_cm, layers)
