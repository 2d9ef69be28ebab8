"""Ground as the page's script reads it: longitude and latitude as small whole numbers."""

from collections.abc import Iterable

import geopandas as gpd
import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from maps.number_places import widest_place

STEPS_PER_DEG = 1_000_000  # a millionth of a degree: 0.1 m
_FINEST_M, _COARSEST_M = 0.3, 3.0

Ring = list[int]
Shape = list[list[Ring]]


def tolerance_m(frame: gpd.GeoSeries) -> float:
    """How far a drawn border may lie from the true one: not to be seen with the farm in view."""
    left, bottom, right, top = frame.total_bounds
    return float(np.clip(max(right - left, top - bottom) / 3000, _FINEST_M, _COARSEST_M))


def coded_shapes(ground: gpd.GeoSeries, at_most_m: float) -> list[Shape]:
    """Polygons as whole numbers, each point as the step from the one before.

    Parameters
    ----------
    ground : polygons in a metre CRS; missing and empty ones give an empty shape.
    at_most_m : borders are simplified by up to this much, shared borders alike. Areas shown to
        people are never taken from here.

    Returns
    -------
    One shape a row: polygons of rings of ``[lon, lat, step_lon, step_lat, ...]`` in millionths of a
    degree, rings not closed.
    """
    if not len(ground):
        return []
    plain = gpd.GeoSeries(_simplified(ground.to_numpy(), at_most_m), crs=ground.crs)
    return [_shape(geometry) for geometry in plain.to_crs(4326)]


def label_points(
    ground: gpd.GeoSeries, clear_of: dict[str, list[BaseGeometry]] | None = None
) -> list[list[int]]:
    """A place in each shape where a number stands well; in millionths.

    ``clear_of`` : ground by the index of ``ground``, which the number does not cover if it can.
    """
    other = clear_of or {}
    middles = [_middle(geometry, other.get(name, [])) for name, geometry in ground.items()]
    points = gpd.GeoSeries(middles, crs=ground.crs).to_crs(4326)
    return [
        []
        if point is None or point.is_empty
        else _whole(np.array([[point.x, point.y]]))[0].tolist()
        for point in points
    ]


def _simplified(shapes: NDArray[np.object_], at_most_m: float) -> NDArray[np.object_]:
    present = ~(shapely.is_missing(shapes) | shapely.is_empty(shapes))
    result = shapes.copy()
    known = shapes[present]
    if shapely.coverage_is_valid(known):
        plain = shapely.coverage_simplify(known, at_most_m)
    else:
        plain = shapely.simplify(known, at_most_m)
    result[present] = np.where(shapely.is_empty(plain), known, plain)
    return result


def _middle(geometry: BaseGeometry | None, clear_of: list[BaseGeometry]) -> BaseGeometry | None:
    if geometry is None or geometry.is_empty:
        return None
    x, y, _ = widest_place(geometry, clear_of, tolerance=2.0)
    return shapely.Point(x, y)


def _shape(geometry: BaseGeometry | None) -> Shape:
    if geometry is None or geometry.is_empty:
        return []
    return [
        [_ring(ring.coords) for ring in (polygon.exterior, *polygon.interiors)]
        for polygon in shapely.get_parts(geometry)
        if polygon.geom_type == "Polygon"
    ]


def _ring(coords: Iterable[tuple[float, ...]]) -> Ring:
    points = _whole(np.asarray(coords)[:-1, :2])
    steps = np.diff(points, axis=0, prepend=np.zeros((1, 2), dtype=np.int64))
    flat: Ring = steps.ravel().tolist()
    return flat


def _whole(points: NDArray[np.float64]) -> NDArray[np.int64]:
    return np.rint(points * STEPS_PER_DEG).astype(np.int64)
