"""Water that shows in heights from the air: patches that are exactly level."""

import numpy as np
import scipy
from numpy.typing import NDArray

EIGHT = np.ones((3, 3), np.int8)


def level_patches(
    heights_m: NDArray[np.float32], within_m: float, least_cells: float, rim_frac: float
) -> NDArray[np.bool_]:
    """Cells of exactly level patches, shape as given.

    Parameters
    ----------
    within_m : a cell is level where none of its eight neighbours differs by more than this [m].
    least_cells : smaller patches are left out; the shore cells of a patch count.
    rim_frac : least share of the cells around a patch that are higher than it, so that a level
        road or yard is no water.
    """
    level = np.zeros(heights_m.shape, bool)
    z = heights_m
    middle = z[1:-1, 1:-1]
    inside = np.ones(middle.shape, bool)
    rows, columns = z.shape
    for down in (0, 1, 2):
        for right in (0, 1, 2):
            other = z[down : rows - 2 + down, right : columns - 2 + right]
            inside &= np.abs(other - middle) <= within_m
    level[1:-1, 1:-1] = inside
    if not inside.any():
        return level
    labels, _ = scipy.ndimage.label(large_enough(_and_beside(level), least_cells), EIGHT)
    for number, place in enumerate(scipy.ndimage.find_objects(labels), start=1):
        wider = tuple(slice(max(0, s.start - 1), s.stop + 1) for s in place)
        patch = labels[wider] == number
        ring = z[wider][_and_beside(patch) & ~patch]
        ring = ring[np.isfinite(ring)]
        higher = ring > float(z[wider][patch].max()) + within_m
        if not ring.size or higher.mean() < rim_frac:
            labels[wider][patch] = 0
    return np.asarray(labels > 0)


def _and_beside(mask: NDArray[np.bool_]) -> NDArray[np.bool_]:
    return np.asarray(scipy.ndimage.binary_dilation(mask, EIGHT))


def large_enough(mask: NDArray[np.bool_], least_cells: float) -> NDArray[np.bool_]:
    """The connected patches of a mask (eight neighbours) that have at least ``least_cells``."""
    labels, count = scipy.ndimage.label(mask, EIGHT)
    if not count:
        return np.zeros(mask.shape, bool)
    size = np.bincount(labels.ravel())
    size[0] = 0
    enough = labels > 0
    enough[enough] = (size >= least_cells)[labels[enough]]
    return np.asarray(enough)
