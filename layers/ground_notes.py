"""What the reader of an answer must know of the high and low ground behind it."""

from collections.abc import Sequence

import geopandas as gpd
import pandas as pd

from layers.areas import area_text, length_text
from layers.elevation import NAME, GroundGroup
from layers.ground_parts import OPEN_WATER
from layers.terrain.ground_shape import GroundShape
from layers.terrain.settings import setting
from suitability.notes import Note

_MOST_NAMES = 4


def on_shapes(shapes: Sequence[GroundShape], groups: Sequence[GroundGroup]) -> list[Note]:
    """How hollows and wet ground were told, and where heights are too rough for it."""
    if not shapes:
        return []
    trusted = [s.trusted_m for s in shapes]
    depth_m = max(setting("hollow_depth_m"), min(trusted))
    sigma_m = max(setting("smoothing_m"), min(s.grid.cell for s in shapes))
    text = (
        f"A hollow holds at least {length_text(depth_m)} of water before it spills. Elsewhere wet "
        "ground is where much ground drains to little slope: each cell's water is shared among all "
        f"lower neighbours (exponent {setting('flow_exponent'):g}, Freeman 1991), and the index "
        f"smoothed over {length_text(sigma_m)}."
    )
    notes = [Note(NAME, "info", text)]
    rough = [
        (shape, group)
        for shape, group in zip(shapes, groups, strict=True)
        if shape.trusted_m > setting("hollow_depth_m")
    ]
    if rough:
        worst = max(shape.trusted_m for shape, _ in rough)
        fields = tuple(f for _, group in rough for f in group.field_ids)
        text = (
            "The heights are noisy or stored in coarse steps: hollows shallower than "
            f"{length_text(worst)} are not told from error there."
        )
        notes.append(Note(NAME, "caution", text, fields))
    coarse = [
        f
        for shape, group in zip(shapes, groups, strict=True)
        if shape.step_m > setting("flat_water_step_m")
        for f in group.field_ids
    ]
    if coarse:
        text = (
            "The heights come in steps too coarse to show open water; only the soil survey tells "
            "of ponds there."
        )
        notes.append(Note(NAME, "info", text, tuple(coarse)))
    return notes


def on_drains(drains: gpd.GeoDataFrame | None, shapes: Sequence[GroundShape]) -> list[Note]:
    """How many pipes and ditches count, and how many lie beside the heights."""
    if drains is None:
        return []
    if not shapes:
        text = f"Without heights what you drew changes nothing: {_lines(len(drains))}."
        return [Note(NAME, "caution", text)]
    used = [any(of_one) for of_one in zip(*(s.drains_used for s in shapes), strict=True)]
    notes = []
    if any(used):
        text = f"Water was let through banks along {_lines(sum(used))} as you drew them."
        notes.append(Note(NAME, "info", text))
    if not all(used):
        text = (
            f"{_lines(len(used) - sum(used)).capitalize()} of your file lie beside the heights "
            "around the fields and change nothing."
        )
        notes.append(Note(NAME, "caution", text))
    return notes


def on_water(parts: pd.DataFrame) -> list[Note]:
    """Level water that the soil survey does not have."""
    water = parts[parts["cokey"] == OPEN_WATER]
    # Less is the shore of a pond that the survey has too.
    if water["area_ha"].sum() * 10_000 < setting("flat_water_m2"):
        return []
    fields = tuple(dict.fromkeys(water["field_id"]))
    text = (
        f"{area_text(water['area_ha'].sum())} in {_fields(len(fields))} lie exactly level in the "
        "heights, as water does, and were taken for open water."
    )
    return [Note(NAME, "caution", text, fields)]


def on_inclusions(
    parts: pd.DataFrame, inclusions: pd.DataFrame, components: pd.DataFrame, heights: bool
) -> list[Note]:
    """Which lesser soils were placed in the fields, and what share of the ground was not."""
    keys = inclusions[["mukey", "cokey"]]
    here = parts.merge(keys, on=["mukey", "cokey"])
    if not len(here):
        return []
    name = components.set_index("cokey")["compname"]
    here = here.assign(compname=here["cokey"].map(name).fillna("a soil without name"))
    sure = here[here["position"] != "unplaced"]
    notes = []
    if len(sure):
        fields = tuple(dict.fromkeys(sure["field_id"]))
        text = (
            f"{area_text(sure['area_ha'].sum())} of soils that lie in hollows or drainageways were "
            f"placed in {_fields(len(fields))} where the ground looks like theirs: {_named(sure)}."
        )
        notes.append(Note(NAME, "info", text, fields))
    rest = here[here["position"] == "unplaced"]
    if len(rest):
        fields = tuple(dict.fromkeys(rest["field_id"]))
        ground_ha = parts.loc[parts["field_id"].isin(fields), "area_ha"].sum()
        share_pct = 100 * rest["area_ha"].sum() / ground_ha
        why = "no ground looks like theirs" if heights else "there are no heights to tell where"
        text = (
            f"Soils that lie in hollows or drainageways make up {share_pct:.2g} % of the ground of "
            f"{_fields(len(fields))} by the survey, and were not placed, since {why}: "
            f"{_named(rest)}. The share is an average over the survey, no promise for one field."
        )
        notes.append(Note(NAME, "caution", text, fields))
    return notes


def _named(parts: pd.DataFrame) -> str:
    area = parts.groupby("compname")["area_ha"].sum().sort_values(ascending=False, kind="stable")
    more = len(area) - _MOST_NAMES
    listed = ", ".join(area.index[:_MOST_NAMES])
    return f"{listed} and {more} more" if more > 0 else listed


def _lines(count: int) -> str:
    return "1 pipe or ditch" if count == 1 else f"{count} pipes or ditches"


def _fields(count: int) -> str:
    return "1 field" if count == 1 else f"{count} fields"
