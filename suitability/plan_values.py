"""What a plan is chosen from, what binds the choice, and what a choice brings in each year."""

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Aim = Literal["mean", "8 in 10"]
AIMS: tuple[str, ...] = ("mean", "8 in 10")


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

    def counted_kg(self) -> Floats:
        """The part of it that counts in a plan made on ``on_offer_kg`` (n, years, feed weeks).

        No more than is planned of this very field: what another has too much that year does not
        make up for what this one lacks.
        """
        return np.minimum(self.offer_by_year_kg(), self.on_offer_kg[:, None, :])


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
    ``proved``: no better choice exists; else none leaves more than ``more_usd`` above it, infinite
    where the search was too short to tell.
    """

    taken: tuple[int, ...]
    n_bags: int
    aim_usd: float
    by_year_usd: Floats
    short_kg: Floats
    grazed_share: Floats
    fed_kg: Floats
    proved: bool
    more_usd: float = 0.0


def reached_years(n_years: int) -> int:
    """How many of so many years are 8 of 10, rounded up.

    >>> reached_years(30), reached_years(29), reached_years(10)
    (24, 24, 8)
    """
    return -(-8 * n_years // 10)


def aim_value(by_year_usd: Floats, aim: str) -> float:
    """Value of an aim: the mean year, or the return reached in 8 years of 10 [USD]."""
    if aim == "mean":
        return float(by_year_usd.mean())
    return float(np.sort(by_year_usd)[len(by_year_usd) - reached_years(len(by_year_usd))])


def fed_kg(
    choices: Choices, taken: tuple[int, ...], limits: Limits, grazed_share: Floats
) -> Floats:
    """What is eaten in each year, array (years,) [kg].

    Never more than the need in all; and where the need has weeks, no more of each field than is
    planned to be taken in that week, and than is there that year.
    """
    rows = list(taken)
    eaten: Floats = choices.eaten_kg[rows].sum(axis=0)
    if limits.need_kg is not None:
        eaten = np.minimum(eaten, limits.need_kg)
    if limits.need_by_week_kg:
        in_weeks = (choices.counted_kg()[rows] * grazed_share[:, None, :]).sum(axis=(0, 2))
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
