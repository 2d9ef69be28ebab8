"""How much ground drains through each cell, the water of a cell shared among all lower ones."""

import numpy as np
from numpy.typing import NDArray

from layers.terrain.fill import Filled
from suitability.compiled import compiled


def upslope_cells(
    surface: Filled, cell_width_m: float, cell_height_m: float, exponent: float
) -> NDArray[np.float64]:
    """Cells whose water comes through each cell, itself counted; NaN without ground.

    Parameters
    ----------
    surface : filled heights, so that all water finds a way out.
    cell_width_m, cell_height_m : sides of a cell [m].
    exponent : each lower neighbour gets a share in proportion to its slope to this power; 1.1 after
        Freeman, the higher the more it all goes down the steepest way.

    Notes
    -----
    On a flat (a lake bed that was filled too) water goes in equal shares to the neighbours that are
    nearer to the way out. Ground at the edge with nothing lower beside it drains off the array.

    References
    ----------
    Freeman, T. G. (1991), Calculating catchment area with divergent flow based on a regular grid,
    Computers & Geosciences 17(3), 413-422: exponent 1.1.
    """
    width = surface.level_m.shape[1]
    through = np.where(np.isnan(surface.level_m), np.nan, 1.0)
    diagonal = float(np.hypot(cell_width_m, cell_height_m))
    per_m = np.array([1 / cell_height_m, 1 / cell_width_m] * 2 + [1 / diagonal] * 4)
    _run_down(
        surface.level_m.ravel(),
        surface.order,
        surface.steps.ravel(),
        through.ravel(),
        width,
        per_m.astype(np.float32),
        np.float32(exponent),
    )
    return through[1:-1, 1:-1]


@compiled
def _run_down(
    level: NDArray[np.float32],
    order: NDArray[np.int32],
    steps: NDArray[np.int32],
    through: NDArray[np.float64],
    width: int,
    per_m: NDArray[np.float32],
    exponent: np.float32,
) -> None:
    around = np.array([-width, 1, width, -1, -width - 1, -width + 1, width + 1, width - 1])
    share = np.zeros(8, np.float32)
    for i in range(order.size - 1, -1, -1):
        cell = order[i]
        here = level[cell]
        total = 0.0
        for k in range(8):
            # Without ground the level is NaN, and no comparison with it holds.
            fall = (here - level[cell + around[k]]) * per_m[k]
            share[k] = np.float32(0.0)
            if fall > np.float32(0.0):
                share[k] = fall**exponent
                total += share[k]
        if total == 0.0:
            for k in range(8):
                other = cell + around[k]
                if level[other] == here and steps[other] < steps[cell]:
                    share[k] = np.float32(1.0)
                    total += 1.0
        if total > 0.0:
            part = through[cell] / total
            for k in range(8):
                if share[k] > np.float32(0.0):
                    through[cell + around[k]] += part * share[k]
