"""Freeze dates of the fields by our own computation from the daily weather they look to."""

import pandas as pd

from layers.frost.stated import LAYER
from suitability.columns import FROST
from suitability.contract import check, empty, names
from suitability.freeze_odds import (
    LEAST_SEASONS,
    MOST_MISSING_D,
    THRESHOLDS_F,
    freeze_odds,
    freeze_seasons,
    threshold_of_f,
)
from suitability.notes import Note


def own_frost(weather: pd.DataFrame, parts: pd.DataFrame) -> tuple[pd.DataFrame, list[Note]]:
    """FROST rows of each field from the weather cell that most of its ground looks to.

    Parameters
    ----------
    weather : WEATHER table. parts : PARTS table; ground without a weather_id gets no dates.
    """
    looks = parts.dropna(subset=["weather_id"])
    if not len(weather) or not len(looks):
        return empty(FROST), []
    area = looks.groupby(["field_id", "weather_id"], as_index=False)["area_ha"].sum()
    cells = area.sort_values("area_ha").drop_duplicates("field_id", keep="last")
    used = weather[weather["weather_id"].isin(cells["weather_id"])]
    odds = freeze_odds(used)
    frost = cells[["field_id", "weather_id"]].merge(odds, on="weather_id")
    return check(frost[names(FROST)], FROST, "Own freeze dates"), _notes(used, odds, cells)


def _notes(weather: pd.DataFrame, odds: pd.DataFrame, cells: pd.DataFrame) -> list[Note]:
    killing = freeze_seasons(weather, threshold_of_f(min(THRESHOLDS_F)))
    notes = []
    for cell, seasons in killing.groupby("weather_id"):
        whole = int(seasons["counted"].sum())
        whole_seasons = "1 whole season" if whole == 1 else f"{whole} whole seasons"
        told = f"Freeze dates from {cell}: {whole_seasons} from July to June"
        began = seasons[seasons["counted"].astype(bool)]["season"]
        if whole:
            told += f" between {began.min():.0f} and {began.max() + 1:.0f}"
        partial = seasons[~seasons["counted"].astype(bool)]
        if len(partial):
            told += (
                f"; {len(partial)} left out, with more than {MOST_MISSING_D} days missing when it "
                "can freeze"
            )
        fields = tuple(cells["field_id"][cells["weather_id"] == cell])
        if cell in set(odds["weather_id"]):
            notes.append(Note(LAYER, "info", f"{told}.", fields))
        else:
            text = f"{told}. Fewer than {LEAST_SEASONS}: too few for odds of its own."
            notes.append(Note(LAYER, "caution", text, fields))
    return notes
