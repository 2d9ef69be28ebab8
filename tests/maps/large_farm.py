"""A farm of many fields: the ground of a run laid down again and again beside itself.

Every copy has names and odds of its own, so that no page is small because its fields are alike.
"""

import math
from dataclasses import replace
from typing import Any

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely

from layers.elevation import GroundGroup
from layers.grid import Grid
from layers.ground_picture import _MOST_CELLS
from layers.terrain.analysis_grid import joined
from maps.assessment import Assessment

_WET_OF_ONE = 0.45  # each way, of a spot that is laid down in several places


def large_farm(farm: Assessment, n_fields: int, n_wet: int) -> Assessment:
    """The farm with so many fields and wet spots, with its soils, weeks, plan and ground."""
    copies = math.ceil(n_fields / len(farm.fields))
    wide = math.ceil(math.sqrt(copies))
    shifts = _shifts(farm, copies, wide)
    rng = np.random.default_rng(17)
    fields = _moved(farm.fields, shifts).iloc[:n_fields]
    number = fields.pop("copy")
    fields = fields.assign(name=fields["name"] + " " + (number + 1).astype(str))
    ids = set(fields["field_id"])

    def mine(table: Any) -> Any:
        return table[table["field_id"].isin(ids)].drop(columns="copy").reset_index(drop=True)

    wet, spots = _wet(farm, shifts, n_wet, ids)
    weeks = mine(_many(_years(farm).weeks, copies))
    causes = [c for c in weeks if c.endswith("_years_in_ten") and not c.startswith(_NOT_CAUSES)]
    factor = rng.uniform(0.7, 1.3, len(weeks))
    weeks[causes] = weeks[causes].mul(factor, axis=0)
    works = weeks["works_years_in_ten"]
    weeks["works_years_in_ten"] = (works * rng.uniform(0.8, 1.0, len(weeks))).where(works < 10, 10)
    grown = [c for c in weeks if c.startswith("dry_matter")]
    weeks[grown] = weeks[grown].mul(factor, axis=0)
    plan = farm.plan
    if plan is not None:
        plan = replace(plan, fields=mine(_many(plan.fields, copies)))
    years: Any = replace(_years(farm), weeks=weeks, wet=spots)
    water = farm.level_water
    return replace(
        farm,
        fields=fields.reset_index(drop=True),
        verdicts=mine(_many(farm.verdicts, copies)),
        findings=mine(_many(farm.findings, copies)),
        soil_parts=mine(_moved(farm.soil_parts, shifts)),
        level_water=None if water is None else mine(_moved(water, shifts)),
        wet_ground=wet,
        years=years,
        plan=plan,
        ground=_ground(farm, shifts, wide, tuple(fields["field_id"])),
        notes=tuple(
            replace(
                note, field_ids=tuple(f"{i}-{c}" for c in range(copies) for i in note.field_ids)
            )
            for note in farm.notes
        ),
    )


_NOT_CAUSES = ("works", "reach")


def _years(farm: Assessment) -> Any:
    if farm.years is None:
        raise ValueError("a farm without years makes no large farm")
    return farm.years


def _shifts(farm: Assessment, copies: int, wide: int) -> list[tuple[float, float]]:
    left, bottom, right, top = farm.fields.total_bounds
    step_x, step_y = right - left + 30, top - bottom + 30
    if farm.ground is not None:  # the heights are laid down whole
        grid = farm.ground.groups[0].grid
        step_x, step_y = (n * grid.cell for n in reversed(grid.values.shape))
    return [(c % wide * step_x, -(c // wide) * step_y) for c in range(copies)]


def _many(table: pd.DataFrame, copies: int) -> pd.DataFrame:
    many = pd.concat([table] * copies, ignore_index=True)
    copy = pd.Series(np.repeat(np.arange(copies), len(table)), index=many.index)
    return many.assign(field_id=many["field_id"].astype(str) + "-" + copy.astype(str), copy=copy)


def _moved(table: gpd.GeoDataFrame, shifts: list[tuple[float, float]]) -> gpd.GeoDataFrame:
    many = _many(table, len(shifts))
    by = np.array(shifts)[many["copy"].to_numpy()]
    shapes = [
        shapely.transform(shape, lambda xy, step=step: xy + step)
        for shape, step in zip(many["geometry"], by, strict=True)
    ]
    return gpd.GeoDataFrame(many.drop(columns="geometry"), geometry=shapes, crs=table.crs)


def _wet(
    farm: Assessment, shifts: list[tuple[float, float]], n_wet: int, ids: set[str]
) -> tuple[gpd.GeoDataFrame, Any]:
    """Spots in several places of each field, every one with a row of odds of its own."""
    many = _moved(farm.wet_ground, shifts)
    many = many[many["field_id"].isin(ids)].drop(columns="copy").reset_index(drop=True)
    times = math.ceil(n_wet / len(many))
    took, made = [], []
    for k in range(times):
        turned = 2 * math.pi * k / times
        took.append(
            many.assign(source=many["wet_id"], wet_id=many["field_id"] + many["wet_id"] + f"-{k}")
        )
        for shape in many.geometry:
            middle = np.array(shape.representative_point().coords[0])
            aside = 0.3 * math.sqrt(shape.area) * np.array([math.cos(turned), math.sin(turned)])
            made.append(
                shapely.transform(
                    shape,
                    lambda xy, m=middle, a=aside: (
                        m + a + (xy - m) * (_WET_OF_ONE if times > 1 else 1)
                    ),
                )
            )
    wet = pd.concat(took, ignore_index=True).assign(geometry=made).iloc[:n_wet]
    wet = gpd.GeoDataFrame(wet, geometry="geometry", crs=many.crs)
    found = _years(farm).wet
    if found is not None:
        odds = wet[["field_id", "wet_id", "source"]].merge(
            found.spots.drop(columns="field_id"), left_on="source", right_on="wet_id"
        )
        odds = odds.assign(wet_id=odds["wet_id_x"])[list(found.spots.columns)]
        sizes = _many(found.fields, len(shifts))
        sizes = sizes[sizes["field_id"].isin(ids)].drop(columns="copy")
        copy = sizes["field_id"].str.rpartition("-")[2].astype(int)
        sizes["wet_ha"] = sizes["wet_ha"] * (0.7 + 0.6 * ((copy * 37) % 101) / 101)
        found = replace(found, spots=odds, fields=sizes)
    return wet.drop(columns="source"), found


def _ground(
    farm: Assessment, shifts: list[tuple[float, float]], wide: int, ids: tuple[str, ...]
) -> Any:
    """Heights side by side, in cells as coarse as the program takes them for so much ground."""
    if farm.ground is None:
        return None
    (group,) = farm.ground.groups
    high = math.ceil(len(shifts) / wide)
    cells = group.grid.values.size * wide * high
    factor = max(1, math.ceil(math.sqrt(cells / _MOST_CELLS)))
    values = np.tile(group.grid.values, (high, wide))
    grid = joined(Grid(values, group.grid.transform, group.grid.crs), factor)
    lines = farm.ground.lines
    moved = [lines.assign(geometry=lines.translate(x, y)) for x, y in shifts]
    return replace(
        farm.ground,
        groups=(GroundGroup(grid, ids),),
        lines=gpd.GeoDataFrame(pd.concat(moved, ignore_index=True), crs=lines.crs),
    )
