"""Where water would gather and stay: the topographic wetness index, smoothed."""

import numpy as np
import scipy
from numpy.typing import NDArray

_CUT_SIGMAS = 3.0


def wetness_index(
    upslope_cells: NDArray[np.float64],
    slope_frac: NDArray[np.float32],
    cell_width_m: float,
    cell_height_m: float,
    least_slope_frac: float,
) -> NDArray[np.float32]:
    """Topographic wetness index ln(a / tan b) [ln m], any shape; NaN where an input is.

    Parameters
    ----------
    upslope_cells : cells that drain through each cell. slope_frac : tan b, rise over run.
    least_slope_frac : flatter ground counts as this steep.

    Notes
    -----
    a is the upslope area per metre of contour [m], the contour as long as a cell is wide.

    References
    ----------
    Beven and Kirkby (1979), Hydrol. Sci. Bull. 24, 43-69; Quinn et al. (1995), Hydrol. Process. 9,
    161-182.

    >>> area, slope = np.array([100.0]), np.array([0.01], np.float32)
    >>> round(float(wetness_index(area / 100, slope, 10, 10, 0.001)[0]), 2)
    6.91
    """
    contour_m = np.sqrt(cell_width_m * cell_height_m)
    per_m = upslope_cells * (cell_width_m * cell_height_m / contour_m)
    index = np.log(per_m / np.fmax(slope_frac, least_slope_frac))
    return np.where(np.isnan(slope_frac), np.nan, index).astype(np.float32)


def smoothed(values: NDArray[np.float32], sigma_cells: float) -> NDArray[np.float32]:
    """Gaussian mean of the known cells around each known cell; unknown cells stay so.

    Parameters
    ----------
    values : shape (n_rows, n_columns). sigma_cells : standard deviation of the weights [cells],
        cut off at three of it.
    """
    known = ~np.isnan(values)
    if known.all():
        return np.asarray(_gaussian(values, sigma_cells))
    weight = _gaussian(known.astype(np.float32), sigma_cells)
    total = _gaussian(np.where(known, values, np.float32(0)), sigma_cells)
    result = np.full(values.shape, np.nan, np.float32)
    np.divide(total, weight, out=result, where=known & (weight > 0))
    return result


def _gaussian(values: NDArray[np.float32], sigma_cells: float) -> NDArray[np.float32]:
    return np.asarray(
        scipy.ndimage.gaussian_filter(values, sigma_cells, mode="nearest", truncate=_CUT_SIGMAS),
        np.float32,
    )
