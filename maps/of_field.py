"""What the tables of an assessment hold of one field: each table is looked through once."""

from collections.abc import Hashable
from typing import Any, NamedTuple, TypeVar

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from maps.assessment import Assessment
from maps.remembered import remembered, remembering

_Table = TypeVar("_Table", bound=pd.DataFrame)
_TABLES = 16  # that the pages of one assessment ask about
_NONE = slice(0)


class MapUnit(NamedTuple):
    """Ground of one map unit of the survey within a field; texts may be missing."""

    mukey: str
    musym: str | None
    muname: str | None
    area_ha: float


def rows_of(table: _Table, field_id: str) -> _Table:
    """Rows of one field in a table with ``field_id``, in their order; the table may not change."""
    rows: _Table = table.iloc[_places(table).get(field_id, _NONE)]
    return rows


def records_of(table: pd.DataFrame, field_id: str) -> list[dict[Hashable, Any]]:
    """Rows of one field as plain dictionaries, for those who look at each."""
    rows = rows_of(table, field_id)
    columns = [rows[name].tolist() for name in rows]
    return [dict(zip(rows, values, strict=True)) for values in zip(*columns, strict=True)]


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


@remembered
def map_units(assessment: Assessment) -> dict[str, list[MapUnit]]:
    """Map units of each field that has any, the largest first."""
    table = pd.DataFrame(assessment.soil_parts)
    table = table.sort_values("area_ha", ascending=False, kind="stable")
    found: dict[str, list[MapUnit]] = {}
    columns = (table[name].tolist() for name in ("field_id", *MapUnit._fields))
    for field_id, *unit in zip(*columns, strict=True):
        found.setdefault(field_id, []).append(MapUnit(*unit))
    return found


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
