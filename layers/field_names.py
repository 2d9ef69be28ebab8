"""Ids, names and owners of fields: letter for letter as in the file, ids made where they lack."""

from collections import Counter
from collections.abc import Mapping, Sequence

import numpy as np
import pandas as pd

from suitability.notes import Note

_SHOWN = 10


def text_columns(
    frame: pd.DataFrame, given: Mapping[str, str | None]
) -> tuple[dict[str, str | None], list[str]]:
    """File column of each wanted text, None where there is none; and faults of the given ones.

    Parameters
    ----------
    given : wanted name -> the column that the user names, or None to look for one that bears the
        wanted name, in capitals or not.
    """
    columns: dict[str, str | None] = {}
    faults = []
    for wanted, column in given.items():
        if column is None:
            alike = [str(c) for c in frame.columns if str(c).lower() == wanted]
            columns[wanted] = wanted if wanted in alike else next(iter(alike), None)
        elif column in frame.columns:
            columns[wanted] = column
        else:
            faults.append(f"column {column!r} for {wanted} is not in the file")
    return columns, faults


def texts_of(frame: pd.DataFrame, column: str | None) -> list[str | None]:
    """Texts of a column; None where nothing is written or there is no column."""
    return [None] * len(frame) if column is None else [_text(value) for value in frame[column]]


def row_labels(row_names: Sequence[str | None]) -> list[str]:
    """What messages call each row: its number in the file, and its name where it has one."""
    return [
        f"row {row}" if name is None else f"row {row} ({name!r})"
        for row, name in enumerate(row_names, 1)
    ]


def some_of(texts: Sequence[str]) -> str:
    """The first few of many, and how many more there are."""
    more = f" and {len(texts) - _SHOWN} more" if len(texts) > _SHOWN else ""
    return ", ".join(texts[:_SHOWN]) + more


def unique_ids(
    found: Sequence[str | None], column: str | None, layer: str
) -> tuple[list[str], list[Note]]:
    """An id for each row: the file's where it is the only one, else one made from the row number.

    Made ids depend on the rows' order in the file only, so the same file gives the same ids.
    """
    count = Counter(found)
    taken = {text for text in found if text is not None}
    ids, made = [], []
    for row, text in enumerate(found, 1):
        if text is not None and count[text] == 1:
            ids.append(text)
            continue
        new = str(row) if text is None else f"{text}-{row}"
        while new in taken:
            new += "x"
        taken.add(new)
        ids.append(new)
        made.append(row)
    if not made:
        return ids, []
    if column is None:
        said = "No column of ids was named or found; each field's id is its row number in the file."
        return ids, [Note(layer, "info", said)]
    said = (
        f"{len(made)} of {len(found)} ids in column {column!r} were empty or stood more than once; "
        "those fields got ids with their row number in the file: "
    )
    shown = ", ".join(ids[row - 1] for row in made[:10]) + (", ..." if len(made) > 10 else "")
    return ids, [Note(layer, "warning", said + shown, tuple(ids[row - 1] for row in made))]


def _text(value: object) -> str | None:
    if value is None or value is pd.NaT or value is pd.NA:
        return None
    if isinstance(value, (float, np.floating)):
        # Whole numbers with a gap among them come as floats: 12, not 12.0.
        if np.isnan(value):
            return None
        return str(int(value)) if float(value).is_integer() else str(value)
    text = str(value)
    return text if text.strip() else None
