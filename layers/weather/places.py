"""Where each station of a file lies, by the farm file or the file, and whether that can be."""

from pathlib import Path

import numpy as np
import pandas as pd

from layers.weather.readings import LAYER
from suitability.errors import InputError, listed
from suitability.notes import Note

_EARTH_RADIUS_KM = 6371.0
# A place this far off that lies this near once mended is a slip of the pen (judgement).
_FAR_KM, _NEAR_KM = 1000.0, 300.0
_LOWEST_M, _HIGHEST_M = -450.0, 6000.0


def distance_km(
    lat_deg: float | np.ndarray, lon_deg: float | np.ndarray, lat2_deg: float, lon2_deg: float
) -> np.ndarray:
    """Great-circle distance [km]; haversine on a sphere of 6371 km."""
    one, two = np.radians(lat_deg), np.radians(lat2_deg)
    half = np.sin((one - two) / 2) ** 2
    half = half + np.cos(one) * np.cos(two) * np.sin(np.radians(lon_deg - lon2_deg) / 2) ** 2
    return np.asarray(2 * _EARTH_RADIUS_KM * np.arcsin(np.sqrt(half)))


def placed(
    stations: pd.DataFrame,
    path: Path,
    stated: tuple[float | None, float | None, float | None],
    farm_middle: tuple[float, float],
    *,
    alone: bool,
) -> tuple[pd.DataFrame, list[Note]]:
    """Stations with a place: the farm file's, else the file's, else the middle of the farm.

    Parameters
    ----------
    stations : of one file: ``station``, ``lat_deg``, ``lon_deg``, ``elevation_m``.
    stated : latitude, longitude [deg] and height [m] by the farm file, None where not given.
    farm_middle : latitude and longitude [deg].
    alone : this is the only weather file of the farm.

    Raises
    ------
    InputError : no place in a file of several stations, or in one of several files; a place off
        the earth, at 0, 0, with latitude and longitude changed over, or on the wrong side of
        Greenwich.
    """
    stations = stations.copy()
    notes: list[Note] = []
    if stated[0] is not None or stated[2] is not None:
        if len(stations) > 1:
            raise InputError(
                f"{path} holds {len(stations)} stations ({_some(stations)}), but farm.toml states "
                "one place for it. Take lat, lon and elevation_m out, or keep one station a file."
            )
        for column, value in zip(("lat_deg", "lon_deg", "elevation_m"), stated, strict=True):
            if value is not None:
                stations[column] = float(value)
    lacking = stations["lat_deg"].isna() | stations["lon_deg"].isna()
    if lacking.any():
        if len(stations) > 1 or not alone:
            raise InputError(
                f"{path} does not say where its stations lie ({_some(stations[lacking])}). "
                "Expected latitude and longitude in degrees. Keep one station a file, and give "
                "each its lat, lon and elevation_m under its own [[weather]] in farm.toml."
            )
        stations["lat_deg"], stations["lon_deg"] = farm_middle
        text = (
            f"{path.name} does not say where its station lies; it was taken to lie in the middle "
            "of the farm. Give lat, lon and elevation_m in farm.toml if it does not."
        )
        notes.append(Note(LAYER, "caution", text))
    faults = [fault for _, row in stations.iterrows() if (fault := _fault(row, farm_middle))]
    if faults:
        remedy = (
            "Expected degrees, north and east positive (west is minus), and metres above the sea. "
            "Give lat, lon and elevation_m in farm.toml, or mend the file."
        )
        raise InputError(
            listed(f"{path}: a station cannot lie where it is said to", faults, remedy)
        )
    return stations, notes


def _fault(row: pd.Series, farm_middle: tuple[float, float]) -> str:
    lat_deg, lon_deg, name = float(row["lat_deg"]), float(row["lon_deg"]), row["station"]
    here = f"{name}: latitude {lat_deg:g}, longitude {lon_deg:g}"
    if lat_deg == 0 and lon_deg == 0:
        return f"{here} is in the sea off Africa and stands for 'not known'"
    swaps = f"{here} seem to have changed places"
    if abs(lat_deg) > 90:
        return swaps if abs(lon_deg) <= 90 and abs(lat_deg) <= 180 else f"{here} is not on earth"
    if abs(lon_deg) > 180:
        return f"{here} is not on earth"
    if distance_km(lat_deg, lon_deg, *farm_middle) > _FAR_KM:
        if abs(lon_deg) <= 90 and distance_km(lon_deg, lat_deg, *farm_middle) < _NEAR_KM:
            return swaps
        if distance_km(lat_deg, -lon_deg, *farm_middle) < _NEAR_KM:
            return f"{here} lacks the minus of a western longitude"
    height_m = float(row["elevation_m"])
    if np.isfinite(height_m) and not _LOWEST_M <= height_m <= _HIGHEST_M:
        return f"{name}: a height of {height_m:g} m is not on land"
    return ""


def _some(stations: pd.DataFrame) -> str:
    names = [str(name) for name in stations["station"].head(5)]
    return ", ".join(names) + (" ..." if len(stations) > len(names) else "")
