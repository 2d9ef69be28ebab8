"""What this plan comes to where common practice names a figure, to be set beside it."""

from typing import Any, TypeAlias

import numpy as np
from numpy.typing import NDArray

from suitability.feed_window import NITROGEN_TO_PROTEIN
from suitability.field_stand import at_age
from suitability.plan import Plan

Span: TypeAlias = tuple[float, float]
_AGES_D = (30, 60)
_SHARED_FRAC = 0.75  # so much of our span must lie within the trade's


def beside(ours: Span, trade: Span) -> str:
    """``agrees``, ``less``, ``more``, or ``wider`` where ours goes beyond both ends.

    It agrees where three quarters or more of our span lie within the trade's; a single figure,
    where it lies within. Both in one unit, as they are shown.
    """
    (low, high), (least, most) = ours, trade
    shared = min(high, most) - max(low, least)
    if shared >= _SHARED_FRAC * (high - low):
        return "agrees"
    if low < least and high > most:
        return "wider"
    return "less" if low < least else "more"


def our_practice(plan: Plan) -> dict[str, Span]:
    """Least and most over the fields that are sown, or over all that were planned if none is.

    Returns
    -------
    By name of ``tables/practice.csv``, of the median year with a stand: seeding_rate,
    dry_matter_60d and nitrogen (in the stand at 60 days) [kg/ha], soil_warm [degC], emergence
    (after sowing) and graze_open (from the day feed opens to the day it closes) [d], protein
    (crude, of the whole plant on those two days) [pct], height_30d and height_60d [m], hay_value
    and cost [USD/ha]. A name that nothing is known of is left out.
    """
    stand, crop = plan.ground.stand, plan.ground.crop
    own = plan.money[plan.money["own"].astype(bool)] if len(plan.money) else plan.money
    sown = set(plan.fields.loc[plan.fields["sown"].astype(bool), "field_id"])
    row_of = {i: f for f, i in enumerate(stand.field_ids)}
    ids = [i for i in own["field_id"] if (not sown or i in sown) and i in row_of]
    week = plan.fields.set_index("field_id")["sow_date"]
    found: dict[str, list[float]] = {}

    def note(name: str, values: NDArray[Any] | float) -> None:
        known = np.asarray(values, dtype=float).ravel()
        known = known[np.isfinite(known)]
        if len(known):
            found.setdefault(name, []).append(float(np.median(known)))

    for i in ids:
        f, w = row_of[i], stand.weeks.index(week[i])
        up = stand.end_d[f, :, w] > 0
        note("emergence", stand.emerged_d[f, :, w][up] - 1)  # the sowing day counts as 1
        for age_d in _AGES_D:
            at = np.full(int(up.sum()), age_d, dtype=np.float32)
            note(f"height_{age_d}d", at_age(stand.height_m[f, :, w][up], stand.ages_d, at))
        note("dry_matter_60d", at_age(stand.dry_matter_kg_ha[f, :, w][up], stand.ages_d, at))
        note("nitrogen", at_age(stand.nitrogen_kg_ha[f, :, w][up], stand.ages_d, at))
        for day in (plan.ground.window.opens_d, plan.ground.window.closes_d):
            age = day[f, :, w].astype(np.float32)
            dry = at_age(stand.dry_matter_kg_ha[f, :, w], stand.ages_d, age)
            held = at_age(stand.nitrogen_kg_ha[f, :, w], stand.ages_d, age)
            note("graze_open", age)
            with np.errstate(divide="ignore", invalid="ignore"):
                note("protein", 100 * NITROGEN_TO_PROTEIN * held / dry)
    mine = plan.money[plan.money["field_id"].isin(ids)]
    for name, table, column in (
        ("hay_value", mine[mine["use"] == "cut"] if len(mine) else mine, "feed_mean_usd_ha"),
        ("cost", mine[mine["own"].astype(bool)] if len(mine) else mine, "cost_mean_usd_ha"),
    ):
        for value in table[column] if len(table) else ():
            note(name, float(value))
    if ids:
        note("soil_warm", crop.number("warm_soil.floor_c"))
    for rate in plan.order.fields["pls_kg_ha"]:
        note("seeding_rate", float(rate))
    return {name: (min(values), max(values)) for name, values in found.items()}
