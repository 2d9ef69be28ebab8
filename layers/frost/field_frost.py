"""Freeze dates of the farm: from the file it names, from its weather, or both side by side."""

from pathlib import Path

import geopandas as gpd
import pandas as pd

from layers.frost.compare import choose
from layers.frost.own import own_frost
from layers.frost.reader import FrostRead, read_frost
from layers.frost.stated import Stated
from suitability.columns import FROST
from suitability.contract import empty


def field_frost(
    path: Path | None,
    stated: Stated,
    fields: gpd.GeoDataFrame,
    weather: pd.DataFrame,
    parts: pd.DataFrame,
) -> FrostRead:
    """Freeze dates of each field; empty where there is neither a file nor daily weather.

    Parameters
    ----------
    path : file of freeze dates, None where the farm has none. stated : what farm.toml says of it.
    fields, weather, parts : tables of the contract; parts name the weather cell they look to.

    Raises
    ------
    InputError, CrsError : a file that cannot be used.
    """
    own, own_notes = own_frost(weather, parts)
    if path is None:
        return FrostRead(own, tuple(own_notes), ())
    read = read_frost(path, fields, stated)
    published = read.frost if len(read.frost) else empty(FROST)
    frost, notes = choose(published, own)
    return FrostRead(frost, (*read.notes, *own_notes, *notes), read.files)
