"""The same map projection counted in metres, so that a grid in feet needs no resampling."""

import re
import warnings
from pathlib import Path

import numpy as np
import pyproj
from pyproj.exceptions import ProjError

from suitability.errors import InputError

_SAME_PLACE_M = 0.01


def in_metres(crs: pyproj.CRS, source: Path) -> tuple[pyproj.CRS, float]:
    """A projected CRS in metres, and how many metres the unit of ``crs`` is.

    Multiplying coordinates in ``crs`` by that number gives those in the new CRS.

    Raises
    ------
    InputError : the CRS cannot be written in metres.
    """
    unit_m = float(crs.axis_info[0].unit_conversion_factor)
    if unit_m == 1.0:
        return crs, 1.0
    try:
        with warnings.catch_warnings():
            # The short form may lose the name of a datum; the check below is what counts.
            warnings.simplefilter("ignore", UserWarning)
            short = re.sub(r"\+(units|to_meter|vunits)=\S+", "", crs.to_proj4())
        metres = pyproj.CRS.from_proj4(f"{short} +units=m")
        if _fits(crs, metres, unit_m):
            return metres, unit_m
    except ProjError:
        pass
    raise InputError(
        f"{source}: its CRS {crs.name!r} counts in units of {unit_m:.6g} m and cannot be brought "
        "to metres here. Expected a CRS in metres or degrees. Export it again in UTM."
    )


def _fits(crs: pyproj.CRS, metres: pyproj.CRS, unit_m: float) -> bool:
    use = crs.area_of_use
    lon = np.array([use.west, use.east]) if use else np.array([-84.0, -83.0])
    lat = np.array([use.south, use.north]) if use else np.array([31.0, 32.0])
    there = np.array(pyproj.Transformer.from_crs(4326, crs, always_xy=True).transform(lon, lat))
    here = np.array(pyproj.Transformer.from_crs(4326, metres, always_xy=True).transform(lon, lat))
    return bool(np.isfinite(here).all() and np.abs(there * unit_m - here).max() < _SAME_PLACE_M)
