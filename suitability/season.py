"""Is there time? By survey rule: the days of the gap."""

import numpy as np
import pandas as pd

from suitability.derived import Derived
from suitability.gap import gap_days
from suitability.ground import Ground

NAME = "season"
KEYS = ("gap_d",)


def derive(ground: Ground) -> list[Derived]:
    """Factors of this question for each part."""
    days = days_in_gap(ground.parts["gap_opens"], ground.parts["gap_closes"])
    return [Derived("gap_d", days, "farm file")]


def days_in_gap(opens: "pd.Series[str]", closes: "pd.Series[str]") -> "pd.Series[float]":
    """Days from opening to closing [d]; NaN where either is missing."""
    pairs = pd.DataFrame({"opens": opens, "closes": closes})
    distinct = {
        (o, c): float(gap_days(o, c))
        for o, c in pairs.dropna().drop_duplicates().itertuples(index=False)
    }
    days = [distinct.get((o, c), np.nan) for o, c in pairs.itertuples(index=False)]
    return pd.Series(days, index=opens.index, dtype=float)
