"""The order for the seed dealer, and what changes in it if the seed tag says otherwise."""

from dataclasses import replace
from datetime import date

from maps.plan_teller import PlanTeller, Section
from maps.shown_names import shown
from suitability.seed_order import SeedOrder, seed_order

_OTHER_PCT = (95, 90, 85, 80, 75, 70)  # germination that the table goes through


def order(told: PlanTeller) -> Section:
    """Bags, rates, inoculant and cost, and what the law asks."""
    order, lot, legend = told.plan.order, told.plan.ground.lot, told.legend
    heading = told.say("order_heading")
    if not order.n_bags:
        return Section(heading, [told.say("order_none")])
    crop = told.assessment.crop
    per_pound = 1 / (lot.germination_frac * lot.purity_frac)
    rates = sorted({(r.pls_kg_ha, r.bulk_kg_ha) for r in order.fields.itertuples()})
    shown_rates = ", ".join(
        f"{legend.seed_rate(pls)} = {legend.seed_rate(bulk)}" for pls, bulk in rates
    )
    law = told.words("caution.law")
    state = f"caution.law_{told.assessment.farm.state}"
    law += f" {told.words(state)}" if told.words.has(state) else ""
    made = date.fromisoformat(told.assessment.provenance.made_on)
    lines = [
        f"{shown(told.assessment.farm.name)}, {legend.full_day(made)}",
        told.say(
            "order",
            bags=order.n_bags,
            bag=legend.weight(order.bag_kg),
            bulk=legend.weight(order.n_bags * order.bag_kg),
            left=legend.weight(order.left_over_kg),
        ),
        told.say(f"order_type_{told.plan.ground.settings.seed_type.replace('-', '_')}"),
        told.say("order_by", day=legend.day(_first_week(told))),
        told.say(
            "order_tag",
            germination=legend.pct(100 * lot.germination_frac),
            purity=legend.pct(100 * lot.purity_frac),
            pls=f"{per_pound:.2f}",
            method=told.say(f"method.{lot.method}"),
            rates=shown_rates,
            overlap=legend.pct(crop.number("seeding.overlap_pct")),
        ),
        *_assumed(told),
        told.say(
            "order_inoculant",
            area=legend.area(order.inoculant_ha),
            seed=legend.weight(float((order.fields["bulk_kg"] * order.fields["inoculant"]).sum())),
        ),
        told.say(
            "order_cost",
            seed=legend.usd(order.seed_usd),
            inoculant=legend.usd(order.inoculant_usd),
            total=legend.usd(order.total_usd),
        ),
        told.say("order_law", law=law),
    ]
    rows = tuple(
        (
            told.name(row.field_id),
            legend.area_number(row.sowable_ha),
            legend.seed_rate(row.pls_kg_ha),
            legend.seed_rate(row.bulk_kg_ha),
            legend.weight(row.bulk_kg),
            told.say(f"inoculant.{row.inoculant}"),
        )
        for row in order.fields.itertuples(index=False)
    )
    heads = ("field", "area", "rate", "bulk_rate", "bulk", "inoculant")
    return Section(
        heading, lines, told.table(heads, rows, (3, 1.2, 1.5, 1.5, 1.4, 1.6), (1, 2, 3, 4))
    )


def _assumed(told: PlanTeller) -> list[str]:
    """What the order takes for granted, since no seed tag says it."""
    what = ", ".join(told.say(f"tag.{name}") for name in told.plan.ground.lot.assumed)
    return [told.say("order_assumed", what=what)] if what else []


def order_otherwise(told: PlanTeller) -> Section:
    """Bags and their cost by the germination on the tag."""
    plan, legend = told.plan, told.legend
    own_frac = plan.ground.lot.germination_frac
    by_pct = {pct: pct / 100 for pct in _OTHER_PCT} | {round(100 * own_frac): own_frac}
    rows = []
    for pct, germination_frac in sorted(by_pct.items(), reverse=True):
        other = _by_germination(told, germination_frac)
        rates = sorted({legend.seed_rate(kg) for kg in other.fields["bulk_kg_ha"]})
        rows.append(
            (
                legend.pct(pct),
                ", ".join(rates),
                legend.weight(other.bulk_kg),
                f"{other.n_bags:,}",
                legend.usd(other.seed_usd),
            )
        )
    heads = ("germination", "bulk_rate", "bulk", "bags", "seed_cost")
    return Section(
        told.say("order_other_heading"),
        [],
        told.table(heads, tuple(rows), (1.3, 2, 1.4, 1, 1.6), (2, 3, 4)),
        told.say("order_other_hint"),
    )


def _by_germination(told: PlanTeller, germination_frac: float) -> SeedOrder:
    plan = told.plan
    fields = plan.order.fields.assign(
        inoculation_need=plan.order.fields["inoculant"].map({2: "double rate", 1: "normal rate"})
    )
    lot = replace(plan.ground.lot, germination_frac=germination_frac)
    prices = plan.ground.prices
    crop = told.assessment.crop
    return seed_order(fields, lot, crop, prices.seed_usd_kg, prices.inoculant_usd_ha)


def _first_week(told: PlanTeller) -> str:
    fields = told.plan.fields
    return str(fields.loc[fields["sown"], "sow_date"].min())
