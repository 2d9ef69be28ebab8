"""A season of made-up days through every day step of the crop; run as a file it prints the result.

With NUMBA_DISABLE_JIT=1 the same steps run as plain Python, so that the two can be compared.
"""

import json
import random
import sys
from pathlib import Path


def seasons():
    """Final and daily states of each step over 120 days of three made-up seasons."""
    import numpy as np

    from suitability import establishment, growth, season_end, waterlogging_days
    from suitability.crop import load_crop

    crop = load_crop("sunn_hemp")
    p_up = establishment.establishment_parameters(crop)
    p_grow = growth.growth_parameters(crop)
    p_wet = waterlogging_days.waterlogging_parameters(crop)
    p_end = season_end.season_end_parameters(crop)
    found = {"establishment": [], "growth": [], "waterlogging": [], "season_end": []}
    for seed in range(12):
        draw = random.Random(seed)
        up = np.zeros(establishment.STATE_SIZE)
        grown = np.zeros(growth.STATE_SIZE)
        wet = np.zeros(waterlogging_days.STATE_SIZE)
        end = np.zeros(season_end.STATE_SIZE)
        growth.emerge(grown, draw.uniform(0.5, 1), p_grow)
        for day in range(1, 121):
            soil_c, air = draw.uniform(12, 40), draw.uniform(0, 0.3) * draw.choice((0.3, 1))
            rain, sun = draw.choice((0.0, 0.0, 5.0, 30.0)), draw.uniform(2, 28)
            high, low = draw.uniform(10, 44), draw.uniform(-1, 25) - (6 if day > 100 else 0)
            table = draw.choice((float("nan"), draw.uniform(0, 80)))
            establishment.establishment_step(up, soil_c, draw.random(), air, rain, 0.5 * seed, p_up)
            growth.growth_step(grown, high, low, sun, draw.random(), draw.uniform(0.5, 1), p_grow)
            waterlogging_days.waterlogging_step(wet, air, table, soil_c, p_wet)
            season_end.season_end_step(end, float(day), high, low, day == 115, p_end)
            for name, state in zip(found, (up, grown, wet, end), strict=True):
                found[name].append([float(v) for v in state])
    return found


if __name__ == "__main__":
    sys.path.insert(0, str(Path(__file__).parents[1]))
    sys.path = [p for p in sys.path if Path(p).resolve() != Path(__file__).parent]
    sys.stdout.write(json.dumps(seasons()))
