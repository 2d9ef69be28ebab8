"""Soil columns of given textures, for tests and benches of the daily simulation."""

import numpy as np
import pandas as pd

from suitability import soil_column as at
from suitability.columns import COMPONENTS, HORIZONS
from suitability.contract import empty
from suitability.profile import profiles
from suitability.soil_water import water_step

LOAM, SAND, CLAY = (40.0, 20.0), (88.0, 5.0), (25.0, 50.0)  # sand, clay [pct]


def survey(textures, om_pct=2.0, **of_all):
    """COMPONENTS and HORIZONS of soils of one texture from 0 to 200 cm; keys "0", "1", ..."""
    n = len(textures)
    keys = [str(i) for i in range(n)]
    components = empty(COMPONENTS).reindex(range(n))
    components = components.assign(cokey=keys, mukey="m", compname=keys, kind="soil")
    horizons = empty(HORIZONS).reindex(range(n))
    horizons = horizons.assign(cokey=keys, chkey=keys, top_cm=0.0, bottom_cm=200.0, om_pct=om_pct)
    horizons[["sand_pct", "clay_pct"]] = np.array(textures, dtype=float)
    for name, values in of_all.items():
        table = components if name in components else horizons
        table[name] = values
    return components, horizons


def profiles_of(textures, **of_all):
    """Profiles of soils of one texture from 0 to 200 cm."""
    return profiles(*survey(textures, **of_all))


def run(soil, ground, rain_mm, et0_mm, plant=(0.8, 0.8, 60.0, 0.5), irrigation_mm=0.0, state=None):
    """Every day's ``out`` (n_days, OUT_SIZE) and the last state; ``plant``: Kcb, cover, root, p."""
    if state is None:
        state = np.zeros(at.STATE_SIZE)
        at.start_state(state, soil)
    out = np.zeros((len(rain_mm), at.OUT_SIZE))
    for day in range(len(rain_mm)):
        water_step(
            state, soil, ground, rain_mm[day], 0.0, irrigation_mm, et0_mm[day], *plant, out[day]
        )
    return out, state


def humid_weather(years=3, seed=5):
    """Rain [mm], ET0 [mm] and days of a warm, humid place of our own invention: about 1,300 mm."""
    rng = np.random.default_rng(seed)
    dates = pd.date_range("2001-01-01", periods=365 * years)
    rain = np.where(rng.random(len(dates)) < 0.28, rng.exponential(12.8, len(dates)), 0.0)
    et0 = 3.4 - 2.0 * np.cos(2 * np.pi * (dates.day_of_year.to_numpy() - 15) / 365)
    return rain, et0, dates
