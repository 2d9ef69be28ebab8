"""Soil horizons to the depths that a question asks for."""

from collections.abc import Sequence

import numpy as np
import pandas as pd
from numpy.typing import NDArray

Floats = NDArray[np.float64]


def _overlap_cm(horizons: pd.DataFrame, top_cm: float, bottom_cm: float) -> Floats:
    upper = np.maximum(horizons["top_cm"].to_numpy(dtype=float), top_cm)
    lower = np.minimum(horizons["bottom_cm"].to_numpy(dtype=float), bottom_cm)
    return np.asarray(np.maximum(lower - upper, 0.0))


def layer_mean(
    horizons: pd.DataFrame,
    columns: Sequence[str],
    top_cm: float,
    bottom_cm: float,
    least_known_frac: float = 0.5,
) -> pd.DataFrame:
    """Thickness-weighted means of horizon columns between two depths, by component.

    Parameters
    ----------
    horizons : HORIZONS table.
    columns : numeric columns of it; the results have their units. pH is averaged as pH.
    top_cm, bottom_cm : depths of the layer [cm].
    least_known_frac : below this share of the layer with a known value the result is NaN.

    Returns
    -------
    The columns asked for, indexed by cokey: sum(value * thickness) / sum(thickness) over the known
    part.
    """
    values = horizons[list(columns)].to_numpy(dtype=float)
    known_cm = np.where(np.isnan(values), 0.0, _overlap_cm(horizons, top_cm, bottom_cm)[:, None])
    terms = pd.DataFrame(np.hstack([values * known_cm, known_cm]))
    sums = terms.groupby(horizons["cokey"].to_numpy()).sum()
    weighted, known = np.hsplit(sums.to_numpy(), 2)
    enough = known >= least_known_frac * (bottom_cm - top_cm)
    with np.errstate(divide="ignore", invalid="ignore"):
        mean = np.where(enough, weighted / known, np.nan)
    return pd.DataFrame(mean, index=sums.index, columns=list(columns))


def slowest_ksat_um_s(
    horizons: pd.DataFrame, top_cm: float, bottom_cm: float
) -> "pd.Series[float]":
    """Smallest saturated conductivity of the horizons between two depths [um/s], by component."""
    inside = horizons[
        (_overlap_cm(horizons, top_cm, bottom_cm) > 0) & horizons["ksat_um_s"].notna()
    ]
    return inside.groupby("cokey")["ksat_um_s"].min()


def vertical_ksat_um_s(
    horizons: pd.DataFrame, top_cm: float, bottom_cm: float
) -> "pd.Series[float]":
    """Vertical conductivity of layered soil [um/s]: sum(t) / sum(t / K), by component.

    NaN where any part between the depths has no conductivity. A layer of zero gives zero.
    """
    overlap = _overlap_cm(horizons, top_cm, bottom_cm)
    inside = overlap > 0
    cokey, names = pd.factorize(horizons["cokey"][inside], sort=True)
    thick_cm = overlap[inside]
    with np.errstate(divide="ignore"):
        resistance = thick_cm / horizons["ksat_um_s"].to_numpy(dtype=float)[inside]
        across = np.bincount(cokey, thick_cm) / np.bincount(cokey, resistance)
    return pd.Series(across, index=names)
