"""The fields that can be planned, and what each costs to sow and lets stand."""

from dataclasses import dataclass, replace

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from suitability.crop import Crop
from suitability.feed_window import FeedWindow, feed_window, window_rule
from suitability.field_stand import FieldStand, field_stand
from suitability.gap import gap_days
from suitability.money import USES
from suitability.plan_returns import FieldTerms
from suitability.plan_settings import PlanSettings
from suitability.prices import Prices
from suitability.seed_order import SeedLot, field_seed, pls_rate_kg_ha
from suitability.years import Years

NOT_ASKED = ("no_odds", "no_ground", "verdict", "no_use")  # why a field cannot be chosen at all
_TO_SOW = ("sow", "sow with care")


@dataclass(frozen=True)
class PlanGround:
    """``about`` has one row a field that can be planned, indexed by field_id.

    Its columns: sowable_ha, use, inoculation_need, next_crop (true or false), verdict_out (true
    where the verdict is to leave it out), flood_frac, bulk_kg
    (overlap in it) and inoculant (1 or 2). ``close_d`` (field, week) counts from the first day of
    each sowing week to the close of the gap. ``why_not`` has a code of NOT_ASKED for the others.
    """

    about: pd.DataFrame
    why_not: dict[str, str]
    stand: FieldStand
    window: FeedWindow
    close_d: NDArray[np.float64]
    terms: dict[str, FieldTerms]
    settings: PlanSettings
    prices: Prices
    lot: SeedLot
    crop: Crop

    @property
    def field_ids(self) -> tuple[str, ...]:
        """The fields that can be planned, in the order of ``stand``."""
        return self.stand.field_ids

    def terms_of(self, field_id: str, use: str) -> FieldTerms:
        """What the field would cost to sow for a use: at the rate of seed of that use."""
        own = self.terms[field_id]
        rates = [
            pls_rate_kg_ha(kind, self.lot, self.crop)
            for kind in (use, self.about.loc[field_id, "use"])
        ]
        return replace(own, bulk_kg_ha=own.bulk_kg_ha * rates[0] / rates[1])


def plan_ground(
    fields: pd.DataFrame,
    verdicts: pd.DataFrame,
    sowable_ha: "pd.Series[float]",
    flood_years_in_ten: "pd.Series[float]",
    years: Years,
    settings: PlanSettings,
    prices: Prices,
    lot: SeedLot,
    crop: Crop,
) -> PlanGround:
    """Gather what is known of each field; see ``plan.make_plan`` for what goes in."""
    known = fields.set_index("field_id")
    use = known["use"].where(known["use"].notna(), settings.use)
    why_not = _why_not(verdicts, sowable_ha, use, years, settings)
    ids = [i for i in known.index if i not in why_not]
    stand = field_stand(years.simulated, years.parts, fields, ids)
    rule = window_rule(crop, settings.opens_d, settings.opens_height_m, settings.closes_d)
    lat_deg = known["lat_deg"].reindex(ids).to_numpy(dtype=float)
    told = verdicts.set_index("field_id").reindex(ids)
    about = pd.DataFrame(
        {
            "sowable_ha": sowable_ha.reindex(ids).astype(float),
            "use": use.reindex(ids),
            "inoculation_need": told["inoculation_need"],
            "next_crop": known["next_crop"].reindex(ids).notna(),
            "verdict_out": ~told["verdict"].isin(_TO_SOW),
            "flood_frac": flood_years_in_ten.reindex(ids).fillna(0.0) / 10,
        },
        index=pd.Index(ids, name="field_id"),
    )
    seed = field_seed(about.reset_index(), lot, crop).set_index("field_id")
    about = about.join(seed[["bulk_kg", "inoculant"]])
    terms = {
        str(i): FieldTerms(
            bulk_kg_ha=row["bulk_kg"] / row["sowable_ha"],
            inoculant=int(row["inoculant"]),
            method=lot.method,
            rent_usd_ha=settings.rent_usd_ha.get(str(i), 0.0),
        )
        for i, row in about.iterrows()
    }
    closes = known["gap_closes"].reindex(ids)
    close_d = [[float(gap_days(week, day)) for week in stand.weeks] for day in closes]
    return PlanGround(
        about=about,
        why_not=why_not,
        stand=stand,
        window=feed_window(stand, lat_deg, settings.seed_type, rule, crop),
        close_d=np.array(close_d, dtype=float).reshape(len(ids), len(stand.weeks)),
        terms=terms,
        settings=settings,
        prices=prices,
        lot=lot,
        crop=crop,
    )


def _why_not(
    verdicts: pd.DataFrame,
    sowable_ha: "pd.Series[float]",
    use: "pd.Series[str]",
    years: Years,
    settings: PlanSettings,
) -> dict[str, str]:
    simulated = set(years.weeks["field_id"])
    found: dict[str, str] = {}
    for field_id, verdict in verdicts.set_index("field_id")["verdict"].items():
        i = str(field_id)
        if i not in simulated:
            found[i] = "no_odds"
        elif not sowable_ha.get(i, 0.0) > 0:
            found[i] = "no_ground"
        elif i not in settings.fields_in and verdict not in _TO_SOW:
            found[i] = "verdict"
        elif use.get(i) not in USES:
            found[i] = "no_use"
    return found
