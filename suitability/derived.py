"""A factor worked out for every part, and whose word it rests on."""

from dataclasses import dataclass
from typing import Any

import pandas as pd


@dataclass(frozen=True)
class Derived:
    """``values`` of one factor by part; ``origin`` is one word for all, or one by part."""

    factor: str
    values: "pd.Series[Any]"
    origin: "str | pd.Series[str]" = "survey"
