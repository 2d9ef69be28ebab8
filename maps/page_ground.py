"""What the page can show the ground as: hillshade and contours of heights, or the user's image."""

import math
from typing import Any

import geopandas as gpd
import numpy as np
import pyproj
import shapely
from affine import Affine
from rasterio.features import rasterize

from layers.aerial_image import PAGE_CRS, AerialImage
from layers.contours import MAIN_EVERY
from layers.grid import Grid
from layers.ground_picture import REACH_M, GroundPicture, shaded
from maps.assessment import Assessment
from maps.embedded import data_uri, encoded, joined_pixels
from maps.legend import Legend
from maps.page_shapes import STEPS_PER_DEG
from maps.shown_names import shown
from maps.words import Words

# What pictures may add to a page: a farm's few fields, and more for many fields, up to a bound.
SHADE_BYTES, SHADE_BYTES_A_FIELD, MOST_SHADE_BYTES = 18_000, 300, 150_000
LINE_LETTERS, LINE_LETTERS_A_FIELD, MOST_LINE_LETTERS = 22_000, 200, 120_000
PHOTO_BYTES = 180_000
_MOST_SIDE_PX = 2000
_COARSEST_M = 60.0  # light and shade in larger cells tell nothing of a field
_LINE_OFF_M = (1.0, 2.0, 4.0)  # how far a drawn line may lie from the true one
_SMALLER = 0.85
_PAPER = (243, 240, 230)  # the page's own sand
_KIND = "WEBP"


def page_ground(assessment: Assessment, words: Words, legend: Legend) -> dict[str, Any]:
    """Pictures for the page's script, by name: ``relief`` and ``photo``; none where there is none.

    Returns
    -------
    Each has ``image``, ``box`` (south, west, north, east in degrees) and ``told``, the words that
    say what is seen; ``relief`` also ``lines``, two lists of lines as in ``coded_shapes``.
    """
    found = {}
    if assessment.ground is not None:
        relief = _relief(assessment.ground, assessment.fields, words, legend)
        if relief:
            found["relief"] = relief
    if assessment.aerial is not None:
        photo = _photo(assessment.aerial, assessment.fields, words, legend)
        if photo:
            found["photo"] = photo
    return found


def picture_choices(pictures: dict[str, Any], words: Words) -> dict[str, Any] | None:
    """Label and choices of the control, value and name; None where there is nothing to choose."""
    if not pictures:
        return None
    names = ("plain", *pictures)
    return {
        "label": words("ground.label"),
        "choices": [(name, words(f"ground.{name}")) for name in names],
    }


def _relief(
    ground: GroundPicture, fields: gpd.GeoDataFrame, words: Words, legend: Legend
) -> dict[str, Any]:
    most = min(SHADE_BYTES + SHADE_BYTES_A_FIELD * len(fields), MOST_SHADE_BYTES)
    around = fields.geometry.buffer(REACH_M, quad_segs=2).to_crs(PAGE_CRS)
    left, bottom, right, top = around.total_bounds.tolist()
    stretch = _stretch(fields)
    side_m = max(right - left, top - bottom) / stretch
    cell_m = max(min(g.grid.cell for g in ground.groups), side_m / _MOST_SIDE_PX)
    while cell_m <= _COARSEST_M:
        cell = cell_m * stretch
        shape = (math.ceil((top - bottom) / cell), math.ceil((right - left) / cell))
        onto = Grid(np.zeros(shape, np.float32), (cell, 0.0, left, 0.0, -cell, top), PAGE_CRS)
        file = encoded(shaded(ground, fields, onto, cell_m), _KIND)
        if len(file) <= most:
            break
        cell_m *= max(1.1, min(1.6, math.sqrt(len(file) / most)))
    else:
        return {}
    lines, main_only = _lines(ground, len(fields))
    step_m = ground.step_m * (MAIN_EVERY if main_only else 1)
    told = [
        words(
            "ground.relief_told",
            times=ground.exaggeration,
            cell=legend.length(cell_m),
        )
    ]
    if any(lines):
        step = legend.round_length(step_m)
        main = legend.round_length(ground.step_m * MAIN_EVERY)
        name = "ground.lines_told_main" if main_only else "ground.lines_told"
        told.append(words(name, step=step, main=main))
    else:
        told.append(words("ground.lines_none"))
    bounds = onto.bounds
    return {
        "image": data_uri(file, _KIND),
        "box": _box(bounds),
        "lines": lines,
        "told": " ".join(told),
    }


def _lines(ground: GroundPicture, n_fields: int) -> tuple[list[list[list[int]]], bool]:
    """Lesser and main contours; only main ones, or none, where all would be too much."""
    most = min(LINE_LETTERS + LINE_LETTERS_A_FIELD * n_fields, MOST_LINE_LETTERS)
    is_main = ground.lines["is_main"].to_numpy(bool)
    for main_only in (False, True):
        for off_m in _LINE_OFF_M:
            kinds = [] if main_only else [~is_main]
            coded = [_coded(ground.lines[kind], off_m) for kind in [*kinds, is_main]]
            if sum(len(str(number)) + 1 for k in coded for line in k for number in line) <= most:
                return ([[], *coded] if main_only else coded), main_only
    return [[], []], False


def _coded(lines: gpd.GeoDataFrame, off_m: float) -> list[list[int]]:
    plain = lines.geometry.simplify(off_m).to_crs(4326)
    coded = []
    for line in shapely.get_parts(plain.to_numpy()):
        points = np.rint(shapely.get_coordinates(line) * STEPS_PER_DEG).astype(np.int64)
        steps = np.diff(points, axis=0, prepend=np.zeros((1, 2), np.int64))
        coded.append(steps.ravel().tolist())
    return coded


def _photo(
    image: AerialImage, fields: gpd.GeoDataFrame, words: Words, legend: Legend
) -> dict[str, Any]:
    """The part of the picture around these fields, and nothing of what lies apart."""
    around = fields.geometry.buffer(REACH_M, quad_segs=4).to_crs(PAGE_CRS)
    inside = rasterize(
        around.to_numpy(), image.known.shape, transform=Affine(*image.transform), fill=0
    )
    seen = image.known & (inside == 1)
    if not seen.any():
        return {}
    rows, columns = (np.flatnonzero(seen.any(axis=axis)) for axis in (1, 0))
    cut = np.s_[rows[0] : rows[-1] + 1, columns[0] : columns[-1] + 1]
    pixels = np.where(seen[cut][..., None], image.pixels[cut], np.array(_PAPER, np.uint8))
    share = 1.0
    file = encoded(pixels, _KIND)
    while len(file) > PHOTO_BYTES:
        share *= _SMALLER
        file = encoded(joined_pixels(pixels, share), _KIND)
    width, _, left, _, height, top = image.transform
    bounds = (
        left + columns[0] * width,
        top + (rows[-1] + 1) * height,
        left + (columns[-1] + 1) * width,
        top + rows[0] * height,
    )
    pixel = legend.small_length(image.pixel_m / share)
    name = shown(image.source)
    sentence = "ground.photo_told" if name else "ground.photo_told_unnamed"
    return {
        "image": data_uri(file, _KIND),
        "box": _box(bounds),
        "told": words(sentence, name=name, pixel=pixel),
    }


def _stretch(fields: gpd.GeoDataFrame) -> float:
    """Metres of Web Mercator to one on the ground."""
    return 1 / math.cos(math.radians(float(fields["lat_deg"].median())))


def _box(bounds: tuple[float, float, float, float]) -> list[float]:
    degrees = pyproj.Transformer.from_crs(PAGE_CRS, 4326, always_xy=True)
    west, south = degrees.transform(bounds[0], bounds[1])
    east, north = degrees.transform(bounds[2], bounds[3])
    return [round(number, 7) for number in (south, west, north, east)]
