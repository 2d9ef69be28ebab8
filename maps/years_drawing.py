"""One field's years side by side: what became of each, when it stood, how wet, what it grew."""

import math
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np
from numpy.typing import NDArray

from maps import colours
from maps.assessment import Assessment
from maps.drawing_frame import label, sheet
from maps.legend import Legend
from maps.of_field import verdict_rows
from maps.words import Words
from suitability.outcomes import UNKNOWN, WHY_NOT, WORKS

_LANE_PX, _BARS_PX, _TOP_PX, _FOOT_PX = 18.0, 34.0, 4.0, 20.0
_WET_PX, _GAP_PX = 20.0, 7.0
_NAMES_PX = 112.0
_WET = ("drowned", "wet seedbed")


@dataclass(frozen=True)
class _FieldYears:
    """Years that count, in the recommended week: as ``suitability.field_years.FieldYears``."""

    sow_date: str
    years: list[int]
    outcome: NDArray[np.int8]
    up_d: NDArray[np.float32]
    over_d: NDArray[np.float32]
    wet_d: NDArray[np.float32]
    grown_kg_ha: NDArray[np.float32]


def years_svg(
    assessment: Assessment, field_id: str, words: Words, legend: Legend, width_px: int = 380
) -> str:
    """The years of a field's recommended week; empty where it has none.

    A lane for the years that worked, one for each cause that failed others; under them from when to
    when each stand was there, its longest wet run, and what stood 60 days after sowing.
    """
    found = _of_field(assessment, field_id)
    if found is None:
        return ""
    years, outcome = found.years, found.outcome
    failing = [code for code in range(1, len(WHY_NOT)) if (outcome == code).any()]
    lanes = [WORKS, *failing]
    wide = (width_px - _NAMES_PX - 4) / len(years)
    body, y = [], _TOP_PX
    for code in lanes:
        middle = y + _LANE_PX / 2
        name = words("drawing.worked" if code == WORKS else f"drawing.{_key(WHY_NOT[code])}")
        body.append(label(0, middle + 4, name, 12, "start"))
        body.append(_line(_NAMES_PX, middle, width_px, middle, colours.RULE, 0.5))
        places = _NAMES_PX + (np.flatnonzero(outcome == code) + 0.5) * wide
        body.append(_marks(places.tolist(), middle, min(wide * 0.38, 5.0), code))
        y += _LANE_PX
    y += _GAP_PX - 2
    body.append(_stands(found, y, wide, words, legend))
    y += _BARS_PX + _GAP_PX
    names = (words("drawing.wet_run"), words("drawing.wet_run_unit"))
    body.append(_bars(found.wet_d, y, _WET_PX, wide, names, lambda d: f"{d:.0f}", colours.WATER))
    y += _WET_PX + _GAP_PX
    names = (
        words("drawing.grown"),
        words("drawing.grown_unit", unit=legend.dry_matter_unit),
    )
    fill = colours.YEARS["y2"].fill
    body.append(_bars(found.grown_kg_ha, y, _BARS_PX, wide, names, legend.dry_matter, fill))
    base = y + _BARS_PX
    body.append(_line(_NAMES_PX, base, width_px, base, colours.INK, 1.2))
    body.extend(
        label(_NAMES_PX + (i + 0.5) * wide, base + 15, str(year), 11, "middle")
        for i, year in enumerate(years)
        if year % 5 == 0 and _NAMES_PX + (i + 0.5) * wide < width_px - 12
    )
    n = int((outcome == WORKS).sum())
    text = words("drawing.years", n=len(years), worked=n)
    return sheet(width_px, round(base + _FOOT_PX), "".join(body), text)


def _of_field(assessment: Assessment, field_id: str) -> _FieldYears | None:
    """None where no year counts."""
    row = verdict_rows(assessment)[field_id]
    if assessment.years is None or row["score_basis"] != "years in ten":
        return None
    by_field = assessment.years.by_field([field_id])
    if row["sow_date"] not in by_field.weeks:
        return None
    at = 0, slice(None), by_field.weeks.index(row["sow_date"])
    known = by_field.outcome[at] != UNKNOWN
    if not known.any():
        return None
    return _FieldYears(
        row["sow_date"],
        [year for year, here in zip(by_field.years, known, strict=True) if here],
        by_field.outcome[at][known],
        by_field.emerged_d[at][known],
        by_field.end_d[at][known],
        by_field.wet_run_d[at][known],
        by_field.dry_matter_60d_kg_ha[at][known],
    )


def _stands(found: _FieldYears, top: float, wide: float, words: Words, legend: Legend) -> str:
    """From the day on which each stand was up, down to the day on which it was over."""
    body = [
        label(0, top + 12, words("drawing.stood"), 12, "start"),
        label(0, top + 27, words("drawing.stood_unit"), 11, "start"),
    ]
    there = np.isfinite(found.up_d) & np.isfinite(found.over_d)
    if not there.any():
        return "".join(body)
    first_d, last_d = float(found.up_d[there].min()), float(found.over_d[there].max())
    px_d = (_BARS_PX - 4) / max(last_d - first_d, 1.0)
    for day, y in ((first_d, top + 2), (last_d, top + _BARS_PX - 2)):
        body.append(label(_NAMES_PX - 6, y + 4, _day(found.sow_date, day, legend), 10, "end"))
        body.append(_line(_NAMES_PX - 4, y, _NAMES_PX + wide * len(there), y, colours.RULE, 0.5))
    bars = [
        _box(
            _NAMES_PX + i * wide + wide * 0.3,
            top + 2 + px_d * (float(found.up_d[i]) - first_d),
            wide * 0.4,
            max(1.0, px_d * float(found.over_d[i] - found.up_d[i])),
        )
        for i in np.flatnonzero(there)
    ]
    body.append(_filled(bars, colours.YEARS["y3"].fill))
    return "".join(body)


def _day(sow_date: str, after_d: float, legend: Legend) -> str:
    day = date.fromisoformat(f"2001-{sow_date}") + timedelta(days=round(after_d))
    return legend.day(f"{day:%m-%d}")


def _bars(
    values: NDArray[np.float32],
    top: float,
    tall_px: float,
    wide: float,
    names: tuple[str, str],
    told: Callable[[float], str],
    fill: str,
) -> str:
    """A bar a year, up to the largest, which is told at the left."""
    most = float(np.nanmax(values)) if np.isfinite(values).any() else 0.0
    body = [label(0, top + 12, names[0], 12, "start"), label(0, top + 25, names[1], 11, "start")]
    body.append(label(_NAMES_PX - 6, top + 6, told(most), 10, "end"))
    right = _NAMES_PX + wide * len(values)
    body.append(_line(_NAMES_PX - 4, top + 2, right, top + 2, colours.RULE, 0.5))
    bars = []
    for i, value in enumerate(values):
        tall = 0.0 if math.isnan(value) or most <= 0 else (tall_px - 2) * float(value) / most
        if tall > 0:
            left = _NAMES_PX + i * wide + wide * 0.16
            bars.append(_box(left, top + tall_px - tall, wide * 0.68, tall))
    body.append(_filled(bars, fill))
    return "".join(body)


def _marks(places: list[float], y: float, half: float, code: int) -> str:
    """Full squares where it worked; crosses where it failed, blue where water did it.

    All of a lane are one shape: many small ones take a page long to set.
    """
    if code == WORKS:
        squares = [_box(x - half, y - half, 2 * half, 2 * half) for x in places]
        return _filled(squares, colours.YEARS["y3"].fill)
    colour = colours.WATER if WHY_NOT[code] in _WET else colours.INK
    crosses = "".join(
        f"M{x - half:.1f} {y - half:.1f}l{2 * half:.1f} {2 * half:.1f}"
        f"M{x - half:.1f} {y + half:.1f}l{2 * half:.1f} {-2 * half:.1f}"
        for x in places
    )
    return f'<path d="{crosses}" fill="none" stroke="{colour}" stroke-width="2.2"/>'


def _box(left: float, top: float, wide: float, tall: float) -> str:
    return f"M{left:.1f} {top:.1f}h{wide:.1f}v{tall:.1f}h{-wide:.1f}z"


def _filled(boxes: list[str], fill: str) -> str:
    return f'<path d="{"".join(boxes)}" fill="{fill}"/>' if boxes else ""


def _line(x: float, y: float, to_x: float, to_y: float, colour: str, width: float) -> str:
    return (
        f'<path d="M{x:.1f} {y:.1f}L{to_x:.1f} {to_y:.1f}" fill="none" stroke="{colour}"'
        f' stroke-width="{width:g}"/>'
    )


def _key(text: str) -> str:
    return text.replace(" ", "_")
