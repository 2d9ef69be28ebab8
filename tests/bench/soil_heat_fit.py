"""Where the fitted coefficients of soil_heat.csv come from, and how well they do where unseen.

``python tests/bench/soil_heat_fit.py --stations FILE.csv`` fits on all stations, then leaves out
one site at a time (stations of one place together), half of the sites, and one region at a time.
"""

import argparse
import json
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
from scipy.optimize import least_squares
from soil_temperature import predictions, scores

from suitability.crop import load_crop
from suitability.soil_heat import SoilHeat, soil_heat
from suitability.warm_soil import warm_rule


def fitted(data: pd.DataFrame) -> SoilHeat:
    """The four coefficients that fit these stations best over all days of the year.

    Each station weighs the same; days far off weigh less (soft L1), so that one odd station does
    not set the answer for the others.
    """
    weight = 1 / np.sqrt(data.groupby("station")["soil_temp_5cm_c"].transform("count"))

    def errors(x: np.ndarray) -> np.ndarray:
        told = predictions(data, _heat(x))["soil_temp_5cm_c"].to_numpy()
        off = (told - data["soil_temp_5cm_c"].to_numpy()) * weight.to_numpy()
        return np.nan_to_num(off)

    start = np.array([0.4, 0.3, np.log(12.0), np.log(2.5)])
    return _heat(
        least_squares(
            errors,
            start,
            x_scale=[0.1, 0.1, 0.3, 0.3],
            loss="soft_l1",
            f_scale=0.15,
            xtol=1e-4,
            ftol=1e-6,
        ).x
    )


def held_out(data: pd.DataFrame, group: "pd.Series[Any]") -> pd.Series:
    """Predictions for each group by coefficients fitted on all others."""
    result = pd.Series(np.nan, index=data.index)
    for name in group.unique():
        here = group == name
        heat = fitted(data[~here].reset_index(drop=True))
        result[here] = predictions(data[here], heat)["soil_temp_5cm_c"].to_numpy()
    return result


def site(data: pd.DataFrame) -> "pd.Series[str]":
    """State and town: some places have two stations."""
    return data["station"].str.split("_").str[:2].str.join("_")


def region(data: pd.DataFrame) -> "pd.Series[str]":
    """Dry west, cooler north, deep South."""
    names = np.select([data["lon"] < -96, data["lat"] > 35], ["west", "north"], "deep south")
    return pd.Series(names, index=data.index)


def halves(seed: int) -> Callable[[pd.DataFrame], "pd.Series[bool]"]:
    """A random half of the sites against the other."""

    def group(data: pd.DataFrame) -> "pd.Series[bool]":
        places = np.sort(site(data).unique())
        chosen = np.random.default_rng(seed).permutation(places)[: len(places) // 2]
        return site(data).isin(chosen)

    return group


def _heat(x: np.ndarray) -> SoilHeat:
    return replace(
        soil_heat(),
        absorbed_frac=float(x[0]),
        evaporated_frac=float(x[1]),
        air_w_m2_k=float(np.exp(x[2])),
        ground_w_m2_k=float(np.exp(x[3])),
    )


def main() -> None:
    """Print coefficients and scores as JSON."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--stations", type=Path, required=True)
    data = pd.read_csv(parser.parse_args().stations, parse_dates=["date"])
    rule = warm_rule(load_crop("sunn_hemp"))
    report: dict[str, Any] = {"fitted": vars(fitted(data))}
    groups = {"site": site, "region": region, "half_1": halves(1), "half_2": halves(2)}
    for name, group in groups.items():
        all_scores = scores(held_out(data, group(data)), data, rule)
        report[f"left_out_by_{name}"] = {k: v for k, v in all_scores.items() if k != "warm_dates"}
    print(json.dumps(report, indent=1))


if __name__ == "__main__":
    main()
