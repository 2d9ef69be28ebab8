"""When it flowers and sets pods: by the length of the day, and only roughly.

Flowers and pods spoil the feed, not the stand. The critical day lengths of the types are poorly
known, so a first flower is always a range.
"""

import math
from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from suitability.crop import Crop
from suitability.daylength import daylight_h

SEED_TYPES = ("tropical", "seed-setting", "unknown")
_YEAR_D = 365


@dataclass(frozen=True)
class Flowering:
    """Days after emergence; NaN where it does not come within a year.

    ``first_flower_d`` to ``latest_flower_d`` is the low-confidence range of the first flower,
    ``first_pods_d`` goes with the early end. ``assumed`` is the seed type that the first flower and
    the pods belong to: of an unknown type the earlier one, so that feed is not promised too long;
    the range then reaches to the end of the later one's.
    """

    first_flower_d: float
    latest_flower_d: float
    first_pods_d: float
    assumed: str


def flowering(emergence_doy: int, lat_deg: float, seed_type: str, crop: Crop) -> Flowering:
    """First flower and first pods of a stand that came up on ``emergence_doy``.

    Parameters
    ----------
    emergence_doy : day of the year 1-366; lat_deg : latitude, north positive [deg].
    seed_type : one of ``SEED_TYPES``.

    Notes
    -----
    The first day after the juvenile days on which daylight is falling and below the critical
    length: hence never before the solstice. Daylight is that of FAO-56, between the sun's centre at
    the horizon; by almanac sunrise and sunset the critical lengths are about a quarter hour longer.

    Raises
    ------
    ValueError : a seed type that is not in ``SEED_TYPES``.
    """
    if seed_type not in SEED_TYPES:
        raise ValueError(f"seed type {seed_type!r} is not one of {', '.join(SEED_TYPES)}")
    if seed_type != "unknown":
        return _of_type(emergence_doy, lat_deg, seed_type, crop)
    both = [_of_type(emergence_doy, lat_deg, kind, crop) for kind in SEED_TYPES[:2]]
    early = min(both, key=lambda f: math.inf if math.isnan(f.first_pods_d) else f.first_pods_d)
    known_d = [f.latest_flower_d for f in both if not math.isnan(f.latest_flower_d)]
    return replace(early, latest_flower_d=max(known_d, default=math.nan))


def _of_type(emergence_doy: int, lat_deg: float, seed_type: str, crop: Crop) -> Flowering:
    key = seed_type.replace("-", "_")
    critical_h = crop.number(f"flowering.{key}_h")
    doubt_h = crop.number("flowering.doubt_h")
    first_d = _first_short_day_d(emergence_doy, lat_deg, critical_h + doubt_h, crop)
    latest_d = _first_short_day_d(emergence_doy, lat_deg, critical_h - doubt_h, crop)
    return Flowering(first_d, latest_d, first_d + crop.number(f"flowering.{key}_pods_d"), seed_type)


def _first_short_day_d(emergence_doy: int, lat_deg: float, critical_h: float, crop: Crop) -> float:
    days = np.arange(int(crop.number("flowering.juvenile_d")), _YEAR_D + 1)
    short = _short_days(lat_deg, critical_h)[(emergence_doy + days - 1) % _YEAR_D]
    return float(days[np.argmax(short)]) if short.any() else math.nan


@lru_cache(maxsize=64)
def _short_days(lat_deg: float, critical_h: float) -> NDArray[np.bool_]:
    """Whether daylight is falling and below the critical length, for each day of the year."""
    doy = np.arange(1, _YEAR_D + 1)
    today_h, yesterday_h = daylight_h(lat_deg, doy), daylight_h(lat_deg, doy - 1)
    return (today_h < critical_h) & (today_h < yesterday_h)
