"""How fast ground is filled and its wetness index found, beside libraries that do the same.

``python tests/bench/terrain.py --dem FILE [--tile N]`` prints JSON. Every chain fills, routes,
accumulates, takes the slope and ends in ln(a / tan b). Ours and fastscapelib's share water among
all lower neighbours, pyflwdir's sends it to one. Rounds are interleaved; a ratio over 1 means that
ours is faster. ``--tile N`` repeats the heights mirrored to N x N cells.
"""

import argparse
import importlib.util
import json
import resource
import sys
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pyflwdir
import rasterio

from layers.terrain.fill import filled
from layers.terrain.flow import upslope_cells
from layers.terrain.slope import slope_frac
from layers.terrain.wetness_index import smoothed, wetness_index

NODATA = -9999.0
LEAST = 0.001
EXPONENT = 1.1
SIGMA_CELLS = 10 / 3


def ours(z: np.ndarray, cell: float) -> np.ndarray:
    surface = filled(z)
    slope = slope_frac(surface.level_m, cell, cell)
    return wetness_index(upslope_cells(surface, cell, cell, EXPONENT), slope, cell, cell, LEAST)


def ours_smoothed(z: np.ndarray, cell: float) -> np.ndarray:
    return smoothed(ours(z, cell), SIGMA_CELLS)


def single_flow(z: np.ndarray, cell: float) -> np.ndarray:
    known = np.where(np.isnan(z), np.float32(NODATA), z)
    level, d8 = pyflwdir.dem.fill_depressions(known, nodata=NODATA)
    transform = (cell, 0.0, 0.0, 0.0, -cell, 0.0)
    routes = pyflwdir.from_array(d8, ftype="d8", transform=transform, latlon=False)
    area = routes.upstream_area(unit="m2")
    slope = pyflwdir.dem.slope(level, nodata=NODATA, transform=transform, latlon=False)
    return np.log(np.where(area > 0, area, np.nan) / cell / np.fmax(slope, LEAST))


def multiple_flow(z: np.ndarray, cell: float) -> np.ndarray:
    from flow_library import upslope_area_m2

    level, area = upslope_area_m2(z, cell, EXPONENT)
    slope = slope_frac(np.pad(level, 1, constant_values=np.nan).astype(np.float32), cell, cell)
    return wetness_index(area / cell**2, slope, cell, cell, LEAST)


def tiled(z: np.ndarray, n: int) -> np.ndarray:
    times = -(-n // min(z.shape))
    row = np.concatenate([z[:, :: 1 if i % 2 == 0 else -1] for i in range(times)], axis=1)
    whole = np.concatenate([row[:: 1 if i % 2 == 0 else -1] for i in range(times)])
    return np.ascontiguousarray(whole[:n, :n])


def main() -> None:
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("--dem", type=Path, required=True)
    asked.add_argument("--tile", type=int)
    asked.add_argument("--rounds", type=int, default=3)
    asked.add_argument("--only-ours", action="store_true", help="for the memory of ours alone")
    options = asked.parse_args()
    with rasterio.open(options.dem) as dem:
        z = dem.read(1, masked=True).astype(np.float32).filled(np.nan)
        cell = float(dem.res[0])
    if options.tile:
        z = tiled(z, options.tile)
    chains: dict[str, Callable[[np.ndarray, float], np.ndarray]] = {
        "ours": ours,
        "ours_smoothed": ours_smoothed,
    }
    absent = []
    if not options.only_ours:
        chains["pyflwdir_single_flow"] = single_flow
        if importlib.util.find_spec("fastscapelib"):
            sys.path.append(str(Path(__file__).parents[1]))
            chains["fastscapelib_multiple_flow"] = multiple_flow
        else:
            absent.append("fastscapelib is not installed (pip install fastscapelib)")
    for chain in chains.values():
        chain(z[:64, :64], cell)  # compiled before the clock runs
    seconds: dict[str, list[float]] = {name: [] for name in chains}
    for _ in range(options.rounds):
        for name, chain in chains.items():
            start = time.perf_counter()
            chain(z, cell)
            seconds[name].append(time.perf_counter() - start)
    best = {name: min(times) for name, times in seconds.items()}
    report = {
        "cells": z.size,
        "seconds": {name: round(value, 3) for name, value in best.items()},
        "mcells_per_s": {name: round(z.size / 1e6 / value, 2) for name, value in best.items()},
        "ratio": {
            name: round(value / best["ours"], 2)
            for name, value in best.items()
            if name not in ("ours", "ours_smoothed")
        },
        "peak_mb_of_all": resource.getrusage(resource.RUSAGE_SELF).ru_maxrss // 1024,
        "absent": absent,
    }
    print(json.dumps(report, indent=1))


if __name__ == "__main__":
    main()
