"""The hand-built farm on ground with heights, but for one field, and with an aerial image."""

from dataclasses import replace

import numpy as np
import pyproj
from small_farm import small_farm

from layers.aerial_image import AerialImage
from layers.elevation import GroundGroup
from layers.grid import Grid
from layers.ground_picture import picture_of
from maps.assessment import Assessment

WITH_HEIGHTS = ("A/1", "B", "C")  # and not D, the fourth from the west
_CELL_M = 4.0
_LEFT, _TOP = 499700.0, 3500500.0


def heights(roughness_m: float = 0.0) -> GroundGroup:
    """Ground that rises 3 m in 100 m to the north, with a bowl 2 m deep in field B."""
    rows, columns = np.mgrid[0:200, 0:236] + 0.5  # to x = 500644: field D begins at 500660
    x, y = _LEFT + columns * _CELL_M, _TOP - rows * _CELL_M
    bowl = 2 * np.exp(-((x - 500320) ** 2 + (y - 3500100) ** 2) / (2 * 40**2))
    rough = np.random.default_rng(5).normal(0, 1, x.shape) * roughness_m
    values = (100 + 0.03 * (y - 3500000) - bowl + rough).astype(np.float32)
    crs = pyproj.CRS.from_epsg(32616)
    return GroundGroup(Grid(values, (_CELL_M, 0, _LEFT, 0, -_CELL_M, _TOP), crs), WITH_HEIGHTS)


def with_ground(farm: Assessment, roughness_m: float = 0.0) -> Assessment:
    """The same farm with a picture of these heights."""
    metric = farm.farm.units == "metric"
    picture = picture_of([heights(roughness_m)], farm.fields, metric=metric)
    return replace(farm, ground=picture)


def with_photo(farm: Assessment, *, noisy: bool = False) -> Assessment:
    """The same farm with a green picture from the air, west half darker; or one of noise."""
    left, bottom, right, top = farm.fields.geometry.buffer(150).to_crs(3857).total_bounds
    side = 1.0
    shape = (int((top - bottom) / side), int((right - left) / side))
    pixels = np.full((*shape, 3), (90, 140, 60), np.uint8)
    pixels[:, : shape[1] // 2] = (40, 70, 30)
    if noisy:
        pixels = np.random.default_rng(5).integers(0, 256, (*shape, 3)).astype(np.uint8)
    return replace(
        farm,
        aerial=AerialImage(
            pixels,
            np.ones(shape, bool),
            (side, 0.0, float(left), 0.0, -side, float(top)),
            0.85,
            0.85,
            "photo <b>.tif",
            (),
        ),
    )


def farm_with_ground(units: str = "us") -> Assessment:
    """``small_farm`` with heights of three fields and a picture from the air."""
    return with_photo(with_ground(small_farm(units)))
