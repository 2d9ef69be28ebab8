"""A table as both the HTML report and the PDF print it: headings, rows of text, widths."""

from dataclasses import dataclass


@dataclass(frozen=True)
class Table:
    """Headings, rows and relative column widths; a cell may hold several lines.

    ``numbers`` lists the columns set flush right. ``linked``: each row's first cell is the number
    of a field and leads to that field's page.
    """

    heads: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    widths: tuple[float, ...]
    numbers: tuple[int, ...] = ()
    linked: bool = False
