"""How well simulated soil moisture at 5 cm follows measured, by station. Prints JSON.

``python tests/bench/soil_moisture.py --stations FILE.csv``

The stations stand under grass; their soil is not given, so a generic loam and a generic sand are
run and both are shown. Nothing is fitted to the stations. The measure is the rank correlation
(Spearman) over the days after the first 60: it asks whether wet and dry days come in the same
order, which is what decides germination. A gap in rain or temperature ends a run of days; the next
run starts afresh with another 60 days to settle.
"""

import argparse
import json
import sys
from pathlib import Path

import numpy as np
import pandas as pd

from suitability import soil_column as at
from suitability.evapotranspiration import extraterrestrial_mj_m2_d, hargreaves_et0_mm_d
from suitability.ground_position import ground_row
from suitability.profile import THICKNESS_MM, soil_rows
from suitability.soil_water import water_step

sys.path.append(str(Path(__file__).parents[1]))  # after the packages, whose names it hides
from soil_columns import LOAM, SAND, profiles_of

SETTLE_D = 60
LEAST_D = 30
TEXTURES = {"loam": LOAM, "sand": SAND}
GRASS_KC, GRASS_COVER, GRASS_ROOT_CM, GRASS_P = 0.8, 0.7, 60.0, 0.5
FREE_DRAINAGE_CM, FREE_DRAINAGE_PER_D = 400.0, 0.1


def column(sand_pct, clay_pct):
    """Soil and ground arrays of a deep, freely draining soil of one texture."""
    profile = profiles_of([(sand_pct, clay_pct)])
    ground = ground_row(profile, 0, FREE_DRAINAGE_CM, FREE_DRAINAGE_PER_D)
    return soil_rows(profile, 0), ground


def simulated(rain_mm, et0_mm, soil, ground):
    """Water at 5 cm [frac]: the mean of 0-5 and 5-15 cm. NaN through gaps and while it settles."""
    result = np.full(len(rain_mm), np.nan)
    state, out = np.zeros(at.STATE_SIZE), np.zeros(at.OUT_SIZE)
    settled = 0
    for day in range(len(rain_mm)):
        if np.isnan(rain_mm[day] + et0_mm[day]):
            settled = 0
            continue
        if settled == 0:
            at.start_state(state, soil)
        plant = GRASS_KC, GRASS_COVER, GRASS_ROOT_CM, GRASS_P
        water_step(state, soil, ground, rain_mm[day], 0.0, 0.0, et0_mm[day], *plant, out)
        settled += 1
        if settled > SETTLE_D:
            result[day] = (state[:2] / THICKNESS_MM[:2]).mean()
    return result


def scores(stations, textures=TEXTURES):
    """Rank correlation of each station for each texture, and the days compared."""
    columns = {name: column(*shares) for name, shares in textures.items()}
    rows = {}
    for station, days in stations.groupby("station"):
        days = days.sort_values("date")
        ra = extraterrestrial_mj_m2_d(float(days["lat"].iloc[0]), days["date"].dt.day_of_year)
        et0 = hargreaves_et0_mm_d(days["tmax_c"], days["tmin_c"], ra)
        rain = days["precip_mm"].to_numpy(dtype=float)
        measured = days["soil_moisture_5cm"].to_numpy(dtype=float)
        row = {}
        for name, (soil, ground) in columns.items():
            ours = simulated(rain, et0, soil, ground)
            both = ~np.isnan(ours) & ~np.isnan(measured)
            row["days"] = int(both.sum())
            if both.sum() >= LEAST_D:
                ranked = pd.Series(ours[both]).corr(pd.Series(measured[both]), method="spearman")
                row[name] = round(float(ranked), 3)
        rows[str(station)] = row
    return rows


def main():
    """Score the stations and print the result."""
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    parser.add_argument("--stations", type=Path, required=True, help="station, date, lat, ...")
    path = parser.parse_args().stations
    by_station = scores(pd.read_csv(path, parse_dates=["date"]))
    medians = {
        name: round(float(np.median([r[name] for r in by_station.values() if name in r])), 3)
        for name in TEXTURES
    }
    print(
        json.dumps(
            {
                "measure": "Spearman rank correlation of simulated and measured 5 cm moisture",
                "median": medians,
                "stations_scored": sum(1 for r in by_station.values() if "loam" in r),
                "stations": by_station,
            },
            indent=2,
        )
    )


if __name__ == "__main__":
    main()
