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
    result = pd.Series(None, index=bulk_density_g_cm3.index, dtype=object)
    for row in table("bulk_density").itertuples():
        here = (
            (texture == row.texture)
            & (clay_pct >= row.clay_from_pct)
            & (clay_pct < row.clay_below_pct)
            & bulk_density_g_cm3.notna()
        )
        density = bulk_density_g_cm3[here]
        result[here] = np.select(
            [density > row.restricts_above_g_cm3, density >= row.affects_g_cm3],
            ["stopped", "slowed"],
            default="free",
        )
    return result
