"""What a station's record spans and lacks, in Notes."""

from pathlib import Path

import numpy as np
import pandas as pd

from layers.weather.readings import LAYER
from suitability.notes import Note

_LONG_HOLE_D = 31


def lacking_notes(days: pd.DataFrame, path: Path) -> list[Note]:
    """A warning where a file has no high, no low or no rain at all."""
    word = {"tmax_c": "high", "tmin_c": "low", "precip_mm": "rain"}
    none = [w for column, w in word.items() if days[column].isna().all()]
    if not none:
        return []
    text = f"{path.name} has no {' and no '.join(none)}: what needs it is not known."
    return [Note(LAYER, "warning", text)]


def record_notes(station: str, days: pd.DataFrame, masked: list[str]) -> list[Note]:
    """What a record spans and lacks, and what was left out of it."""
    whole = days[["tmax_c", "tmin_c", "precip_mm"]].notna().all(axis=1)
    text = (
        f"Station {station}: {days.index[0]:%Y-%m-%d} to {days.index[-1]:%Y-%m-%d}, "
        f"{int(whole.sum()):,} of {len(days):,} days have a high, a low and the rain."
    )
    notes = [Note(LAYER, "info", text)]
    if masked:
        text = f"Station {station}: values that cannot be were left out: {'; '.join(masked)}."
        notes.append(Note(LAYER, "warning", text))
    holes = _holes(days.drop(columns="solar_mj_m2_d").notna().any(axis=1))
    if holes:
        text = (
            f"Station {station}: nothing was recorded {', '.join(holes)}. These days are left "
            "empty and the years apart."
        )
        notes.append(Note(LAYER, "caution", text))
    return notes


def _holes(known: pd.Series) -> list[str]:
    gone = known.index[~known]
    run = np.cumsum(np.diff(gone.to_numpy(), prepend=gone.to_numpy()[:1]) > np.timedelta64(1, "D"))
    spans = pd.Series(gone).groupby(run).agg(["first", "last", "size"])
    long = spans[spans["size"] > _LONG_HOLE_D]
    return [
        f"{first:%Y-%m-%d} to {last:%Y-%m-%d}"
        for first, last in zip(long["first"], long["last"], strict=True)
    ]
