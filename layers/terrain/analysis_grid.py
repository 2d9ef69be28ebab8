"""On which grid the ground is worked on: as fine as the fields need, no finer than the heights."""

import math

import geopandas as gpd
import numpy as np
from numpy.typing import NDArray

from layers.areas import length_text, small_area_text
from layers.elevation import NAME, ElevationRead, GroundGroup
from layers.grid import Grid
from layers.terrain.settings import setting
from suitability.notes import Note

_M2_PER_HA = 10_000


def analysis_grids(
    elevation: ElevationRead, fields: gpd.GeoDataFrame
) -> tuple[tuple[GroundGroup, ...], list[Note]]:
    """The heights of each group of fields in cells joined to the size that is worked on.

    Parameters
    ----------
    elevation : heights as read, with the ground around the fields.
    fields : FIELDS table.

    Notes
    -----
    The cell aimed at is ``cell_m`` of ``tables/terrain.csv``, or finer so that the smallest field
    has ``field_cells`` of them. Squares of whole cells are joined to their mean, as long as they
    are no larger than that.
    """
    area_ha = fields.set_index("field_id")["area_ha"]
    groups, cells = [], []
    for group in elevation.groups:
        smallest_m2 = float(area_ha.reindex(list(group.field_ids)).min()) * _M2_PER_HA
        aim_m = min(setting("cell_m"), math.sqrt(smallest_m2 / setting("field_cells")))
        # A hair less than whole is whole: heights in degrees have cells of 0.9999 m.
        factor = max(1, math.floor(aim_m / group.grid.cell + 0.01))
        groups.append(GroundGroup(joined(group.grid, factor), group.field_ids))
        cells.append(groups[-1].grid.cell)
    return tuple(groups), _notes(elevation, cells)


def joined(grid: Grid, factor: int) -> Grid:
    """Means of squares of ``factor`` x ``factor`` cells; NaN where less than half is known."""
    if factor == 1:
        return grid
    rows, columns = (-(-n // factor) for n in grid.values.shape)
    total = np.zeros((rows, columns))
    known = np.zeros((rows, columns), np.int32)
    for down in range(factor):
        for right in range(factor):
            part: NDArray[np.float32] = grid.values[down::factor, right::factor]
            there = np.s_[: part.shape[0], : part.shape[1]]
            total[there] += np.nan_to_num(part)
            known[there] += np.isfinite(part)
    values = np.full((rows, columns), np.nan, np.float32)
    enough = (2 * known >= factor**2) & (known > 0)
    np.divide(total, known, out=values, where=enough, casting="same_kind")
    width, _, left, _, height, top = grid.transform
    return Grid(values, (width * factor, 0.0, left, 0.0, height * factor, top), grid.crs)


def _notes(elevation: ElevationRead, cells_m: list[float]) -> list[Note]:
    if not cells_m:
        return []
    low, high = min(cells_m), max(cells_m)
    size = length_text(low)
    if high - low >= 0.05 * low:
        size += f" to {length_text(high)}"
    least = max(setting("hollow_area_m2"), setting("hollow_cells") * high**2)
    text = (
        f"High and low ground was told apart in cells of {size}; heights come in cells of "
        f"{length_text(elevation.cell_m)}, and the ground around the fields "
        "whose water may run in was looked at too. Hollows smaller than about "
        f"{small_area_text(least)} do not show. Neither does running water: a creek or ditch in a "
        "field shows as a row of hollows at most, so draw outlines beside it."
    )
    return [Note(NAME, "info", text)]
