"""Which unit a weather file is in, found from its own values, with the reason, or refused.

Each unit is tried: what would the values mean in it, and can that be at this latitude? Exactly one
must be left. The limits are wide on purpose (judgement): units differ by a factor of 10 or 25, or
by some 20 C, climates of one latitude by less.
"""

from dataclasses import dataclass

import numpy as np
import pandas as pd

from suitability.errors import InputError

TEMPERATURE_WORDS = {"c": "C", "f": "F", "tenths_c": "tenths of C"}
PRECIP_WORDS = {"mm": "mm", "in": "inches", "tenths_mm": "tenths of mm"}
_PARTNER = {"c": "mm", "f": "in", "tenths_c": "tenths_mm"}

# Found from the values / stated by the user or the file, who may know better: wider.
_MEAN_OFF_C = (13.0, 20.0)  # mean over the months against the usual one of the latitude
_MONTH_OFF_C = (18.0, 26.0)  # any single month
_DAY_NIGHT_C = ((2.5, 22.0), (1.0, 30.0))
_WET_DAY_MM = ((1.5, 40.0), (0.5, 80.0))
_YEAR_MM = ((50.0, 6000.0), (5.0, 13000.0))
_DAYS_FOR_YEAR = 300
_WET_DAYS_FOR_GRAIN = 10
_SHARE_WHOLE = 0.99
_LAPSE_C_KM = 6.5  # mean of the free air; only for what is usual at a height
_MM_PER_INCH = 25.4


@dataclass(frozen=True)
class Found:
    """A unit and why it was taken."""

    unit: str
    reason: str


def to_c(values: pd.Series, unit: str) -> pd.Series:
    """Air temperature [degC] from a file's unit: c, f or tenths_c."""
    if unit == "f":
        return (values - 32.0) / 1.8
    return values / 10.0 if unit == "tenths_c" else values


def to_mm(values: pd.Series, unit: str) -> pd.Series:
    """Rain [mm] from a file's unit: mm, in or tenths_mm."""
    return values * {"mm": 1.0, "in": _MM_PER_INCH, "tenths_mm": 0.1}[unit]


def temperature_unit(
    days: pd.DataFrame, place: pd.DataFrame, stated: str | None, where: str
) -> Found | None:
    """Unit of ``tmax`` and ``tmin``; None where the file has no temperature.

    Parameters
    ----------
    days : ``station``, ``date``, ``tmax``, ``tmin`` in the file's unit.
    place : by station (index) ``lat_deg`` and ``elevation_m`` (NaN: taken as 0).
    stated : the unit by the farm file or the file itself, None to find it.
    where : file and columns, for messages.

    Raises
    ------
    InputError : no unit makes sense of the values, several do, or the stated one does not.
    """
    values = pd.Series(days[["tmax", "tmin"]].to_numpy(dtype=float).ravel()).dropna()
    if values.empty:
        return None
    off = _Climate(days, place)
    said = f"The values run from {values.min():g} to {values.max():g}, mean {values.mean():.1f}"
    meanings: dict[str, str] = {}
    sound = []
    whole = bool((values % 1 == 0).all())
    for unit, word in TEMPERATURE_WORDS.items():
        words, fits = off.meaning(unit, bool(stated))
        if unit == "tenths_c" and not whole:
            words, fits = "they would be whole numbers", False
        meanings[unit] = f"as {word} {words}"
        if fits:
            sound.append(unit)
    if stated is not None:
        meanings = {stated: meanings[stated]}
    reason = f"{said}; {'; '.join(meanings.values())}"
    return _decided(sound, stated, reason, where, "temperature_unit", TEMPERATURE_WORDS)


def precip_unit(
    days: pd.DataFrame, stated: str | None, where: str, *, temperature: str | None
) -> Found | None:
    """Unit of ``precip``; None where there is none or no rain fell at all (0 needs no unit).

    Parameters
    ----------
    days : ``date``, ``precip`` in the file's unit.
    stated, where : as in ``temperature_unit``.
    temperature : unit of the temperatures, where both come of one system of units: it decides
        when the amounts alone leave several units.

    Raises
    ------
    InputError : as ``temperature_unit``.
    """
    values = days["precip"][days["precip"] >= 0]
    wet = values[values > 0]
    if wet.empty:
        return None
    loose = bool(stated)
    whole = bool((wet % 1 == 0).mean() >= _SHARE_WHOLE)
    hundredths = bool((np.abs(wet * 10 - (wet * 10).round()) > 1e-6).mean() > 0.2)
    grain = "whole numbers" if whole else ("to 0.01" if hundredths else "to 0.1")
    meanings: dict[str, str] = {}
    sound = []
    for unit, word in PRECIP_WORDS.items():
        day_mm = float(to_mm(wet, unit).mean())
        year_mm = float(to_mm(values, unit).mean() * 365.25)
        low, high = _WET_DAY_MM[loose]
        # A stated unit is not refused for a single storm.
        few = loose and len(wet) < _WET_DAYS_FOR_GRAIN
        fits = few or low <= day_mm <= high
        words = f"{day_mm:.1f} mm a wet day"
        if len(values) >= _DAYS_FOR_YEAR:
            low, high = _YEAR_MM[loose]
            fits = fits and low <= year_mm <= high
            words += f", {year_mm:,.0f} mm a year"
        if unit == "tenths_mm" and not whole:
            words, fits = "they would be whole numbers", False
        if unit == "in" and whole and len(wet) >= _WET_DAYS_FOR_GRAIN:
            words, fits = f"{words}, and never a part of an inch", False
        meanings[unit] = f"as {word} {words}"
        if fits:
            sound.append(unit)
    if stated is not None:
        meanings = {stated: meanings[stated]}
    said = f"{len(wet):,} wet days, {grain}, mean {wet.mean():.2f}"
    reason = f"{said}; {'; '.join(meanings.values())}"
    partner = _PARTNER.get(temperature or "")
    if stated is None and len(sound) > 1 and partner in sound:
        reason += f"; its temperatures are in {TEMPERATURE_WORDS[temperature or '']}"
        sound = [partner]
    return _decided(sound, stated, reason, where, "precip_unit", PRECIP_WORDS)


def _decided(
    sound: list[str], stated: str | None, reason: str, where: str, key: str, words: dict[str, str]
) -> Found:
    choice = " or ".join(f'"{unit}"' for unit in words)
    if stated is not None:
        if stated in sound:
            return Found(stated, reason)
        raise InputError(
            f"{where}: in {words[stated]}, as stated, the values cannot be. {reason}. Expected "
            f"values that fit the season and the place. Correct {key} ({choice}) in farm.toml, or "
            "the file."
        )
    if len(sound) == 1:
        return Found(sound[0], reason)
    doubt = "fits none of the units read here" if not sound else "could be in more than one unit"
    raise InputError(
        f"{where}: the file does not say its unit, and it {doubt}. {reason}. State it in farm.toml "
        f"under [weather]: {key} = {choice}."
    )


def usual_mean_c(lat_deg: float, elevation_m: float, day_of_year: float) -> float:
    """Air temperature [degC] that is usual at a latitude on a day; only good for telling units.

    Yearly mean 14.9 - 28 P2(sin latitude) (North, Cahalan and Coakley 1981, Rev. Geophys. Space
    Phys. 19:91-121; values from memory), a swing of 25 sin(latitude) with its peak at day 200
    (judgement), and 6.5 C/km.
    """
    sine = np.sin(np.radians(lat_deg))
    yearly = 14.9 - 28.0 * (1.5 * sine**2 - 0.5)
    swing = 25.0 * sine * np.cos(2 * np.pi * (day_of_year - 200.0) / 365.25)
    return float(yearly + swing - _LAPSE_C_KM * elevation_m / 1000.0)


class _Climate:
    """The months of a file beside what is usual where it lies."""

    def __init__(self, days: pd.DataFrame, place: pd.DataFrame) -> None:
        month = days["date"].dt.month
        self._mean = days[["tmax", "tmin"]].groupby([days["station"], month]).mean()
        self._usual = pd.Series(
            [
                usual_mean_c(
                    float(place.at[station, "lat_deg"]),
                    float(np.nan_to_num(place.at[station, "elevation_m"])),
                    30.4 * (m - 0.5),
                )
                for station, m in self._mean.index
            ],
            index=self._mean.index,
        )
        self._spread = (days["tmax"] - days["tmin"]).median()

    def meaning(self, unit: str, loose: bool) -> tuple[str, bool]:
        """What the values are in this unit, in words, and whether that can be."""
        # A file of highs or lows alone stands some degrees off the day's mean; the limits allow it.
        mean_c = to_c(self._mean, unit).mean(axis=1)
        off = (mean_c - self._usual).dropna()
        words = (
            f"a mean of {mean_c.mean():.1f} C where {self._usual[off.index].mean():.0f} C is usual"
        )
        fits = abs(off.mean()) <= _MEAN_OFF_C[loose] and off.abs().max() <= _MONTH_OFF_C[loose]
        if np.isfinite(self._spread):
            spread_c = self._spread / {"c": 1.0, "f": 1.8, "tenths_c": 10.0}[unit]
            low, high = _DAY_NIGHT_C[loose]
            fits = fits and low <= spread_c <= high
            words += f", {spread_c:.1f} C between night and day"
        return words, bool(fits)
