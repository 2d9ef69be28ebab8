"""What a herd needs and what the fields offer it, week by week."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from suitability.crop import Crop
from suitability.errors import InputError, listed
from suitability.feed_window import FeedWindow
from suitability.field_stand import FieldStand, at_age
from suitability.published import indexed, table

Floats = NDArray[np.float64]
_YEAR = 2001  # a year without a leap day stands for all
_WEEK_D = 7
_HALF_YEAR_D = 183
# Codes of what a grazier must mind; words in the language file.
CAUTIONS = (
    "adapt_over_days",
    "no_seed_or_pods",
    "no_horses_or_pigs",
    "nitrate_after_drought",
    "off_saturated_ground",
    "label_intervals",
    "ask_veterinarian",
)


@dataclass(frozen=True)
class Herd:
    """Stock to be fed. ``weight_kg`` a head; ``diet_frac`` of its diet is to come from the fields.

    ``from_mmdd`` None: when does not matter, only how much. ``intake_pct`` of body weight a day,
    None: of ``tables/stock.csv``.
    """

    stock: str
    head: int
    weight_kg: float
    days: int
    diet_frac: float
    from_mmdd: str | None = None
    intake_pct: float | None = None


@dataclass(frozen=True)
class Need:
    """Dry matter that herds need: in all, and in each week from ``first`` where they say when."""

    total_kg: float
    first: date | None
    by_week_kg: tuple[float, ...]
    head_day_kg: float


def stock_names() -> tuple[str, ...]:
    """The classes of stock that may be fed."""
    stock = table("stock")
    return tuple(stock.loc[stock["refused"] == 0, "stock"])


def check_herds(herds: Sequence[Herd]) -> None:
    """Refuse stock that must not be fed, and stock that is not known.

    Raises
    ------
    InputError : all faults in one message.
    """
    faults = herd_faults(herds)
    if faults:
        remedy = f"Take them out, or name one of: {', '.join(stock_names())}."
        raise InputError(listed("The herd cannot be fed", faults, remedy))


def herd_faults(herds: Sequence[Herd]) -> list[str]:
    """A sentence for each herd that must not be fed, or is not known."""
    stock = indexed("stock", "stock")
    faults = []
    for herd in herds:
        never = _refused(herd.stock, stock)
        if never:
            they = "they" if never == herd.stock else never
            faults.append(
                f"{herd.stock} must not be fed this crop: {they} are the most sensitive to its "
                "alkaloids; ask a veterinarian"
            )
        elif herd.stock not in stock.index:
            known = ", ".join(stock_names())
            faults.append(f"stock {herd.stock!r} is not known; known are {known}")
    return faults


def _refused(named: str, stock: pd.DataFrame) -> str:
    """Which refused class a name speaks of, such as ``pigs`` of ``feeder pig``; empty if none."""
    words = {word.removesuffix("s") for word in named.replace("-", " ").split()}
    refused = stock.index[stock["refused"] == 1]
    return next((str(name) for name in refused if str(name).removesuffix("s") in words), "")


def need_kg_d(herd: Herd) -> float:
    """Dry matter that a herd takes from the fields in a day [kg/d].

    >>> need_kg_d(Herd("cows", 40, 545.0, 30, 0.5, intake_pct=2.2))
    239.8
    """
    intake = herd.intake_pct
    if intake is None:
        intake = float(indexed("stock", "stock").loc[herd.stock, "intake_pct"])
    return round(herd.head * herd.weight_kg * intake / 100 * herd.diet_frac, 6)


def need(herds: Sequence[Herd]) -> Need | None:
    """What all herds need together; None without a herd."""
    if not herds:
        return None
    check_herds(herds)
    total = sum(need_kg_d(herd) * herd.days for herd in herds)
    head_days = sum(herd.head * herd.days for herd in herds)
    dated = [herd for herd in herds if herd.from_mmdd is not None]
    if not dated:
        return Need(total, None, (), total / head_days)
    starts = {id(herd): date.fromisoformat(f"{_YEAR}-{herd.from_mmdd}") for herd in dated}
    first = min(starts.values())
    last = max(starts[id(h)] + timedelta(days=h.days) for h in dated)
    weeks = np.zeros(-(-(last - first).days // _WEEK_D))
    for herd in dated:
        begin = (starts[id(herd)] - first).days
        for day in range(begin, begin + herd.days):
            weeks[day // _WEEK_D] += need_kg_d(herd)
    return Need(total, first, tuple(float(kg) for kg in weeks), total / head_days)


def on_offer_kg_ha(stand: FieldStand, window: FeedWindow, wanted: Need, crop: Crop) -> Floats:
    """Dry matter that stock can take in each week of need [kg/ha].

    Returns
    -------
    Array (field, year, sowing week, feed week): what stands in the middle of the week, times the
    share that is eaten, while the window is open; 0 outside it, NaN where not simulated. A field
    grazed in one week has nothing left in the next: regrowth is not counted.
    """
    shape = (*stand.end_d.shape, len(wanted.by_week_kg))
    offer = np.zeros(shape)
    if wanted.first is None:
        return offer
    eaten = crop.number("feed.grazed_pct") / 100
    for t in range(shape[-1]):
        middle = wanted.first + timedelta(days=_WEEK_D * t + _WEEK_D // 2)
        for w, week in enumerate(stand.weeks):
            away = (middle - date.fromisoformat(f"{_YEAR}-{week}")).days
            away += 365 if away < -_HALF_YEAR_D else 0
            age = away - stand.sown_d[:, :, w]
            open_now = (age >= window.opens_d[:, :, w]) & (age <= window.closes_d[:, :, w])
            there = at_age(stand.dry_matter_kg_ha[:, :, w], stand.ages_d, age)
            offer[:, :, w, t] = np.where(open_now, eaten * np.nan_to_num(there), 0.0)
    return np.where(np.isnan(stand.end_d)[..., None], np.nan, offer)


def feed_fields(wanted: Need, on_offer_kg: Floats, grazed_share: Floats) -> pd.DataFrame:
    """Which field is grazed when, and what is left on it.

    Parameters
    ----------
    on_offer_kg : (field, feed week) what stock could take of the whole field, in 8 years of 10.
    grazed_share : (field, feed week) of each field grazed in each week.

    Returns
    -------
    DataFrame: field (its row), week (first day, MM-DD), on_offer_kg (of what was not grazed
    before), grazed_kg, left_kg.
    """
    before = np.cumsum(grazed_share, axis=1) - grazed_share
    there = on_offer_kg * np.clip(1 - before, 0, None)
    grazed = on_offer_kg * grazed_share
    first = wanted.first or date(_YEAR, 1, 1)
    n_fields, n_weeks = on_offer_kg.shape
    days = [f"{first + timedelta(days=_WEEK_D * t):%m-%d}" for t in range(n_weeks)]
    return pd.DataFrame(
        {
            "field": np.repeat(np.arange(n_fields), n_weeks),
            "week": days * n_fields,
            "on_offer_kg": there.ravel(),
            "grazed_kg": grazed.ravel(),
            "left_kg": np.clip(there - grazed, 0, None).ravel(),
        }
    )


def feed_weeks(
    wanted: Need, grazed_kg: Floats, offer_by_year_kg: Floats, grazed_share: Floats
) -> pd.DataFrame:
    """Need against what is grazed, week by week.

    Parameters
    ----------
    grazed_kg : (field, feed week) planned, on what is there in 8 years of 10.
    offer_by_year_kg : (field, year, feed week) if the whole field were grazed in that week.
    grazed_share : (field, feed week) of each field grazed in each week.

    Returns
    -------
    DataFrame: week (first day, MM-DD), need_kg, grazed_kg, gap_kg (what lacks; surplus below 0),
    head_days that are fed, and fed_years_in_ten: years in which the same plan meets the need.
    """
    first = wanted.first or date(_YEAR, 1, 1)
    weeks = [first + timedelta(days=_WEEK_D * t) for t in range(len(wanted.by_week_kg))]
    need_kg = np.array(wanted.by_week_kg)
    planned = grazed_kg.sum(axis=0)
    by_year = (offer_by_year_kg * grazed_share[:, None, :]).sum(axis=0)
    met = by_year >= need_kg * (1 - 1e-6)
    years_in_ten = 10 * met.mean(axis=0) if len(met) else np.zeros(len(weeks))
    return pd.DataFrame(
        {
            "week": [f"{day:%m-%d}" for day in weeks],
            "need_kg": need_kg,
            "grazed_kg": planned,
            "gap_kg": need_kg - planned,
            "head_days": np.minimum(planned, need_kg) / wanted.head_day_kg,
            "fed_years_in_ten": years_in_ten,
        }
    )
