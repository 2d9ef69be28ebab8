"""Freeze dates on a map of outlines: polygons of dates, or zones from one date to another."""

from pathlib import Path
from typing import Any

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely

from layers.crs import to_working
from layers.files import open_vector
from layers.frost.middle import middle_value
from layers.frost.plain_rows import rows_of
from layers.frost.stated import LAYER, Stated
from layers.frost.station_rows import VALUES, station_table
from suitability.columns import FROST
from suitability.july_days import july_day, mmdd_of
from suitability.notes import Note

# Less of a field on the map than this: its date is not known. Our judgement.
LEAST_COVER_PCT = 50.0
_KEYS = ["event", "threshold_c", "prob_pct"]


def read_polygons(
    path: Path, fields: gpd.GeoDataFrame, stated: Stated
) -> tuple[pd.DataFrame, list[Note]]:
    """FROST rows of each field: the date in the middle of its ground, by area.

    Columns are those of a table of freeze dates; what they lack is stated by farm.toml or the file
    name. A zone has ``date_from`` and ``date_to``; its end on the safe side counts.

    Raises
    ------
    InputError, CrsError : as for a table, and for outlines that do not say where they lie.
    """
    shapes = open_vector(path)
    rows = rows_of(pd.DataFrame(shapes.drop(columns=shapes.geometry.name)), path, stated)
    kept = [bool(row) for row in rows]
    table = station_table([row for row in rows if row])
    placed = to_working(shapes[kept].set_geometry(shapes.geometry.name), fields.crs)
    geometry = shapely.make_valid(placed.geometry.to_numpy())
    found: list[dict[str, Any]] = []
    lacking: set[str] = set()
    for key, group in table.groupby(_KEYS):
        tree = shapely.STRtree(geometry[group.index])
        what = dict(zip(_KEYS, key, strict=True)) | {"source": path.name}
        for field_id, outline in zip(fields["field_id"], fields.geometry, strict=True):
            at = group.index[tree.query(outline, predicate="intersects")]
            area = shapely.area(shapely.intersection(geometry[at], outline))
            if area.sum() < outline.area * LEAST_COVER_PCT / 100:
                lacking.add(field_id)
            else:
                values = group.loc[at]
                found.append({"field_id": field_id, **what, **_middle(values, area, key[0])})
    numbers = [c.name for c in FROST if c.kind == "number"]
    result = pd.DataFrame(found, columns=["field_id", *VALUES])
    result[numbers] = result[numbers].astype(float)
    result["date_mmdd"] = (
        result["date_mmdd"].astype(object).where(result["date_mmdd"].notna(), None)
    )
    if not lacking:
        return result, []
    text = f"{path.name} covers less than half of {len(lacking)} fields: no freeze dates there."
    return result, [Note(LAYER, "caution", text, tuple(sorted(lacking)))]


def _middle(values: pd.DataFrame, area: np.ndarray, event: str) -> dict[str, Any]:
    if event == "season":
        return {"season_d": middle_value(values["season_d"].to_numpy(float), area, event)}
    never = -np.inf if event == "last_spring" else np.inf
    place = np.array([never if d is None else july_day(d) for d in values["date_mmdd"]], float)
    middle = middle_value(place, area, event)
    return {"date_mmdd": mmdd_of(int(middle)) if np.isfinite(middle) else None}
