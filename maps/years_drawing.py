"""One field's years side by side: a mark a year for what became of the stand, and what it grew."""

import math

import numpy as np
from numpy.typing import NDArray

from maps import colours
from maps.assessment import Assessment
from maps.drawing_frame import label, sheet
from maps.legend import Legend
from maps.of_field import verdict_rows
from maps.words import Words
from suitability.outcomes import UNKNOWN, WHY_NOT, WORKS

_LANE_PX, _BARS_PX, _TOP_PX, _FOOT_PX = 22.0, 52.0, 8.0, 20.0
_NAMES_PX = 112.0
_WET = ("drowned", "wet seedbed")


def years_svg(
    assessment: Assessment, field_id: str, words: Words, legend: Legend, width_px: int = 380
) -> str:
    """The years of a field's recommended week; empty where it has none.

    A lane for the years that worked, one for each cause that failed others, and under them what
    stood 60 days after sowing.
    """
    found = _of_field(assessment, field_id)
    if found is None:
        return ""
    years, outcome, grown = found
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
    body.append(_bars(grown, y + 6, wide, words, legend))
    base = y + 6 + _BARS_PX
    body.append(_line(_NAMES_PX, base, width_px, base, colours.INK, 1.2))
    body.extend(
        label(_NAMES_PX + (i + 0.5) * wide, base + 15, str(year), 11, "middle")
        for i, year in enumerate(years)
        if year % 5 == 0 and _NAMES_PX + (i + 0.5) * wide < width_px - 12
    )
    n = int((outcome == WORKS).sum())
    text = words("drawing.years", n=len(years), worked=n)
    return sheet(width_px, round(base + _FOOT_PX), "".join(body), text)


def _of_field(
    assessment: Assessment, field_id: str
) -> tuple[list[int], NDArray[np.int8], NDArray[np.float32]] | None:
    """Years, outcome and dry matter at 60 days of the recommended week; only years that count."""
    row = verdict_rows(assessment)[field_id]
    if assessment.years is None or row["score_basis"] != "years in ten":
        return None
    by_field = assessment.years.by_field([field_id])
    if row["sow_date"] not in by_field.weeks:
        return None
    at = 0, slice(None), by_field.weeks.index(row["sow_date"])
    outcome = by_field.outcome[at]
    known = outcome != UNKNOWN
    years = [year for year, here in zip(by_field.years, known, strict=True) if here]
    return (years, outcome[known], by_field.dry_matter_60d_kg_ha[at][known]) if years else None


def _bars(grown: NDArray[np.float32], top: float, wide: float, words: Words, legend: Legend) -> str:
    most = float(np.nanmax(grown)) if np.isfinite(grown).any() else 0.0
    body = [
        label(0, top + 12, words("drawing.grown"), 12, "start"),
        label(0, top + 27, words("drawing.grown_unit", unit=legend.dry_matter_unit), 11, "start"),
    ]
    if most <= 0:
        return "".join(body)
    scale = f"{legend.dry_matter(most)}"
    body.append(label(_NAMES_PX - 6, top + 6, scale, 10, "end"))
    body.append(
        _line(_NAMES_PX - 4, top + 2, _NAMES_PX + wide * len(grown), top + 2, colours.RULE, 0.5)
    )
    bars = []
    for i, value in enumerate(grown):
        tall = 0.0 if math.isnan(value) else (_BARS_PX - 2) * float(value) / most
        if tall > 0:
            left = _NAMES_PX + i * wide + wide * 0.16
            bars.append(_box(left, top + _BARS_PX - tall, wide * 0.68, tall))
    body.append(_filled(bars, colours.YEARS["y2"].fill))
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
