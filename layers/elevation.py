"""Heights of the ground around the fields, from any raster, in metres up and along."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import geopandas as gpd
import numpy as np
import pandas as pd
import pyproj
import shapely
from pyproj.exceptions import ProjError

from layers import elevation_notes as remarks
from layers.crs import check_crs, transformer
from layers.degrees_grid import cell_size_m, to_metres
from layers.files import open_raster
from layers.grid import Bounds, Grid, zonal
from layers.metre_crs import in_metres
from layers.raster_cells import Cells, Part, check_one_size, read_cells, window_around
from layers.raster_files import raster_files
from layers.raster_lattice import Lattice, lattice_of
from layers.vertical_unit import VerticalUnit, vertical_unit
from suitability.errors import InputError
from suitability.notes import Note

NAME = "elevation"
WHAT = "heights"
# Ground whose water may run into a field, and no more than a small farm's laptop holds.
BUFFER_M = 300.0
MOST_CELLS = 4096 * 4096
_MOST_CELLS_IN_ALL = 4 * MOST_CELLS
_ZERO_GAP = 10.0  # metres or feet; zeros this far below all other heights are no ground
_QUANTILES = (0.001, 0.999)  # a spike must not decide on the unit


@dataclass(frozen=True)
class GroundGroup:
    """Heights [m] around fields that lie near each other; the grid is in a metre CRS."""

    grid: Grid
    field_ids: tuple[str, ...]


@dataclass(frozen=True)
class ElevationRead:
    """Heights as read.

    ``groups`` cover the fields and the buffer around them; a field beside all heights is in none.
    ``cell_m`` is the cell of the file [m], ``unit`` None where no field lies on it. ``whole`` is
    True where the file has whole numbers only. ``cover_pct`` is indexed by field_id.
    """

    groups: tuple[GroundGroup, ...]
    cell_m: float
    unit: VerticalUnit | None
    whole: bool
    cover_pct: "pd.Series[float]"
    files: tuple[Path, ...]
    notes: tuple[Note, ...]


def read_elevation(
    paths: Path | str | Sequence[Path | str],
    fields: gpd.GeoDataFrame,
    *,
    vertical_unit: str | None = None,
    buffer_m: float = BUFFER_M,
) -> ElevationRead:
    """Read heights around the fields.

    Parameters
    ----------
    paths : a raster, several, or a folder or zip of tiles.
    fields : FIELDS table with geometry in a metre CRS.
    vertical_unit : "m" or "ft" where stated by the user; it overrides the file.
    buffer_m : how far beyond the fields to read [m].

    Raises
    ------
    InputError : a file that cannot be used, heights whose unit nobody states, tiles that do not
        fit each other. CrsError : no CRS, or one that cannot be.

    Notes
    -----
    Heights on a metre or foot lattice stay on it: nothing is resampled, and the fields go to them.
    Only heights in degrees are brought to the CRS of the fields, once, bilinear, at about their own
    cell size. More than ``MOST_CELLS`` cells around a group of fields are joined to squares.
    """
    with raster_files(paths) as files:
        lattices = []
        for path in files:
            with open_raster(path) as raster:
                lattices.append(_checked(lattice_of(raster, path, WHAT)))
        boxes = _boxes(fields, buffer_m)
        touched = {lattice.path: _touched(boxes, fields.crs, lattice) for lattice in lattices}
        used = [lattice for lattice in lattices if touched[lattice.path].any()]
        if not used:
            return _nothing(lattices, fields, files)
        check_one_size(used)
        on_it = np.logical_or.reduce([touched[lattice.path] for lattice in used])
        groups = _grouped(boxes[on_it], fields["field_id"].to_numpy()[on_it])
        return _read_groups(used, fields, groups, vertical_unit)


def _read_groups(
    used: list[Lattice],
    fields: gpd.GeoDataFrame,
    groups: list[tuple[Bounds, tuple[str, ...]]],
    stated: str | None,
) -> ElevationRead:
    first = used[0]
    most = min(MOST_CELLS, max(_MOST_CELLS_IN_ALL // len(groups), 65_536))
    read: list[tuple[Part, Cells]] = []
    for box, _ in groups:
        bounds = _bounds_in(first.crs, box, fields.crs)
        # Bilinear values and slopes need the next cell.
        margin = 2 * max(first.width, first.height)
        wider = (bounds[0] - margin, bounds[1] - margin, bounds[2] + margin, bounds[3] + margin)
        part = window_around(first, wider, most)
        read.append((part, read_cells(used, part, _ZERO_GAP)))
    lows, highs = zip(*(_range(cells.values) for _, cells in read), strict=True)
    if np.isnan(lows).all():
        return _nothing(used, fields, tuple(lattice.path for lattice in used))
    source = first.path.name
    unit, notes = vertical_unit(
        source, stated, _said(used), float(np.nanmin(lows)), float(np.nanmax(highs))
    )
    notes += remarks.on_cells(source, [cells for _, cells in read], used)
    native_m = _cell_m(first, fields)
    grids = []
    for (part, cells), (box, field_ids) in zip(read, groups, strict=True):
        metres = (cells.values * np.float32(unit.metres)).astype(np.float32)
        metres, n_odd = _possible(metres)
        notes += remarks.on_odd(source, n_odd)
        grid = _placed(metres, part, fields.crs, box, native_m)
        grids.append(GroundGroup(grid, field_ids))
        if part.factor > 1:
            notes.append(remarks.coarser(native_m, native_m * part.factor, field_ids))
    cover = _cover(grids, fields)
    notes += remarks.on_cover(cover, source)
    notes += remarks.on_size(native_m, fields, cover)
    whole = all(cells.whole for _, cells in read)
    if whole:
        notes.append(remarks.whole_numbers(source, unit))
    return ElevationRead(
        tuple(grids), native_m, unit, whole, cover, tuple(t.path for t in used), tuple(notes)
    )


def _checked(lattice: Lattice) -> Lattice:
    if lattice.dtype == "uint8":
        raise InputError(
            f"{lattice.path} holds whole numbers from 0 to 255, as a picture or a hillshade does. "
            "Expected heights. Export the heights themselves; if these are, as 16-bit numbers."
        )
    return lattice


def _boxes(fields: gpd.GeoDataFrame, buffer_m: float) -> np.ndarray:
    boxes: np.ndarray = fields.geometry.bounds.to_numpy(float)
    boxes = boxes + np.array([-buffer_m, -buffer_m, buffer_m, buffer_m])
    return boxes


def _touched(boxes: np.ndarray, crs: pyproj.CRS, lattice: Lattice) -> np.ndarray:
    """Which boxes meet a raster."""
    left, bottom, right, top = lattice.bounds
    step = transformer(crs, lattice.crs)
    result = np.zeros(len(boxes), bool)
    for i, box in enumerate(boxes):
        try:
            there = step.transform_bounds(box[0], box[1], box[2], box[3], 11)
        except ProjError:
            continue
        result[i] = all(map(math.isfinite, there)) and bool(
            there[0] < right and there[2] > left and there[1] < top and there[3] > bottom
        )
    return result


def _bounds_in(there: pyproj.CRS, box: Bounds, crs: pyproj.CRS) -> Bounds:
    step = transformer(crs, there)
    left, bottom, right, top = step.transform_bounds(*box, 21)
    return left, bottom, right, top


def _grouped(boxes: np.ndarray, ids: np.ndarray) -> list[tuple[Bounds, tuple[str, ...]]]:
    """Fields whose boxes meet, directly or over others, with the box around them all."""
    shapes = shapely.box(*boxes.T)
    parent = list(range(len(boxes)))

    def root(i: int) -> int:
        while parent[i] != i:
            parent[i] = parent[parent[i]]
            i = parent[i]
        return i

    for one, other in zip(*shapely.STRtree(shapes).query(shapes, "intersects"), strict=True):
        parent[root(int(one))] = root(int(other))
    members: dict[int, list[int]] = {}
    for i in range(len(boxes)):
        members.setdefault(root(i), []).append(i)
    result = []
    for group in members.values():
        low, high = boxes[group, :2].min(axis=0), boxes[group, 2:].max(axis=0)
        box = (float(low[0]), float(low[1]), float(high[0]), float(high[1]))
        result.append((box, tuple(str(ids[i]) for i in group)))
    return result


def _said(used: Sequence[Lattice]) -> tuple[str, str]:
    said = dict.fromkeys(t.says_unit for t in used if t.says_unit[0])
    if len({word for word, _ in said}) > 1:
        names = ", ".join(f"{t.path.name}: {t.says_unit[0] or 'not said'}" for t in used)
        raise InputError(
            f"The tiles state different units of height ({names}). Expected one unit. Give tiles "
            "of one unit."
        )
    return next(iter(said), ("", ""))


def _range(values: np.ndarray) -> tuple[float, float]:
    known = values[np.isfinite(values)]
    if not known.size:
        return math.nan, math.nan
    low, high = np.quantile(known, _QUANTILES)
    return float(low), float(high)


def _possible(metres: np.ndarray) -> tuple[np.ndarray, int]:
    """Heights without spikes that no ground has."""
    odd = (metres < remarks.LOWEST_M) | (metres > remarks.HIGHEST_M)
    return np.where(odd, np.float32(np.nan), metres), int(odd.sum())


def _cell_m(lattice: Lattice, fields: gpd.GeoDataFrame) -> float:
    if lattice.crs.is_geographic:
        lon, lat = float(fields["lon_deg"].median()), float(fields["lat_deg"].median())
        return cell_size_m(lattice.width, lattice.height, lon, lat)
    return math.sqrt(lattice.width * lattice.height) * in_metres(lattice.crs, lattice.path)[1]


def _placed(
    metres: np.ndarray, part: Part, working: pyproj.CRS, box: Bounds, native_m: float
) -> Grid:
    lattice = part.reference
    if lattice.crs.is_geographic:
        degrees = Grid(metres, part.transform, lattice.crs)
        return to_metres(degrees, working, box, native_m * part.factor)
    crs, unit_m = in_metres(lattice.crs, lattice.path)
    width, _, left, _, height, top = (number * unit_m for number in part.transform)
    return Grid(metres, (width, 0.0, left, 0.0, height, top), crs)


def _cover(groups: Sequence[GroundGroup], fields: gpd.GeoDataFrame) -> "pd.Series[float]":
    cover = pd.Series(0.0, index=pd.Index(fields["field_id"], name="field_id"))
    for group in groups:
        here = fields[fields["field_id"].isin(group.field_ids)]
        cover.update(zonal(group.grid, here, [])["cover_pct"])
    return cover


def _nothing(
    lattices: Sequence[Lattice], fields: gpd.GeoDataFrame, files: tuple[Path, ...]
) -> ElevationRead:
    """No field lies on the raster; a CRS that cannot be is the likelier reason."""
    for lattice in lattices:
        box = gpd.GeoDataFrame(geometry=[shapely.box(*lattice.bounds)], crs=lattice.crs)
        box.attrs["source"] = str(lattice.path)
        check_crs(box)
    cover = pd.Series(0.0, index=pd.Index(fields["field_id"], name="field_id"))
    cell_m = _cell_m(lattices[0], fields)
    notes = remarks.on_cover(cover, lattices[0].path.name)
    return ElevationRead((), cell_m, None, False, cover, files, tuple(notes))
