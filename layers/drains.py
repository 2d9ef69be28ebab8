"""Pipes and ditches that let water through banks, from a file of the user."""

from pathlib import Path

import geopandas as gpd
import pyproj
import shapely

from layers.crs import to_working
from layers.files import open_vector
from layers.mark_kinds import DRAIN
from suitability.errors import InputError, listed


def read_drains(path: Path | str, working: pyproj.CRS) -> gpd.GeoDataFrame:
    """Lines of culverts, ditches and drains, one row a line, in the farm's metre CRS.

    Raises
    ------
    InputError : a file without lines, or with shapes that are none. CrsError : no CRS.
    """
    frame = open_vector(path)
    faults = []
    for number, shape in enumerate(frame.geometry, start=1):
        if shape is None or shape.is_empty:
            faults.append(f"row {number} has no shape")
        elif shape.geom_type not in ("LineString", "MultiLineString"):
            faults.append(f"row {number} is a {shape.geom_type}")
        elif shape.length == 0:
            faults.append(f"row {number} is a line without length")
    if faults or not len(frame):
        remedy = "Expected lines, each drawn from where water goes in to where it comes out."
        raise InputError(listed(f"{path} cannot be used", faults or ["it is empty"], remedy))
    moved = to_working(frame[["geometry"]], working).explode(ignore_index=True)
    moved["geometry"] = shapely.force_2d(moved.geometry.to_numpy())
    return moved


def drawn_drains(marks: gpd.GeoDataFrame) -> gpd.GeoDataFrame:
    """Drains that the grower drew as lines among the marks, one row a line.

    Parameters
    ----------
    marks : of ``marks.read_marks``. A drain that is but a point says not where its water goes.
    """
    lines = marks[(marks["kind"] == DRAIN) & marks.geom_type.str.endswith("LineString", na=False)]
    lines = lines[lines.length > 0]
    return lines[["geometry"]].explode(ignore_index=True)
