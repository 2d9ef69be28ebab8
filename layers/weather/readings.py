"""What a weather file says before its units, days and place are made sure."""

from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np
import pandas as pd

from suitability.errors import InputError
from suitability.notes import Note

LAYER = "weather"
MEASURED = ("tmax", "tmin", "precip", "solar")
PLACE = ("lat_deg", "lon_deg", "elevation_m")

# Texts that stand for a value that was not measured, in small letters.
_BLANKS = ("", "na", "n/a", "nan", "null", "none", "m", "-", "--", ".")
# Less rain than the gauge can show.
_TRACE = "t"
# Numbers that stand for missing. -99 is -9.9 C where the unit is a tenth of a degree, and then it
# is a value like any other: see `MAYBE_MISSING`.
MISSING = (-9999.0, -9999.9, -999.0, -999.9, -99.9, -99.99, 9999.0, 99999.0)
MAYBE_MISSING = -99.0
_FAULTS_SHOWN = 5


@dataclass(frozen=True)
class Readings:
    """A file as read: values in the file's own unit.

    Attributes
    ----------
    layout : what kind of file it is, in words.
    days : one row a day and station in the file's order: ``station``, ``row`` (line of the file),
        ``date``, ``tmax``, ``tmin``, ``precip`` in the file's unit and ``solar`` in MJ/m2/d; NaN
        where missing. A measure that the file does not have is all NaN.
    stations : ``station`` (unique), ``name``, ``lat_deg``, ``lon_deg``, ``elevation_m``; None or
        NaN where the file does not say.
    temperature_unit, precip_unit : as the file or its layout states them, else None.
    one_system : temperature and rain are both metric, both US, or both tenths.
    columns : measure -> its column in the file, for messages.
    """

    layout: str
    days: pd.DataFrame
    stations: pd.DataFrame
    temperature_unit: str | None = None
    precip_unit: str | None = None
    one_system: bool = False
    columns: dict[str, str] = field(default_factory=dict)
    notes: tuple[Note, ...] = ()


@dataclass(frozen=True)
class Layout:
    """One layout: its name, how its text is told, and how it is read."""

    name: str
    matches: Callable[[str], bool]
    read: Callable[[str, Path], Readings]


def number_column(
    texts: pd.Series, column: str, faults: list[str], *, rows: pd.Series, trace: bool = False
) -> pd.Series:
    """Numbers out of texts, NaN where missing; what is no number goes to ``faults``.

    Parameters
    ----------
    texts : text or NaN, any index. rows : line of the file of each, the same index.
    trace : a ``T`` is a trace of rain, 0.
    """
    place, distinct = pd.factorize(texts)  # days and places repeat their values
    small = pd.Series([str(text).strip().lower() for text in distinct], dtype=object)
    blank = small.isin(_BLANKS)
    if trace:
        small = small.mask(small == _TRACE, "0")
    found = pd.to_numeric(small.mask(blank), errors="coerce").astype(float)
    wrong = (found.isna() & ~blank) | np.isinf(found)
    found = found.mask(wrong | found.isin(MISSING))
    # The last stands for -1: no text.
    numbers = pd.Series(np.append(found, np.nan)[place], index=texts.index)
    odd = np.append(wrong, False)[place]
    if odd.any():
        shown = [
            f"row {rows[i]} {str(texts[i])[:30]!r}" for i in numbers.index[odd][:_FAULTS_SHOWN]
        ]
        more = int(odd.sum()) - len(shown)
        words = ", ".join(shown) + (f" and {more} more" if more else "")
        faults.append(f"column {column}: no number in {words}")
    return numbers


def refuse(path: Path, faults: list[str], expected: str) -> None:
    """Raise one InputError with all ``faults`` of a file, if there are any."""
    if faults:
        lines = "\n".join(f"  - {fault}" for fault in faults)
        raise InputError(f"{path} cannot be read as daily weather:\n{lines}\n{expected}")


def station_table(
    station: str, name: str | None, lat_deg: float, lon_deg: float, elevation_m: float
) -> pd.DataFrame:
    """The table of a file with one station."""
    return pd.DataFrame(
        {
            "station": [station],
            "name": pd.Series([name], dtype=object),
            "lat_deg": [float(lat_deg)],
            "lon_deg": [float(lon_deg)],
            "elevation_m": [float(elevation_m)],
        }
    )
