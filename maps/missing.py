"""Whether a value of a table is there."""

import math
from typing import Any

import pandas as pd


def is_missing(value: Any) -> bool:
    """Whether a value is None, NaN or no time, as tables have them side by side."""
    return value is None or value is pd.NaT or (isinstance(value, float) and math.isnan(value))
