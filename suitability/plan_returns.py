"""What every field and sowing week returns in every year, by each use."""

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from suitability.crop import Crop
from suitability.feed_window import FeedWindow
from suitability.field_stand import FieldStand, at_age
from suitability.money import (
    Harvest,
    Return,
    break_even_seed_usd_kg,
    break_even_yield_kg_ha,
    nitrogen_alone,
    returns,
    sowing_cost_usd_ha,
    summary,
)
from suitability.prices import Prices

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class FieldTerms:
    """What a field costs to sow: bulk seed with overlap, inoculant rate, rent; by hectare."""

    bulk_kg_ha: float
    inoculant: int
    method: str
    rent_usd_ha: float

    def sowing_usd_ha(self, prices: Prices) -> float:
        """Seed, inoculant, sowing and rent [USD/ha]."""
        return sowing_cost_usd_ha(
            self.bulk_kg_ha, self.inoculant, self.method, prices, self.rent_usd_ha
        )


def harvest_of(
    stand: FieldStand, window: FeedWindow, f: int, use: str, next_crop: bool, close_d: Floats
) -> Harvest:
    """What one field brings, arrays (year, week).

    Parameters
    ----------
    f : row of the field. use : graze (in the middle of its window), cut (at its end) or cover (when
        the stand is ended, before pods). next_crop : one follows when the gap closes; else nothing
        is known to follow. close_d : (week,) days from the first day of each sowing week to it.
    """
    end = np.minimum(stand.end_d[f], window.pods_d[f])
    known = ~np.isnan(stand.end_d[f])
    opens, closes = window.opens_d[f], window.closes_d[f]
    day = {"graze": (opens + closes) / 2, "cut": closes, "cover": end}[use]
    dry, nitrogen = stand.dry_matter_kg_ha[f], stand.nitrogen_kg_ha[f]

    def at(values: NDArray[np.float32], age: Any) -> Floats:
        return np.where(known, np.nan_to_num(at_age(values, stand.ages_d, age)), np.nan)

    wait = close_d - stand.sown_d[f] - end if next_crop else np.full(end.shape, np.nan)
    return Harvest(
        stand_kg_ha=at(dry, day),
        stand_nitrogen_kg_ha=at(nitrogen, day),
        end_nitrogen_kg_ha=at(nitrogen, end),
        has_stand=stand.end_d[f] > 0,
        wait_d=wait,
    )


def with_floods(result: Return, flood_frac: float) -> Return:
    """A return in which so many years bring nothing: a flood takes the stand, not the sowing."""
    stays = 1 - flood_frac
    return Return(
        result.sowing_usd_ha,
        result.harvest_usd_ha * stays,
        result.end_usd_ha * stays,
        result.feed_usd_ha * stays,
        result.nitrogen_usd_ha * stays,
        result.eaten_kg_ha * stays,
    )


def money_row(
    harvest: Harvest, use: str, terms: FieldTerms, flood_frac: float, prices: Prices, crop: Crop
) -> dict[str, float | bool]:
    """Money of one field in one week by one use, per hectare: mean, years in ten, break-evens."""
    sowing = terms.sowing_usd_ha(prices)
    result = with_floods(returns(harvest, use, sowing, prices, crop), flood_frac)
    alone = nitrogen_alone(result)
    return {
        "sowing_usd_ha": sowing,
        **summary(result),
        "stand_kg_ha": float(np.nanmedian(harvest.stand_kg_ha)),
        "stand_nitrogen_kg_ha": float(np.nanmedian(harvest.stand_nitrogen_kg_ha)),
        "break_even_seed_usd_kg": break_even_seed_usd_kg(
            result, terms.bulk_kg_ha, prices.seed_usd_kg
        ),
        "break_even_yield_kg_ha": break_even_yield_kg_ha(result, harvest.stand_kg_ha),
        "nitrogen_alone_pays": bool(alone["pays"]),
    }


def of_week(harvest: Harvest, w: int) -> Harvest:
    """The years of one sowing week."""
    wait = np.broadcast_to(np.asarray(harvest.wait_d), harvest.stand_kg_ha.shape)
    return Harvest(
        harvest.stand_kg_ha[:, w],
        harvest.stand_nitrogen_kg_ha[:, w],
        harvest.end_nitrogen_kg_ha[:, w],
        harvest.has_stand[:, w],
        wait[:, w],
    )


def common_years(known: NDArray[np.bool_], least: int) -> tuple[NDArray[np.bool_], Any]:
    """Entries and years that can be compared: each entry is known in each of the years.

    Parameters
    ----------
    known : (entry, year). least : fewest years wanted.

    Returns
    -------
    Entries kept and years kept, both as flags. Entries with the fewest known years go first, until
    the rest share at least ``least`` years.
    """
    keep = known.sum(axis=1) >= least
    while keep.any():
        years = known[keep].all(axis=0)
        if years.sum() >= least:
            return keep, years
        counts = np.where(keep, known.sum(axis=1), known.shape[1] + 1)
        keep &= counts > counts.min()
    return keep, np.zeros(known.shape[1], dtype=bool)
