"""Wet ground of many weeks: drawn once for each place and each state that the place comes in."""

from collections.abc import Sequence
from dataclasses import dataclass

import geopandas as gpd
import numpy as np
import pandas as pd
import scipy
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from layers.grid import Grid
from layers.smooth_edges import polygons_of, smoothed
from layers.wet_outlines import (
    Cleaning,
    Window,
    around_fields,
    cell_outlines,
    cleaned,
    corner_of,
    pieces_within,
)

_EDGE_CELLS = 2  # smoothing moves no edge farther
_COLUMNS = ["field_id", "wet_id", "area_ha", "geometry"]


@dataclass(frozen=True)
class _Place:
    """Cells that are wet at some time and so near one another that they are drawn together."""

    window: Window
    cells: NDArray[np.bool_]
    drawn: dict[bytes, BaseGeometry]


class Redrawn:
    """Draws the wet ground of some fields again and again, as ``wet_shapes`` would.

    Places are kept apart by ground that is never wet and wider than cleaning and smoothing reach,
    so that each can be drawn alone, and is drawn anew only where its own cells have changed.
    """

    def __init__(
        self,
        ever_wet: NDArray[np.bool_],
        grid: Grid,
        fields: gpd.GeoDataFrame,
        cleaning: Cleaning,
    ) -> None:
        """Find the places.

        Parameters
        ----------
        ever_wet : (n_rows, n_columns) cells that are too wet at any of the times to be drawn.
        grid : says where the cells lie.
        fields : field_id, area_ha, geometry in a metre CRS.
        cleaning : of ``wet_outlines.cleaning_for``.
        """
        self._grid, self._crs, self._cleaning = grid, fields.crs, cleaning
        self._ids = fields["field_id"].tolist()
        self._grounds = fields.geometry.to_numpy()
        self._per_m2 = fields["area_ha"].to_numpy() / shapely.area(self._grounds)
        around = around_fields(grid, fields, cleaning)
        reach = int(np.ceil(cleaning.drill_m / 2 / grid.cell)) + _EDGE_CELLS
        near = scipy.ndimage.maximum_filter(ever_wet[around].astype(np.uint8), size=2 * reach + 1)
        label, _ = scipy.ndimage.label(near, structure=np.ones((3, 3)))
        first_row, first_column = (axis.start for axis in around)
        self._places = []
        for number, (rows, columns) in enumerate(scipy.ndimage.find_objects(label), start=1):
            window = (
                slice(first_row + rows.start, first_row + rows.stop),
                slice(first_column + columns.start, first_column + columns.stop),
            )
            self._places.append(_Place(window, label[rows, columns] == number, {}))
        boxes = gpd.GeoSeries([self._box(place.window) for place in self._places], crs=grid.crs)
        tree = shapely.STRtree(boxes.to_crs(fields.crs).to_numpy())
        self._near = [tree.query(ground).tolist() for ground in self._grounds]
        self._of_field: dict[tuple[object, ...], list[shapely.Polygon]] = {}

    def pieces(self, too_wet: NDArray[np.bool_]) -> gpd.GeoDataFrame:
        """Field, id, area and shape of each piece, for cells among those that are ever wet."""
        states = [self._state(place, too_wet) for place in self._places]
        shapes = self._drawn(states, too_wet)
        rows: list[tuple[object, ...]] = []
        for number, (field_id, factor) in enumerate(zip(self._ids, self._per_m2, strict=True)):
            key = (number, *(states[place] for place in self._near[number]))
            if key not in self._of_field:
                parts = [p for i in self._near[number] for p in polygons_of(shapes[i])]
                wet = shapely.MultiPolygon(parts)
                found, _ = pieces_within(wet, self._grounds[number], self._cleaning)
                self._of_field[key] = found
            rows += [
                (field_id, f"{field_id}-wet-{i}", piece.area * factor, piece)
                for i, piece in enumerate(self._of_field[key], start=1)
            ]
        table = pd.DataFrame(rows, columns=_COLUMNS)
        return gpd.GeoDataFrame(table, geometry="geometry", crs=self._crs)

    def _drawn(self, states: Sequence[bytes], too_wet: NDArray[np.bool_]) -> list[BaseGeometry]:
        new = []
        for place, state in zip(self._places, states, strict=True):
            if state not in place.drawn:
                cells = too_wet[place.window] & place.cells
                raw = cell_outlines(cells, corner_of(self._grid, place.window))
                place.drawn[state] = smoothed(cleaned(raw, self._cleaning), self._grid.cell)
                new.append((place, state))
        if new:
            shapes = [place.drawn[state] for place, state in new]
            moved = gpd.GeoSeries(shapes, crs=self._grid.crs).to_crs(self._crs)
            for (place, state), shape in zip(new, moved, strict=True):
                place.drawn[state] = shape
        return [place.drawn[state] for place, state in zip(self._places, states, strict=True)]

    def _box(self, window: Window) -> BaseGeometry:
        rows, columns = window
        width, _, west, _, minus_height, north = corner_of(self._grid, window)[:6]
        east = west + (columns.stop - columns.start) * width
        south = north + (rows.stop - rows.start) * minus_height
        return shapely.box(west, south, east, north)

    @staticmethod
    def _state(place: _Place, too_wet: NDArray[np.bool_]) -> bytes:
        return np.packbits(too_wet[place.window] & place.cells).tobytes()
