"""One run of the optimiser: a choice, what it brings, and how far it may be from the best."""

import os
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from typing import Any, Literal

import numpy as np

from suitability.plan_model import build
from suitability.plan_values import Choices, Chosen, Floats, Limits, aim_value, by_year_usd, fed_kg
from suitability.seed_order import whole_bags

_ROUNDING = 1e-7  # what a first aim may give way to a second one, of the largest sum
_FAILED = 4  # status of scipy's milp: numbers went wrong, nothing is said of the plan


def solved(
    choices: Choices,
    limits: Limits,
    goal: Literal["shortage", "aim", "mean"],
    most_short_kg: float | None,
    least_aim_usd: float | None,
    seconds: float,
) -> Chosen | None:
    """Best choice for one goal; None where there is none, or none was found in time.

    Parameters
    ----------
    goal, most_short_kg, least_aim_usd : of ``plan_model.build``. seconds : the longest search.
    """
    from scipy.optimize import Bounds, LinearConstraint, milp

    # The solver's tolerances are absolute: thousands of dollars and tonnes would be too much.
    usd, kg = _size(choices.net_usd), max(_size(choices.on_offer_kg), _size(choices.eaten_kg))
    scaled, bound = _scaled(choices, limits, usd, kg)
    slack_kg = None if most_short_kg is None else most_short_kg / kg + _ROUNDING
    slack_usd = None if least_aim_usd is None else least_aim_usd / usd - _ROUNDING
    model = build(scaled, bound, goal, slack_kg, slack_usd)
    for presolve in (True, False):
        with _silent():
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
    bags = whole_bags(float(choices.seed_kg[list(taken)].sum()), choices.bag_kg)
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
        more_usd=0.0 if answer.status == 0 else _more_usd(answer, usd),
    )


def _more_usd(answer: Any, usd: float) -> float:
    """How much better a choice may be that a search cut short did not find [USD]."""
    bound = answer.mip_dual_bound
    if bound is None or not np.isfinite(bound):
        return float("inf")
    return max(float(answer.fun - bound), 0.0) * usd


@contextmanager
def _silent() -> Iterator[None]:
    """Keep lines that the solver's own library prints off the user's screen."""
    sys.stdout.flush()
    try:
        kept = os.dup(1)
    except OSError:  # a program without a standard output has nothing to keep clean
        yield
        return
    nowhere = os.open(os.devnull, os.O_WRONLY)
    try:
        os.dup2(nowhere, 1)
        yield
    finally:
        os.dup2(kept, 1)
        os.close(kept)
        os.close(nowhere)


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
