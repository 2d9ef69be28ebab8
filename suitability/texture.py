"""USDA texture class from sand, silt and clay."""

import numpy as np
from numpy.typing import ArrayLike, NDArray

TEXTURE_CLASSES = (
    "sand",
    "loamy sand",
    "sandy loam",
    "loam",
    "silt loam",
    "silt",
    "sandy clay loam",
    "clay loam",
    "silty clay loam",
    "sandy clay",
    "silty clay",
    "clay",
)


def texture_class(
    sand_pct: ArrayLike, silt_pct: ArrayLike, clay_pct: ArrayLike
) -> NDArray[np.object_]:
    """USDA texture class, one of ``TEXTURE_CLASSES``; None where any share is missing.

    Parameters
    ----------
    sand_pct, silt_pct, clay_pct : any shape [pct of the fine earth]. Shares that do not sum to
        100 within 2 give None: the class of such a sample is not known.

    References
    ----------
    Soil Survey Staff, Soil Survey Manual (USDA Handbook 18), texture classes. Sand, loamy sand,
    loam, clay loam and clay read in print; the others from memory, checked in tests against an
    independent implementation over the whole triangle.

    >>> texture_class(30, 40, 30)
    array('clay loam', dtype=object)
    """
    sand, silt, clay = np.broadcast_arrays(
        *(np.asarray(v, dtype=float) for v in (sand_pct, silt_pct, clay_pct))
    )
    conditions = [
        (clay >= 40) & (sand <= 45) & (silt < 40),
        (clay >= 40) & (silt >= 40),
        (clay >= 35) & (sand > 45),
        (clay >= 27) & (clay < 40) & (sand <= 20),
        (clay >= 27) & (clay < 40) & (sand > 20) & (sand <= 45),
        (clay >= 20) & (clay < 35) & (silt < 28) & (sand > 45),
        (silt >= 80) & (clay < 12),
        (silt >= 50) & (clay < 27),
        (silt + 1.5 * clay < 15) & (sand >= 85),
        (silt + 2 * clay < 30) & (sand >= 70),
        (clay >= 7) & (clay < 27) & (silt >= 28) & (silt < 50) & (sand <= 52),
    ]
    classes = [
        "clay",
        "silty clay",
        "sandy clay",
        "silty clay loam",
        "clay loam",
        "sandy clay loam",
        "silt",
        "silt loam",
        "sand",
        "loamy sand",
        "loam",
    ]
    known = np.abs(sand + silt + clay - 100) <= 2
    named = np.select(conditions, classes, default="sandy loam").astype(object)
    named = np.asarray(named, dtype=object)
    named[~known] = None
    return named
