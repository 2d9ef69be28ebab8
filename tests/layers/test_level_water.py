"""Level water of the heights as outlines: cells that can be counted, clipped to their field."""

from types import SimpleNamespace
from typing import Any

import geopandas as gpd
import numpy as np
import pandas as pd
import pytest
from rasterio import Affine
from shapely.geometry import box

from layers.ground_parts import OPEN_WATER
from layers.level_water import level_water

CRS = "EPSG:32616"
# Two fields of 50 m side by side under a grid of 10 m cells.
FIELDS = gpd.GeoDataFrame(
    {"field_id": ["a", "b"]}, geometry=[box(0, 0, 50, 50), box(50, 0, 100, 50)], crs=CRS
)


def _ground(component: np.ndarray, cokeys: tuple[str, ...], parts: pd.DataFrame) -> Any:
    field = np.repeat([[0] * 5 + [1] * 5], 5, axis=0).astype(np.int32)
    grid = SimpleNamespace(transform=Affine(10, 0, 0, 0, -10, 50), crs=CRS)
    cells = SimpleNamespace(component=component, field=field, grid=grid)
    return SimpleNamespace(cells=(cells,), cokeys=cokeys, field_ids=("a", "b"), parts=parts)


def test_the_pond_lies_where_its_cells_do_and_has_the_area_of_its_parts() -> None:
    component = np.full((5, 10), -1, dtype=np.int32)
    component[0, 3:6] = 1  # three cells of the top row: two in field a, one in b
    parts = pd.DataFrame(
        {
            "field_id": ["a", "a", "b"],
            "cokey": ["soil", OPEN_WATER, OPEN_WATER],
            "area_ha": [0.23, 0.02, 0.01],
        }
    )
    water = level_water(_ground(component, ("soil", OPEN_WATER), parts), FIELDS)
    assert water["field_id"].to_list() == ["a", "b"]
    assert water["area_ha"].to_list() == [0.02, 0.01]
    assert water.geometry.iloc[0].bounds == (30, 40, 50, 50)
    assert water.geometry.area.to_list() == pytest.approx([200, 100])
    assert water.crs == FIELDS.crs


def test_without_level_water_there_is_nothing_to_draw() -> None:
    none = pd.DataFrame({"field_id": ["a"], "cokey": ["soil"], "area_ha": [0.25]})
    water = level_water(_ground(np.zeros((5, 10), np.int32), ("soil",), none), FIELDS)
    assert len(water) == 0 and list(water.columns) == ["field_id", "area_ha", "geometry"]
