"""Where on earth a layer lies: one metre CRS for the farm, and doubt about a CRS said aloud."""

import math
import warnings
from collections.abc import Iterable
from functools import lru_cache

import geopandas as gpd
import numpy as np
import pyproj
import shapely
from pyproj.transformer import AreaOfInterest, TransformerGroup

from layers.field_names import some_of
from suitability.errors import CrsError, InputError
from suitability.notes import Note

Bounds = tuple[float, float, float, float]

LONLAT = pyproj.CRS.from_epsg(4326)
# Across a farm, not across a country: beyond this a stray outline is far likelier than a farm.
WIDEST_KM = 1000.0
# No field lies nearer to a pole; a "latitude" beyond it is a longitude of the Americas.
_FARTHEST_LATITUDE_DEG = 72.0
# Neighbouring zones of a national grid are in use near its edge; farther off it is another unit.
_OUTSIDE_USE_DEG = 6.0
# A UTM zone is 6 degrees wide; its scale is still within 0.2 % one degree beyond its edge.
_BEYOND_ZONE_DEG = 1.0
_UTM_LATITUDES_DEG = (-80.0, 84.0)
# Below this an outline drawn from a photograph or walked with a phone is no better.
_WORTH_SAYING_M = 4.0


@lru_cache(maxsize=64)
def transformer(here: pyproj.CRS, there: pyproj.CRS) -> pyproj.Transformer:
    """Takes x and y, or longitude and latitude, from one CRS to another; slow to make anew."""
    return pyproj.Transformer.from_crs(here, there, always_xy=True)


def working_crs(frames: Iterable[gpd.GeoDataFrame]) -> pyproj.CRS:
    """Metre CRS for all work on a farm: UTM by its middle, or an equal-area plane centred on it.

    Raises
    ------
    CrsError : as ``check_crs``.
    InputError : nothing with a shape in any frame, or wider than ``WIDEST_KM``.
    """
    boxes = [check_crs(frame) for frame in frames if _has_shapes(frame)]
    if not boxes:
        raise InputError("No layer has a shape to tell where the farm is. Give outlines of fields.")
    west, south = (min(box[i] for box in boxes) for i in (0, 1))
    east, north = (max(box[i] for box in boxes) for i in (2, 3))
    _check_span(west, south, east, north)
    lon, lat = (west + east) / 2, (south + north) / 2
    zone = min(int((lon + 180) // 6) + 1, 60)
    zone_west, zone_east = zone * 6 - 186, zone * 6 - 180
    in_zone = west >= zone_west - _BEYOND_ZONE_DEG and east <= zone_east + _BEYOND_ZONE_DEG
    if in_zone and _UTM_LATITUDES_DEG[0] <= south and north <= _UTM_LATITUDES_DEG[1]:
        return pyproj.CRS.from_epsg((32600 if lat >= 0 else 32700) + zone)
    return pyproj.CRS.from_proj4(
        f"+proj=laea +lat_0={lat:.4f} +lon_0={lon:.4f} +datum=WGS84 +units=m +type=crs"
    )


def to_working(frame: gpd.GeoDataFrame, working: pyproj.CRS) -> gpd.GeoDataFrame:
    """Copy of ``frame`` in the working CRS; else CrsError, as ``check_crs``."""
    if _has_shapes(frame):
        check_crs(frame)
    elif frame.crs is None:
        raise CrsError(_no_crs(frame))
    return frame.to_crs(working)


def to_lonlat(frame: gpd.GeoDataFrame) -> gpd.GeoDataFrame:
    """Copy of ``frame`` in longitude and latitude (WGS 84), in that order."""
    return to_working(frame, LONLAT)


def check_crs(frame: gpd.GeoDataFrame) -> Bounds:
    """Longitude and latitude that a layer spans (west, south, east, north) [deg].

    Parameters
    ----------
    frame : with at least one shape; ``attrs["source"]`` names it in messages.

    Raises
    ------
    CrsError : no CRS, one that is not tied to the earth, or coordinates that cannot be in it:
        degrees labelled as metres or the other way round, axes swapped, outside its area.
    """
    if frame.crs is None:
        raise CrsError(_no_crs(frame))
    crs = pyproj.CRS.from_user_input(frame.crs)
    bounds = _bounds(frame)
    broken = _broken_rows(frame)
    if broken:
        rows = some_of([f"row {row}" for row in broken])
        raise CrsError(
            f"{_what(frame)} holds coordinates that are no numbers: {rows}. Export it again."
        )
    if crs.is_geographic:
        _check_degrees(frame, crs, bounds)
    elif crs.is_projected:
        _check_plane(frame, crs, bounds)
    else:
        raise CrsError(
            f"{_what(frame)}: its CRS {crs.name!r} is not tied to a place on the earth. Expected "
            "longitude and latitude or a map projection. Export it again as EPSG:4326."
        )
    return _lonlat_bounds(frame, crs, bounds)


def shift_note(frame: gpd.GeoDataFrame, layer: str) -> list[Note]:
    """Note where the step from the layer's datum to WGS 84 is known only coarsely."""
    crs = pyproj.CRS.from_user_input(frame.crs)
    west, south, east, north = check_crs(frame)
    with warnings.catch_warnings():
        # It warns of grids that are not installed; the Note says so in plain words.
        warnings.simplefilter("ignore", UserWarning)
        group = TransformerGroup(
            crs, LONLAT, always_xy=True, area_of_interest=AreaOfInterest(west, south, east, north)
        )
    if group.best_available or not group.transformers:
        return []
    first = group.transformers[0]
    if "Ballpark" not in first.description and 0 <= first.accuracy <= _WORTH_SAYING_M:
        return []
    size = f"up to about {first.accuracy:.0f} m" if first.accuracy > 0 else "by tens of metres"
    said = f"{_what(frame)}: its datum ({crs.name}) can be shifted to today's only coarsely here"
    return [
        Note(layer, "caution", f"{said}; the outlines may lie off {size}. Export as EPSG:4326.")
    ]


def _has_shapes(frame: gpd.GeoDataFrame) -> bool:
    return bool((~(frame.geometry.isna() | frame.geometry.is_empty)).any())


def _broken_rows(frame: gpd.GeoDataFrame) -> list[int]:
    """Rows, counted from 1, of shapes with a corner that is no number."""
    corners, row = shapely.get_coordinates(frame.geometry.to_numpy(), return_index=True)
    bad: list[int] = np.unique(row[~np.isfinite(corners).all(axis=1)] + 1).tolist()
    return bad


def _bounds(frame: gpd.GeoDataFrame) -> Bounds:
    west, south, east, north = (float(value) for value in frame.total_bounds)
    return west, south, east, north


def _what(frame: gpd.GeoDataFrame) -> str:
    return str(frame.attrs.get("source", "A layer"))


def _span(bounds: Bounds) -> str:
    west, south, east, north = bounds
    return f"x {west:.6g} to {east:.6g}, y {south:.6g} to {north:.6g}"


def _no_crs(frame: gpd.GeoDataFrame) -> str:
    words = f"{_what(frame)} does not say in which CRS (coordinate reference system) it is. "
    if _has_shapes(frame):
        bounds = _bounds(frame)
        words += f"Its coordinates span {_span(bounds)}"
        degrees = max(abs(bounds[0]), abs(bounds[2])) <= 180 and max(map(abs, bounds[1::2])) <= 90
        words += (
            ", which may be longitude and latitude. " if degrees else ", which are no degrees. "
        )
    return (
        f"{words}Expected a stated CRS; it is not guessed. Export it again with its CRS (EPSG:4326 "
        "is longitude and latitude); a shapefile needs its .prj file beside it."
    )


def _check_degrees(frame: gpd.GeoDataFrame, crs: pyproj.CRS, bounds: Bounds) -> None:
    west, south, east, north = bounds
    lon, lat = max(abs(west), abs(east)), max(abs(south), abs(north))
    labelled = f"{_what(frame)} is labelled {crs.name!r} (degrees), but spans {_span(bounds)}"
    if lon > 360 or lat > 360:
        raise CrsError(
            f"{labelled}. Expected -180 to 180 and -90 to 90 degrees; these look like metres or "
            "feet under a wrong label. Set the CRS the data were drawn in, or export as EPSG:4326."
        )
    if lat > _FARTHEST_LATITUDE_DEG and lon <= _FARTHEST_LATITUDE_DEG:
        raise CrsError(
            f"{labelled}. Expected longitude as x and latitude as y; the two look swapped. Swap "
            "them and export again."
        )
    if lat > 90 or lon > 180:
        raise CrsError(
            f"{labelled}. Expected longitude -180 to 180 and latitude -90 to 90 degrees. Mend the "
            "coordinates or the CRS and export again."
        )


def _check_plane(frame: gpd.GeoDataFrame, crs: pyproj.CRS, bounds: Bounds) -> None:
    west, south, east, north = bounds
    sizes = frame.geometry.bounds
    largest = float(np.nanmax([sizes.maxx - sizes.minx, sizes.maxy - sizes.miny]))
    like_degrees = max(abs(west), abs(east)) <= 180 and max(abs(south), abs(north)) <= 90
    if like_degrees and largest < 1:
        raise CrsError(
            f"{_what(frame)} is labelled {crs.name!r} (a map projection), but spans "
            f"{_span(bounds)}. These look like degrees under a wrong label. Set its CRS to "
            "EPSG:4326 if they are longitude and latitude, and export again."
        )


def _lonlat_bounds(frame: gpd.GeoDataFrame, crs: pyproj.CRS, bounds: Bounds) -> Bounds:
    there = pyproj.Transformer.from_crs(crs, LONLAT, always_xy=True)
    west, south, east, north = there.transform_bounds(*bounds, 5)
    back = there.transform([bounds[0], bounds[2]], [bounds[1], bounds[3]])
    again = there.transform(*back, direction="INVERSE")
    off = np.abs(np.array(again) - np.array([[bounds[0], bounds[2]], [bounds[1], bounds[3]]]))
    sound = all(math.isfinite(v) for v in (west, south, east, north)) and bool((off < 1).all())
    use = crs.area_of_use
    lon, lat = (west + east) / 2, (south + north) / 2
    if sound and use is not None and use.west < use.east:
        margin = _OUTSIDE_USE_DEG
        sound = (
            use.west - margin <= lon <= use.east + margin
            and use.south - margin <= lat <= use.north + margin
        )
    if not sound:
        where = ""
        if use is not None:
            where = (
                f" (longitude {use.west:g} to {use.east:g}, latitude {use.south:g} to "
                f"{use.north:g} degrees)"
            )
        raise CrsError(
            f"{_what(frame)} is labelled {crs.name!r}, but spans {_span(bounds)}, outside the "
            f"area that this CRS is for{where}. Axes may be swapped, feet taken for metres, or the "
            "label wrong. Set the CRS the data were drawn in, or export as EPSG:4326."
        )
    return west, south, east, north


def _check_span(west: float, south: float, east: float, north: float) -> None:
    geod = pyproj.Geod(ellps="WGS84")
    middle = (south + north) / 2
    wide = geod.line_length([west, (west + east) / 2, east], [middle] * 3) / 1000
    high = geod.inv(west, south, west, north)[2] / 1000
    if max(wide, high) > WIDEST_KM:
        raise InputError(
            f"The fields lie {wide:.0f} km apart from west to east and {high:.0f} km from south to "
            f"north (longitude {west:.3f} to {east:.3f}, latitude {south:.3f} to {north:.3f}). "
            f"Expected one farm, at most {WIDEST_KM:.0f} km across. An outline far off, at 0, 0 "
            "for example, is a common slip: remove it, or give far-off farms one by one."
        )
