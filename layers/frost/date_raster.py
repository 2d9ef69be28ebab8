"""Freeze dates on a grid: the date in the middle of each field's ground, cells by cover."""

import warnings
from pathlib import Path
from typing import Any

import geopandas as gpd
import numpy as np
import pandas as pd
import pyproj
import shapely
from exactextract import exact_extract
from exactextract.raster import NumPyRasterSource
from numpy.typing import NDArray
from rasterio import DatasetReader
from rasterio.windows import Window

from layers.files import open_raster
from layers.frost.date_polygons import LEAST_COVER_PCT
from layers.frost.middle import middle_value
from layers.frost.stated import LAYER, Stated, what_it_is
from layers.frost.station_rows import VALUES
from suitability.columns import FROST
from suitability.errors import CrsError, InputError
from suitability.july_days import july_day, mmdd_of
from suitability.notes import Note

_DECIDING_CELLS = 1_000_000
_MOST_CELLS = 20_000_000
_MONTH_DAYS = np.array([0, 31, 29, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31])
# Days since 1 July by day of a year without a leap day, and by month and day as MMDD.
_BY_DOY = np.array([np.nan, *((np.arange(1, 366) - 182) % 365), 183.0])
_BY_MMDD = np.full(1300, np.nan)
for _month in range(1, 13):
    for _day in range(1, _MONTH_DAYS[_month] + 1):
        _BY_MMDD[100 * _month + _day] = july_day(f"{_month:02d}-{_day:02d}")

Cells = NDArray[np.float64]


def read_raster(
    path: Path, fields: gpd.GeoDataFrame, stated: Stated
) -> tuple[pd.DataFrame, list[Note]]:
    """FROST rows of each field for the one date that the raster is of.

    Cells are days of the year (1-366), month and day as MMDD, or days of a season; which of the
    first two is told from the values and, where these allow both, by ``dates_as``. A field takes
    the value in the middle of its ground, each cell by how much of it lies in the field.

    Raises
    ------
    InputError : event, threshold or odds not stated; cells that are no dates; a turned grid.
    CrsError : the raster does not say where it lies.
    """
    what = what_it_is(path, stated, needed=("event", "threshold_c", "prob_pct"))
    with open_raster(path) as raster:
        _check_grid(raster, path)
        form = _form(raster, path, what["event"], stated)
        outlines = fields[["field_id", "geometry"]].to_crs(pyproj.CRS.from_user_input(raster.crs))
        window = _window(raster, outlines, path)
        if window is None:
            cells, bounds = np.full((1, 1), np.nan), tuple(outlines.total_bounds)
        else:
            cells = _as_days(_read(raster, window), form)
            bounds = _bounds(raster, window)
        wkt = raster.crs.to_wkt()
    values, cover_pct = _by_field(cells, bounds, wkt, outlines, what["event"])
    known = cover_pct >= LEAST_COVER_PCT
    rows = [
        {"field_id": field_id, **what, "source": path.name, **_value(value, what["event"])}
        for field_id, value in zip(fields["field_id"][known], values[known], strict=True)
    ]
    table = pd.DataFrame(rows, columns=["field_id", *VALUES])
    numbers = [c.name for c in FROST if c.kind == "number"]
    table[numbers] = table[numbers].astype(float)
    if known.all():
        return table, []
    text = f"{path.name} covers less than half of {int((~known).sum())} fields: no date there."
    return table, [Note(LAYER, "caution", text, tuple(fields["field_id"][~known]))]


def _check_grid(raster: DatasetReader, path: Path) -> None:
    if raster.crs is None:
        raise CrsError(
            f"{path} does not say in which CRS (coordinate reference system) it is. Expected a "
            "stated one; it is not guessed. Export it again with its CRS."
        )
    if raster.count != 1:
        raise InputError(
            f"{path} has {raster.count} bands; expected one, of dates. Export that band alone."
        )
    turn = raster.transform
    if turn.b or turn.d or turn.a <= 0 or turn.e >= 0:
        raise InputError(
            f"{path} is turned or upside down; expected north up. Export it again north up."
        )


def _read(raster: DatasetReader, window: Window | None = None, **shape: Any) -> Cells:
    """Cells as numbers, NaN where there is no data."""
    cells = raster.read(1, window=window, masked=True, **shape)
    return np.where(np.ma.getmaskarray(cells), np.nan, cells.data.astype(float))


def _form(raster: DatasetReader, path: Path, event: str, stated: Stated) -> str:
    """What the cells are: ``doy``, ``mmdd`` or ``days`` of a season."""
    step = max(1, int(np.ceil(np.sqrt(raster.width * raster.height / _DECIDING_CELLS))))
    shape = (max(1, raster.height // step), max(1, raster.width // step))
    seen = _read(raster, out_shape=shape)
    seen = np.unique(seen[~np.isnan(seen)])
    if not len(seen):
        raise InputError(f"{path} has no cell with a value. Expected dates. Export it again.")
    if event == "season":
        forms = ["days"] if seen[0] >= 0 and seen[-1] <= 366 else []
    else:
        doy = seen[0] >= 1 and seen[-1] < 367
        whole = bool((seen == np.floor(seen)).all()) and seen[0] >= 101 and seen[-1] <= 1231
        mmdd = whole and not np.isnan(_BY_MMDD[seen.astype(int)]).any()
        forms = [name for name, fits in (("doy", doy), ("mmdd", mmdd)) if fits]
        if stated.dates_as is not None:
            forms = [stated.dates_as] if stated.dates_as in forms else []
    if len(forms) == 1:
        return forms[0]
    span = f"{path} holds values from {seen[0]:g} to {seen[-1]:g}"
    if forms:
        raise InputError(
            f"{span}, which can be days of the year (1 to 366) or month and day (1113 for 13 "
            'November). State which under [frost] in farm.toml: dates_as = "doy" or "mmdd".'
        )
    wanted = (
        "days of a season (0 to 366)"
        if event == "season"
        else ("days of the year (1 to 366) or month and day (101 to 1231)")
    )
    raise InputError(f"{span}; expected {wanted}. Mark cells without a date as no data.")


def _as_days(cells: Cells, form: str) -> Cells:
    """Days since 1 July, or lengths as they are."""
    if form == "days":
        return np.where((cells >= 0) & (cells <= 366), cells, np.nan)
    by = _BY_DOY if form == "doy" else _BY_MMDD
    sound = ~np.isnan(cells) & (cells >= 1) & (cells < len(by))
    return np.where(sound, by[np.where(sound, cells, 1).astype(int)], np.nan)


def _window(raster: DatasetReader, outlines: gpd.GeoDataFrame, path: Path) -> Window | None:
    """The cells around the fields, a cell wider on each side; None where they do not meet."""
    west, south, east, north = outlines.total_bounds
    left, bottom, right, top = raster.bounds
    if not np.isfinite([west, south, east, north]).all():
        raise CrsError(f"{path}: the fields cannot be laid on its CRS. Export it as EPSG:4326.")
    if west >= right or east <= left or south >= top or north <= bottom:
        return None
    turn = raster.transform
    col = max(0, int((max(west, left) - left) / turn.a) - 1)
    row = max(0, int((min(north, top) - top) / turn.e) - 1)
    end_col = min(raster.width, int(np.ceil((min(east, right) - left) / turn.a)) + 1)
    end_row = min(raster.height, int(np.ceil((max(south, bottom) - top) / turn.e)) + 1)
    if (end_col - col) * (end_row - row) > _MOST_CELLS:
        raise InputError(
            f"{path} has more than {_MOST_CELLS:,} cells over the fields. Dates change over miles; "
            "export it with larger cells."
        )
    return Window(col, row, end_col - col, end_row - row)


def _bounds(raster: DatasetReader, window: Window) -> tuple[float, float, float, float]:
    turn = raster.transform
    west, north = turn.c + window.col_off * turn.a, turn.f + window.row_off * turn.e
    return west, north + window.height * turn.e, west + window.width * turn.a, north


def _by_field(
    cells: Cells, bounds: tuple[float, ...], wkt: str, outlines: gpd.GeoDataFrame, event: str
) -> tuple[Cells, Cells]:
    """Middle value of the cells of each field, and how much of the field has a value [pct]."""
    place = dict(zip(("xmin", "ymin", "xmax", "ymax"), bounds, strict=True))
    source = NumPyRasterSource(cells, **place, nodata=np.nan, name="day", srs_wkt=wkt)
    with warnings.catch_warnings():
        # Both sides were brought to one CRS above; the texts of it may differ in wording.
        warnings.filterwarnings("ignore", "Spatial reference system")
        table = exact_extract(source, outlines, ["values", "coverage"], output="pandas")
    height, width = cells.shape
    cell_area = (place["xmax"] - place["xmin"]) / width * (place["ymax"] - place["ymin"]) / height
    # In the unit of the grid, degrees too: cover is a share, so the plane will do.
    area = shapely.area(outlines.geometry.to_numpy())
    middle, cover_pct = np.full(len(table), np.nan), np.zeros(len(table))
    for at, (values, coverage) in enumerate(zip(table["values"], table["coverage"], strict=True)):
        days: Cells = np.ma.filled(np.ma.asarray(values, dtype=float), np.nan)
        known = ~np.isnan(days)
        if known.any():
            middle[at] = middle_value(days[known], coverage[known], event)
            cover_pct[at] = 100 * coverage[known].sum() * cell_area / area[at]
    return middle, cover_pct


def _value(value: float, event: str) -> dict[str, Any]:
    if event == "season":
        return {"season_d": float(np.floor(value)), "date_mmdd": None}
    day = np.ceil(value) if event == "last_spring" else np.floor(value)
    return {"date_mmdd": mmdd_of(int(day)), "season_d": float("nan")}
