"""The water tables that the fit of a lower boundary aims at: the survey's, or its class's."""

from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from suitability.published import indexed
from suitability.soil_column import COLUMN_CM

Floats = NDArray[np.float64]
MONTHLY = "monthly water table"
BY_CLASS = "drainage class"
_LEAST_MONTHS = 6


@dataclass(frozen=True)
class Aim:
    """Twelve tables [cm], NaN where nothing is said; ``or_deeper`` where deeper is as good.

    With ``by_wetness`` the first of ``table_cm`` belongs to the wettest simulated ones.
    ``course_cm`` is what the water outside does over the year, but for a depth to be fitted.
    """

    kind: str
    table_cm: Floats
    or_deeper: NDArray[np.bool_]
    by_wetness: bool
    course_cm: Floats

    def of(self, table_cm: Floats) -> Floats:
        """The tables to compare ``table_cm`` with."""
        target, deeper = self.table_cm, self.or_deeper
        if self.by_wetness:
            rank = np.argsort(np.argsort(table_cm, kind="stable"), kind="stable")
            target, deeper = target[rank], deeper[rank]
        return np.where(deeper, np.fmax(table_cm, target), target)


def aim_of(cokey: str, months: pd.DataFrame, drainage_class: str | None) -> Aim | None:
    """The survey's twelve water tables, or else the definition of the drainage class."""
    mine = months[months["cokey"] == cokey].set_index("month").reindex(range(1, 13))
    wet = mine["water_table_cm"].to_numpy(dtype=float)
    dry_to = mine["moisture_listed_to_cm"].to_numpy(dtype=float)
    listed = np.minimum(np.where(np.isnan(wet), dry_to, wet), COLUMN_CM)
    if np.isfinite(listed).sum() >= _LEAST_MONTHS:
        known = np.flatnonzero(np.isfinite(listed))
        course = np.interp(np.arange(12), known, listed[known], period=12)
        return Aim(MONTHLY, listed, np.isnan(wet), by_wetness=False, course_cm=course)
    if drainage_class is None or pd.isna(drainage_class):
        return None
    row = indexed("drainage_classes", "drainage_class").loc[drainage_class]
    is_wet = np.arange(12) < int(row["wet_months"])
    depths = np.where(is_wet, float(row["aim_cm"]), float(row["deep_cm"]))
    return Aim(BY_CLASS, depths, ~is_wet, by_wetness=True, course_cm=np.zeros(12))
