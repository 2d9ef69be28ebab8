"""Where the number of a field stands: in its widest place, off its wet ground where that can be."""

from collections.abc import Sequence

import shapely
from shapely.geometry.base import BaseGeometry

from maps.assessment import Assessment
from maps.open_water import open_water

# Clear of wet ground, a place may be this much narrower than the widest one.
_NARROWER = 0.5


def widest_place(
    shape: BaseGeometry, clear_of: Sequence[BaseGeometry] = (), tolerance: float = 1.0
) -> tuple[float, float, float]:
    """Middle and radius of the largest circle in the shape, clear of other ground if it has room.

    Parameters
    ----------
    shape : a polygon or polygons; the largest counts.
    clear_of : ground that a number should not cover, in the same coordinates.
    tolerance : how exact the circle is, in their unit.
    """
    place = _widest(shape, tolerance)
    if clear_of:
        rest = shape.buffer(0).difference(
            shapely.union_all([piece.buffer(0) for piece in clear_of])
        )
        if not rest.is_empty:
            clear = _widest(rest, tolerance)
            if clear[2] >= _NARROWER * place[2]:
                return clear
    return place


def wet_by_field(assessment: Assessment) -> dict[str, list[BaseGeometry]]:
    """Wet ground and open water by the field that they lie in: what a number should not cover."""
    found: dict[str, list[BaseGeometry]] = {}
    for table in (assessment.wet_ground, open_water(assessment)):
        for field_id, shape in zip(table["field_id"], table.geometry, strict=True):
            if shape is not None and not shape.is_empty:
                found.setdefault(field_id, []).append(shape)
    return found


def _widest(shape: BaseGeometry, tolerance: float) -> tuple[float, float, float]:
    largest = max(shapely.get_parts(shape), key=lambda part: part.area)
    line = shapely.maximum_inscribed_circle(largest, tolerance=tolerance)
    (x, y), _ = line.coords
    return x, y, line.length
