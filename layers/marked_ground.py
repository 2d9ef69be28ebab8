"""The grower's marks laid over wet ground: they override it and are shown as theirs."""

import geopandas as gpd
import pandas as pd
import shapely
from shapely.geometry.base import BaseGeometry

from layers.areas import area_text, small_area_text
from layers.mark_kinds import DRY, NAME, WET
from layers.smooth_edges import polygons_of
from suitability.columns import WET_GROUND
from suitability.contract import check, names
from suitability.notes import Note

MARK_CAUSE = "your mark"
_LEAST_HA = 1e-4  # what is left of a piece that a mark cuts; less is no ground


def apply_marks(
    wet_ground: gpd.GeoDataFrame, marks: gpd.GeoDataFrame, fields: gpd.GeoDataFrame
) -> tuple[gpd.GeoDataFrame, tuple[Note, ...]]:
    """Let the grower's wet and dry spots override wet ground.

    Parameters
    ----------
    wet_ground : WET_GROUND with geometry. marks : of ``read_marks``. fields : field_id, area_ha,
        geometry. All in one metre CRS.

    Returns
    -------
    New wet ground: within marks of wet the cause is "your mark", years in ten not known; what lies
    in marks of dry is taken out; the rest keeps its id, parted pieces get a letter. Where both
    kinds overlap the ground stays wet. Notes say how much changed.
    """
    wet, dry = (_union(marks, kind) for kind in (WET, DRY))
    both = shapely.intersection(wet, dry)
    dry = shapely.difference(dry, wet)
    rows: list[dict[str, object]] = []
    taken_out: dict[str, float] = {}
    marked: dict[str, float] = {}
    for field in fields.itertuples():
        per_m2 = field.area_ha / field.geometry.area
        here = wet_ground[wet_ground["field_id"] == field.field_id]
        for old in here.itertuples():
            out = shapely.intersection(old.geometry, dry).area * per_m2
            if out > _LEAST_HA:
                taken_out[field.field_id] = taken_out.get(field.field_id, 0.0) + out
            touched = shapely.intersects(old.geometry, shapely.union(dry, wet))
            left = shapely.difference(old.geometry, shapely.union(dry, wet))
            pieces = polygons_of(left) if touched else [old.geometry]
            pieces = [p for p in pieces if p.area * per_m2 > _LEAST_HA]
            for number, piece in enumerate(pieces):
                row = {name: getattr(old, name) for name in names(WET_GROUND)}
                if touched:
                    row["area_ha"] = piece.area * per_m2
                if number:
                    row["wet_id"] = f"{old.wet_id}{_letters(number)}"
                rows.append({**row, "geometry": piece})
        theirs = polygons_of(shapely.intersection(wet, field.geometry))
        for number, piece in enumerate(theirs, start=1):
            size = piece.area * per_m2
            if size <= _LEAST_HA:
                continue
            marked[field.field_id] = marked.get(field.field_id, 0.0) + size
            rows.append(
                {
                    "field_id": field.field_id,
                    "wet_id": f"{field.field_id}-mark-{number}",
                    "area_ha": size,
                    "years_in_ten": float("nan"),
                    "cause": MARK_CAUSE,
                    "compname": None,
                    "geometry": piece,
                }
            )
    columns = [*names(WET_GROUND), "geometry"]
    table = gpd.GeoDataFrame(
        pd.DataFrame(rows, columns=columns), geometry="geometry", crs=wet_ground.crs
    )
    for number_column in ("area_ha", "years_in_ten"):
        table[number_column] = table[number_column].astype(float)
    check(pd.DataFrame(table.drop(columns="geometry")), WET_GROUND, "The table of wet ground")
    idle = _idle(marks, wet_ground, fields)
    return table, _change_notes(marked, taken_out, both.area, idle)


def never_wet(wet_ground: gpd.GeoDataFrame, marks: gpd.GeoDataFrame) -> gpd.GeoDataFrame:
    """Wet ground that marks of dry take out: field_id and geometry.

    Parameters as ``apply_marks``.
    """
    wet, dry = (_union(marks, kind) for kind in (WET, DRY))
    table = wet_ground[["field_id", "geometry"]].copy()
    table["geometry"] = shapely.intersection(
        table.geometry.to_numpy(), shapely.difference(dry, wet)
    )
    return table[~table.geometry.is_empty].reset_index(drop=True)


def _union(marks: gpd.GeoDataFrame, kind: str) -> BaseGeometry:
    return shapely.union_all(marks.geometry[marks["kind"] == kind].to_numpy())


def _idle(marks: gpd.GeoDataFrame, wet_ground: gpd.GeoDataFrame, fields: gpd.GeoDataFrame) -> int:
    """How many marks of dry lie in fields where no ground would be left out."""
    dry = marks.geometry[marks["kind"] == DRY]
    in_field = dry.intersects(shapely.union_all(fields.geometry.to_numpy()))
    meets = dry.intersects(shapely.union_all(wet_ground.geometry.to_numpy()))
    return int((in_field & ~meets).sum())


def _letters(number: int) -> str:
    """Letters b, c, ... z, ba, ... of the second and later pieces."""
    letters = ""
    number += 1
    while number:
        number, place = divmod(number - 1, 26)
        letters = chr(ord("a") + place) + letters
    return letters


def _change_notes(
    marked: dict[str, float], taken_out: dict[str, float], both_m2: float, idle: int
) -> tuple[Note, ...]:
    notes = []
    if marked:
        text = f"You marked {area_text(sum(marked.values()))} as wet; that ground is left out."
        notes.append(Note(NAME, "info", text, tuple(marked)))
    if taken_out:
        text = (
            f"You marked ground as never wet: {area_text(sum(taken_out.values()))} that would have "
            "been left out as too wet are sown."
        )
        notes.append(Note(NAME, "warning", text, tuple(taken_out)))
    if idle:
        which = "1 mark" if idle == 1 else f"{idle} marks"
        text = f"{which} of ground that is never wet: no ground there would be left out anyway."
        notes.append(Note(NAME, "info", text))
    if both_m2 > 1:
        text = (
            f"{small_area_text(both_m2)} are marked as wet and as never wet; they were taken as "
            "wet."
        )
        notes.append(Note(NAME, "caution", text))
    return tuple(notes)
