"""Cost and return of the plan, common practice beside it, and the prices behind it."""

from typing import Any

import pandas as pd

from maps.legend import ACRES_PER_HA, KG_HA_PER_LB_AC
from maps.plan_teller import PlanTeller, Section
from maps.report_table import Table
from maps.spoken_notes import told_source
from suitability.conversions import M_PER_FT
from suitability.feed_window import window_rule
from suitability.money import USES
from suitability.practice import beside, our_practice
from suitability.published import table as published

_LB_A_SHORT_TON = 2000
_IN_DAYS = {"less": "earlier", "more": "later"}
_WHY = {  # what ours differs in for a reason of its own
    "graze_open": ("earlier", "later", "wider"),
    "height_30d": ("more",),
}
# From our unit to that of common practice: factor, offset, decimals shown.
_OUR_UNITS = {
    "lb/ac": (1 / KG_HA_PER_LB_AC, 0.0, 0),
    "F": (1.8, 32.0, 0),
    "d": (1.0, 0.0, 0),
    "ft": (1 / M_PER_FT, 0.0, 1),
    "short ton/ac": (1 / (KG_HA_PER_LB_AC * _LB_A_SHORT_TON), 0.0, 1),
    "USD/ac": (1 / ACRES_PER_HA, 0.0, 0),
    "pct": (1.0, 0.0, 0),
}


def money(told: PlanTeller) -> Section | None:
    """Money of each field by its use."""
    own = told.plan.money[told.plan.money["own"].astype(bool)]
    if not len(own):
        return None
    legend = told.legend
    rows = tuple(
        (
            told.name(row.field_id),
            told.say(f"use.{row.use}"),
            legend.usd_area(row.cost_mean_usd_ha),
            legend.usd_area(row.feed_mean_usd_ha),
            legend.usd_area(row.nitrogen_mean_usd_ha),
            legend.usd_area(row.net_mean_usd_ha),
            legend.usd_area(row.net_8_in_ten_usd_ha),
            f"{row.pays_years_in_ten:.0f}",
            legend.usd_weight(row.break_even_seed_usd_kg)
            if row.break_even_seed_usd_kg > 0
            else "-",
            _yield(told, row.break_even_yield_kg_ha),
        )
        for row in own.itertuples(index=False)
    )
    heads = ("field", "use", "cost", "feed", "nitrogen", "net", "reached", "pays", "even_seed",
             "even_yield")  # fmt: skip
    table = told.table(
        heads, rows, (2.4, 1.2, 1, 1.1, 1.1, 1, 1, 1.1, 1.3, 1.2), tuple(range(2, 10)),
        unit=legend.dry_matter_unit,
    )  # fmt: skip
    most = f"{legend.dry_matter(_highest_kg_ha(told))} {legend.dry_matter_unit}"
    hints = [told.say("money_hint", most=most)]
    if told.plan.need is not None:
        hints.append(told.say("money_herd"))
    hints.append(told.say("money_not_counted"))
    return Section(told.say("money_heading", unit=told.per()), _hay(told), table, " ".join(hints))


def nitrogen(told: PlanTeller) -> Section | None:
    """Nitrogen in the stand, and what of it the next crop need not be given."""
    own = told.plan.money[told.plan.money["own"].astype(bool)]
    if not len(own):
        return None
    legend, price = told.legend, told.plan.ground.prices.nitrogen_usd_kg
    factor = legend.dry_matter_factor
    rows = tuple(
        (
            told.name(row.field_id),
            told.say(f"use.{row.use}"),
            f"{row.stand_nitrogen_kg_ha * factor:.0f}",
            f"{row.nitrogen_mean_usd_ha / price * factor:.0f}" if price > 0 else "",
            legend.usd_area(row.nitrogen_mean_usd_ha),
        )
        for row in own.itertuples(index=False)
    )
    heads = ("field", "use", "n_stand", "n_next", "n_worth")
    table = told.table(
        heads, rows, (2.6, 1.3, 1.6, 1.6, 1.6), (2, 3, 4), unit=legend.dry_matter_unit
    )
    return Section(told.say("nitrogen_heading"), _nitrogen(told), table, told.say("nitrogen_hint"))


def uses(told: PlanTeller) -> Section | None:
    """What each use would leave."""
    if not len(told.plan.money):
        return None
    wide = told.plan.money.pivot(index="field_id", columns="use", values="net_mean_usd_ha")
    order = [i for i in told.plan.fields["field_id"] if i in wide.index]
    rows = tuple(
        (told.name(i), *(told.legend.usd_area(wide.loc[i, use]) for use in USES)) for i in order
    )
    heads = (told.say("head.field"), *(told.say(f"use.{use}") for use in USES))
    return Section(
        told.say("money_uses_heading", unit=told.per()),
        [],
        Table(heads, rows, (3, 1.5, 1.5, 1.5), (1, 2, 3)),
    )


def practice(told: PlanTeller) -> Section:
    """Common practice beside what was published and what this plan comes to."""
    ours = our_practice(told.plan)
    rows = tuple(
        (
            told.say(f"practice.{row.name}"),
            _range(told, row),
            told.say(f"published.{row.name}"),
            *_ours(told, row, ours.get(row.name)),
        )
        for row in published("practice").itertuples(index=False)
    )
    table = told.table(
        ("practice", "trade", "published", "ours", "against"), rows, (1.9, 1.4, 3.2, 1.6, 2.9)
    )
    return Section(told.say("practice_heading"), [], table, told.say("practice_hint"))


def prices(told: PlanTeller) -> Section:
    """Every price with its date and source."""
    rows = tuple(
        (
            told.say(f"price.{row.name}"),
            f"{_plain(row.value)} {_unit(told, row.unit)}",
            "" if pd.isna(row.low) else f"{_plain(row.low)}-{_plain(row.high)}",
            _origin(told, row),
        )
        for row in told.plan.ground.prices.rows.itertuples(index=False)
    )
    table = told.table(("price", "value", "range", "from"), rows, (1.8, 1.1, 0.9, 6.2))
    return Section(told.say("prices_heading"), [], table, told.say("prices_hint"))


def _hay(told: PlanTeller) -> list[str]:
    """Our hay beside the trade's, where the trade counts more."""
    hay = told.plan.money.loc[told.plan.money["use"] == "cut", "feed_mean_usd_ha"]
    trade = published("practice").set_index("name").loc["hay_value"]
    if not len(hay) or hay.max() / ACRES_PER_HA >= trade["low"]:
        return []
    return [
        told.say(
            "money_trade",
            trade_low=told.legend.usd_area(trade["low"] * ACRES_PER_HA),
            trade_high=told.legend.usd_area(trade["high"] * ACRES_PER_HA),
            low=told.legend.usd_area(hay.min()),
            high=told.legend.usd_area(hay.max()),
            unit=told.per(),
        )
    ]


def _nitrogen(told: PlanTeller) -> list[str]:
    cover = told.plan.money[told.plan.money["use"] == "cover"]
    pays = cover[cover["nitrogen_alone_pays"].astype(bool)]
    lines = []
    if len(pays):
        lines.append(told.say("nitrogen_some", fields=told.names(pays["field_id"])))
    elif len(cover):
        value, cost = cover["nitrogen_mean_usd_ha"], cover["cost_mean_usd_ha"]
        lines.append(
            told.say(
                "nitrogen_no",
                low=told.legend.usd_area(value.min()),
                high=told.legend.usd_area(value.max()),
                cost_low=told.legend.usd_area(cost.min()),
                cost_high=told.legend.usd_area(cost.max()),
                unit=told.per(),
            )
        )
    return [*lines, told.say("nitrogen_release")]


def _ours(told: PlanTeller, row: Any, span: tuple[float, float] | None) -> tuple[str, str]:
    """Our figure in the trade's unit, and whether the two agree."""
    if span is None:
        return "", ""
    factor, offset, decimals = _OUR_UNITS[row.unit]
    low, high = (round(value * factor + offset, decimals) for value in span)
    shown = _plain(low) if low == high else f"{_plain(low)}-{_plain(high)}"
    answer = beside((low, high), (row.low, row.high))
    return f"{shown} {_unit(told, row.unit)}", _against(told, row, answer)


def _against(told: PlanTeller, row: Any, answer: str) -> str:
    """The answer; in days it is earlier or later; where we know why, why."""
    if answer == "agrees":
        return told.say("against.agrees")
    answer = _IN_DAYS.get(answer, answer) if row.unit == "d" else answer
    word = told.say(f"against.{answer}")
    if answer not in _WHY.get(row.name, ()):
        return told.say("against.ours", word=word)
    settings, crop = told.plan.ground.settings, told.plan.ground.crop
    rule = window_rule(crop, settings.opens_d, settings.opens_height_m, settings.closes_d)
    why = told.say(
        f"against_why.{row.name}",
        opens=told.legend.height(rule.opens_height_m),
        opens_d=f"{rule.opens_d:g}",
        closes_d=f"{rule.closes_d:g}",
    )
    return f"{word}: {why}"


def _origin(told: PlanTeller, row: Any) -> str:
    """Whose figure it is, its source, and its date where it has one."""
    if row.origin == "yours":
        return " ".join(part for part in (told.say("yours"), row.date) if part)
    source = told_source(row.source, told.words.language)
    told_from = f"{told.words(f'report.basis.{row.basis}')}: {source}"
    return f"{told_from}; {row.date}" if row.date else told_from


def _yield(told: PlanTeller, yield_kg_ha: float) -> str:
    if yield_kg_ha > _highest_kg_ha(told):
        return told.say("never")
    return told.legend.dry_matter(yield_kg_ha)


def _highest_kg_ha(told: PlanTeller) -> float:
    """The heaviest stand of published trials, dry matter."""
    return told.plan.ground.crop.number("money.highest_stand_kg_ha")


def _range(told: PlanTeller, row: Any) -> str:
    unit = _unit(told, row.unit)
    if row.low == row.high:
        return f"{_plain(row.low)} {unit}"
    return f"{_plain(row.low)}-{_plain(row.high)} {unit}"


def _plain(value: float) -> str:
    """``0.65``, ``1,250``: the digits it has, with commas from a thousand."""
    return f"{value:,.10g}"


def _unit(told: PlanTeller, unit: str) -> str:
    return told.say(f"unit.{unit.replace('/', '_').replace(' ', '_')}")
