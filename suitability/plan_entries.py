"""The fields and weeks to choose from, with their returns in the same years."""

from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from suitability.feed import Need, on_offer_kg_ha
from suitability.money import feed_usd_kg, returns
from suitability.plan_ground import PlanGround
from suitability.plan_returns import common_years, harvest_of, with_floods
from suitability.plan_values import Choices, reached_years
from suitability.years import Years

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Entries:
    """``choices``, the sowing week of each (row of ``stand.weeks``), and the years that count.

    ``offer_kg`` (entry, year, feed week) is what stock can take of the whole field.
    """

    choices: Choices
    week: NDArray[np.int64]
    years: NDArray[np.bool_]
    offer_kg: Floats


def plan_entries(
    ground: PlanGround, verdicts: pd.DataFrame, years: Years, herds_need: Need | None
) -> Entries:
    """Every field and sowing week that may be taken.

    Notes
    -----
    Weeks before the soil is warm and holding in 8 years of 10 are passed over where a later one is
    left, and weeks that work in fewer than ``odds.poor_years_in_ten`` years, unless the grower
    wants the field in.
    """
    stand, crop = ground.stand, ground.crop
    entry = _weeks(ground, verdicts, years)
    n, n_years = len(entry), len(stand.years)
    net, eaten = np.full((n, n_years), np.nan), np.zeros((n, n_years))
    offer = np.zeros((n, n_years, 0))
    if herds_need is not None:
        whole = on_offer_kg_ha(stand, ground.window, herds_need, crop)
        offer = whole[entry[:, 0], :, entry[:, 1]]
    for f, field_id in enumerate(stand.field_ids):
        row = ground.about.loc[field_id]
        mine = np.nonzero(entry[:, 0] == f)[0]
        w, ha, grazed = entry[mine, 1], float(row["sowable_ha"]), row["use"] == "graze"
        harvest = harvest_of(
            stand, ground.window, f, row["use"], bool(row["next_crop"]), ground.close_d[f]
        )
        terms = ground.terms[field_id]
        sowing = terms.sowing_usd_ha(ground.prices) - terms.bulk_kg_ha * ground.prices.seed_usd_kg
        result = returns(harvest, row["use"], sowing, ground.prices, crop)
        result = with_floods(result, float(row["flood_frac"]))
        usd_ha = result.net_usd_ha - (result.feed_usd_ha if grazed else 0.0)
        net[mine] = ha * usd_ha[:, w].T
        eaten[mine] = ha * result.eaten_kg_ha[:, w].T if grazed else 0.0
        offer[mine] *= ha * (1 - float(row["flood_frac"])) if grazed else 0.0
    keep, same = common_years(~np.isnan(net), int(crop.number("odds.least_years")))
    entry, offer = entry[keep], offer[keep][:, same]
    about = ground.about.iloc[entry[:, 0]]
    ha_of = about["sowable_ha"].to_numpy(dtype=float)
    lowest = int(same.sum()) - reached_years(int(same.sum()))
    reached = np.sort(offer, axis=1)[:, lowest] if offer.size else np.zeros((len(entry), 0))
    choices = Choices(
        field=entry[:, 0],
        net_usd=net[keep][:, same],
        eaten_kg=eaten[keep][:, same],
        seed_kg=about["bulk_kg"].to_numpy(dtype=float),
        inoculant_usd=ha_of * about["inoculant"].to_numpy() * ground.prices.inoculant_usd_ha,
        area_ha=ha_of,
        on_offer_kg=reached,
        bag_kg=ground.lot.bag_kg,
        bag_usd=ground.lot.bag_kg * ground.prices.seed_usd_kg,
        eaten_usd_kg=feed_usd_kg(ground.prices, crop),
        # What is there in some years only is not planned to be grazed, and not counted.
        offer_kg=np.where(reached[:, None, :] > 0, offer, 0.0),
    )
    return Entries(choices, entry[:, 1], same, offer)


def _weeks(ground: PlanGround, verdicts: pd.DataFrame, years: Years) -> NDArray[np.int64]:
    """Field and week of each entry, array (entry, 2)."""
    number = {i: f for f, i in enumerate(ground.field_ids)}
    column = {week: w for w, week in enumerate(ground.stand.weeks)}
    odds = years.weeks[years.weeks["field_id"].isin(ground.field_ids)]
    warm_from = odds["field_id"].map(verdicts.set_index("field_id")["soil_65f_held_p80"])
    warm_from = warm_from.astype(object)
    warm = warm_from.isna() | (odds["sow_date"] >= warm_from.where(warm_from.notna(), ""))
    warm |= ~warm.groupby(odds["field_id"]).transform("any")
    wished = odds["field_id"].isin(ground.settings.fields_in)
    least = ground.crop.number("odds.poor_years_in_ten")
    odds = odds[warm & (wished | (odds["works_years_in_ten"] >= least - 1e-9))]
    pairs = zip(odds["field_id"], odds["sow_date"], strict=True)
    table = sorted((number[i], column[week]) for i, week in pairs)
    return np.array(table, dtype=np.int64).reshape(-1, 2)
