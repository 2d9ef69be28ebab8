"""What the grower knows of a field, read out of the columns of the boundary file."""

import datetime as dt
import math
import re
from collections.abc import Mapping, Sequence
from typing import TypeAlias

import numpy as np
import pandas as pd

from suitability.columns import KNOWLEDGE
from suitability.contract import Column, empty

_YES = ("yes", "y", "true", "t", "1")
_NO = ("no", "n", "false", "f", "0")
_MONTH_DAY = ("gap_opens", "gap_closes")
# A leap year, so that 02-29 stands.
_ANY_YEAR = 2000
_BY_NAME = {column.name: column for column in KNOWLEDGE}

Value: TypeAlias = "str | float | bool | pd.Timestamp | None"


def knowledge_columns_of(
    frame: pd.DataFrame, mapping: Mapping[str, str] | None
) -> tuple[dict[str, str], list[str]]:
    """File column for each contract name that has one, and the faults of ``mapping``.

    A mapping goes first; else a column counts only if it bears exactly the contract name.
    """
    faults = []
    chosen = {name: name for name in _BY_NAME if name in frame.columns}
    for name, column in (mapping or {}).items():
        if name not in _BY_NAME:
            faults.append(f"{name!r} is none of {', '.join(_BY_NAME)}")
        elif column not in frame.columns:
            faults.append(f"column {column!r} for {name} is not in the file")
        else:
            chosen[name] = column
    return chosen, faults


def read_knowledge(
    frame: pd.DataFrame, chosen: Mapping[str, str], labels: Sequence[str]
) -> tuple[pd.DataFrame, list[str]]:
    """Table with all columns of ``KNOWLEDGE``, on the frame's index, and all faults found.

    Parameters
    ----------
    frame : rows of the file.
    chosen : contract name -> file column; what is absent stays missing.
    labels : what to call each row in a fault, such as ``row 3 'North'``; one a row.
    """
    table = empty(KNOWLEDGE).reindex(frame.index)
    faults = []
    for name, column in chosen.items():
        values: list[Value] = []
        for label, value in zip(labels, frame[column], strict=True):
            try:
                values.append(parsed(_BY_NAME[name], value))
            except ValueError as error:
                values.append(None)
                faults.append(f"{label}, {column}: {error}")
        table[name] = pd.Series(values, index=frame.index, dtype=_dtype(_BY_NAME[name]))
    return table, faults


def parsed(column: Column, value: object) -> Value:
    """One value as its column wants it; None where nothing is given.

    Raises
    ------
    ValueError : with what was found and what was expected; the caller adds where.
    """
    if _is_missing(value):
        return None
    if column.kind == "flag":
        return _flag(value)
    if column.kind == "date":
        return _date(value)
    if column.kind == "number":
        return _number(column, value)
    text = str(value)
    if column.name in _MONTH_DAY:
        return _month_day(text.strip())
    if not column.allowed:
        return text
    word = text.strip().lower()
    if word not in column.allowed:
        raise ValueError(f"{text!r} found, expected one of {', '.join(column.allowed)}")
    return word


def _dtype(column: Column) -> str:
    return {"number": "float64", "date": "datetime64[ns]"}.get(column.kind, "object")


def _is_missing(value: object) -> bool:
    if value is None or value is pd.NaT or value is pd.NA:
        return True
    if isinstance(value, (float, np.floating)):
        return math.isnan(value)
    return isinstance(value, str) and not value.strip()


def _flag(value: object) -> bool:
    word = str(int(value)) if isinstance(value, (float, np.floating)) and value in (0, 1) else None
    word = word or str(value).strip().lower()
    if word in _YES:
        return True
    if word in _NO:
        return False
    raise ValueError(f"{str(value)!r} found, expected yes or no (true or false, 1 or 0)")


def _date(value: object) -> pd.Timestamp:
    if isinstance(value, (dt.date, np.datetime64)):
        return pd.Timestamp(value).tz_localize(None).normalize()
    text = str(value).strip()
    if re.fullmatch(r"\d{4}-\d{2}-\d{2}", text):
        try:
            return pd.Timestamp(dt.date.fromisoformat(text))
        except ValueError:
            pass
    raise ValueError(f"{text!r} found, expected a day as YYYY-MM-DD")


def _month_day(text: str) -> str:
    if re.fullmatch(r"\d{2}-\d{2}", text):
        try:
            dt.date.fromisoformat(f"{_ANY_YEAR}-{text}")
        except ValueError:
            pass
        else:
            return text
    raise ValueError(f"{text!r} found, expected month and day as MM-DD")


def _number(column: Column, value: object) -> float:
    unit = f" {column.unit}" if column.unit else ""
    expected = f"expected a number from {column.low:g} to {column.high:g}{unit}"
    try:
        number = float(str(value).strip())
    except ValueError as error:
        raise ValueError(f"{str(value)!r} found, {expected}") from error
    if not column.low <= number <= column.high:
        raise ValueError(f"{number:g}{unit} found, {expected}")
    return number
