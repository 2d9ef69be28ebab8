"""How far computed soil temperature at 5 cm is from what stations measured.

``python tests/bench/soil_temperature.py --stations FILE.csv --predictions OUT.csv``

Predictions are made from lat, lon, date, tmax_c, tmin_c and precip_mm alone; soil_temp_5cm_c is
read afterwards, for the scores and for fitting the baselines on the other stations.
"""

import argparse
import json
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd

from suitability.crop import load_crop
from suitability.soil_heat import SoilHeat
from suitability.soil_temperature import soil_temperature_c
from suitability.warm_soil import WarmRule, warm_and_holding, warm_rule

INPUTS = ["station", "lat", "lon", "date", "tmax_c", "tmin_c", "precip_mm"]
SPRING = (3, 6)
SCORED_AFTER_DOY = 60  # 1 March


def predictions(weather: pd.DataFrame, heat: SoilHeat | None = None) -> pd.DataFrame:
    """Station, date and soil_temp_5cm_c for every row of the inputs, in their order."""
    parts = []
    for station, rows in weather.groupby("station", sort=False):
        one = rows.drop_duplicates("date").set_index("date").sort_index()
        whole = one.reindex(pd.date_range(one.index[0], one.index[-1], name="date"))
        calendar = pd.DatetimeIndex(whole.index)
        soil_c = soil_temperature_c(
            whole["tmax_c"],
            whole["tmin_c"],
            whole["precip_mm"],
            calendar.day_of_year,
            float(rows["lat"].iloc[0]),
            5.0,
            coefficients=heat,
        )
        parts.append(
            pd.DataFrame({"station": station, "date": calendar, "soil_temp_5cm_c": soil_c})
        )
    made = pd.concat(parts)
    return weather[["station", "date"]].merge(made, on=["station", "date"], how="left")


def scores(predicted: pd.Series, data: pd.DataFrame, rule: WarmRule) -> dict[str, Any]:
    """Errors by station in spring, and of the warm-and-holding date where it is after 1 March."""
    table = data[["station", "date", "soil_temp_5cm_c"]].assign(predicted=predicted.to_numpy())
    spring = table[table["date"].dt.month.between(*SPRING)].dropna()
    error = spring["predicted"] - spring["soil_temp_5cm_c"]
    by = error.groupby(spring["station"])
    rmse = by.apply(lambda e: float(np.sqrt((e**2).mean())))
    enough = by.size() >= 30
    warm: list[dict[str, Any]] = []
    for (station, year), rows in table.groupby(["station", table["date"].dt.year]):
        rows = rows.set_index("date").sort_index()
        rows = rows.reindex(pd.date_range(rows.index[0], rows.index[-1]))
        doy = rows.index.day_of_year
        seen = warm_and_holding(doy, rows["soil_temp_5cm_c"], rule)
        told = warm_and_holding(doy, rows["predicted"], rule)
        if np.isfinite(seen) and seen > SCORED_AFTER_DOY:
            warm.append({"station": station, "year": int(year), "measured": seen, "computed": told})
    apart = np.array([w["computed"] - w["measured"] for w in warm], dtype=float)
    told_too = np.isfinite(apart)
    return {
        "median_station_rmse_c": round(float(rmse[enough].median()), 3),
        "stations": int(enough.sum()),
        "bias_c": round(float(by.mean()[enough].mean()), 3),
        "warm_date_median_abs_error_d": (
            float(np.median(np.abs(apart[told_too]))) if told_too.any() else None
        ),
        "warm_date_count": int(told_too.sum()),
        "warm_date_measured_but_not_computed": int((~told_too).sum()),
        "by_station": {
            str(s): {"rmse_c": round(rmse[s], 3), "bias_c": round(float(by.mean()[s]), 3)}
            for s in rmse.index
        },
        "warm_dates": [
            w
            | {
                "computed": None
                if np.isnan(w["computed"]) or np.isinf(w["computed"])
                else w["computed"]
            }
            for w in warm
        ],
    }


def plain_air(data: pd.DataFrame) -> pd.Series:
    """The mean of the day's highest and lowest air temperature."""
    return (data["tmax_c"] + data["tmin_c"]) / 2


def smoothed_air(data: pd.DataFrame) -> pd.Series:
    """Air over about the last five days and a seasonal wave, fitted on all other stations."""
    air = (
        plain_air(data)
        .groupby(data["station"])
        .transform(lambda t: t.ewm(alpha=0.2, ignore_na=True).mean())
    )
    turn = 2 * np.pi * data["date"].dt.day_of_year / 365.25
    wave = np.column_stack([np.ones(len(data)), np.cos(turn), np.sin(turn)])
    result = pd.Series(np.nan, index=data.index)
    for station in data["station"].unique():
        here = data["station"] == station
        others = ~here & data["soil_temp_5cm_c"].notna() & air.notna()
        if others.any():
            gap = (data["soil_temp_5cm_c"] - air)[others]
            fitted, *_ = np.linalg.lstsq(wave[others.to_numpy()], gap, rcond=None)
            result[here] = air[here] + wave[here.to_numpy()] @ fitted
    return result


def main() -> None:
    """Write the predictions, then print the scores as JSON."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--stations", type=Path, required=True)
    parser.add_argument("--predictions", type=Path, required=True)
    options = parser.parse_args()
    weather = pd.read_csv(options.stations, usecols=INPUTS, parse_dates=["date"])
    made = predictions(weather)
    made.to_csv(options.predictions, index=False, float_format="%.3f")
    data = pd.read_csv(options.stations, parse_dates=["date"])
    if "soil_temp_5cm_c" not in data:
        print(json.dumps({"scores": None, "why": "the file holds no soil_temp_5cm_c"}))
        return
    rule = warm_rule(load_crop("sunn_hemp"))
    report = scores(made["soil_temp_5cm_c"], data, rule)
    report["coefficients"] = (
        "those shipped, fitted on 18 stations of suitability/tables/soil_heat.csv: for these the "
        "scores are of the fit; soil_heat_fit.py scores stations that it leaves out"
    )
    report["baselines"] = {
        name: {
            k: v for k, v in scores(f(data), data, rule).items() if not isinstance(v, dict | list)
        }
        for name, f in {"plain_air": plain_air, "smoothed_air_and_season": smoothed_air}.items()
    }
    print(json.dumps(report, indent=1))


if __name__ == "__main__":
    main()
