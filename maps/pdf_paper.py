"""The paper of report.pdf: its font, headings, lists, tables and drawings."""

import re
from functools import lru_cache
from importlib import metadata
from io import BytesIO
from pathlib import Path
from typing import Any

from fontTools.ttLib import TTFont
from fpdf import FPDF
from fpdf.enums import Align

from maps.colours import INK, QUIET, RULE
from maps.pdf_lines import broken
from maps.report_table import Table
from maps.shown_names import STRANGE

FONT_WHEEL = "ttf-opensans"
FONT = "opensans"
MM_PER_PX = 25.4 / 96
_LINE = 1.4  # line height in heights of the letters
_BASE = 0.3  # of the letters' height from the middle of a line down to where they stand
_MM_PER_PT = 25.4 / 72
_GRID_PT, _LIST_PT = 7.8, 9.5
_GRID_LINE_MM = _GRID_PT * _MM_PER_PT * 1.25
_Column = tuple[float, Align]
_PAD_MM, _GAP_MM = 0.5, 1.2  # above and below a row; between columns


class Paper(FPDF):
    """A document of our own look; every text goes through ``plain`` before it is set."""

    def __init__(self, paper: str, language: str, title: str, page_word: str) -> None:
        super().__init__(format=paper, unit="mm")
        self._page_word = page_word
        self._measured: dict[tuple[str, float], _Widths] = {}
        self.set_margins(17, 12, 17)
        self.set_auto_page_break(auto=True, margin=15)
        for style, name in (("", "OpenSans-Regular.ttf"), ("B", "OpenSans-Bold.ttf")):
            self.add_font(FONT, style, _font_file(name))
        self.set_title(self.plain(title))
        self.set_lang(language)
        self.set_text_color(INK)
        self.set_draw_color(RULE)

    def plain(self, text: str) -> str:
        """Give the text with a visible mark for each letter that the font lacks."""
        strange = set(text) - _letters()
        return text.translate(dict.fromkeys(map(ord, strange), STRANGE)) if strange else text

    def footer(self) -> None:
        """Print the page's number; called by the library."""
        self.set_y(-12)
        self.set_font(FONT, "", 8)
        self.set_text_color(QUIET)
        self.cell(0, 5, self._page_word.format(n=self.page_no()), align=Align.R)
        self.set_text_color(INK)

    def text_block(
        self, text: str, size_pt: float = 10, *, bold: bool = False, quiet: bool = False
    ) -> None:
        """Set a paragraph over the full width."""
        self.set_font(FONT, "B" if bold else "", size_pt)
        self.set_text_color(QUIET if quiet else INK)
        self._paragraph(text, self.epw, size_pt * _MM_PER_PT * _LINE)
        self.set_x(self.l_margin)
        self.set_text_color(INK)

    def narrow_block(self, text: str, wide_mm: float, size_pt: float) -> None:
        """Set a quiet paragraph in a column."""
        self.set_font(FONT, "", size_pt)
        self.set_text_color(QUIET)
        self._paragraph(text, wide_mm, size_pt * _MM_PER_PT * _LINE)
        self.set_x(self.l_margin)
        self.set_text_color(INK)

    def _paragraph(self, text: str, wide_mm: float, line_mm: float) -> None:
        left = self.get_x()
        for line in self._lines(text, wide_mm - 2 * self.c_margin):
            if self.will_page_break(line_mm):
                self.add_page()
            self._line(line, left, self.get_y(), wide_mm, line_mm)
            self.set_xy(left, self.get_y() + line_mm)

    def _line(
        self,
        text: str,
        left_mm: float,
        top_mm: float,
        wide_mm: float,
        tall_mm: float,
        align: Align = Align.L,
        link: Any = None,
    ) -> None:
        """Set one line in a box of its own; ``cell`` sets the same in several times the time."""
        x = left_mm + self.c_margin
        if align == Align.R or link:
            size = self._widths()[text]
            if align == Align.R:
                x = left_mm + wide_mm - self.c_margin - size
            if link:
                self.link(x, top_mm + (tall_mm - self.font_size) / 2, size, self.font_size, link)
        self.text(x, top_mm + tall_mm / 2 + _BASE * self.font_size, text)

    def _lines(self, text: str, wide_mm: float) -> list[str]:
        return broken(self.plain(text), wide_mm, self._widths().__getitem__)

    def _widths(self) -> "_Widths":
        """Widths of texts in the font that is set."""
        key = (self.font_style, self.font_size_pt)
        if key not in self._measured:
            self._measured[key] = _Widths(self)
        return self._measured[key]

    def heading(self, text: str, size_pt: float = 12, room_mm: float = 22) -> None:
        """Set a heading, on the next page where no ``room_mm`` are left below it."""
        if self.will_page_break(room_mm):
            self.add_page()
        else:
            self.ln(2.5)
        self.text_block(text, size_pt, bold=True)
        self.ln(0.5)

    def bullets(self, lines: list[str]) -> None:
        """Set a list with a dot before each line."""
        for line in lines:
            self.set_font(FONT, "", _LIST_PT)
            self.cell(4, _LIST_PT * _MM_PER_PT * _LINE, "•")
            left = self.l_margin
            self.set_left_margin(left + 4)
            self.text_block(line, _LIST_PT)
            self.set_left_margin(left)
            self.set_x(left)
            self.ln(0.6)

    def pairs(self, pairs: list[tuple[str, str]]) -> None:
        """Set names and their values, two pairs to a line."""
        half = self.epw / 2
        for start in range(0, len(pairs), 2):
            if self.will_page_break(10):
                self.add_page()
            top, lowest = self.get_y(), 0.0
            for column, (name, value) in enumerate(pairs[start : start + 2]):
                left = self.l_margin + column * half
                for text, x, wide, ink in (
                    (name, left, half * 0.62, QUIET),
                    (value, left + half * 0.64, half * 0.34, INK),
                ):
                    self.set_font(FONT, "", 9)
                    self.set_text_color(ink)
                    self.set_xy(x, top)
                    self._paragraph(text, wide, 4.6)
                    lowest = max(lowest, self.get_y())
            self.set_xy(self.l_margin, lowest + 0.5)
        self.set_text_color(INK)

    def grid(self, table: Table, links: list[int] | None = None) -> None:
        """Set a table; headings come again on each page.

        Parameters
        ----------
        links : link targets for the first cell of each row.
        """
        self.set_font(FONT, "", _GRID_PT)
        self.set_text_color(INK)
        wides = [self.epw * wide / sum(table.widths) for wide in table.widths]
        columns = list(zip(wides, _aligned(table), strict=True))
        first = self._broken_cells(table.rows[0], columns) if table.rows else [[]]
        self._heads(table, columns, max(map(len, first)))
        for n, cells in enumerate(table.rows):
            self._row(table, columns, cells, links[n] if links else None)

    def _heads(self, table: Table, columns: list[_Column], below_lines: int = 1) -> None:
        """Headings, on a page that has room for ``below_lines`` of the first row too."""
        self.set_font(style="B")
        heads = self._broken_cells(table.heads, columns)
        least = min(below_lines, int(self.eph / 3 / _GRID_LINE_MM))
        if self.will_page_break(_tall_mm(max(map(len, heads))) + _tall_mm(least) + _GRID_LINE_MM):
            self.add_page()
        self._lines_of_row(heads, columns, None)
        self.set_font(style="")

    def _row(self, table: Table, columns: list[_Column], cells: tuple[str, ...], link: Any) -> None:
        """A row on one page, or over several where it is taller than a page."""
        left = self._broken_cells(cells, columns)
        while any(left):
            tall = max(map(len, left))
            room = int((self.page_break_trigger - self.get_y() - 2 * _PAD_MM) / _GRID_LINE_MM)
            if room < 1 or room < tall <= self.eph / 2 / _GRID_LINE_MM:
                self.add_page()
                self._heads(table, columns)
                continue
            self.line(self.l_margin, self.get_y(), self.l_margin + self.epw, self.get_y())
            self._lines_of_row([lines[:room] for lines in left], columns, link)
            left = [lines[room:] for lines in left]

    def _broken_cells(self, cells: tuple[str, ...], columns: list[_Column]) -> list[list[str]]:
        return [
            self._lines(cell, wide - _GAP_MM - 2 * self.c_margin)
            for cell, (wide, _) in zip(cells, columns, strict=True)
        ]

    def _lines_of_row(self, cells: list[list[str]], columns: list[_Column], link: Any) -> None:
        top, x = self.get_y() + _PAD_MM, self.l_margin
        for lines, (wide, align) in zip(cells, columns, strict=True):
            for n, line in enumerate(lines):
                y = top + n * _GRID_LINE_MM
                self._line(line, x, y, wide - _GAP_MM, _GRID_LINE_MM, align, link)
            x, link = x + wide, None
        self.set_xy(self.l_margin, top + _tall_mm(max(map(len, cells))) - _PAD_MM)

    def drawing(self, svg: str, wide_mm: float, tall_mm: float, x: float | None = None) -> float:
        """Set a drawing no larger than the given size, at the left margin or ``x``.

        Returns
        -------
        Its height in mm.
        """
        width, height = (float(n) for n in re.findall(r' (?:width|height)="([\d.]+)"', svg)[:2])
        mm_per_px = min(wide_mm / width, tall_mm / height)
        left = self.l_margin if x is None else x
        # The drawing's own font list is for browsers; here it is set in the document's font.
        own = self.plain(re.sub(r'font-family="[^"]*"', f'font-family="{FONT}"', svg))
        self.image(BytesIO(own.encode()), left, self.get_y(), width * mm_per_px)
        return height * mm_per_px

    def key(self, pairs: list[tuple[str, str]]) -> None:
        """Set the key of a drawing in one line, or more where it is long."""
        self.set_font(FONT, "", 9)
        for swatch, text in pairs:
            wide = 8 + self.get_string_width(self.plain(text)) + 6
            if self.get_x() + wide > self.w - self.r_margin:
                self.ln(6)
            x, y = self.get_x(), self.get_y()
            self.drawing(swatch, 26 * MM_PER_PX, 6, x)
            self.set_xy(x + 8, y)
            self.cell(wide - 8, 5, self.plain(text))
        self.ln(7)


class _Widths(dict[str, float]):
    """Widths of texts [mm] in one font and size; each is measured once."""

    def __init__(self, paper: Paper) -> None:
        super().__init__()
        self._font = paper.fonts[FONT + paper.font_style]
        self._size_pt, self._pt_per_mm = paper.font_size_pt, paper.k

    def __missing__(self, text: str) -> float:
        # What ``get_string_width`` comes to for plain text, in a fifth of the time.
        _, width_pt = self._font.get_text_width(text, self._size_pt, None)
        self[text] = width_pt / self._pt_per_mm
        return self[text]


def _aligned(table: Table) -> list[Align]:
    return [Align.R if i in table.numbers else Align.L for i in range(len(table.heads))]


def _tall_mm(n_lines: int) -> float:
    return n_lines * _GRID_LINE_MM + 2 * _PAD_MM


@lru_cache
def _letters() -> frozenset[str]:
    """Letters that the font has, and the line feed."""
    with TTFont(_font_file("OpenSans-Regular.ttf")) as font:
        return frozenset({"\n", *map(chr, font.getBestCmap())})


@lru_cache
def _font_file(name: str) -> Path:
    found = [f for f in metadata.files(FONT_WHEEL) or () if f.name == name]
    return Path(str(found[0].locate()))
