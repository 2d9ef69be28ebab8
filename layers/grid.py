"""A plain grid of numbers on the ground, and what it comes to within shapes."""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import geopandas as gpd
import numpy as np
import pandas as pd
import pyproj
import shapely
from exactextract import exact_extract
from exactextract.feature import JSONFeature, JSONFeatureSource
from exactextract.raster import NumPyRasterSource
from numpy.typing import NDArray

Transform = tuple[float, float, float, float, float, float]
Bounds = tuple[float, float, float, float]


@dataclass(frozen=True)
class Grid:
    """Numbers on a north-up lattice.

    ``values`` is float32, shape (n_rows, n_cols), north first, NaN where nothing is known.
    ``transform`` is (cell width, 0, left, 0, -cell height, top) in the units of ``crs``: the x of a
    column's left edge is ``left + column * width``.
    """

    values: NDArray[np.float32]
    transform: Transform
    crs: pyproj.CRS

    @property
    def cell(self) -> float:
        """Side of a square as large as a cell, in the units of the CRS."""
        return math.sqrt(self.transform[0] * -self.transform[4])

    @property
    def bounds(self) -> Bounds:
        """Left, bottom, right, top, in the units of the CRS."""
        rows, columns = self.values.shape
        width, _, left, _, minus_height, top = self.transform
        return left, top + rows * minus_height, left + columns * width, top


class _Shape(JSONFeature):  # type: ignore[misc]
    """A feature whose geometry is WKB: as text its every vertex would be written and read."""

    def geometry(self) -> bytes:
        wkb: bytes = self.feature["geometry"]
        return wkb


class _Shapes(JSONFeatureSource):  # type: ignore[misc]
    def __iter__(self) -> Iterator[_Shape]:
        return map(_Shape, self.src)


def zonal(
    grid: Grid, shapes: gpd.GeoDataFrame, operations: Sequence[str], key: str = "field_id"
) -> pd.DataFrame:
    """Statistics of a grid within shapes, each cell weighted by its share inside the shape.

    Parameters
    ----------
    shapes : polygons with a column ``key``, in any CRS; they go to the grid's CRS.
    operations : names as exactextract has them, such as mean, min, ``quantile(q=0.9)``.

    Returns
    -------
    DataFrame indexed by ``key`` in the order of ``shapes``, one column an operation as exactextract
    names it, and ``cover_pct`` [pct of the shape on cells with a value]. A shape beside the grid
    has NaN and a cover of 0.
    """
    here = shapes[[key, "geometry"]].to_crs(grid.crs)
    left, bottom, right, top = grid.bounds
    wkt = here.crs.to_wkt()
    source = NumPyRasterSource(grid.values, left, bottom, right, top, nodata=np.nan, srs_wkt=wkt)
    outlines = zip(here[key], shapely.to_wkb(here.geometry.to_numpy()), strict=True)
    features = [{"properties": {key: name}, "geometry": wkb} for name, wkb in outlines]
    table = exact_extract(
        source,
        _Shapes(features, srs_wkt=wkt),
        ["count", *(name for name in operations if name != "count")],
        include_cols=[key],
        output="pandas",
        strategy="raster-sequential",
    ).set_index(key)
    # Planar also in degrees: only the share of it on known cells counts.
    area = pd.Series(shapely.area(here.geometry.to_numpy()), index=here[key])
    table = table.reindex(area.index)
    cells = table["count"].astype(float).fillna(0.0)
    cover = 100 * cells * grid.cell**2 / area
    # Rounding of the shares must not make a whole field look a little less or more than whole.
    table["cover_pct"] = cover.clip(0, 100).where((cover - 100).abs() > 1e-6, 100.0)
    return table if "count" in operations else table.drop(columns="count")
