"""Whether a soil is too dense for roots, against the limits of its own texture."""

import numpy as np
import pandas as pd

from suitability.published import table


def bulk_density_class(
    bulk_density_g_cm3: "pd.Series[float]", texture: "pd.Series[str]", clay_pct: "pd.Series[float]"
) -> "pd.Series[str]":
    """``free``, ``slowed`` or ``stopped`` root growth; None where an input is missing.

    Parameters
    ----------
    bulk_density_g_cm3 : moist bulk density [g/cm3]; texture : USDA class; clay_pct : clay [pct].
        Three Series with one index.

    Notes
    -----
    Slowed from the density that affects roots on, stopped above the one that restricts them.

    References
    ----------
    ``suitability/tables/bulk_density.csv``, which names its source.
    """
    density, clay = bulk_density_g_cm3.to_numpy(dtype=float), clay_pct.to_numpy(dtype=float)
    named = texture.to_numpy(dtype=object)
    result = np.full(len(density), None, dtype=object)
    for row in table("bulk_density").itertuples():
        here = (named == row.texture) & (clay >= row.clay_from_pct) & (clay < row.clay_below_pct)
        here &= ~np.isnan(density)
        result[here] = "free"
        result[here & (density >= row.affects_g_cm3)] = "slowed"
        result[here & (density > row.restricts_above_g_cm3)] = "stopped"
    return pd.Series(result, index=bulk_density_g_cm3.index)
