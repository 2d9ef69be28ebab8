"""Freeze dates of the farm: from the file it names, from its weather, or both side by side."""

from pathlib import Path

import geopandas as gpd
import pandas as pd

from layers.frost.compare import choose
from layers.frost.own import own_frost
from layers.frost.reader import FrostRead, read_frost
from layers.frost.stated import LAYER, Stated
from suitability.columns import FROST
from suitability.contract import empty
from suitability.freeze_columns import freeze_columns
from suitability.gap import gap_days
from suitability.notes import Note


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
        return FrostRead(own, (*own_notes, *_ended_notes(own, fields)), ())
    read = read_frost(path, fields, stated)
    published = read.frost if len(read.frost) else empty(FROST)
    frost, notes = choose(published, own)
    told = (*read.notes, *own_notes, *notes, *_ended_notes(frost, fields))
    return FrostRead(frost, told, read.files)


def _ended_notes(frost: pd.DataFrame, fields: gpd.GeoDataFrame) -> list[Note]:
    """Say where a killing freeze ends the season before the gap closes."""
    dates = freeze_columns(frost)["first_freeze_28f_p10"]
    gaps = fields[["field_id", "gap_opens", "gap_closes"]].join(dates, on="field_id").dropna()
    by_day: dict[str, list[str]] = {}
    for field_id, opens, closes, freeze in gaps.itertuples(index=False):
        if gap_days(opens, freeze) < gap_days(opens, closes):
            by_day.setdefault(freeze, []).append(field_id)
    return [
        Note(
            LAYER,
            "info",
            f"In 1 year of 10 the first killing freeze (28 F, -2.2 C) comes by {day} (month-day), "
            "before the gap closes. Where the survey's rules judge, the season is counted to that "
            f"day (number of such fields: {len(ids)}).",
            tuple(ids),
        )
        for day, ids in by_day.items()
    ]
