"""What the columns of a survey table mean: whole columns of numbers, class words, flags and keys.

Every function takes a raw table and gives new columns; a column that the table lacks is missing
throughout. What cannot be understood comes back as faults (numbers) or notes (words).
"""

import math
from collections.abc import Callable, Mapping, Sequence

import pandas as pd

from layers.soil_map import coded_text
from layers.soil_map.survey import LAYER
from suitability.contract import Column
from suitability.notes import Note

# Numbers that tables use for "no value" where the quantity itself cannot be negative.
_NO_VALUE = (-9999.0, -999.0, -99.0)


def texts(table: pd.DataFrame, column: str) -> pd.Series:
    """Text without blanks around it, None where missing."""
    return _each(table, column, coded_text.text)


def keys(table: pd.DataFrame, column: str) -> pd.Series:
    """Keys as text, the same from whole numbers, decimals and text."""
    return _each(table, column, coded_text.key)


def flags(table: pd.DataFrame, column: str) -> pd.Series:
    """True, False or None."""
    return _each(table, column, coded_text.yes_no)


def classes(
    table: pd.DataFrame, column: str, allowed: Sequence[str], ending: str = ""
) -> tuple[pd.Series, list[Note]]:
    """Class words of ``allowed``; words that name none are missing, with one Note."""
    odd: list[str] = []

    def word(value: object) -> str | None:
        try:
            return coded_text.class_word(value, allowed, ending)
        except ValueError as error:
            odd.append(str(error))
            return None

    values = _each(table, column, word)
    if not odd:
        return values, []
    said = ", ".join(repr(name) for name in sorted(set(odd))[:5])
    return values, [
        Note(
            LAYER,
            "caution",
            f"In {len(odd)} rows the survey's column {column} says {said}, which is none of "
            f"{', '.join(allowed)}: taken as not known.",
        )
    ]


def numbers(
    table: pd.DataFrame, names: Mapping[str, str], contract: Mapping[str, Column]
) -> tuple[pd.DataFrame, list[str], list[Note]]:
    """Columns of numbers, NaN where missing.

    Parameters
    ----------
    table : raw table.
    names : contract name -> column of ``table``.
    contract : contract name -> declared column; a quantity that cannot be negative is missing
        where the table says -9999, -999 or -99, and one that cannot be zero where it says 0.

    Returns
    -------
    The numbers, faults (values that are no numbers), and notes on values taken as missing.
    """
    columns, faults, replaced = {}, [], []
    for name, column in names.items():
        values, odd = _numbers(table, column)
        if odd:
            faults.append(f"{column}: {len(odd)} values are not numbers, the first is {odd[0]!r}")
        low = contract[name].low if name in contract else -math.inf
        no_value = values.isin(_NO_VALUE) if low >= 0 else values.isin(())
        if low > 0:
            no_value |= values == 0
        if no_value.any():
            replaced.append(f"{column} ({int(no_value.sum())})")
        columns[name] = values.mask(no_value)
    notes = []
    if replaced:
        said = (
            "values that stand for nothing measured (-9999, -999, -99, or 0 where that cannot be)"
        )
        notes.append(
            Note(LAYER, "caution", f"Taken as not known: {said}, in {', '.join(replaced)}.")
        )
    return pd.DataFrame(columns, index=table.index), faults, notes


def _each(table: pd.DataFrame, column: str, meaning: Callable[[object], object]) -> pd.Series:
    if column not in table:
        return pd.Series([None] * len(table), index=table.index, dtype=object)
    values = [meaning(value) for value in table[column]]
    return pd.Series(values, index=table.index, dtype=object)


def _numbers(table: pd.DataFrame, column: str) -> tuple[pd.Series, list[str]]:
    if column not in table:
        return pd.Series(math.nan, index=table.index, dtype="float64"), []
    odd: list[str] = []

    def number(value: object) -> float:
        try:
            return coded_text.number(value)
        except ValueError:
            odd.append(str(value))
            return math.nan

    values = [number(value) for value in table[column]]
    return pd.Series(values, index=table.index, dtype="float64"), odd
