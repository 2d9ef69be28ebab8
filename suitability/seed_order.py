"""What to order: pure live seed to bulk, sowable ground only, whole bags, inoculant."""

import math
from dataclasses import dataclass
from typing import Literal

import pandas as pd

from suitability.crop import Crop

Method = Literal["drilled", "broadcast"]
METHODS: tuple[str, ...] = ("drilled", "broadcast")
KEPT_FOR_COVER = "cover"
_WHOLE = 1e-9  # so that a hair over a full bag, by rounding of floats, is not one bag more


@dataclass(frozen=True)
class SeedLot:
    """A lot as its tag says; ``assumed`` names what no tag said and the crop file filled in."""

    germination_frac: float
    purity_frac: float
    n_seeds_per_kg: float
    bag_kg: float
    method: Method = "drilled"
    pls_kg_ha: float | None = None
    assumed: tuple[str, ...] = ()


@dataclass(frozen=True)
class SeedOrder:
    """What the dealer is told.

    ``fields`` has one row a field: field_id, sowable_ha, use, pls_kg_ha, bulk_kg_ha, bulk_kg
    (overlap in it) and inoculant (1 normal, 2 double rate). ``inoculant_ha`` counts ground at the
    double rate twice. ``left_over_kg`` is what the last bag holds too much.
    """

    fields: pd.DataFrame
    bulk_kg: float
    n_bags: int
    bag_kg: float
    left_over_kg: float
    inoculant_ha: float
    seed_usd: float
    inoculant_usd: float

    @property
    def total_usd(self) -> float:
        """Seed in whole bags and inoculant [USD]."""
        return self.seed_usd + self.inoculant_usd


def bulk_rate_kg_ha(pls_kg_ha: float, germination_frac: float, purity_frac: float) -> float:
    """Seed out of the bag for a rate of pure live seed, in the unit of the rate.

    30 lb/ac of pure live seed, germination 85 %, purity 98 %:

    >>> round(bulk_rate_kg_ha(30, 0.85, 0.98), 2)
    36.01
    """
    return pls_kg_ha / (germination_frac * purity_frac)


def seeds_per_m2(pls_kg_ha: float, n_seeds_per_kg: float) -> float:
    """Live seeds on a square metre.

    33.63 kg/ha (30 lb/ac) of 33,069 seeds a kg (15,000 a lb) are 10.3 seeds a square foot:

    >>> round(seeds_per_m2(33.63, 33069) * 0.3048**2, 1)
    10.3
    """
    return pls_kg_ha * n_seeds_per_kg / 10_000


def whole_bags(bulk_kg: float, bag_kg: float) -> int:
    """Bags that hold at least this much.

    >>> whole_bags(100.0, 25.0), whole_bags(100.1, 25.0), whole_bags(0.0, 25.0)
    (4, 5, 0)
    """
    return math.ceil(bulk_kg / bag_kg - _WHOLE)


def seed_lot(crop: Crop, method: Method = "drilled", **tag: float | None) -> SeedLot:
    """Lot of a tag, filled up from the crop file where the tag is silent.

    Parameters
    ----------
    tag : germination_pct, purity_pct, n_seeds_per_kg, bag_kg, and pls_kg_ha, the rate of pure live
        seed that the grower wants; None where not entered.
    """
    names = ("germination_pct", "purity_pct", "n_seeds_per_kg", "bag_kg")
    given = {name: tag.get(name) for name in names}
    value = {
        name: crop.number(f"seeding.{name}") if entered is None else entered
        for name, entered in given.items()
    }
    return SeedLot(
        germination_frac=value["germination_pct"] / 100,
        purity_frac=value["purity_pct"] / 100,
        n_seeds_per_kg=value["n_seeds_per_kg"],
        bag_kg=value["bag_kg"],
        method=method,
        pls_kg_ha=tag.get("pls_kg_ha"),
        assumed=tuple(name for name, entered in given.items() if entered is None),
    )


def pls_rate_kg_ha(use: str | None, lot: SeedLot, crop: Crop) -> float:
    """Pure live seed for a use [kg/ha]: the grower's own rate, else the crop file's."""
    if lot.pls_kg_ha is not None:
        return lot.pls_kg_ha
    if lot.method == "broadcast":
        return crop.number("seeding.broadcast_pls_kg_ha")
    kind = "cover" if use == KEPT_FOR_COVER else "forage"
    return crop.number(f"seeding.{kind}_drilled_pls_kg_ha")


def field_seed(fields: pd.DataFrame, lot: SeedLot, crop: Crop) -> pd.DataFrame:
    """Seed of each field, before bags.

    Parameters
    ----------
    fields : field_id, sowable_ha, ``use`` and ``inoculation_need`` ("double rate" or other). Ground
        that is not sowable gets no seed.

    Returns
    -------
    The columns of ``SeedOrder.fields``.
    """
    pls = [pls_rate_kg_ha(use, lot, crop) for use in fields["use"]]
    table = fields[["field_id", "sowable_ha", "use"]].assign(pls_kg_ha=pls)
    table["bulk_kg_ha"] = [
        bulk_rate_kg_ha(rate, lot.germination_frac, lot.purity_frac) for rate in pls
    ]
    passes = 1 + crop.number("seeding.overlap_pct") / 100
    table["bulk_kg"] = table["sowable_ha"] * table["bulk_kg_ha"] * passes
    table["inoculant"] = (fields["inoculation_need"] == "double rate").map({True: 2, False: 1})
    return table


def seed_order(
    fields: pd.DataFrame,
    lot: SeedLot,
    crop: Crop,
    seed_usd_kg: float,
    inoculant_usd_ha: float,
) -> SeedOrder:
    """Order for these fields; see ``field_seed`` for the table it takes.

    Parameters
    ----------
    seed_usd_kg : price of bulk seed. inoculant_usd_ha : price of the normal rate.
    """
    table = field_seed(fields, lot, crop)
    bulk_kg = float(table["bulk_kg"].sum())
    bags = whole_bags(bulk_kg, lot.bag_kg)
    inoculant_ha = float((table["sowable_ha"] * table["inoculant"]).sum())
    return SeedOrder(
        fields=table.reset_index(drop=True),
        bulk_kg=bulk_kg,
        n_bags=bags,
        bag_kg=lot.bag_kg,
        left_over_kg=bags * lot.bag_kg - bulk_kg,
        inoculant_ha=inoculant_ha,
        seed_usd=bags * lot.bag_kg * seed_usd_kg,
        inoculant_usd=inoculant_ha * inoculant_usd_ha,
    )
