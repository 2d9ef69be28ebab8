"""Stripes, dots and wet hatch as real clipped lines, in pixels.

An SVG ``<pattern>`` is lost or shows seams in print programs and PDF; lines are drawn alike
everywhere.
"""

import math

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry


def stripes(ground: BaseGeometry, spacing: float, angle_deg: float) -> str:
    """SVG path data of parallel lines clipped to the ground; a sliver still gets one line.

    Parameters
    ----------
    ground : polygons in pixels, y down.
    spacing : pixels from line to line.
    angle_deg : direction of the lines on screen, anticlockwise from the right.
    """
    if ground.is_empty:
        return ""
    lines = _parallels(ground.bounds, spacing, angle_deg)
    for piece in _without(lines, ground):
        point = piece.representative_point()
        lines.append(_through(point.x, point.y, piece.bounds, angle_deg))
    parts = lines_within(np.array(lines, dtype=object), ground)
    ends = (shapely.get_coordinates(shapely.get_point(parts, at)).tolist() for at in (0, -1))
    return "".join(
        f"M{x0:.1f} {y0:.1f}L{x1:.1f} {y1:.1f}" for (x0, y0), (x1, y1) in zip(*ends, strict=True)
    )


def lines_within(lines: NDArray[np.object_], ground: BaseGeometry) -> NDArray[np.object_]:
    """The pieces of lines that lie within the ground."""
    parts = shapely.get_parts(shapely.intersection(lines, ground))
    is_line = shapely.get_type_id(parts) == shapely.GeometryType.LINESTRING
    pieces: NDArray[np.object_] = parts[is_line & (shapely.length(parts) > 0)]
    return pieces


def dots(ground: BaseGeometry, spacing: float, inset: float) -> str:
    """SVG path data of points on a staggered grid, drawn by a stroke with round ends."""
    if ground.is_empty:
        return ""
    left, top, right, bottom = ground.bounds
    rows = np.arange(math.floor(top / spacing), math.ceil(bottom / spacing) + 1)
    columns = np.arange(math.floor(left / spacing), math.ceil(right / spacing) + 1)
    x, y = np.meshgrid(columns * spacing, rows * spacing)
    x = x + (rows % 2 * spacing / 2)[:, None]
    # Where dots come too near the edge, the edge line swallows them.
    inner = ground.buffer(-inset)
    keep = shapely.contains_xy(inner, x.ravel(), y.ravel())
    points = list(shapely.points(x.ravel()[keep], y.ravel()[keep]))
    points.extend(piece.representative_point() for piece in _without(points, ground))
    return "".join(f"M{point.x:.1f} {point.y:.1f}h.01" for point in points)


def _without(marks: list[BaseGeometry], ground: BaseGeometry) -> list[BaseGeometry]:
    pieces = shapely.get_parts(ground)
    hit = set(shapely.STRtree(marks).query(pieces, predicate="intersects")[0].tolist())
    return [piece for i, piece in enumerate(pieces) if i not in hit]


def _parallels(
    bounds: tuple[float, float, float, float], spacing: float, angle_deg: float
) -> list[BaseGeometry]:
    left, top, right, bottom = bounds
    # The grid hangs on the page's corner, so that stripes of neighbours line up.
    angle = math.radians(angle_deg)
    along, across = (math.cos(angle), -math.sin(angle)), (math.sin(angle), math.cos(angle))
    corners = [(x * across[0] + y * across[1]) for x in (left, right) for y in (top, bottom)]
    steps = np.arange(math.ceil(min(corners) / spacing), math.floor(max(corners) / spacing) + 1)
    reach = math.hypot(right - left, bottom - top)
    middle = (left + right) / 2 * along[0] + (top + bottom) / 2 * along[1]
    ends = [
        [
            (step * spacing * across[0] + t * along[0], step * spacing * across[1] + t * along[1])
            for t in (middle - reach, middle + reach)
        ]
        for step in steps
    ]
    return list(shapely.linestrings(ends)) if ends else []


def _through(
    x: float, y: float, bounds: tuple[float, float, float, float], angle_deg: float
) -> BaseGeometry:
    reach = math.hypot(bounds[2] - bounds[0], bounds[3] - bounds[1])
    dx, dy = math.cos(math.radians(angle_deg)) * reach, -math.sin(math.radians(angle_deg)) * reach
    return shapely.linestrings([(x - dx, y - dy), (x + dx, y + dy)])
