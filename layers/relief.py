"""How steep and how uneven each field is, from heights of the ground."""

from collections.abc import Sequence
from pathlib import Path

import geopandas as gpd
import numpy as np
import pandas as pd
from numpy.typing import ArrayLike, NDArray

from layers.elevation import ElevationRead, GroundGroup, read_elevation
from layers.grid import Grid, zonal

COLUMNS = ("slope_pct", "slope_p90_pct", "relief_m", "elevation_m", "cover_pct")
_STRIP_ROWS = 32  # few, so that what is worked on stays near the processor
_GRAZED = 0.01  # of a cell; rounding of an outline along cell borders must not reach over them


def slope(heights: Grid) -> Grid:
    """Slope [pct, rise over run] of each cell from its eight neighbours.

    Parameters
    ----------
    heights : in metres, on a metre CRS. A cell beside a hole or the edge has no slope (NaN).

    References
    ----------
    Horn, B. K. P. (1981), Hill shading and the reflectance map, Proc. IEEE 69(1), 14-47: weights
    1, 2, 1 across three rows and three columns.
    """
    z = heights.values
    width, height = heights.transform[0], -heights.transform[4]
    result = np.full(z.shape, np.nan, np.float32)
    for first in range(1, z.shape[0] - 1, _STRIP_ROWS):
        last = min(first + _STRIP_ROWS, z.shape[0] - 1)
        rows = z[first - 1 : last + 1].astype(np.float64)
        above, here, below = rows[:-2], rows[1:-1], rows[2:]
        down = above + 2 * here + below
        east_rise = (down[:, 2:] - down[:, :-2]) / (8 * width)
        across_above = above[:, :-2] + 2 * above[:, 1:-1] + above[:, 2:]
        across_below = below[:, :-2] + 2 * below[:, 1:-1] + below[:, 2:]
        north_rise = (across_above - across_below) / (8 * height)
        known = np.isfinite(here[:, 1:-1])
        strip = np.where(known, 100 * np.hypot(east_rise, north_rise), np.nan)
        result[first:last, 1:-1] = strip
    return Grid(result, heights.transform, heights.crs)


def field_relief(heights: Grid, fields: gpd.GeoDataFrame) -> pd.DataFrame:
    """Relief of each field, cells weighted by their share inside it.

    Parameters
    ----------
    heights : in metres, on a metre CRS. fields : field_id and geometry, in any CRS.

    Returns
    -------
    DataFrame with field_id, ``slope_pct`` (mean), ``slope_p90_pct`` (a tenth of the field is
    steeper), ``relief_m`` (highest less lowest cell, without those it only grazes),
    ``elevation_m`` (mean), ``cover_pct`` (share of the field with heights); NaN where there are
    none.
    """
    level = zonal(heights, fields, ["mean", "values", "coverage"])
    span = [_span(z, shares) for z, shares in zip(level["values"], level["coverage"], strict=True)]
    steep = zonal(slope(heights), fields, ["mean", "values", "coverage"])
    # exactextract's own quantile joins equal values and reads between them, which is far off where
    # many cells are alike.
    steeper = [
        weighted_quantile(values, shares, 0.9)
        for values, shares in zip(steep["values"], steep["coverage"], strict=True)
    ]
    table = pd.DataFrame(
        {
            "slope_pct": steep["mean"],
            "slope_p90_pct": pd.Series(steeper, index=steep.index),
            "relief_m": pd.Series(span, index=level.index),
            "elevation_m": level["mean"],
            "cover_pct": level["cover_pct"],
        }
    ).astype(float)
    return table.reset_index()


def _span(values: ArrayLike, shares: ArrayLike) -> float:
    """Largest less least of the values that a shape does more than graze."""
    numbers, share = _numbers(values), np.asarray(shares, dtype=float)
    known = np.isfinite(numbers)
    if not known.any():
        return float("nan")
    inside = numbers[known & (share >= _GRAZED * share[known].max())]
    return float(inside.max() - inside.min())


def _numbers(values: ArrayLike) -> NDArray[np.float64]:
    filled: NDArray[np.float64] = np.ma.filled(np.ma.asarray(values, dtype=float), np.nan)
    return filled


def weighted_quantile(values: ArrayLike, weights: ArrayLike, share: float) -> float:
    """Least value that at least ``share`` [frac] of all weight does not exceed; NaN is left out."""
    numbers = _numbers(values)
    weight = np.asarray(weights, dtype=float)
    known = np.isfinite(numbers) & (weight > 0)
    if not known.any():
        return float("nan")
    order = np.argsort(numbers[known], kind="stable")
    summed = np.cumsum(weight[known][order])
    place = np.searchsorted(summed, share * summed[-1] * (1 - 1e-12))
    return float(numbers[known][order][place])


def relief_of_groups(groups: Sequence[GroundGroup], fields: gpd.GeoDataFrame) -> pd.DataFrame:
    """``field_relief`` of a whole farm; fields without heights have NaN and a cover of 0."""
    tables = [
        field_relief(g.grid, fields[fields["field_id"].isin(g.field_ids)]).set_index("field_id")
        for g in groups
    ]
    known = pd.concat(tables) if tables else pd.DataFrame(columns=list(COLUMNS), dtype=float)
    table = known.reindex(pd.Index(fields["field_id"], name="field_id"))
    table["cover_pct"] = table["cover_pct"].fillna(0.0)
    return table.reset_index()


def read_heights(
    paths: Path | str | Sequence[Path | str] | None,
    fields: gpd.GeoDataFrame,
    *,
    vertical_unit: str | None = None,
) -> tuple[ElevationRead | None, pd.DataFrame]:
    """Heights around the fields and the relief of each; arguments as ``read_elevation``.

    None and a table of NaN where there is no raster.
    """
    read = None if paths is None else read_elevation(paths, fields, vertical_unit=vertical_unit)
    return read, relief_of_groups(() if read is None else read.groups, fields)
