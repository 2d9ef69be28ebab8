"""Places the lesser soils of a map unit where the ground looks like theirs, and nowhere else.

The survey says that a tenth of a unit is a wet soil, not where. Its share is an average over the
survey area, so cells are ranked over the whole of a unit's ground in reach, never within one field,
and what no ground looks like stays not placed.
"""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from layers.ground_cells import GroundCells
from layers.inclusions import ground_rules
from layers.terrain.position import HOLLOW, rise_m

# Any hollow comes before any other ground: no wetness index reaches this.
_HOLLOWS_FIRST = 1000.0


def placed(
    groups: Sequence[GroundCells],
    mukeys: Sequence[str],
    cokeys: Sequence[str],
    inclusions: pd.DataFrame,
) -> tuple[tuple[GroundCells, ...], pd.DataFrame]:
    """Give cells to the inclusions of their map unit.

    Parameters
    ----------
    groups : cells of each group, nothing placed. mukeys, cokeys : the lists they count in.
    inclusions : mukey, cokey, share_frac, ground (``layers.inclusions``), wettest of a unit first.

    Returns
    -------
    groups : the same with ``component`` set where a soil was placed.
    table : one row an inclusion of a unit in reach: mukey, cokey, share_frac [frac of the unit],
        unit_m2 (the unit's dry ground in reach), placed_m2.

    Notes
    -----
    A soil gets no more cells than its share of the unit. Which cells qualify, and in which order,
    stands in ``tables/inclusion_ground.csv``.
    """
    rules = ground_rules()
    row_of_unit = {key: i for i, key in enumerate(mukeys)}
    row_of_soil = {key: i for i, key in enumerate(cokeys)}
    wanted = inclusions[inclusions["mukey"].isin(row_of_unit)]
    known = [cells.known.ravel() for cells in groups]
    holding: dict[int, list[int]] = {}
    for at, cells in enumerate(groups):
        for unit in np.unique(cells.unit).tolist():
            holding.setdefault(unit, []).append(at)
    component = [cells.component.ravel().copy() for cells in groups]
    rows = []
    for mukey, soils in wanted.groupby("mukey", sort=False):
        unit = row_of_unit[str(mukey)]
        here = [
            (at, np.flatnonzero((groups[at].unit.ravel() == unit) & known[at]))
            for at in holding.get(unit, ())
        ]
        here = [(at, flat) for at, flat in here if flat.size]
        if not here:
            continue
        which = np.concatenate([np.full(len(flat), at, np.int32) for at, flat in here])
        cell = np.concatenate([flat for _, flat in here])
        looks = _looks(groups, here)
        unit_m2 = float(looks["m2"].sum(dtype=np.float64))
        free = np.ones(len(cell), bool)
        for soil in soils.itertuples():
            chosen = _chosen(looks, free, rules.loc[soil.ground], soil.share_frac * unit_m2)
            free[chosen] = False
            for at, _ in here:
                mine = chosen[which[chosen] == at]
                component[at][cell[mine]] = row_of_soil[soil.cokey]
            m2 = float(looks["m2"][chosen].sum(dtype=np.float64))
            if abs(m2 - soil.share_frac * unit_m2) < looks["m2"].max():
                m2 = soil.share_frac * unit_m2  # all of it but part of a cell
            rows.append((mukey, soil.cokey, soil.share_frac, unit_m2, m2))
    columns = ["mukey", "cokey", "share_frac", "unit_m2", "placed_m2"]
    done = tuple(
        replace(cells, component=soil.reshape(cells.component.shape))
        for cells, soil in zip(groups, component, strict=True)
    )
    return done, pd.DataFrame(rows, columns=columns)


def _looks(
    groups: Sequence[GroundCells], here: Sequence[tuple[int, NDArray[np.int64]]]
) -> dict[str, NDArray[np.float32]]:
    """What the ground of a unit looks like, cell after cell over all groups."""
    result: dict[str, list[NDArray[np.float32]]] = {}
    for at, flat in here:
        cells = groups[at]
        shape = cells.shape
        seen = {
            "wetness": shape.wetness.ravel()[flat],
            "slope_pct": 100 * shape.slope_frac.ravel()[flat],
            "rises_above": shape.above_m.ravel()[flat] / rise_m(shape),
            "fill_m": shape.fill_m.ravel()[flat],
            "hollow": cells.position.ravel()[flat] == HOLLOW,
            "m2": np.full(len(flat), cells.cell_m2),
        }
        for name, values in seen.items():
            result.setdefault(name, []).append(np.asarray(values, np.float32))
    return {name: np.concatenate(values) for name, values in result.items()}


def _chosen(
    looks: dict[str, NDArray[np.float32]],
    free: NDArray[np.bool_],
    rule: pd.Series,
    share_m2: float,
) -> NDArray[np.int64]:
    """The cells that look most like the soil's ground, up to its share."""
    wetness, hollow = looks["wetness"], looks["hollow"] > 0
    wet = wetness >= np.quantile(wetness, rule["least_quantile"])
    gentle = looks["slope_pct"] <= rule["most_slope_pct"]
    low = looks["rises_above"] <= -rule["below_times"]
    can = np.flatnonzero(free & (hollow | (wet & gentle & low)))
    score = wetness[can]
    if rule["hollows_first"]:
        score = np.where(hollow[can], _HOLLOWS_FIRST + looks["fill_m"][can], score)
    can = can[np.argsort(-score, kind="stable")]
    # Half a cell of grace, so that a share of whole cells is met.
    enough = np.cumsum(looks["m2"][can], dtype=np.float64) <= share_m2 + 0.5 * looks["m2"].min(
        initial=0.0
    )
    return np.asarray(can[enough], np.int64)
