"""What a column of a shared table promises, and the check that holds it to it.

A range is what stops a wrong unit: tenths of a degree, Fahrenheit, feet. ``check`` is called at
the borders between packages only and reports every fault of a table at once.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import pandas as pd

from suitability.errors import ColumnError, listed

Kind = Literal["number", "text", "date", "flag"]


@dataclass(frozen=True)
class Column:
    """One declared column.

    ``unit`` is empty for text, keys, pH, counts and classes. ``low``/``high`` bound what is
    plausible (inclusive). ``allowed`` lists the only texts accepted. ``required`` columns must not
    hold missing values; ``key`` columns together identify a row.
    """

    name: str
    meaning: str
    kind: Kind = "number"
    unit: str = ""
    low: float = float("-inf")
    high: float = float("inf")
    allowed: tuple[str, ...] = ()
    required: bool = False
    key: bool = False


def names(columns: Sequence[Column]) -> list[str]:
    """Names of the columns in their declared order."""
    return [column.name for column in columns]


def empty(columns: Sequence[Column]) -> pd.DataFrame:
    """A table with these columns and no rows."""
    dtypes = {"number": "float64", "text": "object", "date": "datetime64[ns]", "flag": "object"}
    return pd.DataFrame({c.name: pd.Series(dtype=dtypes[c.kind]) for c in columns})


def check(table: pd.DataFrame, columns: Sequence[Column], what: str) -> pd.DataFrame:
    """Return ``table`` if it keeps the contract, else raise one ColumnError with all faults.

    Parameters
    ----------
    table : DataFrame with at least the declared columns; more are allowed.
    columns : the contract, such as ``columns.PARTS``.
    what : the name to use in messages, with the file where there is one.

    Raises
    ------
    ColumnError : missing column, missing value in a required one, wrong kind, value outside the
        plausible range or the allowed list, key that stands twice.
    """
    faults = [f"column {c.name!r} is missing ({c.meaning})" for c in columns if c.name not in table]
    present = [c for c in columns if c.name in table]
    for column in present:
        faults.extend(_column_faults(table[column.name], column))
    keys = [c.name for c in present if c.key]
    if keys and not faults:
        twice = table[table.duplicated(keys, keep=False)]
        if len(twice):
            first = ", ".join(f"{k}={twice.iloc[0][k]}" for k in keys)
            faults.append(f"{len(twice)} rows share a key, the first is {first}")
    if faults:
        raise ColumnError(
            listed(f"{what} cannot be used", faults, "Mend these values in the file.")
        )
    return table


def _column_faults(values: pd.Series, column: Column) -> list[str]:
    missing = values.isna()
    faults = []
    if column.required and missing.any():
        faults.append(f"{column.name}: {int(missing.sum())} values are missing")
    known = values[~missing]
    if not len(known):
        return faults
    if column.kind == "number":
        if not pd.api.types.is_numeric_dtype(known) or pd.api.types.is_bool_dtype(known):
            return [*faults, f"{column.name}: must be numbers, got {known.iloc[0]!r}"]
        outside = known[(known < column.low) | (known > column.high)]
        if len(outside):
            unit = f" {column.unit}" if column.unit else ""
            faults.append(
                f"{column.name}: {len(outside)} values outside {column.low:g} to {column.high:g}"
                f"{unit}, the first is {float(outside.iloc[0]):g}; is it in another unit?"
            )
    elif column.kind == "date":
        if not pd.api.types.is_datetime64_any_dtype(known):
            faults.append(f"{column.name}: must be dates, got {known.iloc[0]!r}")
    elif column.kind == "flag":
        odd = [v for v in known.unique() if v not in (True, False)]
        if odd:
            faults.append(f"{column.name}: must be true or false, got {odd[0]}")
    elif column.allowed:
        odd = sorted({str(v) for v in known} - set(column.allowed))
        if odd:
            faults.append(f"{column.name}: {odd[0]!r} is not one of {', '.join(column.allowed)}")
    return faults
