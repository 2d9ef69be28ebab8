"""Water seen from above on some days, laid beside the wet ground of the answer; it changes none."""

import datetime
import math
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

import geopandas as gpd
import numpy as np
import pandas as pd
import pyproj
import shapely
from numpy.typing import NDArray
from pyproj.exceptions import ProjError

from layers.crs import check_crs
from layers.files import open_raster
from layers.grid import Grid, zonal
from layers.raster_cells import read_cells, window_around
from layers.raster_files import raster_files
from layers.raster_lattice import Lattice, lattice_of
from suitability.errors import InputError, listed
from suitability.notes import Note

NAME = "water seen"
COLUMNS = ("date", "file", "seen_pct", "wet_seen_pct", "seen_wet_pct", "cover_pct")
FIELD_COLUMNS = (
    "field_id",
    "date",
    "wet_seen_pct",
    "dry_seen_pct",
    "agree_pct",
    "kappa",
    "n_cells",
)
_WHAT = "water or wetness"
_MOST_CELLS = 4_000_000
# 2024-06-05, 2024_06_05 or 20240605, not within a longer number.
_DATE = re.compile(r"(?<!\d)((?:19|20)\d\d)[-_]?([01]\d)[-_]?([0-3]\d)(?!\d)")


@dataclass(frozen=True)
class WaterSeen:
    """Agreement between wet ground and what was seen, a row a raster in the order of days.

    ``agreement`` has ``date``; ``file``; ``seen_pct``, share of the fields seen wet;
    ``wet_seen_pct``, share of the mapped wet ground seen wet; ``seen_wet_pct``, share of what was
    seen wet that is mapped as wet ground; ``cover_pct``, share of the fields with a value. All of
    ground in the fields with a value; NaN where there is none to share.

    ``by_field`` has a row a field and raster that covers some of it: ``field_id``, ``date``,
    ``wet_seen_pct``; ``dry_seen_pct``, share of the other ground seen wet; ``agree_pct``, share of
    the ground that is mapped as it was seen; ``kappa``, that agreement beyond what chance gives
    (1 full, 0 as by chance; NaN where all is one kind); ``n_cells``, how many cells of the raster
    that rests on.

    References
    ----------
    Cohen (1960), A coefficient of agreement for nominal scales, Educ. Psychol. Meas. 20:37.
    """

    agreement: pd.DataFrame
    by_field: pd.DataFrame
    notes: tuple[Note, ...]


def read_water_seen(
    paths: Path | str | Sequence[Path | str],
    wet_ground: gpd.GeoDataFrame,
    fields: gpd.GeoDataFrame,
    *,
    wet_from: float | None = None,
    dates: Mapping[str, datetime.date] | None = None,
) -> WaterSeen:
    """Compare rasters of water or wetness with the wet ground of the answer.

    Parameters
    ----------
    paths : rasters, or folders or zips of them, one raster a day.
    wet_ground, fields : field_id (of fields) and geometry, in one metre CRS.
    wet_from : least number of a cell that counts as wet; may be left out where a raster holds
        nothing but 0 and 1.
    dates : day by file name; left out, the day in the name, as 2024-06-05 or 20240605.

    Raises
    ------
    InputError : rasters whose day or whose wet numbers nobody states or whose day is still to
        come, all of them at once. CrsError : no CRS, or one that cannot be.
    """
    rows, by_field, faults = [], [], []
    ground = shapely.union_all(fields.geometry.to_numpy())
    wet = shapely.intersection(shapely.union_all(wet_ground.geometry.to_numpy()), ground)
    shapes = gpd.GeoDataFrame({"what": ["all", "wet"]}, geometry=[ground, wet], crs=fields.crs)
    own = shapely.intersection(fields.geometry.to_numpy(), wet)
    rest = shapely.difference(fields.geometry.to_numpy(), own)
    parts = gpd.GeoDataFrame({"what": range(2 * len(own))}, geometry=[*own, *rest], crs=fields.crs)
    with raster_files(paths) as files:
        for path in files:
            day = (dates or {}).get(path.name) or _day_in(path.name)
            grid = _read(path, fields)
            known = grid.values[np.isfinite(grid.values)]
            if day is None:
                faults.append(f"{path.name}: no day in its name, such as 2024-06-05")
            elif day > datetime.date.today():
                faults.append(f"{path.name}: {day} is still to come")
            if wet_from is None and not np.isin(known, (0, 1)).all():
                low, high = float(known.min()), float(known.max())
                faults.append(f"{path.name}: numbers {low:g} to {high:g}; which of them are wet?")
            if faults:
                continue
            least = 1.0 if wet_from is None else wet_from
            seen = Grid(_seen(grid, least), grid.transform, grid.crs)
            rows.append((day, path.name, *_shares(seen, shapes)))
            ids = fields["field_id"].tolist()
            by_field += [(i, day, *told) for i, told in _of_fields(seen, ids, parts)]
    if faults:
        remedy = "Put the day into the name, and state the least number that counts as wet."
        raise InputError(listed("Rasters of water seen cannot be used", faults, remedy))
    table = pd.DataFrame(rows, columns=list(COLUMNS)).sort_values(["date", "file"])
    table["date"] = pd.to_datetime(table["date"])
    told = pd.DataFrame(by_field, columns=list(FIELD_COLUMNS))
    told["date"] = pd.to_datetime(told["date"])
    told = told.sort_values(["field_id", "date"], ignore_index=True)
    return WaterSeen(table.reset_index(drop=True), told, _notes(table))


def _day_in(name: str) -> datetime.date | None:
    for found in _DATE.finditer(name):
        try:
            return datetime.date(*(int(part) for part in found.groups()))
        except ValueError:
            continue
    return None


def _read(path: Path, fields: gpd.GeoDataFrame) -> Grid:
    """The cells around the fields; none where the raster lies elsewhere."""
    with open_raster(path) as raster:
        lattice = lattice_of(raster, path, _WHAT, coloured=True)
    there = pyproj.Transformer.from_crs(fields.crs, lattice.crs, always_xy=True)
    west, south, east, north = fields.total_bounds.tolist()
    try:
        box = there.transform_bounds(west, south, east, north, 11)
    except ProjError:
        box = (math.nan,) * 4
    left, bottom, right, top = lattice.bounds
    beside = box[0] >= right or box[2] <= left or box[1] >= top or box[3] <= bottom
    if beside or not np.isfinite(box).all():
        # No field lies on it: a CRS that cannot be is the likelier reason.
        place = gpd.GeoDataFrame(geometry=[shapely.box(*lattice.bounds)], crs=lattice.crs)
        place.attrs["source"] = str(path)
        check_crs(place)
        return _no_cells(lattice)
    part = window_around(lattice, (box[0], box[1], box[2], box[3]), _MOST_CELLS)
    if part.factor > 1:
        raise InputError(
            f"{path}: more than {_MOST_CELLS / 1e6:.0f} million cells lie around the fields, and "
            "water cannot be told from cells joined together. Give a coarser raster."
        )
    return Grid(read_cells([lattice], part, None).values, part.transform, lattice.crs)


def _no_cells(lattice: Lattice) -> Grid:
    nothing = np.full((1, 1), np.nan, np.float32)
    transform = (lattice.width, 0.0, lattice.left, 0.0, -lattice.height, lattice.top)
    return Grid(nothing, transform, lattice.crs)


def _seen(grid: Grid, least: float) -> NDArray[np.float32]:
    """1 where a cell was seen wet, 0 where not, NaN where nothing was seen."""
    return np.where(np.isnan(grid.values), np.nan, grid.values >= least).astype(np.float32)


def _shares(seen: Grid, shapes: gpd.GeoDataFrame) -> tuple[float, float, float, float]:
    """Shares [pct]: of all seen wet, of mapped wet seen wet, of seen wet mapped wet, covered."""
    table = _cells(seen, shapes)
    seen_all, seen_wet = table["wet"][["all", "wet"]]
    counts = table["count"]
    return (
        _pct(seen_all, counts["all"]),
        _pct(seen_wet, counts["wet"]),
        _pct(seen_wet, seen_all),
        float(table.loc["all", "cover_pct"]),
    )


def _of_fields(
    seen: Grid, ids: list[str], parts: gpd.GeoDataFrame
) -> list[tuple[str, tuple[float, float, float, float, int]]]:
    """FIELD_COLUMNS without the day; ``parts`` are wet ground of the fields, then the rest."""
    table = _cells(seen, parts)
    counts, wet = (table[name].to_numpy().reshape(2, -1) for name in ("count", "wet"))
    found = []
    for i, field_id in enumerate(ids):
        (n_wet, n_dry), (seen_wet, seen_dry) = counts[:, i], wet[:, i]
        if n_wet + n_dry > 0:
            agree = _pct(seen_wet + n_dry - seen_dry, n_wet + n_dry)
            told = (
                _pct(seen_wet, n_wet),
                _pct(seen_dry, n_dry),
                agree,
                _kappa(n_wet, n_dry, seen_wet, seen_dry),
                round(n_wet + n_dry),
            )
            found.append((field_id, told))
    return found


def _cells(seen: Grid, shapes: gpd.GeoDataFrame) -> pd.DataFrame:
    """Cells with a value in each shape, and how many of them were seen wet."""
    some = shapes[~shapes.geometry.is_empty]
    table = zonal(seen, some, ["mean", "count"], key="what")
    table = table.reindex(shapes["what"])  # no wet ground is mapped: no share of it
    count = table["count"].astype(float).fillna(0.0)
    wet = table["mean"].astype(float).fillna(0.0) * count
    return table[["cover_pct"]].assign(count=count, wet=wet)


def _kappa(n_wet: float, n_dry: float, seen_wet: float, seen_dry: float) -> float:
    """Cohen's kappa of mapped and seen: agreement beyond the one that two blind guesses have."""
    n = n_wet + n_dry
    seen = seen_wet + seen_dry
    agree = (seen_wet + n_dry - seen_dry) / n
    by_chance = (n_wet * seen + n_dry * (n - seen)) / n**2
    return (agree - by_chance) / (1 - by_chance) if by_chance < 1 else float("nan")


def _pct(part: float, whole: float) -> float:
    return 100.0 * part / whole if whole > 0 else float("nan")


def _notes(table: pd.DataFrame) -> tuple[Note, ...]:
    notes = []
    for row in table.itertuples():
        if row.cover_pct <= 0:
            text = f"{row.file} does not cover the fields or has no value there."
            notes.append(Note(NAME, "warning", text))
            continue
        told = [f"{row.date:%Y-%m-%d}: {row.seen_pct:.0f} % of the fields was seen wet"]
        if not np.isnan(row.wet_seen_pct):
            told.append(f"of the ground shown as wet, {row.wet_seen_pct:.0f} %")
        if not np.isnan(row.seen_wet_pct):
            told.append(f"of what was seen wet, {row.seen_wet_pct:.0f} % is shown as wet ground")
        text = "; ".join(told)
        notes.append(Note(NAME, "info", f"{text}. One day tells of that day only."))
    return tuple(notes)
