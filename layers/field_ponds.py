"""The closed depressions of a group of fields, and on which soil each pond stands."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from layers.cell_keys import distinct_keys
from layers.depressions import Depressions, find_depressions, under_brim
from layers.ground import GroundRead
from layers.ground_cells import NOWHERE, STRIP_ROWS, GroundCells
from layers.terrain.settings import setting as terrain_setting
from layers.wet_shapes import NAME
from suitability.notes import Note
from suitability.ponds import OUTSIDE, stage_classes


@dataclass(frozen=True)
class FieldPonds:
    """``found`` the depressions; ``height_m`` (pond, class) the heights asked for.

    ``floor`` and ``catchment`` (n_ponds,) are cokeys of the soil under the pond and of the ground
    that drains to it, empty where not known; ``own_soil`` is True where the soil under the pond was
    placed there, so that the survey's water table is that of the hollow itself.
    ``in_field`` (pond, number of field) are the pairs where a pond can stand in a field.
    """

    found: Depressions
    height_m: NDArray[np.float64]
    floor: tuple[str, ...]
    catchment: tuple[str, ...]
    own_soil: NDArray[np.bool_]
    in_field: NDArray[np.int64]


def ponds_of_groups(ground: GroundRead) -> tuple[FieldPonds | None, ...]:
    """``field_ponds`` of each group of fields."""
    return tuple(field_ponds(cells, ground) for cells in ground.cells)


def field_ponds(cells: GroundCells, ground: GroundRead) -> FieldPonds | None:
    """Find the depressions of one group of fields; None where there are none.

    Parameters
    ----------
    cells : one of ``ground.cells``. ground : of ``layers.ground.ground_of``.
    """
    raw = cells.grid.values
    found = find_depressions(
        raw,
        raw + np.nan_to_num(cells.shape.fill_m),
        cells.grid.cell,
        cells.grid.cell,
        least_depth_m=max(terrain_setting("hollow_depth_m"), cells.shape.trusted_m),
        least_cells=int(
            max(terrain_setting("hollow_cells"), terrain_setting("hollow_area_m2") / cells.cell_m2)
        ),
    )
    if not found.n_ponds:
        return None
    main = _main_soil(ground)
    # Beyond the fields the same soils are known; others have no table of days.
    known = np.array([key in main for key in ground.mukeys] + [False])[cells.unit]
    drains = found.drains_to
    under = under_brim(found, raw) & ~cells.water
    placed = _mode(drains, cells.component, under, found.n_ponds)
    under_unit = _mode(drains, cells.unit, under & known, found.n_ponds)
    around = _mode(drains, cells.unit, (drains >= 0) & known, found.n_ponds)
    here = set(ground.parts["cokey"])
    own_soil = np.array([p != NOWHERE and ground.cokeys[p] in here for p in placed])
    floor = [
        ground.cokeys[p] if own else _soil_of(u, ground, main)
        for p, u, own in zip(placed, under_unit, own_soil, strict=True)
    ]
    touched = under & (cells.field >= 0)
    pairs, _ = distinct_keys([drains[touched], cells.field[touched]])
    return FieldPonds(
        found,
        stage_classes(found.curves),
        tuple(floor),
        tuple(_soil_of(u, ground, main) for u in around),
        own_soil,
        pairs,
    )


def pond_notes(
    group: Sequence[FieldPonds], odds: Sequence[dict[str, NDArray[np.float64]]], ground: GroundRead
) -> tuple[Note, ...]:
    """Which fields have hollows whose water is not fully known.

    Parameters
    ----------
    group : depressions of each group of fields. odds : of each, by sowing week; NaN where a pond
        was not simulated, empty where none was.
    """
    cut: set[int] = set()
    unknown: set[int] = set()
    n_cut, n_unknown = 0, 0
    for ponds, by_week in zip(group, odds, strict=True):
        touching = set(ponds.in_field[:, 0].tolist())
        blind = np.full(ponds.found.n_ponds, not by_week)
        for table in by_week.values():
            blind |= np.isnan(table).all(axis=1) & ponds.found.curves.is_leaf
        more = _cut_by_edge(ponds.found) & ~blind
        n_cut += sum(bool(more[pond]) for pond in touching)
        n_unknown += sum(bool(blind[pond]) for pond in touching)
        cut |= {field for pond, field in ponds.in_field.tolist() if more[pond]}
        unknown |= {field for pond, field in ponds.in_field.tolist() if blind[pond]}
    notes = []
    if n_cut:
        text = (
            f"{_hollows(n_cut)} may take in water from beyond the edge of the heights: it can pond "
            "there more often than shown. Heights of a larger area would tell."
        )
        notes.append(Note(NAME, "caution", text, tuple(ground.field_ids[i] for i in sorted(cut))))
    if n_unknown:
        text = (
            f"How often water stands in {_hollows(n_unknown).lower()} is not known: the days "
            "there could not be counted, for want of weather, a gap or a soil that is described."
        )
        fields = tuple(ground.field_ids[i] for i in sorted(unknown))
        notes.append(Note(NAME, "caution", text, fields))
    return tuple(notes)


def _hollows(count: int) -> str:
    return "1 hollow" if count == 1 else f"{count} hollows"


def _cut_by_edge(found: Depressions) -> NDArray[np.bool_]:
    """Whether a pond, or one it is joined with when full, may get water that is not counted."""
    cut = found.cut_by_edge.copy()
    for pond in range(found.n_ponds - 1, -1, -1):
        if found.curves.parent[pond] != OUTSIDE:
            cut[pond] |= cut[found.curves.parent[pond]]
    return cut


def _main_soil(ground: GroundRead) -> dict[str, str]:
    """The soil with most of each map unit among those of the fields, by mukey."""
    soils = ground.components[ground.components["kind"] == "soil"]
    soils = soils[soils["cokey"].isin(ground.parts["cokey"])]
    ranked = soils.sort_values(["comppct_pct", "cokey"], ascending=[False, True])
    return dict(ranked.drop_duplicates("mukey")[["mukey", "cokey"]].itertuples(index=False))


def _soil_of(unit: int, ground: GroundRead, main: dict[str, str]) -> str:
    return "" if unit == NOWHERE else main.get(ground.mukeys[unit], "")


def _mode(
    pond: NDArray[np.integer],
    number: NDArray[np.integer],
    where: NDArray[np.bool_],
    n_ponds: int,
) -> NDArray[np.int64]:
    """The number that most cells of each pond have; -1 for none."""
    result = np.full(n_ponds, NOWHERE, dtype=np.int64)
    tables = []
    for row in range(0, pond.shape[0], STRIP_ROWS):
        strip = slice(row, row + STRIP_ROWS)
        here = where[strip] & (pond[strip] >= 0)
        keys, place = distinct_keys([pond[strip][here], number[strip][here]])
        counts = np.bincount(place, minlength=len(keys))
        tables.append(np.column_stack([keys, counts]))
    table = pd.DataFrame(np.concatenate(tables), columns=["pond", "number", "cells"])
    total = table.groupby(["pond", "number"], as_index=False)["cells"].sum()
    ranked = total.sort_values(["cells", "number"], ascending=[False, True])
    top = ranked.drop_duplicates("pond")
    result[top["pond"].to_numpy()] = top["number"].to_numpy()
    return result
