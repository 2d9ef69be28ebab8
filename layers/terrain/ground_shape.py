"""The shape of the ground of one group of fields: hollows, wetness index, slope, level water."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from layers.grid import Grid
from layers.terrain.burn import burnt
from layers.terrain.fill import filled
from layers.terrain.flow import upslope_cells
from layers.terrain.noise import noise_m, step_m
from layers.terrain.open_water import large_enough, level_patches
from layers.terrain.settings import setting
from layers.terrain.slope import slope_frac
from layers.terrain.stands_out import above_surroundings_m
from layers.terrain.wetness_index import smoothed, wetness_index

Floats = NDArray[np.float32]


@dataclass(frozen=True)
class GroundShape:
    """What the heights of one group tell; arrays have the shape of ``grid``, NaN without ground.

    ``grid`` : heights as worked on, lowered along pipes and ditches.
    ``fill_m`` : how deep water can stand before it spills [m].
    ``wetness`` : smoothed topographic wetness index [ln m].
    ``slope_frac`` : slope of the filled ground. ``above_m`` : height above the ground around [m].
    ``hollow``, ``level_water`` : cells of hollows, and of exactly level patches.
    ``trusted_m`` : shallower hollows and lower rises are not told from error [m].
    ``step_m`` : step of the stored heights [m]. ``drains_used`` : of each line, whether it lies on
    the heights.
    """

    grid: Grid
    fill_m: Floats
    wetness: Floats
    slope_frac: Floats
    above_m: Floats
    hollow: NDArray[np.bool_]
    level_water: NDArray[np.bool_]
    trusted_m: float
    step_m: float
    drains_used: tuple[bool, ...]


def ground_shape(
    heights: Grid,
    drains: Sequence[NDArray[np.float64]] = (),
    stored_step_m: float | None = None,
) -> GroundShape:
    """Work out the shape of the ground.

    Parameters
    ----------
    heights : in metres, in a metre CRS, with the ground around the fields.
    drains : pipes and ditches, each an array of x and y in the CRS of the heights.
    stored_step_m : step of the heights as stored, where they were joined since [m].
    """
    width_m, height_m = heights.transform[0], -heights.transform[4]
    cell_m2 = width_m * height_m
    step = step_m(heights.values) if stored_step_m is None else stored_step_m
    lines = [_rows_and_columns(line, heights) for line in drains]
    lowered, used = burnt(heights.values, lines, setting("drain_reach_m") / heights.cell)
    noise = float(np.nan_to_num(noise_m(heights.values)))
    trusted_m = max(setting("noise_times") * noise, float(np.nan_to_num(step)))
    surface = filled(lowered)
    fill_m = surface.inner_m - lowered
    slope = slope_frac(surface.level_m, width_m, height_m)
    through = upslope_cells(surface, width_m, height_m, setting("flow_exponent"))
    del surface
    index = wetness_index(through, slope, width_m, height_m, setting("least_slope_frac"))
    del through
    wetness = smoothed(index, max(setting("smoothing_m") / heights.cell, 1.0))
    del index
    around_m = setting("around_m")
    rimmed = np.pad(lowered, 1, constant_values=np.nan)
    above_m = above_surroundings_m(rimmed, around_m / height_m, around_m / width_m)
    least = max(setting("hollow_area_m2") / cell_m2, setting("hollow_cells"))
    hollow = large_enough(fill_m >= max(setting("hollow_depth_m"), trusted_m), least)
    if step <= setting("flat_water_step_m"):
        least_water = setting("flat_water_m2") / cell_m2
        water = level_patches(
            heights.values,
            setting("flat_water_within_m"),
            least_water,
            setting("flat_water_rim_frac"),
        )
    else:
        water = np.zeros(hollow.shape, bool)
    return GroundShape(
        Grid(lowered, heights.transform, heights.crs),
        fill_m,
        wetness,
        slope,
        above_m,
        hollow & ~water,
        water,
        trusted_m,
        step,
        tuple(used),
    )


def _rows_and_columns(line: NDArray[np.float64], grid: Grid) -> NDArray[np.float64]:
    width, _, left, _, height, top = grid.transform
    return np.column_stack([(line[:, 1] - top) / height - 0.5, (line[:, 0] - left) / width - 0.5])
