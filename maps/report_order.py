"""The order for the seed dealer."""

from maps.plan_teller import PlanTeller, Section


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
    lines = [
        told.say(
            "order",
            bags=order.n_bags,
            bag=legend.weight(order.bag_kg),
            bulk=legend.weight(order.n_bags * order.bag_kg),
            left=legend.weight(order.left_over_kg),
        ),
        told.say(
            "order_tag",
            germination=legend.pct(100 * lot.germination_frac),
            purity=legend.pct(100 * lot.purity_frac),
            pls=f"{per_pound:.2f}",
            method=told.say(f"method.{lot.method}"),
            rates=shown_rates,
            overlap=legend.pct(crop.number("seeding.overlap_pct")),
        ),
        told.say("order_inoculant", area=legend.area(order.inoculant_ha)),
        told.say(
            "order_cost",
            seed=legend.usd(order.seed_usd),
            inoculant=legend.usd(order.inoculant_usd),
            total=legend.usd(order.total_usd),
        ),
        told.say("order_law", law=law),
    ]
    if lot.assumed:
        what = ", ".join(told.say(f"tag.{name}") for name in lot.assumed)
        lines.insert(2, told.say("order_assumed", what=what))
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
