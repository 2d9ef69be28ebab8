"""Hillshade and contours under a drawing of the report: light enough for words to stand on."""

import geopandas as gpd
import numpy as np
import pyproj
import shapely
from numpy.typing import NDArray

from layers.grid import Grid
from layers.ground_picture import WHITE, GroundPicture, shaded
from maps import colours
from maps.drawing_frame import FOOT_PX, MARGIN_PX, Frame
from maps.embedded import data_uri, encoded
from maps.hatching import lines_within

_PX_A_CELL = 2.0  # finer cells are not seen on paper
_STRENGTH = 0.55  # of the shade as it is on the screen
_LINE_PX, _MAIN_LINE_PX = 0.5, 1.0
_KIND = "JPEG"


def ground_svg(ground: GroundPicture, fields: gpd.GeoDataFrame, frame: Frame) -> str:
    """``<image>`` and contour lines for the lowest layer of a drawing.

    Parameters
    ----------
    fields : those that the drawing is of; the ground around them is shown too.
    frame : of the drawing, in the CRS of the fields.
    """
    finest_m = min(group.grid.cell for group in ground.groups)
    cell_m = max(_PX_A_CELL * frame.m_per_px, finest_m)
    cell_px = cell_m / frame.m_per_px
    edge = MARGIN_PX / 2
    columns = max(1, int((frame.width_px - 2 * edge) / cell_px))
    rows = max(1, int((frame.height_px - FOOT_PX - 2 * edge) / cell_px))
    # Whole cells, so that nothing is stretched.
    wide, tall = columns * cell_px, rows * cell_px
    left, top = (frame.width_px - wide) / 2, (frame.height_px - FOOT_PX - tall) / 2
    west, north = frame.left_m + left * frame.m_per_px, frame.top_m - top * frame.m_per_px
    crs = pyproj.CRS.from_user_input(fields.crs)
    nothing = np.zeros((rows, columns), np.float32)
    onto = Grid(nothing, (cell_m, 0.0, west, 0.0, -cell_m, north), crs)
    tone = shaded(ground, fields, onto, cell_m)
    light = (WHITE - (WHITE - tone.astype(np.float32)) * _STRENGTH).astype(np.uint8)
    picture = (
        f'<image href="{data_uri(encoded(light, _KIND), _KIND)}" x="{left:.2f}" y="{top:.2f}"'
        f' width="{wide:.2f}" height="{tall:.2f}"/>'
    )
    sheet = shapely.box(left, top, left + wide, top + tall)
    south, east = north - rows * cell_m, west + columns * cell_m
    near = np.sort(ground.lines.sindex.query(shapely.box(west, south, east, north)))
    lines = ground.lines.geometry.to_numpy()[near]
    is_main = ground.lines["is_main"].to_numpy(bool)[near]
    return picture + "".join(
        _lines(lines[kind], frame, sheet, width)
        for kind, width in ((~is_main, _LINE_PX), (is_main, _MAIN_LINE_PX))
    )


def contours_swatch(wide_px: float, tall_px: float) -> str:
    """Two contour lines for the key, a lesser and a main one."""
    return "".join(
        f'<path d="M1 {tall_px * low:.1f}C{wide_px / 3:.1f} {tall_px * (low - 0.5):.1f}'
        f" {wide_px / 1.5:.1f} {tall_px * (low + 0.1):.1f}"
        f' {wide_px - 1:g} {tall_px * (low - 0.3):.1f}"'
        f' fill="none" stroke="{colours.QUIET}" stroke-width="{width:g}"/>'
        for low, width in ((0.6, _LINE_PX), (0.9, _MAIN_LINE_PX))
    )


def _lines(lines: NDArray[np.object_], frame: Frame, sheet: shapely.Polygon, width: float) -> str:
    data = [
        "M" + "L".join(f"{x:.1f} {y:.1f}" for x, y in shapely.get_coordinates(line).tolist())
        for line in lines_within(frame.all_to_px(lines), sheet)
    ]
    if not data:
        return ""
    return (
        f'<path d="{"".join(data)}" fill="none" stroke="{colours.QUIET}"'
        f' stroke-width="{width:g}" stroke-opacity=".7"/>'
    )
