"""The exact choice of fields and sowing weeks, as a mixed-integer programme on the same years."""

import time
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from suitability.plan_solve import solved
from suitability.plan_values import Choices, Chosen, Limits

SECONDS = 40.0  # longest search; a plan that is not proved best by then says so
_LEAST_S = 0.5  # for each of its steps, however late


def choose(
    choices: Choices, limits: Limits, seconds: float = SECONDS, *, best_mean: bool = True
) -> Chosen | None:
    """Best choice under the limits; None where no choice keeps them.

    Notes
    -----
    A field is sown whole, in one week, or not at all. First as little of the herd's need as
    possible is left open, then the aim is made best, and of equals under "8 in 10" the best mean;
    not ``best_mean``: any of the equals, which is quicker.
    Solved by branch and bound (HiGHS), so a choice that is proved is the best there is.
    """
    if not choices.net_usd.size:
        return _nothing(choices, limits)
    kept = _undominated(choices, limits)
    small = _only(choices, kept)
    until = time.monotonic() + seconds

    def left() -> float:
        return max(until - time.monotonic(), _LEAST_S)

    first: Chosen | None = None
    fixed_short: float | None = None
    if limits.need_by_week_kg and limits.feed_first:
        first = solved(small, limits, "shortage", None, None, left())
        if first is None:
            return None
        fixed_short = float(first.short_kg.sum())
    found = solved(small, limits, "mean", fixed_short, None, left())
    if found is None and first is not None:
        found = _doubtful(first)  # it keeps the limits, and there was no time to better it
    elif found is not None and limits.aim == "8 in 10":
        # What the best mean reaches in 8 years of 10 is a floor that shortens the search.
        by_mean = _doubtful(found)
        found = solved(small, limits, "aim", fixed_short, found.aim_usd, left()) or by_mean
        if found.proved and best_mean:
            better = solved(small, limits, "mean", fixed_short, found.aim_usd, left())
            found = found if better is None else replace(better, proved=True, more_usd=0.0)
    if found is None:
        return None
    if first is not None and not first.proved:
        found = _doubtful(found)
    return replace(found, taken=tuple(int(kept[i]) for i in found.taken))


def _doubtful(found: Chosen) -> Chosen:
    """The same where nothing is known of how much better another may be."""
    return replace(found, proved=False, more_usd=float("inf"))


def _nothing(choices: Choices, limits: Limits) -> Chosen | None:
    """The plan of a farm without a field to choose."""
    if limits.must or (limits.least_ha or 0.0) > 0:
        return None
    years = choices.net_usd.shape[1]
    short = np.array(limits.need_by_week_kg)
    share, none = np.zeros((0, len(short))), np.zeros(years)
    return Chosen((), 0, 0.0, none, short, share, none, proved=True)


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
    found = choose(some, free, seconds, best_mean=False)
    return float("nan") if found is None else found.aim_usd


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
