"""Sound polygons out of whatever a file holds: rings, walked tracks, crossed and mixed shapes."""

from dataclasses import dataclass

import geopandas as gpd
import numpy as np
import pyproj
import shapely
from shapely.geometry import MultiPolygon, Polygon
from shapely.geometry.base import BaseGeometry

# A phone's position is good to some metres; a track walked round a field ends this near its start.
CLOSED_WITHIN_M = 20.0
# What is narrower or smaller than this is no field but the gap or lap between two drawn outlines.
SLIVER_WIDTH_M = 2.0
SLIVER_HA = 0.01
# Neighbours drawn by hand lap over by a little; less than both is not worth a word.
OVERLAP_HA = 0.01
OVERLAP_FRAC = 0.01

_GEOD = pyproj.Geod(ellps="WGS84")
_FEWEST_POINTS = 3


@dataclass(frozen=True)
class Outline:
    """What one row's shape became, in longitude and latitude; ``shape`` is None where no field.

    ``trouble`` is one of: empty, not an area, open line, and empty text where there is none.
    ``gap_m`` is how far a walked line's ends lay apart; ``dropped`` names shapes left aside;
    ``area_before_ha`` is the area as drawn where the outline had to be repaired, else None.
    """

    shape: MultiPolygon | Polygon | None
    trouble: str = ""
    gap_m: float = 0.0
    was_line: bool = False
    dropped: str = ""
    area_before_ha: float | None = None


def outline(shape: BaseGeometry | None) -> Outline:
    """Polygon or multipolygon out of one shape in longitude and latitude [deg].

    Heights and measures are dropped. Closed lines become polygons. Rings that cross themselves
    are repaired, keeping all ground that any ring encloses.
    """
    if shape is None or shape.is_empty:
        return Outline(None, "empty")
    flat = shapely.force_2d(shape)
    polygons = [p for p in _atoms(flat) if isinstance(p, Polygon) and not p.is_empty]
    lines = [line for line in _atoms(flat) if line.geom_type in ("LineString", "LinearRing")]
    points = [point for point in _atoms(flat) if point.geom_type == "Point"]
    if not polygons and not lines:
        return Outline(None, "not an area", dropped="point")
    if polygons:
        dropped = " and ".join(name for name, some in (("line", lines), ("point", points)) if some)
        return _repaired(polygons, dropped=dropped)
    rings, gap_m = _closed([np.asarray(line.coords)[:, :2] for line in lines])
    if rings is None:
        return Outline(None, "open line", gap_m=gap_m, was_line=True)
    return _repaired(
        [Polygon(ring) for ring in rings],
        gap_m=gap_m,
        was_line=True,
        dropped="point" if points else "",
    )


def area_ha(shape: BaseGeometry) -> float:
    """Geodesic area on the WGS 84 ellipsoid [ha] of polygons in longitude and latitude [deg].

    Holes are subtracted, whichever way their rings run.

    References
    ----------
    Karney, C. F. F. (2013), Algorithms for geodesics, J. Geodesy 87, 43-55, section 6.
    """
    total_m2 = 0.0
    for polygon in _atoms(shape):
        if isinstance(polygon, Polygon) and not polygon.is_empty:
            total_m2 += _ring_m2(polygon.exterior)
            total_m2 -= sum(_ring_m2(ring) for ring in polygon.interiors)
    return total_m2 / 10_000


def is_sliver(shape: BaseGeometry) -> bool:
    """Whether polygons in longitude and latitude are too small or too narrow to be a field."""
    perimeter_m = abs(_GEOD.geometry_area_perimeter(shape)[1])
    size_ha = area_ha(shape)
    width_m = 2 * size_ha * 10_000 / perimeter_m if perimeter_m else 0.0
    return size_ha < SLIVER_HA or width_m < SLIVER_WIDTH_M


def duplicates(frame: gpd.GeoDataFrame) -> dict[int, int]:
    """Positions of rows whose shape stands earlier in the frame, and the position of that one."""
    first: dict[bytes, int] = {}
    again: dict[int, int] = {}
    for position, shape in enumerate(frame.geometry):
        key = shapely.to_wkb(shapely.normalize(shape))
        if key in first:
            again[position] = first[key]
        else:
            first[key] = position
    return again


def overlaps(working: gpd.GeoDataFrame) -> list[tuple[int, int, float]]:
    """Pairs of rows (positions, first < second) that share ground, and how much [ha].

    ``working`` is in a metre CRS; laps below ``OVERLAP_HA`` and ``OVERLAP_FRAC`` of the smaller
    field are left out.
    """
    shapes = working.geometry.to_numpy()
    left, right = shapely.STRtree(shapes).query(shapes, predicate="intersects")
    once = left < right
    left, right = left[once], right[once]
    shared_ha = shapely.area(shapely.intersection(shapes[left], shapes[right])) / 10_000
    smaller_ha = np.minimum(shapely.area(shapes[left]), shapely.area(shapes[right])) / 10_000
    worth = (shared_ha >= OVERLAP_HA) | (shared_ha >= OVERLAP_FRAC * smaller_ha)
    worth &= shared_ha > 0
    found = zip(left[worth], right[worth], shared_ha[worth], strict=True)
    return sorted((int(a), int(b), float(ha)) for a, b, ha in found)


def _atoms(shape: BaseGeometry) -> list[BaseGeometry]:
    """Single points, lines and polygons of a shape, however deep it nests."""
    if not hasattr(shape, "geoms"):
        return [shape]
    return [atom for part in shape.geoms for atom in _atoms(part)]


def _ring_m2(ring: BaseGeometry) -> float:
    lon, lat = np.asarray(ring.coords).T[:2]
    return abs(_GEOD.polygon_area_perimeter(lon, lat)[0])


def _repaired(
    polygons: list[Polygon], *, gap_m: float = 0.0, was_line: bool = False, dropped: str = ""
) -> Outline:
    drawn = polygons[0] if len(polygons) == 1 else MultiPolygon(polygons)
    if drawn.is_valid:
        return Outline(drawn, "", gap_m, was_line, dropped)
    mended = shapely.make_valid(drawn, method="structure", keep_collapsed=False)
    kept = [p for p in _atoms(mended) if isinstance(p, Polygon) and not p.is_empty]
    if not kept:
        return Outline(None, "empty", gap_m, was_line, dropped)
    shape = kept[0] if len(kept) == 1 else MultiPolygon(kept)
    return Outline(shape, "", gap_m, was_line, dropped, area_before_ha=area_ha(drawn))


def _closed(lines: list[np.ndarray]) -> tuple[list[np.ndarray] | None, float]:
    """Rings of closed lines, and the widest gap that was bridged [m]; None where one is open.

    Lines that are not closed one by one are strung together in their order, as a walked track
    that was paused.
    """
    gaps_m = [_gap_m(line[-1], line[0]) for line in lines]
    if max(gaps_m) <= CLOSED_WITHIN_M and all(_has_area(line) for line in lines):
        return [_ring(line) for line in lines], max(gaps_m)
    starts = [*lines[1:], lines[0]]
    pauses_m = [_gap_m(line[-1], after[0]) for line, after in zip(lines, starts, strict=True)]
    whole = np.concatenate(lines)
    if max(pauses_m) <= CLOSED_WITHIN_M and _has_area(whole):
        return [_ring(whole)], max(pauses_m)
    return None, max(pauses_m)


def _has_area(line: np.ndarray) -> bool:
    return len(np.unique(line, axis=0)) >= _FEWEST_POINTS


def _ring(line: np.ndarray) -> np.ndarray:
    return line if np.array_equal(line[0], line[-1]) else np.vstack([line, line[:1]])


def _gap_m(one: np.ndarray, other: np.ndarray) -> float:
    return float(_GEOD.inv(one[0], one[1], other[0], other[1])[2])
