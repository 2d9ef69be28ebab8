"""The sheet under a drawing: metres to pixels, the scale bar in feet and metres, the north sign."""

import math
from dataclasses import dataclass
from html import escape

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from maps import colours
from maps.words import Words
from suitability.conversions import M_PER_FT

MARGIN_PX = 10
FOOT_PX = 46  # strip under the ground, for scale and north
FT_PER_MILE = 5280
FONT = "Open Sans, Arial, Helvetica, sans-serif"


@dataclass(frozen=True)
class Frame:
    """Where the ground lies on the sheet. ``m_per_px`` is the same in both directions."""

    left_m: float
    top_m: float
    m_per_px: float
    width_px: int
    height_px: int

    def to_px(self, shape: BaseGeometry) -> BaseGeometry:
        """The shape in pixels, y down, without detail finer than the eye can see."""
        drawn: BaseGeometry = self.all_to_px(np.array([shape], dtype=object))[0]
        return drawn

    def all_to_px(self, shapes: NDArray[np.object_]) -> NDArray[np.object_]:
        """As ``to_px``, of each shape."""
        moved = shapely.transform(
            shapes,
            lambda xy: np.column_stack(
                [(xy[:, 0] - self.left_m) / self.m_per_px, (self.top_m - xy[:, 1]) / self.m_per_px]
            ),
        )
        plain = shapely.simplify(moved, 0.3)
        seen: NDArray[np.object_] = np.where(shapely.is_empty(plain), moved, plain)
        return seen


def frame_for(
    bounds: tuple[float, float, float, float],
    width_px: int,
    tallest: float = 1.0,
    *,
    snug: bool = False,
) -> Frame:
    """A sheet of this width around the bounds (metres), at most ``tallest`` times as high.

    ``snug`` takes away empty width beside ground that is taller than wide.
    """
    left, bottom, right, top = bounds
    wide, tall = max(right - left, 1.0), max(top - bottom, 1.0)
    room_px = width_px - 2 * MARGIN_PX
    m_per_px = max(wide / room_px, tall / (room_px * tallest))
    if snug:
        width_px = max(round(wide / m_per_px + 2 * MARGIN_PX), round(width_px * 0.6))
    ground_px = max(tall / m_per_px, room_px * 0.3)
    height = ground_px + 2 * MARGIN_PX
    return Frame(
        left_m=(left + right) / 2 - width_px / 2 * m_per_px,
        top_m=(bottom + top) / 2 + height / 2 * m_per_px,
        m_per_px=m_per_px,
        width_px=width_px,
        height_px=round(height + FOOT_PX),
    )


def foot(frame: Frame, words: Words) -> str:
    """Scale bar and north sign along the lower edge of the sheet."""
    y = frame.height_px - FOOT_PX / 2
    return _scale(frame, words, y) + _north(frame, words, y)


def round_length(at_most: float) -> float:
    """The largest of 1, 2, 5 times a power of ten that is not above ``at_most``.

    >>> [round_length(v) for v in (9.9, 1340, 0.3)]
    [5.0, 1000.0, 0.2]
    """
    power = 10.0 ** math.floor(math.log10(at_most))
    return float(max(step * power for step in (1, 2, 5) if step * power <= at_most * 1.000001))


def _scale(frame: Frame, words: Words, y: float) -> str:
    longest_m = 0.3 * frame.width_px * frame.m_per_px
    feet = round_length(longest_m / M_PER_FT)
    miles = feet >= FT_PER_MILE
    if miles:
        feet = round_length(longest_m / M_PER_FT / FT_PER_MILE) * FT_PER_MILE
    metres = round_length(longest_m)
    upper = (
        words("drawing.miles", n=f"{feet / FT_PER_MILE:g}")
        if miles
        else words("drawing.feet", n=f"{feet:,.0f}")
    )
    lower = (
        words("drawing.kilometres", n=f"{metres / 1000:g}")
        if metres >= 1000
        else words("drawing.metres", n=f"{metres:g}")
    )
    x = MARGIN_PX + 0.5
    ends = [x + feet * M_PER_FT / frame.m_per_px, x + metres / frame.m_per_px]
    bar = (
        f'<path d="M{x:.1f} {y:.1f}H{max(ends):.1f}M{x:.1f} {y - 6:.1f}V{y + 6:.1f}'
        f'M{ends[0]:.1f} {y:.1f}v-6M{ends[1]:.1f} {y:.1f}v6" fill="none"'
        f' stroke="{colours.INK}" stroke-width="1.5"/>'
    )
    return bar + label(x + 5, y - 5, upper, 12, "start") + label(x + 5, y + 14, lower, 12, "start")


def _north(frame: Frame, words: Words, y: float) -> str:
    x = frame.width_px - MARGIN_PX - 12
    return f'<path d="M{x} {y - 17:.1f}l7 19l-7 -5l-7 5z" fill="{colours.INK}"/>' + label(
        x, y + 17, words("drawing.north"), 13, "middle", bold=True
    )


def sheet(width_px: int, height_px: int, body: str, text: str) -> str:
    """One ``<svg>`` around a drawing; ``text`` is what is read aloud instead of it."""
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" role="img" aria-label="{escape(text)}"'
        f' viewBox="0 0 {width_px} {height_px}"'
        f' width="{width_px}" height="{height_px}">{body}</svg>'
    )


def label(x: float, y: float, text: str, size: int, anchor: str, *, bold: bool = False) -> str:
    """One line of text; ``text`` must be our own words or already escaped."""
    weight = ' font-weight="bold"' if bold else ""
    return (
        f'<text x="{x:.1f}" y="{y:.1f}" font-family="{FONT}" font-size="{size}"'
        f' text-anchor="{anchor}" fill="{colours.INK}"{weight}>{text}</text>'
    )
