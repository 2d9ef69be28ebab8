"""The weather of a farm: files read, each field given its cell, and the years that count."""

from collections.abc import Sequence
from dataclasses import replace

import pandas as pd

from layers.weather.cells import WeatherCells, weather_cells
from layers.weather.reader import WeatherSource, read_weather
from layers.weather.readings import LAYER
from suitability.columns import STATIONS, WEATHER
from suitability.contract import empty
from suitability.notes import Note
from suitability.record import usable_years, years_notes

_WHOLE_YEAR = ("01-01", "12-31")


def field_weather(
    sources: Sequence[WeatherSource],
    fields: pd.DataFrame,
    field_elevation_m: pd.Series | None = None,
) -> WeatherCells:
    """Weather cells of a farm's fields, with the Notes of all that was read.

    Parameters
    ----------
    sources : the farm's weather files, none at all too. fields : FIELDS table.
    field_elevation_m : height of each field above the sea by field_id, where known.

    Raises
    ------
    InputError : a file that cannot be used.
    """
    if not sources:
        text = (
            "No daily weather was given: soil warmth and drought are not known, and nothing is "
            "counted in years of ten."
        )
        none = pd.Series(None, index=fields["field_id"], dtype=object, name="weather_id")
        note = Note(LAYER, "caution", text)
        return WeatherCells(none, none, empty(STATIONS), empty(WEATHER), (note,))
    # Of the fields' latitudes and longitudes; only to tell slips and to place a lone station.
    middle = (float(fields["lat_deg"].mean()), float(fields["lon_deg"].mean()))
    read = read_weather(sources, middle)
    cells = weather_cells(fields, read.stations, read.weather, field_elevation_m)
    used = read.weather[read.weather["weather_id"].isin(cells.station)]
    first, last = _season(fields)
    years = years_notes(usable_years(used, first, last), first, last)
    return replace(cells, notes=(*read.notes, *cells.notes, *years))


def _season(fields: pd.DataFrame) -> tuple[str, str]:
    """From the first field that opens to the last that closes; the whole year where none says."""
    opens, closes = fields["gap_opens"].dropna(), fields["gap_closes"].dropna()
    if opens.empty or closes.empty or min(opens) > max(closes):
        return _WHOLE_YEAR
    return min(opens), max(closes)
