"""Stepped edges of cells drawn as smooth lines that enclose the same area."""

from collections.abc import Iterator

import numpy as np
import shapely
from shapely.geometry import MultiPolygon, Polygon
from shapely.geometry.base import BaseGeometry

_ROUNDS = 8  # each lays every point midway to its neighbours, half a cell apart
_CORRECTIONS = 4
_SIMPLER_CELLS = 0.08  # points closer to a straight line than this are not drawn
MOST_CHANGE_FRAC = 0.01  # a piece that smoothing would change more than this stays as it is


def polygons_of(shape: BaseGeometry) -> list[Polygon]:
    """Single polygons of a shape with some extent."""
    return [
        part for part in shapely.get_parts(shape) if part.geom_type == "Polygon" and part.area > 0
    ]


def smoothed(shape: BaseGeometry, cell_m: float) -> MultiPolygon:
    """Polygons with smooth edges.

    Parameters
    ----------
    shape : polygons along the edges of cells. cell_m : side of a cell [m].

    Notes
    -----
    Every piece keeps its area within ``MOST_CHANGE_FRAC``: what rounding its corners takes away is
    given back all along its edge. Pieces that come to touch become one.
    """
    pieces = [_smooth_piece(piece, cell_m) for piece in polygons_of(shape)]
    return MultiPolygon(polygons_of(shapely.union_all(pieces)))


def _smooth_piece(piece: Polygon, cell_m: float) -> BaseGeometry:
    drawn: BaseGeometry = Polygon(
        _rounded(piece.exterior.coords, cell_m),
        [_rounded(ring.coords, cell_m) for ring in piece.interiors],
    )
    drawn = _sound(drawn).simplify(_SIMPLER_CELLS * cell_m)
    for _ in range(_CORRECTIONS):
        edge = drawn.length
        lacking = piece.area - drawn.area
        if edge == 0 or abs(lacking) < 1e-4 * piece.area:
            break
        drawn = drawn.buffer(lacking / edge, quad_segs=2)
    kept = drawn.area > 0 and abs(drawn.area - piece.area) <= MOST_CHANGE_FRAC * piece.area
    return drawn if kept else piece


def _rounded(coordinates: Iterator[tuple[float, ...]], cell_m: float) -> np.ndarray:
    ring = shapely.segmentize(shapely.LinearRing(coordinates), cell_m / 2)
    points: np.ndarray = np.asarray(ring.coords)[:-1, :2]
    for turn in range(2 * _ROUNDS):
        # There and back, so that the ring does not wander along itself.
        points = (points + np.roll(points, 1 if turn % 2 else -1, axis=0)) / 2
    return points


def _sound(shape: BaseGeometry) -> BaseGeometry:
    return shape if shape.is_valid else shapely.make_valid(shape, method="structure")
