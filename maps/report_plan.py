"""What the report says of the plan, as text and tables that HTML and PDF print alike."""

import math
from dataclasses import dataclass
from typing import Any

from maps.assessment import Assessment
from maps.legend import Legend
from maps.page_plan import herd_told, lead_none, plan_wish, why_told
from maps.plan_teller import PlanTeller, Section
from maps.report_money import money, nitrogen, practice, prices, uses
from maps.report_order import order, order_otherwise
from maps.shown_names import shown
from maps.words import Words
from suitability.feed import CAUTIONS
from suitability.herbicide import herbicide_stated
from suitability.money import USES

_LEAST_KG = 0.5  # the optimiser's shares are not round


@dataclass(frozen=True)
class PlanPages:
    """The plan, ready to print; ``order`` is a page of its own for the seed dealer, if any.

    ``order_otherwise`` stands under it: what changes if the seed tag says otherwise.
    """

    heading: str
    lead: str
    sections: list[Section]
    order: Section | None
    order_otherwise: Section | None


def plan_pages(assessment: Assessment, words: Words, legend: Legend) -> PlanPages | None:
    """Everything the report says of the plan; None where there is none.

    Where nothing is sown, only why, what it would return, and the prices behind it.
    """
    if assessment.plan is None:
        return None
    told = PlanTeller(assessment, assessment.plan, words, legend)
    sections = [_choice(told), _feed(told), _grazed(told), money(told)]
    sown = bool(told.plan.fields["sown"].any())
    if sown:
        sections += [nitrogen(told), uses(told), _days(told), _cautions(told), practice(told)]
    sections.append(prices(told))
    return PlanPages(
        heading=words("plan.heading"),
        lead=_lead(told),
        sections=[section for section in sections if section is not None],
        order=order(told) if sown else None,
        order_otherwise=order_otherwise(told) if sown else None,
    )


def _lead(told: PlanTeller) -> str:
    sown = told.plan.fields[told.plan.fields["sown"]]
    if not len(sown):
        return lead_none(told)
    loses = told.plan.mean_usd < 0 and told.plan.reached_usd < 0
    sign = -1 if loses else 1
    lead = told.say(
        "lead_loses" if loses else "lead",
        wish=plan_wish(told.plan, told.words),
        n=len(sown),
        of=len(told.plan.fields),
        area=told.legend.area(float(sown["sowable_ha"].sum())),
        fields=told.names(sown["field_id"]),
        mean=told.legend.usd(sign * told.plan.mean_usd),
        reached=told.legend.usd(sign * told.plan.reached_usd),
        order=told.legend.usd(told.plan.order.total_usd),
    )
    return " ".join([lead, *herd_told(told.plan, told.words, told.legend)])


def _choice(told: PlanTeller) -> Section:
    plan, legend = told.plan, told.legend
    lines = [told.say(f"aim_{plan.ground.settings.aim.replace(' ', '_')}")]
    if not plan.proved:
        known = math.isfinite(plan.more_usd)
        key = "not_proved_by" if known else "not_proved"
        lines.append(told.say(key, usd=legend.usd(math.ceil(plan.more_usd)) if known else ""))
    lines += _herbicide(told)
    any_sown = bool(plan.fields["sown"].any())
    if any_sown:
        best, worst = legend.usd(plan.by_year_usd.max()), legend.usd(plan.by_year_usd.min())
        lines.append(told.say("years", n=len(plan.by_year_usd), best=best, worst=worst))
    if plan.next_field_id is not None:
        adds = plan.reasons.next_usd
        key = "next" if adds > 0 else "next_loses" if any_sown else "next_none"
        lines.append(told.say(key, field=told.name(plan.next_field_id), usd=legend.usd(abs(adds))))
    bag = plan.reasons.bag_usd
    if bag is not None:
        key = "bag_unknown" if math.isnan(bag) else "bag" if bag >= 1 else "bag_nothing"
        lines.append(told.say(key, usd=legend.usd(bag)))
    rows = tuple(
        (
            told.name(row.field_id),
            told.say(f"use.{row.use}") if row.use in USES else told.say("not_said"),
            legend.day(row.sow_date),
            legend.area_number(row.sowable_ha),
            told.say("answer.in" if row.sown else "answer.out"),
            why_told(plan, row.field_id, told.words, legend),
            legend.usd(row.worth_usd),
        )
        for row in plan.fields.itertuples(index=False)
    )
    heads = ("field", "use", "week", "area", "answer", "why", "worth")
    return Section(
        told.say("choice_heading"),
        lines,
        told.table(heads, rows, (2.6, 1.3, 1.4, 1.1, 0.9, 3.6, 1.2), (3, 6)),
        told.say("choice_hint"),
    )


def _herbicide(told: PlanTeller) -> list[str]:
    """Fields that the plan sows where herbicide stays in the soil, or may."""
    sown = told.plan.fields.loc[told.plan.fields["sown"], "field_id"]
    said = told.assessment.fields.set_index("field_id")["herbicide_product"]
    stated = herbicide_stated(said.reindex(sown))
    named = [
        f"{told.name(i)} ({shown(said[i]) if what == 'named' else told.say('herbicide_unsaid')})"
        for i, what in stated.items()
        if what != "none"
    ]
    return [told.say("herbicide_first", fields=", ".join(named))] if named else []


def _feed(told: PlanTeller) -> Section | None:
    plan, legend = told.plan, told.legend
    if plan.need is None:
        return None
    eaten = float(plan.eaten_kg.mean()) if len(plan.eaten_kg) else 0.0
    key = "feed_total" if eaten >= _LEAST_KG or plan.feed is not None else "feed_none"
    lines = [told.say(key, need=legend.weight(plan.need.total_kg), eaten=legend.weight(eaten))]
    dearer = plan.reasons.need_usd
    if dearer is not None and dearer >= 1:
        hay = legend.usd(plan.hay_instead_usd)
        lines.append(told.say("feed_dearer", usd=legend.usd(dearer), hay=hay))
    table = None
    if plan.feed is None:
        lines.append(told.say("feed_no_start"))
    else:
        rows = tuple(
            (
                legend.day(row.week),
                legend.weight_number(row.need_kg),
                legend.weight_number(row.grazed_kg),
                legend.weight_number(max(row.gap_kg, 0.0)),
                f"{row.head_days:,.0f}",
                f"{row.fed_years_in_ten:.0f}",
            )
            for row in plan.feed.itertuples(index=False)
        )
        heads = ("week", "need", "grazed", "gap", "head_days", "fed")
        unit = legend.weight_unit
        table = told.table(heads, rows, (1.5, 1.4, 1.4, 1.4, 1.4, 1.6), (1, 2, 3, 4, 5), unit)
    hint = "" if table is None else told.say("feed_hint")
    return Section(told.say("feed_heading"), lines, table, hint)


def _grazed(told: PlanTeller) -> Section | None:
    """Which field feeds the stock in which week."""
    fed = told.plan.feed_fields
    if fed is None or not (fed["grazed_kg"] >= _LEAST_KG).any():
        return None
    number = told.legend.weight_number
    place = {week: n for n, week in enumerate(fed["week"].drop_duplicates())}
    fed = fed[fed["grazed_kg"] >= _LEAST_KG]
    fed = fed.sort_values("week", key=lambda weeks: weeks.map(place), kind="stable")
    rows = tuple(
        (
            told.legend.day(row.week),
            told.name(row.field_id),
            number(row.on_offer_kg),
            number(row.grazed_kg),
            number(row.left_kg),
        )
        for row in fed.itertuples(index=False)
    )
    heads = ("week", "field", "on_offer", "taken", "left_over")
    unit = told.legend.weight_unit
    table = told.table(heads, rows, (1.5, 2.6, 1.5, 1.5, 1.5), (2, 3, 4), unit)
    return Section(told.say("grazed_heading"), [], table, told.say("grazed_hint"))


def _days(told: PlanTeller) -> Section | None:
    days = told.assessment.calendar
    if days is None or not len(days):
        return None
    shown_days = days[days["sown"]] if days["sown"].any() else days
    rows = tuple(
        (told.name(row.field_id), told.say(f"event.{row.event}"), _spread(told, row))
        for row in shown_days.itertuples(index=False)
    )
    table = told.table(("field", "event", "usual"), rows, (2.2, 4, 3.2))
    hint = told.say("calendar_hint")
    if days["sown"].any():
        hint = f"{hint} {told.say('calendar_file')}"
    return Section(told.say("calendar_heading"), [], table, hint)


def _spread(told: PlanTeller, row: Any) -> str:
    usual, late = told.legend.day(row.usual_mmdd), told.legend.day(row.late_mmdd)
    early = told.legend.day(row.early_mmdd)
    if not late or (early == usual == late):
        return usual
    return f"{usual} ({early or usual} - {late})"


def _cautions(told: PlanTeller) -> Section | None:
    fields = told.plan.fields
    fed = fields.loc[fields["sown"] & fields["use"].isin(["graze", "cut"]), "field_id"]
    if not len(fed):
        return None
    named = told.assessment.verdicts.set_index("field_id")["herbicide_product"].reindex(fed)
    lines = []
    for code in CAUTIONS:
        lines.append(told.say(f"caution.{code}"))
        if code == "label_intervals":
            lines += [
                told.say("caution.label_named", field=told.name(i), product=shown(product))
                for i, product in named.items()
                if isinstance(product, str)
            ]
    return Section(told.say("cautions_heading"), lines)
