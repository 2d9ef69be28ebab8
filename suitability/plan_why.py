"""Why each field is in or out, what the next one would add, and what one more bag is worth."""

from dataclasses import dataclass, replace

import numpy as np

from suitability.plan_choice import aim_of, choose
from suitability.plan_values import Choices, Chosen, Limits, aim_value, by_year_usd, fed_kg
from suitability.seed_order import whole_bags

# In: put in by the grower; pays for itself; helps to the least area; helps to the feed needed.
# Out: left out by the grower; does not pay beside this plan; it would, but the budget, the most
# acres or both went to better ones; the budget does not do for it; it went to fields that the herd
# needs.
CODES = (
    "you_put_in",
    "pays",
    "least_area",
    "feed",
    "you_left_out",
    "does_not_pay",
    "budget",
    "budget_small",
    "budget_feed",
    "area",
    "budget_and_area",
)
MOST_SOLVED = 60  # fields for which the choice is made again without them; more: their own return
_SECONDS = 3.0  # for each time the choice is made again


@dataclass(frozen=True)
class Reasons:
    """By number of field: the code, and what the plan would lose without it or lose by taking it.

    ``worth_usd`` of a field that is in: the aim with it less the best aim without it; where a herd
    must be fed, less that of the other fields alone. Of a field that is
    out: what adding it to this plan would bring, whatever the limits. ``next_field`` is the best of
    those that are out; None where none is. ``bag_usd``: what the aim gains when the budget holds
    one more bag; None without a budget, NaN where the search was too short to tell. ``need_usd``:
    what the aim gives up for the herd's need: how much more buying the hay and sowing only what
    pays would leave. ``cheapest_field``: of the fields that would pay but whose order alone is over
    the budget, the one with the cheapest order, ``cheapest_usd``; None where there is none.
    """

    code: dict[int, str]
    worth_usd: dict[int, float]
    next_field: int | None
    next_usd: float
    bag_usd: float | None
    need_usd: float | None
    cheapest_field: int | None
    cheapest_usd: float


def reasons(choices: Choices, limits: Limits, chosen: Chosen) -> Reasons:
    """Explain a choice by making it again with a limit lifted or a field taken away."""
    fields = [int(f) for f in np.unique(choices.field)]
    taken = {int(choices.field[i]): i for i in chosen.taken}
    code: dict[int, str] = {}
    worth: dict[int, float] = {}
    solve = len(taken) <= MOST_SOLVED and not limits.need_by_week_kg
    by_itself = _by_itself(choices, limits, taken)
    own_usd = _aim_of(choices, limits, chosen.taken) if fields else 0.0
    for field in taken:
        worth[field] = _worth_in(choices, limits, chosen, field, own_usd, solve=solve)
        # A field that would pay in another week may be sown for the herd in one where it does not.
        for_herd = bool(limits.need_by_week_kg) and worth[field] < 0
        code[field] = _why_in(limits, field, set() if for_herd else by_itself)
    lifted = _lifted(choices, limits)
    for field in fields:
        if field in taken:
            continue
        worth[field] = _worth_out(choices, limits, chosen, field, own_usd)
        code[field] = _why_out(limits, field, lifted, worth[field])
        if code[field] in ("budget", "budget_feed") and _too_dear(choices, limits, field):
            code[field] = "budget_small"
    small = {f: _order_usd(choices, f) for f in fields if code[f] == "budget_small"}
    cheapest = min(small, key=lambda f: small[f], default=None)
    out = [f for f in fields if f not in taken and f not in limits.never]
    best = max(out, key=lambda f: worth[f], default=None)
    return Reasons(
        code,
        worth,
        best,
        worth[best] if best is not None else float("nan"),
        _bag_usd(choices, limits, chosen),
        _need_usd(choices, limits, chosen),
        cheapest,
        small[cheapest] if cheapest is not None else float("nan"),
    )


def _worth_in(
    choices: Choices, limits: Limits, chosen: Chosen, field: int, own_usd: float, *, solve: bool
) -> float:
    free = replace(limits, must=limits.must - {field}, never=limits.never | {field})
    free = replace(free, least_ha=None)
    without = choose(choices, free, _SECONDS, best_mean=False) if solve else None
    if without is not None and without.proved:
        return chosen.aim_usd - without.aim_usd
    rest = tuple(i for i in chosen.taken if choices.field[i] != field)
    return own_usd - _aim_of(choices, limits, rest)


def _worth_out(
    choices: Choices, limits: Limits, chosen: Chosen, field: int, own_usd: float
) -> float:
    mine = tuple(int(i) for i in np.nonzero(choices.field == field)[0])
    if limits.need_by_week_kg:
        more = [aim_of(choices, limits, (*chosen.taken, *mine), _SECONDS)]
    else:
        more = [_aim_of(choices, limits, (*chosen.taken, i)) for i in mine]
    return max(more) - own_usd


def _aim_of(choices: Choices, limits: Limits, taken: tuple[int, ...]) -> float:
    """Aim of just these entries; where grazing has weeks, grazed as it pays most."""
    if limits.need_by_week_kg:
        return aim_of(choices, limits, taken, _SECONDS)
    eaten = fed_kg(choices, taken, limits, np.zeros((len(taken), 0)))
    bags = whole_bags(float(choices.seed_kg[list(taken)].sum()), choices.bag_kg)
    return aim_value(by_year_usd(choices, taken, bags, eaten), limits.aim)


def _by_itself(choices: Choices, limits: Limits, taken: dict[int, int]) -> set[int]:
    """Fields that would be in without a least area and without a need of feed."""
    if limits.least_ha is None and not limits.need_by_week_kg:
        return set(taken)
    free = choose(choices, replace(limits, least_ha=None, feed_first=False), _SECONDS)
    return set() if free is None else {int(choices.field[i]) for i in free.taken}


def _why_in(limits: Limits, field: int, by_itself: set[int]) -> str:
    if field in limits.must:
        return "you_put_in"
    if field in by_itself:
        return "pays"
    return "feed" if limits.need_by_week_kg else "least_area"


def _lifted(choices: Choices, limits: Limits) -> dict[str, set[int]]:
    """Which fields would be in with a limit lifted."""
    lifted = {
        "budget": replace(limits, order_budget_usd=None),
        "area": replace(limits, most_ha=None),
        "budget_and_area": replace(limits, order_budget_usd=None, most_ha=None),
    }
    found = {}
    for name, free in lifted.items():
        again = choose(choices, free, _SECONDS) if free != limits else None
        found[name] = set() if again is None else {int(choices.field[i]) for i in again.taken}
    return found


def _why_out(limits: Limits, field: int, lifted: dict[str, set[int]], worth_usd: float) -> str:
    if field in limits.never:
        return "you_left_out"
    # With a limit lifted a field may feed the herd and still cost more than it brings.
    for name in ("budget", "area", "budget_and_area") if worth_usd > 0 else ():
        if field in lifted[name]:
            return "budget_feed" if name == "budget" and limits.need_by_week_kg else name
    return "does_not_pay"


def _too_dear(choices: Choices, limits: Limits, field: int) -> bool:
    """Whether the order for this field alone is more than the budget."""
    budget = limits.order_budget_usd
    return budget is not None and _order_usd(choices, field) > budget


def _order_usd(choices: Choices, field: int) -> float:
    """Whole bags and inoculant for this field alone [USD]."""
    mine = choices.field == field
    bags = whole_bags(float(choices.seed_kg[mine].min()), choices.bag_kg)
    return bags * choices.bag_usd + float(choices.inoculant_usd[mine].min())


def _bag_usd(choices: Choices, limits: Limits, chosen: Chosen) -> float | None:
    if limits.order_budget_usd is None:
        return None
    more = replace(limits, order_budget_usd=limits.order_budget_usd + choices.bag_usd)
    again = choose(choices, more, _SECONDS, best_mean=False)
    if again is None or not (again.proved and chosen.proved):
        return float("nan")
    return max(again.aim_usd - chosen.aim_usd, 0.0)


def _need_usd(choices: Choices, limits: Limits, chosen: Chosen) -> float | None:
    if not limits.need_by_week_kg:
        return None
    free = choose(choices, replace(limits, feed_first=False), _SECONDS, best_mean=False)
    return None if free is None else max(free.aim_usd - chosen.aim_usd, 0.0)
