"""Hand-made ground of 3 m cells for tests of wet ground: one soil map, hollows where asked."""

import geopandas as gpd
import numpy as np
import pandas as pd
import pyproj
import shapely

from layers.elevation import ElevationRead, GroundGroup
from layers.grid import Grid
from layers.ground import GroundRead, ground_of
from layers.overlay import overlay
from layers.shaped_ground import shaped_ground
from suitability.columns import COMPONENTS
from suitability.contract import names

CRS = pyproj.CRS.from_epsg(32617)
CELL = 3.0
ALL = (0, 0, 600, 600)
FIELD = (30, 30, 570, 570)


def soil(cokey, share, mukey="flat", **more):
    """One row of COMPONENTS; well drained unless said otherwise."""
    row = {"cokey": cokey, "mukey": mukey, "compname": cokey.title(), "comppct_pct": share}
    return {**row, "kind": "soil", "drainage_class": "well", "hydric": False, **more}


def pocket(share, cokey="pocket", mukey="flat"):
    """A depressional wet soil."""
    wet = {"drainage_class": "poorly", "hydric": True, "phase": "depressional"}
    return soil(cokey, share, mukey, **wet)


def sloping(per_cell=0.03):
    """Ground that falls evenly to the west."""
    return 100 + per_cell * np.mgrid[:200, :200][1]


def with_hollow(depth_m=1.0, rows=slice(90, 110), columns=slice(90, 110), ground=None):
    """A box let into sloping ground, that deep under its brim.

    Its floor rises by 4 mm a cell to the east: level to the millimetre it would be open water.
    """
    z = sloping() if ground is None else ground.copy()
    brim = z[rows, columns.start - 1].min()
    z[rows, columns] = brim - depth_m + 0.004 * np.arange(columns.stop - columns.start)
    return z


def fields(**boxes):
    """FIELDS with what the layers read of it."""
    shapes = [shapely.box(*box) for box in (boxes or {"A": FIELD}).values()]
    return gpd.GeoDataFrame(
        {
            "field_id": list(boxes or {"A": FIELD}),
            "drained": False,
            "area_ha": shapely.area(shapes) / 10_000,
        },
        geometry=shapes,
        crs=CRS,
    )


def units(**boxes):
    """A soil map of boxes by mukey, each cut out of those before; one unit by default."""
    table = {name: shapely.box(*box) for name, box in (boxes or {"flat": ALL}).items()}
    rows = {"mukey": list(table), "musym": list(table), "muname": list(table)}
    shapes = list(table.values())
    cut = [
        shapely.difference(shape, shapely.union_all(shapes[i + 1 :]))
        for i, shape in enumerate(shapes)
    ]
    return gpd.GeoDataFrame(rows, geometry=cut, crs=CRS)


def land(z, components, farm=None, soil_map=None) -> GroundRead:
    """Ground read from heights whose lower left corner is at 0, 0; ``z`` None for no heights."""
    farm = fields() if farm is None else farm
    soil_map = units() if soil_map is None else soil_map
    table = pd.DataFrame(components).reindex(columns=names(COMPONENTS))
    weather_id = pd.Series("w", index=farm["field_id"])
    cut = overlay(farm, soil_map)
    if z is None:
        return ground_of(
            farm, cut, soil_map, table, shaped_ground(None, farm), weather_id=weather_id
        )
    top = z.shape[0] * CELL
    grid = Grid(z.astype(np.float32), (CELL, 0.0, 0.0, 0.0, -CELL, top), CRS)
    group = GroundGroup(grid, tuple(farm["field_id"]))
    read = ElevationRead((group,), CELL, None, False, pd.Series(dtype=float), (), ())
    return ground_of(farm, cut, soil_map, table, shaped_ground(read, farm), weather_id=weather_id)
