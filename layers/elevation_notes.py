"""What the reader of an answer must know of the heights behind it."""

from collections.abc import Sequence

import geopandas as gpd
import pandas as pd

from layers.areas import length_text
from layers.raster_cells import Cells
from layers.raster_lattice import Lattice
from layers.vertical_unit import HIGHEST_M, LOWEST_M, VerticalUnit
from layers.vertical_unit import LAYER as NAME
from suitability.notes import Note

__all__ = ["HIGHEST_M", "LOWEST_M"]

_WHOLE_PCT = 99.0
_FEW_CELLS = 20  # fewer cells in a field tell its height, not its shape


def on_cells(source: str, read: Sequence[Cells], used: Sequence[Lattice]) -> list[Note]:
    """Notes on stand-ins for nothing, zeros, the file's own scale and tiles off their lattice."""
    notes = []
    fills: dict[float, int] = {}
    for cells in read:
        for value, n in cells.fills.items():
            fills[value] = fills.get(value, 0) + n
    if fills:
        values = ", ".join(f"{value:g} ({n} cells)" for value, n in sorted(fills.items()))
        text = f"{source} does not declare what stands for no height; taken for none: {values}."
        notes.append(Note(NAME, "caution", text))
    n_zero = sum(cells.n_zero for cells in read)
    n_known = sum(cells.n_known for cells in read)
    if any(cells.zeros_are_fill for cells in read):
        text = (
            f"{source}: {n_zero} cells are exactly 0, far from all other heights; they were taken "
            "for unknown, not for ground at the level of the sea."
        )
        notes.append(Note(NAME, "caution", text))
    elif n_zero > n_known / 100:
        text = (
            f"{source}: {100 * n_zero / n_known:.0f} % of the heights are exactly 0, and others "
            "lie near; they were kept. If 0 stands for sea or for no height, export it as no data."
        )
        notes.append(Note(NAME, "caution", text))
    first = used[0]
    if (first.scale, first.offset) != (1.0, 0.0):
        text = f"{source}: heights are stored times {first.scale:g} plus {first.offset:g}"
        notes.append(Note(NAME, "info", f"{text}, as the file states."))
    off = max(cells.off_cells for cells in read)
    if off:
        text = (
            f"Tiles of the heights lie up to {off:.2f} of a cell off each other; they were laid "
            "together at the nearest whole cell."
        )
        notes.append(Note(NAME, "caution", text))
    return notes


def on_odd(source: str, n_odd: int) -> list[Note]:
    """Note on heights that no ground has."""
    if not n_odd:
        return []
    text = (
        f"{source}: {n_odd} cells lie below {LOWEST_M:g} or above {HIGHEST_M:g} m; they were taken "
        "for unknown."
    )
    return [Note(NAME, "warning", text)]


def coarser(native_m: float, cell_m: float, field_ids: tuple[str, ...]) -> Note:
    """Note that cells were joined because there were too many."""
    text = (
        f"Around {_fields(len(field_ids))} cells of {length_text(native_m)} were joined to "
        f"{length_text(cell_m)}, because there were too many to work on. Smaller wet spots do not "
        "show there."
    )
    return Note(NAME, "caution", text, field_ids)


def on_cover(cover_pct: "pd.Series[float]", source: str) -> list[Note]:
    """Notes on fields that lie outside the heights, or partly."""
    notes = []
    outside = tuple(cover_pct.index[cover_pct <= 0])
    if outside:
        text = (
            f"{_fields(len(outside))} outside the heights of {source}: where the low, wet ground "
            "lies is not known there."
        )
        notes.append(Note(NAME, "warning", text, outside))
    partly = cover_pct[(cover_pct > 0) & (cover_pct < _WHOLE_PCT)]
    if len(partly):
        text = (
            f"Heights on only part of {_fields(len(partly))} ({partly.min():.0f} % of the least "
            "covered). The rest is not known."
        )
        notes.append(Note(NAME, "caution", text, tuple(partly.index)))
    return notes


def on_size(cell_m: float, fields: gpd.GeoDataFrame, cover_pct: "pd.Series[float]") -> list[Note]:
    """Note on fields of so few cells that their shape does not show."""
    area = fields.set_index("field_id")["area_ha"] * 10_000
    few = tuple(area.index[(area < _FEW_CELLS * cell_m**2) & (cover_pct.reindex(area.index) > 0)])
    if not few:
        return []
    text = (
        f"Heights in cells of {length_text(cell_m)} are too coarse for {_fields(len(few))} of "
        f"fewer than {_FEW_CELLS} cells: high and low ground within does not show."
    )
    return [Note(NAME, "caution", text, few)]


def whole_numbers(source: str, unit: VerticalUnit) -> Note:
    """Note that heights are rounded to whole units."""
    text = (
        f"{source} has whole numbers only ({unit.name}): hollows shallower than "
        f"{unit.metres:.2g} m do not show, and slopes come in steps."
    )
    return Note(NAME, "caution", text)


def _fields(count: int) -> str:
    return "1 field" if count == 1 else f"{count} fields"
