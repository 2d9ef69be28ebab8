"""Drawings of the farm and of one field as SVG: one code for map, print, report and PDF."""

from functools import cache
from html import escape
from typing import Any

import pandas as pd
import shapely
from shapely.geometry.base import BaseGeometry

from maps import colours
from maps.assessment import Assessment
from maps.drawing_frame import Frame, foot, frame_for, label, sheet
from maps.ground_drawing import contours_swatch, ground_svg
from maps.hatching import dots, stripes
from maps.legend import Legend
from maps.number_places import wet_by_field, widest_place
from maps.of_field import field_rows, rows_of, verdict_rows
from maps.open_water import open_water
from maps.remembered import remembered
from maps.shown_names import shown
from maps.words import Words

STRIPE_PX, DOT_PX, WET_PX, WATER_PX = 9.0, 11.0, 6.0, 5.0
_PALE = 0.22  # of a verdict's colour, so that soils and words are seen on it
Box = tuple[float, float, float, float]
_SMALLEST_PX = 3.0  # ground smaller than this is drawn as a square that can be seen


@remembered
def field_numbers(assessment: Assessment) -> dict[str, int]:
    """The number a field goes by in map, report and tables: its row in verdicts, from 1."""
    return {str(key): n for n, key in enumerate(assessment.verdicts.field_id, start=1)}


def farm_svg(assessment: Assessment, words: Words, legend: Legend, width_px: int = 720) -> str:
    """The whole farm: each field in its verdict's colour and pattern, wet ground, numbers.

    Parameters
    ----------
    assessment : fields and wet ground in one metre CRS.
    words, legend : the reader's language and units.
    width_px : width of the drawing's own coordinates; text is 13 of them high.

    Returns
    -------
    One ``<svg>`` element without script, style or pattern, safe to put into HTML or a PDF.
    """
    frame = frame_for(tuple(assessment.fields.total_bounds), width_px)
    verdict_of = dict(zip(assessment.verdicts.field_id, assessment.verdicts.verdict, strict=True))
    ground: dict[str, list[BaseGeometry]] = {verdict: [] for verdict in colours.VERDICT}
    places: dict[str, BaseGeometry] = {}
    for field_id, shape in zip(assessment.fields.field_id, assessment.fields.geometry, strict=True):
        if field_id in verdict_of and shape is not None and not shape.is_empty:
            places[field_id] = _visible(frame.to_px(shape))
            ground[verdict_of[field_id]].append(places[field_id])
    body = [_filled(shapes, verdict) for verdict, shapes in ground.items()]
    body.append(_water(frame, open_water(assessment).geometry))
    body.append(_wet(frame, assessment.wet_ground.geometry))
    wet = {
        field_id: [frame.to_px(shape) for shape in shapes]
        for field_id, shapes in wet_by_field(assessment).items()
    }
    body.append(_numbers(frame, places, wet, field_numbers(assessment)))
    text = words("drawing.farm", n=len(places))
    return _sheet(frame, "".join(body) + foot(frame, words), text)


def field_svg(
    assessment: Assessment, field_id: str, words: Words, legend: Legend, width_px: int = 560
) -> str:
    """One field: soil parts with their map unit symbols, sowable ground pale, wet ground hatched.

    Hillshade and contours lie under them where there are heights.

    Parameters and result as ``farm_svg``; KeyError if there is no such field.
    """
    shape = field_rows(assessment)[field_id]["geometry"]
    verdict = verdict_rows(assessment)[field_id]["verdict"]
    wet = rows_of(assessment.wet_ground, field_id)
    parts = rows_of(assessment.soil_parts, field_id)
    frame = frame_for(shape.bounds, width_px, tallest=0.8, snug=True)
    outline = _visible(frame.to_px(shape))
    swatch = colours.VERDICT[verdict]
    body = [_path(outline, fill=_pale(swatch.fill))]
    if assessment.ground is not None:
        shade = ground_svg(assessment.ground, rows_of(assessment.fields, field_id), frame)
        body = [shade, _path(outline, fill=swatch.fill, opacity=_PALE)]
    if swatch.pattern == "stripes":
        body.append(_strokes(stripes(outline, STRIPE_PX, 45), swatch.fill, 1.6))
    edges = [frame.to_px(part) for part in parts.geometry if part is not None]
    body.extend(_path(edge, stroke=colours.SOIL_EDGE, width=1.2) for edge in edges)
    body.append(_water(frame, rows_of(open_water(assessment), field_id).geometry))
    body.append(_wet(frame, wet.geometry))
    body.append(_path(outline, stroke=colours.INK, width=2.2, dashed=swatch.pattern == "blank"))
    body.extend(_symbols(edges, parts))
    number = field_numbers(assessment)[field_id]
    return _sheet(frame, "".join(body) + foot(frame, words), words("drawing.field", n=number))


@cache
def swatch_svg(name: str, size_px: int = 26) -> str:
    """A small square for the key.

    Parameters
    ----------
    name : a verdict, ``wet ground``, ``open water``, ``soil`` or ``contours``.
    """
    high = size_px * 0.7
    square = shapely.box(1, 1, size_px - 1, high - 1)
    if name == "wet ground":
        body = _wet_shape(square)
    elif name == "open water":
        body = _water_shape(square)
    elif name == "contours":
        body = contours_swatch(size_px, high)
    elif name == "soil":
        body = _path(square, fill=colours.PAPER, stroke=colours.SOIL_EDGE, width=1.2)
    else:
        body = _filled([square], name)
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {size_px} {high:g}"'
        f' width="{size_px}" height="{high:g}" aria-hidden="true">{body}</svg>'
    )


def _sheet(frame: Frame, body: str, text: str) -> str:
    return sheet(frame.width_px, frame.height_px, body, text)


def _filled(shapes: list[BaseGeometry], verdict: str) -> str:
    if not shapes:
        return ""
    swatch = colours.VERDICT[verdict]
    together = shapely.union_all([shape.buffer(0) for shape in shapes])
    mark = ""
    if swatch.pattern == "stripes":
        mark = _strokes(stripes(together, STRIPE_PX, 45), swatch.mark, 3)
    elif swatch.pattern == "dots":
        mark = _strokes(dots(together, DOT_PX, 2.5), swatch.mark, 3, rounded=True)
    each = shapely.geometrycollections(shapes)
    dashed = swatch.pattern == "blank"
    # Many small fields under a thick edge would be nothing but edge.
    width = 1.5 if together.area / len(shapes) > 15**2 else 0.7
    return (
        _path(each, fill=swatch.fill)
        + mark
        + _path(each, stroke=colours.INK, width=width, dashed=dashed)
    )


def _water(frame: Frame, shapes: Any) -> str:
    return "".join(
        _water_shape(_visible(frame.to_px(shape)))
        for shape in shapes
        if shape is not None and not shape.is_empty
    )


def _water_shape(shape: BaseGeometry) -> str:
    """Level lines on it tell it from dark ground that is sown, also where all is grey."""
    lines = stripes(shape.buffer(-1), WATER_PX, 0)
    return _path(shape, fill=colours.WATER) + _strokes(lines, colours.WATER_PAPER, 1)


def _wet(frame: Frame, shapes: Any) -> str:
    return _wet_shape(
        shapely.geometrycollections(
            [
                _visible(frame.to_px(shape))
                for shape in shapes
                if shape is not None and not shape.is_empty
            ]
        )
    )


def _wet_shape(shape: BaseGeometry) -> str:
    """One path for all of it: of many spots each path would be more than its ground."""
    together = shapely.union_all([piece.buffer(0) for piece in shapely.get_parts(shape)])
    return (
        _path(shape, fill=colours.WATER_PAPER)
        + _strokes(stripes(together, WET_PX, -45), colours.WATER, 1.4)
        + _path(shape, stroke=colours.WATER, width=1.6)
    )


def _numbers(
    frame: Frame,
    places: dict[str, BaseGeometry],
    wet: dict[str, list[BaseGeometry]],
    numbers: dict[str, int],
) -> str:
    # Large fields first: where two numbers would lie on each other the small field goes without.
    taken: list[Box] = []
    drawn = []
    for field_id, shape in sorted(places.items(), key=lambda item: -item[1].area):
        x, y, radius = widest_place(shape, wet.get(field_id, []))
        text = str(numbers[field_id])
        size = 13 if radius >= 11 else 10 if radius >= 6 else 7
        half = 0.31 * size * len(text) + 3.5
        tag = (x - half, y - size * 0.62, x + half, y + size * 0.62)
        if any(_overlap(tag, other) for other in taken):
            continue
        taken.append(tag)
        drawn.append(_tag(tag, x, y + size * 0.36, text, size, bold=True))
    return "".join(drawn)


def _symbols(edges: list[BaseGeometry], parts: pd.DataFrame) -> list[str]:
    taken: list[Box] = []
    drawn = []
    pieces = [
        (piece, shown(symbol, 12))
        for edge, symbol in zip(edges, parts.musym, strict=True)
        for piece in shapely.get_parts(edge)
        if piece.geom_type == "Polygon"
    ]
    for piece, text in sorted(pieces, key=lambda item: -item[0].area):
        x, y, radius = widest_place(piece)
        half = 3.9 * len(text) + 4
        tag = (x - half, y - 9, x + half, y + 9)
        if radius < 8 or not text or any(_overlap(tag, other) for other in taken):
            continue
        taken.append(tag)
        drawn.append(_tag(tag, x, y + 4.5, escape(text), 13))
    return drawn


def _overlap(a: Box, b: Box) -> bool:
    return a[0] < b[2] and b[0] < a[2] and a[1] < b[3] and b[1] < a[3]


def _tag(box: Box, x: float, baseline: float, text: str, size: int, *, bold: bool = False) -> str:
    left, top, right, bottom = box
    return (
        f'<rect x="{left:.1f}" y="{top:.1f}" width="{right - left:.1f}"'
        f' height="{bottom - top:.1f}" rx="3" fill="{colours.PAPER}" stroke="{colours.INK}"'
        f' stroke-width=".6"/>' + label(x, baseline, text, size, "middle", bold=bold)
    )


def _visible(shape: BaseGeometry) -> BaseGeometry:
    left, top, right, bottom = shape.bounds
    if max(right - left, bottom - top) >= _SMALLEST_PX:
        return shape
    x, y = (left + right) / 2, (top + bottom) / 2
    return shapely.box(x - 2, y - 2, x + 2, y + 2)


def _path(
    shape: BaseGeometry,
    *,
    fill: str = "none",
    opacity: float = 1.0,
    stroke: str = "",
    width: float = 0,
    dashed: bool = False,
) -> str:
    data = "".join(
        "M" + "L".join(f"{x:.1f} {y:.1f}" for x, y in _corners(ring)) + "Z"
        for piece in shapely.get_parts(shape).tolist()
        for polygon in shapely.get_parts(piece)
        if polygon.geom_type == "Polygon"
        for ring in (polygon.exterior, *polygon.interiors)
    )
    if not data:
        return ""
    line = f' stroke="{stroke}" stroke-width="{width:g}" stroke-linejoin="round"' if stroke else ""
    if dashed and stroke:
        line += f' stroke-dasharray="{4 * width:g} {2.6 * width:g}"'
    clear = f' fill-opacity="{opacity:g}"' if opacity < 1 else ""
    return f'<path d="{data}" fill="{fill}"{clear} fill-rule="evenodd"{line}/>'


def _corners(ring: BaseGeometry) -> list[list[float]]:
    corners: list[list[float]] = shapely.get_coordinates(ring)[:-1].tolist()
    return corners


def _strokes(data: str, colour: str, width: float, *, rounded: bool = False) -> str:
    ends = ' stroke-linecap="round"' if rounded else ""
    return (
        f'<path d="{data}" fill="none" stroke="{colour}" stroke-width="{width:g}"{ends}/>'
        if data
        else ""
    )


def _pale(colour: str, share: float = _PALE) -> str:
    channels = [int(colour[i : i + 2], 16) for i in (1, 3, 5)]
    return "#" + "".join(f"{round(255 - (255 - c) * share):02X}" for c in channels)
