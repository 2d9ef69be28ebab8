"""The exact choice of fields and sowing weeks, as a mixed-integer programme on the same years."""

from dataclasses import dataclass, replace
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from suitability.plan_model import build

Floats = NDArray[np.float64]
Aim = Literal["mean", "8 in 10"]
AIMS: tuple[str, ...] = ("mean", "8 in 10")
SECONDS = 60.0  # longest search; a plan that is not proved best by then says so
_ROUNDING = 1e-7  # what a first aim may give way to a second one, of the largest sum
_FAILED = 4  # status of scipy's milp: numbers went wrong, nothing is said of the plan


@dataclass(frozen=True)
class Choices:
    """What can be chosen: one entry a field and sowing week.

    ``field`` (n,) numbers the field of each entry; ``net_usd`` (n, years) is what it brings in each
    year of the same years, without seed, and without what is eaten where ``eaten_kg`` (n, years)
    is worth ``eaten_usd_kg`` only up to the herd's need. ``seed_kg``, ``inoculant_usd`` and
    ``area_ha`` (n,). ``on_offer_kg`` (n, feed weeks) is what stock can take of the whole field in
    each week of need, in 8 years of 10; it can be taken once. ``offer_kg`` (n, years, feed weeks)
    is the same in each year; None: ``on_offer_kg`` in every year.
    """

    field: NDArray[np.int64]
    net_usd: Floats
    eaten_kg: Floats
    seed_kg: Floats
    inoculant_usd: Floats
    area_ha: Floats
    on_offer_kg: Floats
    bag_kg: float
    bag_usd: float
    eaten_usd_kg: float
    offer_kg: Floats | None = None

    def offer_by_year_kg(self) -> Floats:
        """What stock can take of the whole field (n, years, feed weeks)."""
        if self.offer_kg is not None:
            return self.offer_kg
        shape = (*self.net_usd.shape, self.on_offer_kg.shape[1])
        return np.broadcast_to(self.on_offer_kg[:, None, :], shape)


@dataclass(frozen=True)
class Limits:
    """What binds the choice; None where nothing does.

    ``order_budget_usd`` is for whole bags and inoculant. ``must`` and ``never`` are numbers of
    fields. ``need_kg`` is what the herd eats in all, ``need_by_week_kg`` (feed weeks,) when: of
    that no more counts than is there in those weeks. ``feed_first``: the weeks are fed before any
    money counts.
    """

    aim: Aim = "mean"
    order_budget_usd: float | None = None
    most_ha: float | None = None
    least_ha: float | None = None
    must: frozenset[int] = frozenset()
    never: frozenset[int] = frozenset()
    need_kg: float | None = None
    need_by_week_kg: tuple[float, ...] = ()
    feed_first: bool = True


@dataclass(frozen=True)
class Chosen:
    """The choice: numbers of the entries taken, bags, and what it brings.

    ``aim_usd`` is the value of the aim, ``by_year_usd`` (years,) the return of each year.
    ``short_kg`` (feed weeks,) is what lacks of the need; ``grazed_share`` (taken, feed weeks) how
    much of each field is grazed when; ``fed_kg`` (years,) what is eaten, of ``fed_kg()``.
    ``proved``: no better choice exists.
    """

    taken: tuple[int, ...]
    n_bags: int
    aim_usd: float
    by_year_usd: Floats
    short_kg: Floats
    grazed_share: Floats
    fed_kg: Floats
    proved: bool


def reached_years(n_years: int) -> int:
    """How many of so many years are 8 of 10, rounded up.

    >>> reached_years(30), reached_years(29), reached_years(10)
    (24, 24, 8)
    """
    return -(-8 * n_years // 10)


def choose(choices: Choices, limits: Limits, seconds: float = SECONDS) -> Chosen | None:
    """Best choice under the limits; None where no choice keeps them.

    Notes
    -----
    A field is sown whole, in one week, or not at all. First as little of the herd's need as
    possible is left open, then the aim is made best, and of equals under "8 in 10" the best mean.
    Solved by branch and bound (HiGHS), so a choice that is proved is the best there is.
    """
    if not choices.net_usd.size:
        return _nothing(choices, limits)
    kept = _undominated(choices, limits)
    small = _only(choices, kept)
    fixed_short: float | None = None
    if limits.need_by_week_kg and limits.feed_first:
        first = _solve(small, limits, "shortage", None, None, seconds)
        if first is None:
            return None
        fixed_short = float(first.short_kg.sum())
    found = _solve(small, limits, "mean", fixed_short, None, seconds)
    if found is not None and limits.aim == "8 in 10":
        # What the best mean reaches in 8 years of 10 is a floor that shortens the search.
        found = _solve(small, limits, "aim", fixed_short, found.aim_usd, seconds) or found
    if found is not None and limits.aim == "8 in 10":
        better = _solve(small, limits, "mean", fixed_short, found.aim_usd, seconds)
        found = found if better is None else replace(better, proved=found.proved)
    return None if found is None else replace(found, taken=tuple(int(kept[i]) for i in found.taken))


def _nothing(choices: Choices, limits: Limits) -> Chosen | None:
    """The plan of a farm without a field to choose."""
    if limits.must or (limits.least_ha or 0.0) > 0:
        return None
    years = choices.net_usd.shape[1]
    short = np.array(limits.need_by_week_kg)
    share, none = np.zeros((0, len(short))), np.zeros(years)
    return Chosen((), 0, 0.0, none, short, share, none, proved=True)


def aim_value(by_year_usd: Floats, aim: str) -> float:
    """Value of an aim: the mean year, or the return reached in 8 years of 10 [USD]."""
    if aim == "mean":
        return float(by_year_usd.mean())
    return float(np.sort(by_year_usd)[len(by_year_usd) - reached_years(len(by_year_usd))])


def fed_kg(
    choices: Choices, taken: tuple[int, ...], limits: Limits, grazed_share: Floats
) -> Floats:
    """What is eaten in each year, array (years,) [kg].

    Never more than the need in all; and where the need has weeks, in each of them no more than is
    planned to be taken, and than is there that year of what is grazed in it.
    """
    rows = list(taken)
    eaten: Floats = choices.eaten_kg[rows].sum(axis=0)
    if limits.need_kg is not None:
        eaten = np.minimum(eaten, limits.need_kg)
    if limits.need_by_week_kg:
        there = (choices.offer_by_year_kg()[rows] * grazed_share[:, None, :]).sum(axis=0)
        planned = (choices.on_offer_kg[rows] * grazed_share).sum(axis=0)
        most = np.minimum(planned, limits.need_by_week_kg)
        in_weeks = np.minimum(there, most).sum(axis=1)
        eaten = np.minimum(eaten, in_weeks + undated_kg(limits))
    return eaten


def undated_kg(limits: Limits) -> float:
    """Need of herds that do not say when, beside those that do [kg]."""
    return max((limits.need_kg or 0.0) - sum(limits.need_by_week_kg), 0.0)


def by_year_usd(choices: Choices, taken: tuple[int, ...], n_bags: int, eaten_kg: Floats) -> Floats:
    """Return of each year of a choice [USD]; ``eaten_kg`` (years,) of ``fed_kg``."""
    result: Floats = (
        choices.net_usd[list(taken)].sum(axis=0)
        + eaten_kg * choices.eaten_usd_kg
        - n_bags * choices.bag_usd
    )
    return result


def aim_of(choices: Choices, limits: Limits, entries: tuple[int, ...], seconds: float) -> float:
    """Best aim of sowing every field of these entries, whatever it costs and in which of them."""
    if not entries:
        return 0.0
    some = _only(choices, np.array(entries, dtype=np.int64))
    fields = frozenset(int(f) for f in some.field)
    free = Limits(
        aim=limits.aim,
        must=fields,
        need_kg=limits.need_kg,
        need_by_week_kg=limits.need_by_week_kg,
        feed_first=False,
    )
    found = choose(some, free, seconds)
    return float("nan") if found is None else found.aim_usd


def _solve(
    choices: Choices,
    limits: Limits,
    goal: Literal["shortage", "aim", "mean"],
    most_short_kg: float | None,
    least_aim_usd: float | None,
    seconds: float,
) -> Chosen | None:
    from scipy.optimize import Bounds, LinearConstraint, milp

    # The solver's tolerances are absolute: thousands of dollars and tonnes would be too much.
    usd, kg = _size(choices.net_usd), max(_size(choices.on_offer_kg), _size(choices.eaten_kg))
    scaled, bound = _scaled(choices, limits, usd, kg)
    slack_kg = None if most_short_kg is None else most_short_kg / kg + _ROUNDING
    slack_usd = None if least_aim_usd is None else least_aim_usd / usd - _ROUNDING
    model = build(scaled, bound, goal, slack_kg, slack_usd)
    for presolve in (True, False):
        answer = milp(
            model.cost,
            integrality=model.integer,
            bounds=Bounds(model.low, model.high),
            constraints=LinearConstraint(model.matrix, model.least, model.most),
            options={"mip_rel_gap": 0.0, "time_limit": seconds, "presolve": presolve},
        )
        if answer.status != _FAILED:
            break
    else:
        raise RuntimeError(f"the optimiser failed: {answer.message}")
    if answer.x is None:
        return None
    taken = tuple(int(i) for i in np.nonzero(answer.x[model.entries] > 0.5)[0])
    bags = round(float(answer.x[model.bags]))
    share = answer.x[model.shares].reshape(len(choices.field), -1)[list(taken)]
    eaten = fed_kg(choices, taken, limits, share)
    years = by_year_usd(choices, taken, bags, eaten)
    return Chosen(
        taken=taken,
        n_bags=bags,
        aim_usd=aim_value(years, limits.aim),
        by_year_usd=years,
        short_kg=np.maximum(answer.x[model.shortage], 0.0) * kg,
        grazed_share=share,
        fed_kg=eaten,
        proved=answer.status == 0,
    )


def _size(values: Floats) -> float:
    return max(float(np.abs(values).max(initial=0.0)), 1.0)


def _scaled(choices: Choices, limits: Limits, usd: float, kg: float) -> tuple[Choices, Limits]:
    """The same with money in units of ``usd`` and feed in units of ``kg``."""

    def part(value: float | None, unit: float) -> float | None:
        return None if value is None else value / unit

    return replace(
        choices,
        net_usd=choices.net_usd / usd,
        inoculant_usd=choices.inoculant_usd / usd,
        bag_usd=choices.bag_usd / usd,
        seed_kg=choices.seed_kg / choices.bag_kg,
        bag_kg=1.0,
        eaten_kg=choices.eaten_kg / kg,
        on_offer_kg=choices.on_offer_kg / kg,
        offer_kg=None if choices.offer_kg is None else choices.offer_kg / kg,
        eaten_usd_kg=choices.eaten_usd_kg * kg / usd,
    ), replace(
        limits,
        order_budget_usd=part(limits.order_budget_usd, usd),
        need_kg=part(limits.need_kg, kg),
        need_by_week_kg=tuple(need / kg for need in limits.need_by_week_kg),
    )


def _undominated(choices: Choices, limits: Limits) -> NDArray[np.int64]:
    """Entries that no other week of the same field beats in every year at no more seed."""
    n = len(choices.field)
    if limits.need_by_week_kg:
        return np.arange(n)
    keep = np.ones(n, dtype=bool)
    for field in np.unique(choices.field):
        rows = np.nonzero(choices.field == field)[0]
        if limits.aim == "mean" and limits.need_kg is None and _same_cost(choices, rows):
            value = choices.net_usd[rows] + choices.eaten_kg[rows] * choices.eaten_usd_kg
            keep[rows] = False
            keep[rows[np.argmax(value.mean(axis=1))]] = True
            continue
        for i in rows:
            keep[i] = not any(_beats(choices, int(j), int(i)) for j in rows if j != i and keep[j])
    return np.nonzero(keep)[0]


def _same_cost(choices: Choices, rows: NDArray[np.int64]) -> bool:
    columns = (choices.seed_kg, choices.inoculant_usd, choices.area_ha)
    return all(np.ptp(column[rows]) == 0 for column in columns)


def _beats(choices: Choices, better: int, worse: int) -> bool:
    return bool(
        (choices.net_usd[better] >= choices.net_usd[worse]).all()
        and (choices.eaten_kg[better] >= choices.eaten_kg[worse]).all()
        and choices.seed_kg[better] <= choices.seed_kg[worse]
        and choices.inoculant_usd[better] <= choices.inoculant_usd[worse]
        and choices.area_ha[better] == choices.area_ha[worse]
    )


def _only(choices: Choices, rows: NDArray[np.int64]) -> Choices:
    per_entry = ("field", "net_usd", "eaten_kg", "seed_kg", "inoculant_usd", "area_ha")
    return replace(
        choices,
        on_offer_kg=choices.on_offer_kg[rows],
        offer_kg=None if choices.offer_kg is None else choices.offer_kg[rows],
        **{name: getattr(choices, name)[rows] for name in per_entry},
    )
