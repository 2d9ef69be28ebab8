"""What one cell of a survey table means: keys, numbers, class words, yes and no, months.

Cells come as text, whole numbers, decimals or true/false, by layout. Blank is missing; the word
"None" is a class of its own and never missing.
"""

import math
import re
from collections.abc import Sequence

import pandas as pd

_MONTHS = ("jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec")
_YES = ("yes", "y", "true", "1")
_NO = ("no", "n", "false", "0")


def text(value: object) -> str | None:
    """Text without blanks around it; None where the cell is empty."""
    if value is None or value is pd.NA or value is pd.NaT:
        return None
    if isinstance(value, float) and math.isnan(value):
        return None
    return " ".join(str(value).split()) or None


def key(value: object) -> str | None:
    """A key as text, the same whether the file keeps it as 412001, 412001.0 or "412001"."""
    words = text(value)
    if words is None:
        return None
    whole = re.fullmatch(r"(\d+)\.0*", words)
    return whole.group(1) if whole else words


def number(value: object) -> float:
    """A number, NaN where the cell is empty; ValueError where it is something else."""
    words = text(value)
    if words is None:
        return math.nan
    if isinstance(value, bool):
        raise ValueError(words)
    return float(words)


def class_word(value: object, classes: Sequence[str], ending: str = "") -> str | None:
    """The class of ``classes`` that a coded text names, None where the cell is empty.

    Upper case, an explanation in brackets ("Brief (2 to 7 days)") and the word ``ending`` ("Well
    drained") do not matter. ValueError where the text names no such class.
    """
    words = text(value)
    if words is None:
        return None
    word = " ".join(words.split("(")[0].lower().replace("-", " ").split())
    if word not in classes and ending:
        word = word.removesuffix(ending).strip()
    if word not in classes:
        raise ValueError(words)
    return word


def yes_no(value: object) -> bool | None:
    """True, False, or None where the cell is empty or says neither ("Unranked")."""
    words = text(value)
    word = words.lower() if words else ""
    if word in _YES or word == "1.0":
        return True
    if word in _NO or word == "0.0":
        return False
    return None


def month_number(sequence: object, name: object) -> int | None:
    """Month 1-12 from its number in the year, else from its name; None where neither tells."""
    try:
        month = number(sequence)
    except ValueError:
        month = math.nan
    if month in range(1, 13):
        return int(month)
    words = text(name)
    start = words[:3].lower() if words else ""
    return _MONTHS.index(start) + 1 if start in _MONTHS else None
