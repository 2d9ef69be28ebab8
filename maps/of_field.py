"""What the tables of an assessment hold of one field: each table is looked through once."""

from typing import Any, TypeVar

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from maps.assessment import Assessment
from maps.remembered import remembered, remembering

_Table = TypeVar("_Table", bound=pd.DataFrame)
_TABLES = 16  # that the pages of one assessment ask about
_NONE = slice(0)


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


def map_units(assessment: Assessment, field_id: str) -> pd.DataFrame:
    """Map units of a field, the largest first: mukey, musym, muname, area_ha."""
    return rows_of(_map_units(assessment), field_id).sort_values("area_ha", ascending=False)


@remembered
def _map_units(assessment: Assessment) -> pd.DataFrame:
    named = ["field_id", "mukey", "musym", "muname", "area_ha"]
    return pd.DataFrame(assessment.soil_parts)[named]


def _by_id(table: pd.DataFrame) -> "dict[str, pd.Series[Any]]":
    return {str(field_id): row for field_id, row in table.set_index("field_id").iterrows()}


@remembering(_TABLES)
def _places(table: pd.DataFrame) -> dict[str, slice | NDArray[np.intp]]:
    indices = table.groupby("field_id").indices
    return {str(field_id): _together(at) for field_id, at in indices.items()}


def _together(at: NDArray[np.intp]) -> slice | NDArray[np.intp]:
    """Rows that follow each other as a slice, which is taken in a third of the time."""
    first, last = int(at[0]), int(at[-1])
    return slice(first, last + 1) if last - first + 1 == len(at) else at
