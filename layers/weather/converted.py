"""The readings of a file in C and mm, whichever unit they came in."""

from pathlib import Path

import pandas as pd

from layers.weather.readings import LAYER, MAYBE_MISSING, Readings
from layers.weather.units import (
    PRECIP_WORDS,
    TEMPERATURE_WORDS,
    Found,
    precip_unit,
    temperature_unit,
    to_c,
    to_mm,
)
from suitability.errors import InputError
from suitability.notes import Note


def converted(
    raw: pd.DataFrame,
    readings: Readings,
    stations: pd.DataFrame,
    stated: tuple[str | None, str | None],
    path: Path,
) -> tuple[pd.DataFrame, str | None, str | None, list[Note]]:
    """Days in C and mm, the units they were in, and why those were taken.

    Parameters
    ----------
    raw : days in the file's unit. stations : with their places.
    stated : units of temperature and rain by the farm file; they go before the file's own.

    Raises
    ------
    InputError : a unit that cannot be told, or cannot be.
    """
    warm, wet, notes = _units(raw, readings, stations, stated, path)
    # As tenths of a degree, -99 is -9.9 C: a value, and the checks to come judge it.
    code = raw[["tmax", "tmin"]] == MAYBE_MISSING
    if warm == "tenths_c":
        code &= False
    days = pd.DataFrame(
        {
            "station": raw["station"],
            "row": raw["row"],
            "date": raw["date"].astype("datetime64[ns]"),
            "tmax_c": to_c(raw["tmax"].mask(code["tmax"]), warm or "c"),
            "tmin_c": to_c(raw["tmin"].mask(code["tmin"]), warm or "c"),
            "precip_mm": to_mm(raw["precip"].mask(raw["precip"] == MAYBE_MISSING), wet or "mm"),
            "solar_mj_m2_d": raw["solar"].mask(raw["solar"] == MAYBE_MISSING),
        }
    )
    return days, warm, wet, notes


def _units(
    raw: pd.DataFrame,
    readings: Readings,
    stations: pd.DataFrame,
    stated: tuple[str | None, str | None],
    path: Path,
) -> tuple[str | None, str | None, list[Note]]:
    """Units of temperature and rain, and the Notes that say why; all doubts in one message."""
    place = stations.set_index("station")
    known = raw.assign(
        **{m: raw[m].mask(raw[m] == MAYBE_MISSING) for m in ("tmax", "tmin", "precip")}
    )
    column = readings.columns
    heads = " and ".join(column[m] for m in ("tmax", "tmin") if m in column)
    warm_where, wet_where = f"{path}, {heads}", f"{path}, {column.get('precip', 'rain')}"
    warm = wet = None
    faults = []
    asked = stated[0] or readings.temperature_unit
    try:
        warm = temperature_unit(known, place, asked, warm_where)
    except InputError as error:
        faults.append(str(error))
    partner = warm.unit if warm is not None and readings.one_system else None
    rain_asked = stated[1] or readings.precip_unit
    try:
        wet = precip_unit(known, rain_asked, wet_where, temperature=partner)
    except InputError as error:
        faults.append(str(error))
    if faults:
        raise InputError("\n".join(faults))
    notes = []
    for found, words, heading, ours, theirs in (
        (warm, TEMPERATURE_WORDS, heads, stated[0], readings.temperature_unit),
        (wet, PRECIP_WORDS, column.get("precip", ""), stated[1], readings.precip_unit),
    ):
        if found is not None:
            said = _said(found, words, ours, theirs)
            notes.append(Note(LAYER, "info", f"{path.name}: {heading} in {said}"))
    return (warm.unit if warm else None), (wet.unit if wet else None), notes


def _said(found: Found, words: dict[str, str], ours: str | None, theirs: str | None) -> str:
    unit = words[found.unit]
    if ours is not None:
        return f"{unit}, as farm.toml states. {found.reason}."
    if theirs is not None:
        return f"{unit}, as the file or its layout states. {found.reason}."
    return f"{unit}: the file does not say it, its values do. {found.reason}."
