"""Is there time? By survey rule: the days of the gap, or as far as the first killing freeze."""

import numpy as np
import pandas as pd

from suitability.derived import Derived
from suitability.gap import gap_days
from suitability.ground import Ground

NAME = "season"
KEYS = ("gap_d",)


def derive(ground: Ground) -> list[Derived]:
    """Factors of this question for each part.

    ``gap_d`` ends on the earlier of two days: when the gap closes, or, where it is known, the day
    by which the first 28 F freeze has come in one year of ten; it then rests on the weather.
    """
    parts = ground.parts
    gap = days_in_gap(parts["gap_opens"], parts["gap_closes"])
    to_freeze = days_in_gap(parts["gap_opens"], parts["first_freeze_28f_p10"])
    frozen = to_freeze < gap
    origin = pd.Series("farm file", index=gap.index).mask(frozen, "weather")
    return [Derived("gap_d", gap.mask(frozen, to_freeze), origin)]


def days_in_gap(opens: "pd.Series[str]", closes: "pd.Series[str]") -> "pd.Series[float]":
    """Days from opening to closing [d]; NaN where either is missing."""
    pairs = pd.DataFrame({"opens": opens, "closes": closes})
    distinct = {
        (o, c): float(gap_days(o, c))
        for o, c in pairs.dropna().drop_duplicates().itertuples(index=False)
    }
    days = [distinct.get((o, c), np.nan) for o, c in pairs.itertuples(index=False)]
    return pd.Series(days, index=opens.index, dtype=float)
