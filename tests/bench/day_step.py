"""How fast the soil-water and soil-temperature step runs, against its numpy twin. Prints JSON.

``python tests/bench/day_step.py [--cases 1000] [--days 1460] [--rounds 7]``

Three ways of the same day, in turn within each round, so that a busy machine slows all of them:
the twin over all cases at once; the step on columns side by side, on one thread and on two; the
step one column at a time, as a stand of a crop runs. Figures are medians over the rounds; the
best rounds tell what a quiet machine does. All three start from the same state and must end in the
same. Beside them stands the full step of a sown field, with establishment, growth, wet runs and the
end of the season, as ``case_run`` runs it on one thread.
"""

import argparse
import json
import sys
import time
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from statistics import median

import numpy as np

from suitability import soil_column as at
from suitability.compiled import compiled
from suitability.evapotranspiration import (
    extraterrestrial_mj_m2_d,
    hargreaves_et0_mm_d,
    net_longwave_mj_m2_d,
    solar_from_range_mj_m2_d,
)
from suitability.ground_position import ground_row
from suitability.profile import soil_rows
from suitability.side_by_side import LANES, heat_step_lanes, in_lanes, water_step_lanes
from suitability.soil_heat import N_STATE, conduction_step, soil_heat, sol_air_from_step
from suitability.soil_water import water_step
from suitability.sowing_weeks import weeks_in
from suitability.stand_run import LAST_D

sys.path.append(str(Path(__file__).parents[1]))  # after the packages, whose names it hides
import engine_farm
import numpy_twin
from soil_columns import profiles_of

KC, COVER, ROOT_CM, P = 0.8, 0.6, 60.0, 0.5
POSITIONS = ("unplaced", "shedding", "level", "gathering", "hollow")
START_C = 18.0


def cases(n):
    """Columns of many textures, positions and boundaries."""
    rng = np.random.default_rng(4)
    clay = rng.uniform(3, 50, n)
    sand = rng.uniform(5, 95 - clay)
    groups = rng.choice(["A", "B", "C", "D"], n)
    profile = profiles_of(np.column_stack([sand, clay]), hydrologic_group=groups)
    soil = np.array([soil_rows(profile, i) for i in range(n)])
    ground = np.array(
        [
            ground_row(
                profile,
                i,
                float(rng.uniform(0, 250)),
                float(10 ** rng.uniform(-4, -1)),
                POSITIONS[i % 5],
                bool(i % 7 == 0),
            )
            for i in range(n)
        ]
    )
    return soil, ground


def weather(days):
    """One cell's weather: rain, ET0, mean temperature, solar, longwave; rows (days, 5)."""
    rng = np.random.default_rng(7)
    doy = np.arange(days) % 365 + 1.0
    tmean = 18 - 10 * np.cos(2 * np.pi * (doy - 20) / 365) + rng.normal(0, 3, days)
    spread = rng.uniform(6, 14, days)
    high, low = tmean + spread / 2, tmean - spread / 2
    ra = extraterrestrial_mj_m2_d(32.0, doy)
    solar = solar_from_range_mj_m2_d(high, low, ra)
    rain = np.where(rng.random(days) < 0.3, rng.exponential(12.0, days), 0.0)
    et0 = hargreaves_et0_mm_d(high, low, ra)
    longwave = net_longwave_mj_m2_d(high, low, solar, ra)
    return np.ascontiguousarray(np.column_stack([rain, et0, tmean, solar, longwave]))


@compiled
def run_lanes(water, heat, soil, ground, sky, surface, layers, kc, cover, root):
    out = np.zeros(at.OUT_SIZE * LANES)
    wetness = out[at.WETNESS_FRAC * LANES : (at.WETNESS_FRAC + 1) * LANES]
    rain, et0 = np.empty(LANES), np.empty(LANES)
    tmean, solar, longwave = np.empty(LANES), np.empty(LANES), np.empty(LANES)
    for day in range(len(sky)):
        for c in range(LANES):
            rain[c], et0[c] = sky[day, 0], sky[day, 1]
            tmean[c], solar[c], longwave[c] = sky[day, 2], sky[day, 3], sky[day, 4]
        water_step_lanes(water, soil, ground, rain, 0.0, 0.0, et0, kc, cover, root, 0.5, out)
        heat_step_lanes(heat, tmean, solar, longwave, wetness, cover, surface, layers)


@compiled
def run_singly(water, heat, soil, ground, sky, surface, layers, kc, cover, root):
    out = np.zeros(at.OUT_SIZE)
    for i in range(len(soil)):
        for day in range(len(sky)):
            water_step(
                water[i],
                soil[i],
                ground[i],
                sky[day, 0],
                0.0,
                0.0,
                sky[day, 1],
                kc,
                cover,
                root,
                0.5,
                out,
            )
            sol_air = sol_air_from_step(
                sky[day, 2], sky[day, 3], sky[day, 4], out[at.WETNESS_FRAC], cover, surface
            )
            conduction_step(heat[i], sol_air, surface, layers)


def starts(soil):
    water = np.zeros((len(soil), at.STATE_SIZE))
    water[:, : at.N_LAYERS] = soil[:, at.CAPACITY]
    water[:, at.TABLE] = at.COLUMN_CM
    return water, np.full((len(soil), N_STATE), START_C)


class Ways:
    """The same cases laid out for each way of running them."""

    def __init__(self, soil, ground, sky):
        self.soil, self.ground, self.sky = soil, ground, sky
        self.heat = soil_heat()
        self.fixed = self.heat.surface(), self.heat.layers()
        groups = [range(i, min(i + LANES, len(soil))) for i in range(0, len(soil), LANES)]
        self.blocks = [
            (in_lanes([soil[i] for i in g]), in_lanes([ground[i] for i in g]), g) for g in groups
        ]
        self.by_row = np.ascontiguousarray(soil.transpose(1, 2, 0))
        self.ground_by_row = np.ascontiguousarray(ground.T)

    def numpy(self):
        water, heat = (np.ascontiguousarray(s.T) for s in starts(self.soil))
        out = np.zeros((at.OUT_SIZE, len(self.soil)))
        began = time.perf_counter()
        for rain, et0, tmean, solar, longwave in self.sky:
            numpy_twin.water_step(
                water, self.by_row, self.ground_by_row, rain, et0, KC, COVER, ROOT_CM, P, out
            )
            numpy_twin.heat_step(
                heat, tmean, solar, longwave, out[at.WETNESS_FRAC], COVER, *self.fixed
            )
        return time.perf_counter() - began, water.T, heat.T

    def side_by_side(self, threads):
        water, heat = starts(self.soil)
        plant = [np.full(LANES, v) for v in (KC, COVER, ROOT_CM)]
        states = [
            (in_lanes([water[i] for i in g]), in_lanes([heat[i] for i in g]))
            for _, _, g in self.blocks
        ]

        def run(number):
            soil, ground, _ = self.blocks[number]
            run_lanes(*states[number], soil, ground, self.sky, *self.fixed, *plant)

        began = time.perf_counter()
        if threads == 1:
            for number in range(len(self.blocks)):
                run(number)
        else:
            with ThreadPoolExecutor(threads) as pool:
                list(pool.map(run, range(len(self.blocks))))
        took = time.perf_counter() - began
        for (_, _, g), (some_water, some_heat) in zip(self.blocks, states, strict=True):
            water[g] = some_water.reshape(-1, LANES).T[: len(g)]
            heat[g] = some_heat.reshape(-1, LANES).T[: len(g)]
        return took, water, heat

    def singly(self):
        water, heat = starts(self.soil)
        began = time.perf_counter()
        run_singly(water, heat, self.soil, self.ground, self.sky, *self.fixed, KC, COVER, ROOT_CM)
        return time.perf_counter() - began, water, heat


def full_step(rounds):
    """Days a second of one case's bare ground and all its stands, over 30 years."""
    record, arguments = engine_farm.case(engine_farm.weather(30))
    weeks, took, days = weeks_in("04-20", "09-01"), [], 0
    for _ in range(rounds + 1):  # the first compiles
        began = time.perf_counter()
        result, _ = engine_farm.stands(record, arguments, weeks)
        took.append(time.perf_counter() - began)
        days = len(record.dates) + int(np.nansum(result[..., LAST_D]))
    return days, round(days / median(took[1:])), round(days / min(took[1:]))


def main():
    """Time the three ways and print what came out."""
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    parser.add_argument("--cases", type=int, default=1000)
    parser.add_argument("--days", type=int, default=1460)
    parser.add_argument("--rounds", type=int, default=7)
    asked = parser.parse_args()
    soil, ground = cases(asked.cases)
    ways = Ways(soil, ground, weather(asked.days))
    named = {
        "numpy": ways.numpy,
        "side_by_side_1_thread": lambda: ways.side_by_side(1),
        "side_by_side_2_threads": lambda: ways.side_by_side(2),
        "one_column_at_a_time": ways.singly,
    }
    ended = {name: way() for name, way in named.items()}  # compiles, and shows that they agree
    apart = max(
        float(np.abs(ended[name][k] - ended["numpy"][k]).max()) for name in named for k in (1, 2)
    )
    took = {name: [] for name in named}
    for _ in range(asked.rounds):
        for name, way in named.items():
            took[name].append(way()[0])
    work = asked.cases * asked.days
    full_days, full_median, full_best = full_step(asked.rounds)
    ratio = {
        name: median(a / b for a, b in zip(took["numpy"], took[name], strict=True))
        for name in named
    }
    print(
        json.dumps(
            {
                "cases": asked.cases,
                "days": asked.days,
                "rounds": asked.rounds,
                "step": "soil water and soil temperature",
                "greatest_difference_from_numpy": apart,
                "unit_days_per_s": {n: round(work / median(t)) for n, t in took.items()},
                "times_faster_than_numpy": {n: round(v, 2) for n, v in ratio.items()},
                "times_faster_by_best_rounds": {
                    n: round(min(took["numpy"]) / min(t), 2) for n, t in took.items()
                },
                "one_thread_ratio": round(ratio["side_by_side_1_thread"], 2),
                "full_step": {
                    "unit_days": full_days,
                    "unit_days_per_s": full_median,
                    "unit_days_per_s_in_the_best_round": full_best,
                },
                "two_threads_ratio": round(ratio["side_by_side_2_threads"], 2),
            },
            indent=2,
        )
    )


if __name__ == "__main__":
    main()
