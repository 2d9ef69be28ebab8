"""What the tables of an assessment hold of one field: each table is looked through once."""

from typing import Any, TypeVar

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from maps.assessment import Assessment
from maps.remembered import remembered, remembering

_Table = TypeVar("_Table", bound=pd.DataFrame)
_TABLES = 16  # that the pages of one assessment ask about
_NONE = np.empty(0, np.intp)


def rows_of(table: _Table, field_id: str) -> _Table:
    """Rows of one field in a table with ``field_id``, in their order; the table may not change."""
    rows: _Table = table.iloc[_places(table).get(field_id, _NONE)]
    return rows


def has_rows(table: pd.DataFrame, field_id: str) -> bool:
    """Whether a table with ``field_id`` has rows of a field."""
    return field_id in _places(table)


@remembered
def verdict_rows(assessment: Assessment) -> "dict[str, pd.Series[Any]]":
    """The row of each field in the verdicts, without its id."""
    return _by_id(assessment.verdicts)


@remembered
def field_rows(assessment: Assessment) -> "dict[str, pd.Series[Any]]":
    """The row of each field in the table of fields, without its id."""
    return _by_id(pd.DataFrame(assessment.fields))


def _by_id(table: pd.DataFrame) -> "dict[str, pd.Series[Any]]":
    return {str(field_id): row for field_id, row in table.set_index("field_id").iterrows()}


@remembering(_TABLES)
def _places(table: pd.DataFrame) -> dict[str, NDArray[np.intp]]:
    return {str(field_id): at for field_id, at in table.groupby("field_id").indices.items()}
