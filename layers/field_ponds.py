"""The closed depressions of a group of fields, and on which soil each pond stands."""

from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from layers.depressions import Depressions, find_depressions
from layers.ground import GroundRead
from layers.ground_cells import NOWHERE, GroundCells
from layers.terrain.settings import setting as terrain_setting
from suitability.ponds import stage_classes

_MOST = "area"


@dataclass(frozen=True)
class FieldPonds:
    """``found`` the depressions; ``height_m`` (pond, class) the heights asked for.

    ``floor`` and ``catchment`` (n_ponds,) are cokeys of the soil under the pond and of the ground
    that drains to it, empty where not known; ``own_soil`` is True where the soil under the pond was
    placed there, so that the survey's water table is that of the hollow itself.
    """

    found: Depressions
    height_m: NDArray[np.float64]
    floor: tuple[str, ...]
    catchment: tuple[str, ...]
    own_soil: NDArray[np.bool_]


def field_ponds(cells: GroundCells, ground: GroundRead) -> FieldPonds | None:
    """Find the depressions of one group of fields; None where there are none.

    Parameters
    ----------
    cells : one of ``ground.cells``. ground : of ``layers.ground.ground_of``.
    """
    raw = cells.grid.values.astype(np.float64)
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
    brim = np.append(found.curves.brim_m, -np.inf)
    drains = found.drains_to
    under = np.nan_to_num(raw, nan=np.inf) < brim[drains]
    placed = _mode(drains, cells.component, under & (cells.component >= 0), found.n_ponds)
    under_unit = _mode(drains, cells.unit, under & (cells.unit >= 0), found.n_ponds)
    around = _mode(drains, cells.unit, (drains >= 0) & (cells.unit >= 0), found.n_ponds)
    floor = [
        ground.cokeys[p] if p != NOWHERE else _soil_of(u, ground, main)
        for p, u in zip(placed, under_unit, strict=True)
    ]
    return FieldPonds(
        found,
        stage_classes(found.curves),
        tuple(floor),
        tuple(_soil_of(u, ground, main) for u in around),
        placed != NOWHERE,
    )


def _main_soil(ground: GroundRead) -> dict[str, str]:
    """The soil with most of each map unit, by mukey."""
    soils = ground.components[ground.components["kind"] == "soil"]
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
    pairs = pd.DataFrame({"pond": pond[where], "number": number[where]})
    pairs = pairs[pairs["pond"] >= 0]
    if len(pairs):
        counts = pairs.value_counts().rename(_MOST).reset_index()
        top = counts.sort_values([_MOST, "number"], ascending=[False, True]).drop_duplicates("pond")
        result[top["pond"].to_numpy()] = top["number"].to_numpy()
    return result
