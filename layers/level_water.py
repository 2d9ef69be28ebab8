"""Where the heights show open water that the soil survey does not map, as outlines to draw."""

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely
from rasterio import features

from layers.ground import GroundRead
from layers.ground_cells import GroundCells
from layers.ground_parts import OPEN_WATER

COLUMNS = ("field_id", "area_ha", "geometry")


def level_water(ground: GroundRead, fields: gpd.GeoDataFrame) -> gpd.GeoDataFrame:
    """Level water of each field outside the survey's own water.

    Parameters
    ----------
    ground : the cells. fields : field_id and geometry in a metre CRS.

    Returns
    -------
    GeoDataFrame of COLUMNS in the CRS of the fields, a row a field that has any; ``area_ha`` is
    that of the field's parts, so that it is the same water which left the sowable ground.
    """
    shapes: dict[str, shapely.Geometry] = {}
    if OPEN_WATER in ground.cokeys:
        code = ground.cokeys.index(OPEN_WATER)
        for cells in ground.cells:
            wet = (cells.component == code) & (cells.field >= 0)
            for row in np.unique(cells.field[wet]):
                own = _outline(cells, wet & (cells.field == row))
                series = gpd.GeoSeries([own], crs=cells.grid.crs).to_crs(fields.crs)
                shapes[ground.field_ids[int(row)]] = series.iloc[0]
    parts = ground.parts[ground.parts["cokey"] == OPEN_WATER]
    area_ha = parts.groupby("field_id")["area_ha"].sum()
    known = [field_id for field_id in shapes if field_id in area_ha.index]
    table = pd.DataFrame({"field_id": known, "area_ha": area_ha.reindex(known).to_numpy()})
    outlines = fields.set_index("field_id").geometry
    drawn = [shapely.intersection(shapes[f], outlines.loc[f]) for f in known]
    return gpd.GeoDataFrame(table, geometry=gpd.GeoSeries(drawn, crs=fields.crs), crs=fields.crs)


def _outline(cells: GroundCells, wet: np.ndarray) -> shapely.Geometry:
    found = features.shapes(
        wet.astype(np.uint8), mask=wet, connectivity=4, transform=cells.grid.transform
    )
    return shapely.union_all([shapely.geometry.shape(shape) for shape, _ in found])
