"""Multiple flow directions by fastscapelib (GPL, for tests only), to compare our own with."""

import numpy as np


def upslope_area_m2(heights_m, cell_m, exponent):
    """Filled heights and upslope area [m2]; the library shares water by slope to ``exponent``."""
    import fastscapelib as fs

    hole = np.isnan(heights_m)
    rimmed = hole.copy()
    rimmed[[0, -1]] = True
    rimmed[:, [0, -1]] = True
    beside = np.zeros(hole.shape, bool)
    known = ~hole
    for down in (-1, 0, 1):
        for right in (-1, 0, 1):
            beside |= np.roll(hole, (down, right), (0, 1))
    base = known & (beside | rimmed)
    grid = fs.RasterGrid(heights_m.shape, [cell_m, cell_m], fs.NodeStatus.FIXED_VALUE, {})
    graph = fs.FlowGraph(grid, [fs.PFloodSinkResolver(), fs.MultiFlowRouter(exponent)])
    graph.mask = hole
    graph.base_levels = list(np.flatnonzero(base.ravel()))
    filled = graph.update_routes(np.where(hole, 1e4, heights_m).astype(np.float64))
    return np.where(hole, np.nan, filled), np.where(hole, np.nan, graph.accumulate(1.0))
