"""Soil horizons to the depths that a question asks for."""

import numpy as np
import pandas as pd


def _overlap_cm(horizons: pd.DataFrame, top_cm: float, bottom_cm: float) -> "pd.Series[float]":
    upper = horizons["top_cm"].clip(lower=top_cm)
    lower = horizons["bottom_cm"].clip(upper=bottom_cm)
    return (lower - upper).clip(lower=0)


def layer_mean(
    horizons: pd.DataFrame,
    column: str,
    top_cm: float,
    bottom_cm: float,
    least_known_frac: float = 0.5,
) -> "pd.Series[float]":
    """Thickness-weighted mean of a horizon column between two depths, by component.

    Parameters
    ----------
    horizons : HORIZONS table.
    column : a numeric column of it; the result has its unit. pH is averaged as pH.
    top_cm, bottom_cm : depths of the layer [cm].
    least_known_frac : below this share of the layer with a known value the result is NaN.

    Returns
    -------
    Series indexed by cokey: sum(value * thickness) / sum(thickness) over the known part.
    """
    overlap = _overlap_cm(horizons, top_cm, bottom_cm)
    known = overlap.where(horizons[column].notna(), 0.0)
    sums = pd.DataFrame(
        {"cokey": horizons["cokey"], "weighted": horizons[column] * known, "known": known}
    )
    by = sums.groupby("cokey")[["weighted", "known"]].sum()
    enough = by["known"] >= least_known_frac * (bottom_cm - top_cm)
    return (by["weighted"] / by["known"]).where(enough)


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
    inside = horizons[overlap > 0].assign(thickness=overlap[overlap > 0])
    with np.errstate(divide="ignore"):
        inside["resistance"] = inside["thickness"] / inside["ksat_um_s"]
    by = inside.groupby("cokey")[["thickness", "resistance"]].agg(lambda v: v.sum(skipna=False))
    return by["thickness"] / by["resistance"]
