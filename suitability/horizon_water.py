"""Water held and passed by each horizon: the survey's figures, and estimates where it has none."""

from functools import lru_cache

import numpy as np
import pandas as pd

from suitability.pedotransfer import saxton_rawls
from suitability.published import indexed

WATER_COLUMNS = ("wilting_frac", "capacity_frac", "saturation_frac", "ksat_um_s")
_SURVEY = {
    "wilting_frac": "water_fifteen_bar_pct",
    "capacity_frac": "water_third_bar_pct",
    "saturation_frac": "water_saturated_pct",
}


@lru_cache
def setting(name: str) -> float:
    """A number of ``tables/soil_water.csv``, which gives its basis."""
    return float(indexed("soil_water", "name").at[name, "value"])


def horizon_water(horizons: pd.DataFrame) -> pd.DataFrame:
    """Water properties of every horizon.

    Parameters
    ----------
    horizons : HORIZONS table.

    Returns
    -------
    DataFrame with the index of ``horizons``: ``cokey``, ``top_cm``, ``bottom_cm``, ``sand_pct``,
    ``clay_pct``, WATER_COLUMNS (volume fractions and um/s; NaN where neither the survey nor an
    estimate has them), and for each a flag ``<column>_estimated``.

    Notes
    -----
    The survey's water at 15 bar, at 1/3 bar and at saturation is used where listed; field capacity
    is at least wilting point and listed available water, since sands hold more than at 1/3 bar.
    What is missing comes from Saxton and Rawls (2006) with the listed bulk density; saturation
    falls back to 1 - density / 2.65 where texture is missing. Values are put in order, wilting
    below capacity below saturation, with the least differences of ``tables/soil_water.csv``.
    """
    result = horizons[["cokey", "top_cm", "bottom_cm", "sand_pct", "clay_pct"]].copy()
    om = horizons["om_pct"].fillna(setting("om_unlisted_pct")).clip(upper=setting("om_most_pct"))
    usual = saxton_rawls(horizons["sand_pct"], horizons["clay_pct"], om)
    density = horizons["bulk_density_g_cm3"].to_numpy(dtype=float)
    factor = np.clip(density / usual.bulk_density_g_cm3, 0.9, 1.3)
    with np.errstate(invalid="ignore"):
        estimate = saxton_rawls(
            horizons["sand_pct"], horizons["clay_pct"], om, np.where(np.isnan(factor), 1.0, factor)
        )
    by_name = {
        "wilting_frac": estimate.wilting_frac,
        "capacity_frac": estimate.field_capacity_frac,
        "saturation_frac": np.where(
            np.isnan(estimate.saturation_frac), 1.0 - density / 2.65, estimate.saturation_frac
        ),
        "ksat_um_s": estimate.ksat_mm_h / 3.6,
    }
    for name in WATER_COLUMNS:
        listed = horizons[name] if name == "ksat_um_s" else horizons[_SURVEY[name]] / 100.0
        listed = listed.astype(float)
        guessed = pd.Series(by_name[name], index=horizons.index)
        result[name] = listed.fillna(guessed)
        result[f"{name}_estimated"] = listed.isna() & guessed.notna()
    held = result["wilting_frac"] + horizons["awc_frac"].astype(float)
    result["capacity_frac"] = result["capacity_frac"].mask(held > result["capacity_frac"], held)
    least_air, least_water = setting("least_drainable_frac"), setting("least_available_frac")
    result["saturation_frac"] = result["saturation_frac"].clip(upper=0.95)
    result["capacity_frac"] = np.minimum(
        result["capacity_frac"], result["saturation_frac"] - least_air
    )
    result["wilting_frac"] = np.minimum(
        result["wilting_frac"], result["capacity_frac"] - least_water
    ).clip(lower=0.005)
    return result
