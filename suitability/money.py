"""What a field costs and returns, year by year: seed, sowing, harvest, feed, hay and nitrogen."""

from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import ArrayLike, NDArray

from suitability.crop import Crop
from suitability.nitrogen import credit_kg_ha
from suitability.prices import Prices

Floats = NDArray[np.float64]
USES = ("graze", "cut", "cover")


@dataclass(frozen=True)
class Harvest:
    """What each year brings, arrays of one shape (any); NaN where not known.

    ``stand_kg_ha`` is the dry matter on the day of use, 0 where there is nothing to use;
    ``stand_nitrogen_kg_ha`` the nitrogen in that; ``end_nitrogen_kg_ha`` the nitrogen standing at
    the end had nothing been taken; ``has_stand`` whether there is anything to end at all.
    """

    stand_kg_ha: Floats
    stand_nitrogen_kg_ha: Floats
    end_nitrogen_kg_ha: Floats
    has_stand: NDArray[np.bool_]
    wait_d: ArrayLike


@dataclass(frozen=True)
class Return:
    """Money per hectare sown, arrays of the shape of ``Harvest`` [USD/ha].

    ``feed_usd_ha`` is what was eaten or baled, before the cost of mowing and baling, which stands
    in ``harvest_usd_ha``; ``nitrogen_usd_ha`` what the next crop need not be given. ``eaten_kg_ha``
    is dry matter eaten, or kept as hay.
    """

    sowing_usd_ha: float
    harvest_usd_ha: Floats
    end_usd_ha: Floats
    feed_usd_ha: Floats
    nitrogen_usd_ha: Floats
    eaten_kg_ha: Floats

    @property
    def cost_usd_ha(self) -> Floats:
        """All costs [USD/ha]."""
        result: Floats = self.sowing_usd_ha + self.harvest_usd_ha + self.end_usd_ha
        return result

    @property
    def net_usd_ha(self) -> Floats:
        """What is left [USD/ha]."""
        result: Floats = self.feed_usd_ha + self.nitrogen_usd_ha - self.cost_usd_ha
        return result


def sowing_cost_usd_ha(
    bulk_kg_ha: float, inoculant_rate: int, method: str, prices: Prices, rent_usd_ha: float = 0.0
) -> float:
    """Seed, inoculant (1 normal, 2 double rate), sowing and rent [USD/ha]."""
    return (
        bulk_kg_ha * prices.seed_usd_kg
        + inoculant_rate * prices.inoculant_usd_ha
        + prices.sowing_usd_ha(method)
        + rent_usd_ha
    )


def feed_usd_kg(prices: Prices, crop: Crop) -> float:
    """What a kilogram of dry matter eaten is worth: the grass hay that it saves [USD/kg].

    Without the discount of baled hay: stock pick leaf and leave stem.
    """
    whole = prices.hay_roll_usd / prices.hay_roll_kg
    return whole / (crop.number("feed.hay_dry_matter_pct") / 100)


def returns(harvest: Harvest, use: str, sowing_usd_ha: float, prices: Prices, crop: Crop) -> Return:
    """Return of each year by use.

    Parameters
    ----------
    use : one of ``USES``. sowing_usd_ha : of ``sowing_cost_usd_ha``; spent in every year.

    Notes
    -----
    Grazed: ``feed.grazed_pct`` of what stands is eaten. Cut: ``feed.hay_kept_pct`` reaches the
    roll, and a year whose hay would not pay for mowing and baling is not cut. Nitrogen that was
    eaten or baled is not counted as left for the next crop, nor is what would have grown after it.
    """
    stand = np.nan_to_num(harvest.stand_kg_ha)
    unknown = np.isnan(harvest.stand_kg_ha)
    zero = np.zeros_like(stand)
    taken_frac, feed, cost = zero, zero, zero
    if use == "graze":
        taken_frac = zero + crop.number("feed.grazed_pct") / 100
        feed = stand * taken_frac * feed_usd_kg(prices, crop)
    elif use == "cut":
        kept = crop.number("feed.hay_kept_pct") / 100
        hay_kg_ha = stand * kept / (crop.number("feed.hay_dry_matter_pct") / 100)
        feed = hay_kg_ha * prices.hay_usd_kg
        cost = prices.mow_usd_ha + hay_kg_ha / prices.hay_roll_kg * prices.bale_usd
        pays = feed > cost
        taken_frac, feed, cost = (np.where(pays, v, 0.0) for v in (zero + kept, feed, cost))
    elif use != "cover":
        raise ValueError(f"use {use!r} is not one of {', '.join(USES)}")
    on_the_day = np.nan_to_num(harvest.stand_nitrogen_kg_ha)
    at_the_end = np.nan_to_num(harvest.end_nitrogen_kg_ha)
    # Regrowth is counted nowhere: a stand that was used gives no more than stood on that day.
    left_of = np.where(taken_frac > 0, np.minimum(on_the_day, at_the_end), at_the_end)
    nitrogen = credit_kg_ha(left_of, taken_frac * on_the_day, harvest.wait_d)
    kinds = (
        cost,
        np.where(harvest.has_stand, prices.kill_usd_ha, 0.0),
        feed,
        nitrogen * prices.nitrogen_usd_kg,
        stand * taken_frac,
    )
    return Return(sowing_usd_ha, *(np.where(unknown, np.nan, v) for v in kinds))


def reached_in(values: ArrayLike, years_in_ten: float) -> float:
    """The most that is reached or passed in so many years of ten; NaN without a known year.

    >>> reached_in([10, 20, 30, 40, 50, 60, 70, 80, 90, 100], 8)
    30.0
    """
    known = np.sort(np.asarray(values, dtype=np.float64).ravel())
    known = known[~np.isnan(known)]
    if not len(known):
        return float("nan")
    reached = int(np.ceil(years_in_ten / 10 * len(known) - 1e-9))
    return float(known[len(known) - max(reached, 1)])


def break_even_seed_usd_kg(result: Return, bulk_kg_ha: float, seed_usd_kg: float) -> float:
    """Price of seed at which the mean year comes out even [USD/kg]; below 0 none does."""
    return seed_usd_kg + float(np.nanmean(result.net_usd_ha)) / bulk_kg_ha


def break_even_yield_kg_ha(result: Return, stand_kg_ha: Floats) -> float:
    """Dry matter that must stand on the day of use for the mean year to come out even [kg/ha].

    Value and harvest cost are taken to go with the dry matter; infinite where more dry matter
    brings nothing.
    """
    mean_kg_ha = float(np.nanmean(stand_kg_ha))
    fixed = result.sowing_usd_ha + float(np.nanmean(result.end_usd_ha))
    gain = float(np.nanmean(result.feed_usd_ha + result.nitrogen_usd_ha - result.harvest_usd_ha))
    return mean_kg_ha * fixed / gain if gain > 0 else float("inf")


def summary(result: Return) -> dict[str, float]:
    """The mean year, and what is reached in 8, 5 and 2 years of ten [USD/ha]."""
    net = result.net_usd_ha
    return {
        "cost_mean_usd_ha": float(np.nanmean(result.cost_usd_ha)),
        "feed_mean_usd_ha": float(np.nanmean(result.feed_usd_ha)),
        "nitrogen_mean_usd_ha": float(np.nanmean(result.nitrogen_usd_ha)),
        "net_mean_usd_ha": float(np.nanmean(net)),
        "net_8_in_ten_usd_ha": reached_in(net, 8),
        "net_5_in_ten_usd_ha": reached_in(net, 5),
        "net_2_in_ten_usd_ha": reached_in(net, 2),
        "pays_years_in_ten": 10 * float(np.nanmean(np.where(np.isnan(net), np.nan, net > 0))),
    }


def nitrogen_alone(result: Return) -> pd.Series:
    """Whether nitrogen alone pays for sowing and ending the stand, in the mean year [USD/ha]."""
    cost = result.sowing_usd_ha + float(np.nanmean(result.end_usd_ha))
    value = float(np.nanmean(result.nitrogen_usd_ha))
    return pd.Series({"value_usd_ha": value, "cost_usd_ha": cost, "pays": value >= cost})
