"""The choice of fields written as rows and columns of a mixed-integer programme."""

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from suitability.plan_values import Choices, Limits, reached_years, undated_kg

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Model:
    """A programme to be made least: cost, bounds, whole numbers, rows; and where things stand."""

    cost: Floats
    low: Floats
    high: Floats
    integer: NDArray[np.int64]
    matrix: Any
    least: Floats
    most: Floats
    entries: slice
    bags: int
    shares: slice
    shortage: slice


class _Rows:
    """Collects the rows of a sparse matrix."""

    def __init__(self) -> None:
        self.i: list[int] = []
        self.j: list[int] = []
        self.v: list[float] = []
        self.least: list[float] = []
        self.most: list[float] = []

    def add(self, terms: list[tuple[Any, Any]], least: float, most: float) -> None:
        row = len(self.least)
        for columns, values in terms:
            places = np.atleast_1d(columns)
            self.i += [row] * len(places)
            self.j += [int(p) for p in places]
            self.v += [float(v) for v in np.broadcast_to(values, places.shape)]
        self.least.append(least)
        self.most.append(most)


def build(
    choices: Choices,
    limits: Limits,
    goal: str,
    most_short_kg: float | None,
    least_aim_usd: float | None,
) -> Model:
    """Write the programme.

    Columns: an entry taken or not; bags; feed eaten in each year, at most what grows and what the
    herd needs; the return reached, and in which years it is; shares of a field grazed in each week
    of need; what lacks in each.

    Parameters
    ----------
    goal : "shortage", "aim" or "mean", what is made best. most_short_kg, least_aim_usd : what an
        earlier solution reached and this one must keep.
    """
    n, years = choices.net_usd.shape
    weeks = len(limits.need_by_week_kg)
    least_years = reached_years(years)
    bags, eaten = n, slice(n + 1, n + 1 + years)
    reached = n + 1 + years
    in_year = slice(reached + 1, reached + 1 + years)
    shares = slice(in_year.stop, in_year.stop + n * weeks)
    shortage = slice(shares.stop, shares.stop + weeks)
    size = shortage.stop
    low, high = np.zeros(size), np.ones(size)
    integer = np.zeros(size, dtype=np.int64)
    integer[: n + 1] = 1
    integer[in_year] = 1
    most_bags = np.ceil(choices.seed_kg.sum() / choices.bag_kg) + 1
    high[bags] = most_bags
    high[eaten] = choices.eaten_kg.sum(axis=0) if limits.need_kg is None else limits.need_kg
    floor, ceiling = _span(choices, limits, float(most_bags))
    # More than this is reached in fewer than 8 years of 10 by any plan.
    most_usd = float(np.sort(ceiling)[years - least_years])
    low[reached], high[reached] = floor.min(), most_usd
    high[shortage] = np.array(limits.need_by_week_kg)
    rows = _Rows()
    entry = np.arange(n)
    for field in np.unique(choices.field):
        mine = entry[choices.field == field]
        must, never = int(field) in limits.must, int(field) in limits.never
        rows.add([(mine, 1.0)], 1.0 if must else 0.0, 0.0 if never else 1.0)
    rows.add([(entry, choices.seed_kg), (bags, -choices.bag_kg)], -np.inf, 0.0)
    if limits.order_budget_usd is not None:
        terms = [(entry, choices.inoculant_usd), (bags, choices.bag_usd)]
        rows.add(terms, -np.inf, limits.order_budget_usd)
    if limits.most_ha is not None:
        rows.add([(entry, choices.area_ha)], -np.inf, limits.most_ha)
    if limits.least_ha is not None:
        rows.add([(entry, choices.area_ha)], limits.least_ha, np.inf)
    for y in range(years):
        rows.add([(eaten.start + y, 1.0), (entry, -choices.eaten_kg[:, y])], -np.inf, 0.0)
    if goal != "shortage":
        _add_fed(rows, choices, limits, eaten.start, shares)
    for t in range(weeks):
        grazed = shares.start + entry * weeks + t
        terms = [(grazed, choices.on_offer_kg[:, t])]
        rows.add(terms, -np.inf, limits.need_by_week_kg[t])
        terms.append((shortage.start + t, 1.0))
        rows.add(terms, limits.need_by_week_kg[t], np.inf)
    for i in range(n if weeks else 0):
        rows.add([(shares.start + i * weeks + np.arange(weeks), 1.0), (i, -1.0)], -np.inf, 0.0)
    _add_at_most_needed(rows, choices, limits, shares)
    if most_short_kg is not None:
        rows.add([(np.arange(shortage.start, shortage.stop), 1.0)], -np.inf, most_short_kg)
    by_reached = limits.aim != "mean"
    if by_reached:
        rows.add([(np.arange(in_year.start, in_year.stop), 1.0)], least_years, np.inf)
        for y in range(years):
            span = most_usd - float(floor[y])
            terms = [
                (reached, 1.0),
                (entry, -choices.net_usd[:, y]),
                (bags, choices.bag_usd),
                (eaten.start + y, -choices.eaten_usd_kg),
                (in_year.start + y, span),
            ]
            rows.add(terms, -np.inf, span)
        if least_aim_usd is not None:
            low[reached] = min(least_aim_usd, high[reached])
    cost = np.zeros(size)
    if goal == "shortage":
        cost[shortage] = 1.0
    elif goal == "aim" and by_reached:
        cost[reached] = -1.0
    else:
        cost[entry] = -choices.net_usd.mean(axis=1)
        cost[bags] = choices.bag_usd
        cost[eaten] = -choices.eaten_usd_kg / years
    return Model(
        cost, low, high, integer, _sparse(rows, size), np.array(rows.least), np.array(rows.most),
        slice(0, n), bags, shares, shortage,
    )  # fmt: skip


def _add_at_most_needed(rows: _Rows, choices: Choices, limits: Limits, shares: slice) -> None:
    """No more of a field is grazed in a week than the herd needs then, if the field is sown.

    That follows from the rest where fields are sown whole; said so, a part of a field no longer
    stands in for all of it while the search goes on, which shortens it by far.
    """
    weeks = len(limits.need_by_week_kg)
    for i, t in zip(*np.nonzero(choices.on_offer_kg[:, :weeks]), strict=True):
        most = limits.need_by_week_kg[t] / choices.on_offer_kg[i, t]
        if most < 1:
            rows.add([(shares.start + i * weeks + t, 1.0), (i, -most)], -np.inf, 0.0)


def _add_fed(rows: _Rows, choices: Choices, limits: Limits, eaten: int, shares: slice) -> None:
    """In no year more is eaten than the plan takes of each field and than is there of it."""
    if not limits.need_by_week_kg:
        return
    there = choices.counted_kg()
    every = np.arange(shares.start, shares.stop)
    for y in range(there.shape[1]):
        kg = there[:, y].ravel()
        grazed = np.nonzero(kg)[0]
        rows.add([(eaten + y, 1.0), (every[grazed], -kg[grazed])], -np.inf, undated_kg(limits))


def _span(choices: Choices, limits: Limits, most_bags: float) -> tuple[Floats, Floats]:
    """Least and most that any choice can return in each year [USD]."""
    years = choices.net_usd.shape[1]
    low, high = np.full(years, -most_bags * choices.bag_usd), np.zeros(years)
    for field in np.unique(choices.field):
        mine = choices.field == field
        low += np.minimum(choices.net_usd[mine].min(axis=0), 0.0)
        whole = choices.net_usd[mine] + choices.eaten_kg[mine] * choices.eaten_usd_kg
        high += np.maximum(whole.max(axis=0), 0.0)
    return low, high


def _sparse(rows: _Rows, size: int) -> Any:
    from scipy.sparse import csr_array

    return csr_array((rows.v, (rows.i, rows.j)), shape=(len(rows.least), size))
