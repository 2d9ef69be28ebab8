"""The boxes that are sent instead of outlines: around fields that lie near, rounded outward."""

import math
from collections.abc import Iterable, Sequence

LonLatBox = tuple[float, float, float, float]  # west, south, east, north [deg]

# 0.01 degrees is about a kilometre: a box tells where a farm is, not which fields are its own.
STEP_DEG = 0.01
_DECIMALS = 2
_M_PER_DEG = 111_320.0  # of latitude; of longitude at the equator


def boxes_around(extents: Iterable[LonLatBox], buffer_m: float) -> tuple[LonLatBox, ...]:
    """Boxes around extents and a buffer [m], rounded outward to ``STEP_DEG``.

    Extents nearer to each other than about two steps share a box, so neighbours are not told
    apart. Sorted from west to east.

    >>> boxes_around([(-84.2031, 31.6012, -84.2022, 31.6023)], 0)
    ((-84.21, 31.6, -84.2, 31.61),)
    """
    boxes = sorted({rounded_outward(widened(extent, buffer_m)) for extent in extents})
    merged = True
    while merged:
        merged = False
        kept: list[LonLatBox] = []
        for box in boxes:
            near = next((i for i, other in enumerate(kept) if _near(box, other)), None)
            if near is None:
                kept.append(box)
            else:
                kept[near] = _union(box, kept[near])
                merged = True
        boxes = kept
    return tuple(sorted(boxes))


def widened(box: LonLatBox, by_m: float) -> LonLatBox:
    """The box with a margin [m] on all sides."""
    west, south, east, north = box
    up = by_m / _M_PER_DEG
    lowest_cosine = math.cos(math.radians(min(max(abs(south), abs(north)) + up, 89.0)))
    aside = up / lowest_cosine
    return west - aside, south - up, east + aside, north + up


def rounded_outward(box: LonLatBox) -> LonLatBox:
    """The box with its edges on whole steps, never smaller than it was."""
    low = [round(math.floor(v / STEP_DEG + 1e-9) * STEP_DEG, _DECIMALS) for v in box[:2]]
    high = [round(math.ceil(v / STEP_DEG - 1e-9) * STEP_DEG, _DECIMALS) for v in box[2:]]
    return low[0], low[1], high[0], high[1]


def quarters(box: LonLatBox) -> tuple[LonLatBox, ...]:
    """Its four quarters, for a question whose answer would be too large."""
    west, south, east, north = box
    x, y = (west + east) / 2, (south + north) / 2
    return (
        (west, south, x, y),
        (x, south, east, y),
        (west, y, x, north),
        (x, y, east, north),
    )


def points_in(box: LonLatBox, apart_deg: float) -> tuple[tuple[float, float], ...]:
    """Points (lon, lat) in the middles of equal parts of a box, none wider than ``apart_deg``.

    >>> points_in((-84.3, 31.6, -84.1, 31.7), 0.5)
    ((-84.2, 31.65),)
    """
    west, south, east, north = box
    across = max(math.ceil((east - west) / apart_deg - 1e-9), 1)
    up = max(math.ceil((north - south) / apart_deg - 1e-9), 1)
    return tuple(
        (
            round(west + (i + 0.5) * (east - west) / across, 3),
            round(south + (j + 0.5) * (north - south) / up, 3),
        )
        for i in range(across)
        for j in range(up)
    )


def overlaps(one: LonLatBox, other: LonLatBox) -> bool:
    """Whether two boxes share ground."""
    return one[0] < other[2] and other[0] < one[2] and one[1] < other[3] and other[1] < one[3]


def whole_extent(boxes: Sequence[LonLatBox]) -> LonLatBox:
    """One box around all."""
    return (
        min(b[0] for b in boxes),
        min(b[1] for b in boxes),
        max(b[2] for b in boxes),
        max(b[3] for b in boxes),
    )


def shown(box: LonLatBox) -> str:
    """A box in words.

    >>> shown((-84.21, 31.6, -84.2, 31.61))
    'latitude 31.60 to 31.61, longitude -84.21 to -84.20'
    """
    west, south, east, north = box
    return f"latitude {south:.2f} to {north:.2f}, longitude {west:.2f} to {east:.2f}"


def _near(one: LonLatBox, other: LonLatBox) -> bool:
    far = (one[0] - STEP_DEG, one[1] - STEP_DEG, one[2] + STEP_DEG, one[3] + STEP_DEG)
    return overlaps(far, (other[0] - 1e-9, other[1] - 1e-9, other[2] + 1e-9, other[3] + 1e-9))


def _union(one: LonLatBox, other: LonLatBox) -> LonLatBox:
    return whole_extent((one, other))
