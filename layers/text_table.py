"""What a text table (CSV and its kin) holds, whatever its encoding, delimiter and decimal mark."""

import csv
import io
import re
from collections import Counter
from collections.abc import Sequence
from pathlib import Path

import numpy as np
import pandas as pd

from layers.local_path import local_file
from suitability.errors import InputError
from suitability.notes import Note

_DELIMITERS = (",", ";", "\t", "|")
_SNIFFED_LINES = 50
_NUMBER = re.compile(r"[+-]?(\d+([.,]\d*)?|[.,]\d+)([eE][+-]?\d+)?")
# One comma with three digits behind it may be a thousands mark as well; anything else is decimal.
_SURELY_DECIMAL = re.compile(r"[+-]?(\d*,(\d{1,2}|\d{4,})|0,\d+)([eE][+-]?\d+)?")


def read_text(path: str | Path, *, layer: str = "table") -> tuple[str, list[Note]]:
    """Text of a file: UTF-8 with or without mark, UTF-16 with mark, else Windows-1252 with a Note.

    Raises
    ------
    InputError : missing, empty or binary file.
    """
    source = local_file(path)
    data = source.read_bytes()
    notes: list[Note] = []
    if data.startswith((b"\xff\xfe", b"\xfe\xff")):
        encodings = ["utf-16"]
    else:
        encodings = ["utf-8-sig", "cp1252"]
    for encoding in encodings:
        try:
            text = data.decode(encoding)
        except UnicodeDecodeError:
            continue
        if "\0" in text:
            break
        if encoding == "cp1252":
            said = f"{source.name} is not UTF-8; its text was read as Windows-1252."
            notes.append(Note(layer, "caution", f"{said} Check letters with accents."))
        return text.replace("\r\n", "\n").replace("\r", "\n"), notes
    raise InputError(
        f"{source} is not a text file. Expected a table as text (CSV) in UTF-8, UTF-16 with a mark "
        "or Windows-1252. Export it as CSV."
    )


def read_table(
    path: str | Path, *, columns: Sequence[str] | None = None, layer: str = "table"
) -> tuple[pd.DataFrame, list[Note]]:
    """Table out of a CSV file: every value as text, an empty one as NaN.

    Parameters
    ----------
    path : the file; values stay as written but for blanks at their ends, so that codes such as
        ``007`` or the class ``None`` survive.
    columns : names of the columns where the file has no header row.
    layer : layer that Notes are about.

    Returns
    -------
    DataFrame of text, and Notes. The delimiter is comma, semicolon, tab or ``|``, whichever
    cuts the first lines evenly. Where it is not the comma, columns of numbers with a decimal
    comma are given with a point, and a Note says so.

    Raises
    ------
    InputError : no table in the file, uneven rows, column names that stand twice.
    """
    text, notes = read_text(path, layer=layer)
    table, more = table_from_text(text, Path(path), columns=columns, layer=layer)
    return table, notes + more


def table_from_text(
    text: str, source: Path, *, columns: Sequence[str] | None = None, layer: str = "table"
) -> tuple[pd.DataFrame, list[Note]]:
    """As ``read_table``, for text already read; ``source`` is for messages only."""
    delimiter = _delimiter(text)
    try:
        rows = list(csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, strict=True))
    except csv.Error as error:
        raise InputError(
            f"{source} cannot be read as a table ({error}). Expected rows of values with their "
            "quotes closed. Export it as CSV again."
        ) from error
    numbered = [(i, row) for i, row in enumerate(rows, 1) if any(map(str.strip, row))]
    if columns is None:
        if not numbered:
            raise InputError(f"{source} holds no row. Expected a header row and rows of values.")
        header = [name.strip() for name in numbered.pop(0)[1]]
        while header and not header[-1]:
            header.pop()
        _check_header(source, header)
    else:
        header = list(columns)
    values = np.array(_even(source, numbered, header, delimiter), dtype=object)
    table = pd.DataFrame(values.reshape(-1, len(header)), columns=header, dtype=object)
    return _decimal_points(table, source, delimiter, layer)


def _delimiter(text: str) -> str:
    """Find the delimiter that cuts most of the first lines into the same number (> 1) of values."""
    head = "\n".join([line for line in text.split("\n", 400) if line.strip()][:_SNIFFED_LINES])
    best, best_rank = ",", (0.0, 0)
    for delimiter in _DELIMITERS:
        widths = [len(row) for row in csv.reader(io.StringIO(head), delimiter=delimiter) if row]
        if not widths or widths[0] < 2:
            continue
        rank = (sum(w == widths[0] for w in widths) / len(widths), widths[0])
        if rank > best_rank:
            best, best_rank = delimiter, rank
    return best


def _check_header(source: Path, header: list[str]) -> None:
    twice = sorted(name for name, count in Counter(header).items() if name and count > 1)
    if twice:
        raise InputError(
            f"{source}: column names stand twice: {', '.join(twice)}. Expected each name once in "
            "the first row. Rename or remove one of each."
        )
    if "" in header:
        raise InputError(
            f"{source}: column {header.index('') + 1} of the first row has no name. Expected a "
            "header row with a name for each column. Name it or remove it."
        )


def _even(
    source: Path, numbered: list[tuple[int, list[str]]], header: list[str], delimiter: str
) -> list[list[str | float]]:
    """Values of all rows without blanks at their ends, an empty one as NaN."""
    width = len(header)
    uneven: list[tuple[int, int]] = []
    rows = []
    for number, row in numbered:
        if len(row) < width or any(map(str.strip, row[width:])):
            uneven.append((number, len(row)))
        rows.append([value.strip() or np.nan for value in row[:width]])
    if uneven:
        shown = ", ".join(f"row {number} has {count}" for number, count in uneven[:5])
        more = f" and {len(uneven) - 5} more rows" if len(uneven) > 5 else ""
        name = {"\t": "tab"}.get(delimiter, repr(delimiter))
        raise InputError(
            f"{source}: rows are uneven: {shown}{more}; expected {width} values between {name} in "
            "each row. Mend these rows, or put quotes around values that hold the delimiter."
        )
    return rows


def _decimal_points(
    table: pd.DataFrame, source: Path, delimiter: str, layer: str
) -> tuple[pd.DataFrame, list[Note]]:
    if delimiter == ",":
        return table, []
    candidates, sure = [], False
    for name in table.columns:
        values = table[name].dropna()
        with_comma = values[values.str.contains(",", regex=False)]
        if not len(with_comma) or values.str.contains(".", regex=False).any():
            continue
        if values.map(lambda text: _NUMBER.fullmatch(text) is not None).all():
            candidates.append(name)
            sure = sure or any(_SURELY_DECIMAL.fullmatch(text) for text in with_comma)
    if not candidates:
        return table, []
    where = f"{source.name}: in {', '.join(candidates)}"
    if not sure:
        said = f"{where}, commas may be decimal or thousands marks; the values were left as text."
        return table, [Note(layer, "caution", f"{said} Write them with a point.")]
    mended = table.copy()
    for name in candidates:
        mended[name] = mended[name].str.replace(",", ".", regex=False)
    return mended, [Note(layer, "info", f"{where}, the comma was read as the decimal mark.")]
