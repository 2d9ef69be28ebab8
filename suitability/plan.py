"""The plan: which fields to sow in which week, what to order, and what it costs and returns."""

from dataclasses import dataclass
from datetime import date
from typing import Any

import numpy as np
import pandas as pd

from suitability.crop import Crop
from suitability.feed import Need, feed_fields, feed_weeks, need
from suitability.money import USES, feed_usd_kg
from suitability.notes import Note
from suitability.plan_choice import choose
from suitability.plan_entries import Entries, plan_entries
from suitability.plan_faults import impossible, told, wish_faults
from suitability.plan_ground import PlanGround, plan_ground
from suitability.plan_returns import harvest_of, money_row, of_week
from suitability.plan_settings import PlanSettings
from suitability.plan_values import Chosen, Limits, aim_value
from suitability.plan_why import Reasons, reasons
from suitability.prices import Prices, old_prices
from suitability.seed_order import SeedLot, SeedOrder, seed_order
from suitability.years import Years

LAYER = "plan"
_TAG = {  # what a seed tag says, by its name in ``SeedLot.assumed``
    "germination_pct": "germination",
    "purity_pct": "purity",
    "n_seeds_per_kg": "the number of seeds",
    "bag_kg": "the size of the bag",
}


@dataclass(frozen=True)
class Plan:
    """The plan of a farm.

    ``fields`` has one row a field: field_id, sown (true or false), why (``plan_why.CODES`` or
    ``plan_ground.NOT_ASKED``), use, sow_date (chosen, else the best week on record), sowable_ha and
    worth_usd (of ``plan_why.Reasons``). ``money`` has one row a field that could be planned and
    use, ``own`` where that is the field's use, with the columns of ``plan_returns.money_row``.
    ``by_year_usd`` is the farm's return by year with seed in whole bags; ``reached_usd`` what is
    reached in 8 years of 10. ``feed`` is of ``feed.feed_weeks`` and ``feed_fields`` of
    ``feed.feed_fields`` with field_id, None where no herd says when.
    ``eaten_kg`` by year is what stock take, of their need at most; ``hay_instead_usd`` what that
    costs as hay in the mean year, NaN without a herd. ``proved``: no better choice exists; else
    none leaves more than ``more_usd`` above it, infinite where that is not known.
    """

    ground: PlanGround
    fields: pd.DataFrame
    money: pd.DataFrame
    order: SeedOrder
    by_year_usd: "pd.Series[float]"
    eaten_kg: "pd.Series[float]"
    mean_usd: float
    reached_usd: float
    reasons: Reasons
    next_field_id: str | None
    need: Need | None
    hay_instead_usd: float
    feed: pd.DataFrame | None
    feed_fields: pd.DataFrame | None
    proved: bool
    more_usd: float
    notes: tuple[Note, ...]


def make_plan(
    fields: pd.DataFrame,
    verdicts: pd.DataFrame,
    sowable_ha: "pd.Series[float]",
    flood_years_in_ten: "pd.Series[float]",
    years: Years,
    settings: PlanSettings,
    prices: Prices,
    lot: SeedLot,
    crop: Crop,
    today: date,
) -> Plan:
    """Make the plan of a farm.

    Parameters
    ----------
    fields, verdicts : tables of the contract. sowable_ha : by field_id, the ground that can be sown
        whatever the verdict. flood_years_in_ten : by field_id, harmful river floods.
    years : of ``years.years_of_farm``. today : to tell which prices are old.

    Notes
    -----
    A field can be chosen if its verdict is to sow, or the grower wants it in. All are compared on
    the same years, those known for all, so that a bad year is bad everywhere. Floods make every
    year of a field poorer by their odds, since nothing says in which year they come.

    Raises
    ------
    InputError : wishes for fields that are not there, stock that must not be fed, or limits that no
        choice can keep.
    """
    herds_need = need(settings.herds)
    ground = plan_ground(
        fields, verdicts, sowable_ha, flood_years_in_ten, years, settings, prices, lot, crop
    )
    faults = wish_faults(settings, tuple(fields["field_id"]), ground.why_not)
    if faults:
        raise told(faults)
    entries = plan_entries(ground, verdicts, years, herds_need)
    limits = _limits(ground, settings, herds_need)
    chosen = choose(entries.choices, limits)
    if chosen is None:
        raise impossible(settings, entries.choices)
    why = reasons(entries.choices, limits, chosen)
    table = _fields(fields, ground, entries, chosen, why, years)
    sown = table.loc[table["sown"], ["field_id", "sowable_ha", "use"]]
    sown = sown.join(ground.about["inoculation_need"], on="field_id")
    own_years = np.array(years.simulated.years)[entries.years]
    by_year = pd.Series(chosen.by_year_usd, index=own_years)
    return Plan(
        ground=ground,
        fields=table,
        money=_money(ground, table),
        order=seed_order(sown, lot, crop, prices.seed_usd_kg, prices.inoculant_usd_ha),
        by_year_usd=by_year,
        eaten_kg=pd.Series(chosen.fed_kg, index=own_years),
        mean_usd=aim_value(chosen.by_year_usd, "mean") if len(by_year) else 0.0,
        reached_usd=aim_value(chosen.by_year_usd, "8 in 10") if len(by_year) else 0.0,
        reasons=why,
        next_field_id=None if why.next_field is None else ground.field_ids[why.next_field],
        need=herds_need,
        hay_instead_usd=_hay_usd(ground, herds_need, chosen),
        feed=_feed(herds_need, entries, chosen),
        feed_fields=_feed_fields(ground, herds_need, entries, chosen),
        proved=chosen.proved,
        more_usd=chosen.more_usd,
        notes=_notes(ground, chosen, by_year, today),
    )


def _limits(ground: PlanGround, settings: PlanSettings, herds_need: Need | None) -> Limits:
    number = {i: f for f, i in enumerate(ground.field_ids)}
    return Limits(
        aim=settings.aim,
        order_budget_usd=settings.order_budget_usd,
        most_ha=settings.most_ha,
        least_ha=settings.least_ha,
        must=frozenset(number[i] for i in settings.fields_in if i in number),
        never=frozenset(number[i] for i in settings.fields_out if i in number),
        need_kg=None if herds_need is None else herds_need.total_kg,
        need_by_week_kg=() if herds_need is None else herds_need.by_week_kg,
    )


def _fields(
    fields: pd.DataFrame,
    ground: PlanGround,
    entries: Entries,
    chosen: Chosen,
    why: Reasons,
    years: Years,
) -> pd.DataFrame:
    week = {int(entries.choices.field[i]): int(entries.week[i]) for i in chosen.taken}
    number = {i: f for f, i in enumerate(ground.field_ids)}
    use = fields.set_index("field_id")["use"]
    use = use.where(use.notna(), ground.settings.use)
    rows: list[dict[str, Any]] = []
    for i in fields["field_id"]:
        f = number.get(i)
        code = ground.why_not.get(i) if f is None else why.code.get(f, "no_odds")
        best = years.best["sow_date"].get(i)
        at = ground.stand.weeks[week[f]] if f is not None and f in week else best
        rows.append(
            {
                "field_id": i,
                "sown": f is not None and f in week,
                "why": "you_left_out" if i in ground.settings.fields_out else code,
                "use": use[i] if f is None else ground.about["use"][i],
                "sow_date": at if isinstance(at, str) else None,
                "sowable_ha": float("nan") if f is None else float(ground.about["sowable_ha"][i]),
                "worth_usd": float("nan") if f is None else why.worth_usd.get(f, float("nan")),
            }
        )
    return pd.DataFrame(rows)


def _money(ground: PlanGround, table: pd.DataFrame) -> pd.DataFrame:
    """Each use of each field in its week."""
    at = table.set_index("field_id")
    column = {week: w for w, week in enumerate(ground.stand.weeks)}
    rows: list[dict[str, Any]] = []
    for f, i in enumerate(ground.field_ids):
        about = ground.about.loc[i]
        for use in USES if at["sow_date"][i] in column else ():
            harvest = harvest_of(
                ground.stand, ground.window, f, use, bool(about["next_crop"]), ground.close_d[f]
            )
            week = of_week(harvest, column[at["sow_date"][i]])
            flood_frac = float(about["flood_frac"])
            terms = ground.terms_of(i, use)
            row = money_row(week, use, terms, flood_frac, ground.prices, ground.crop)
            rows.append({"field_id": i, "use": use, "own": use == about["use"], **row})
    return pd.DataFrame(rows) if rows else pd.DataFrame(columns=["field_id", "use", "own"])


def _hay_usd(ground: PlanGround, herds_need: Need | None, chosen: Chosen) -> float:
    if herds_need is None:
        return float("nan")
    fed_kg = float(chosen.fed_kg.mean()) if len(chosen.fed_kg) else 0.0
    return fed_kg * feed_usd_kg(ground.prices, ground.crop)


def _feed(herds_need: Need | None, entries: Entries, chosen: Chosen) -> pd.DataFrame | None:
    if herds_need is None or not herds_need.by_week_kg:
        return None
    taken = list(chosen.taken)
    grazed_kg = entries.choices.on_offer_kg[taken] * chosen.grazed_share
    return feed_weeks(herds_need, grazed_kg, entries.offer_kg[taken], chosen.grazed_share)


def _feed_fields(
    ground: PlanGround, herds_need: Need | None, entries: Entries, chosen: Chosen
) -> pd.DataFrame | None:
    if herds_need is None or not herds_need.by_week_kg:
        return None
    taken = list(chosen.taken)
    table = feed_fields(herds_need, entries.choices.on_offer_kg[taken], chosen.grazed_share)
    ids = [ground.field_ids[f] for f in entries.choices.field[taken]]
    return table.assign(field_id=[ids[f] for f in table["field"]]).drop(columns="field")


def _notes(
    ground: PlanGround, chosen: Chosen, by_year: "pd.Series[float]", today: date
) -> tuple[Note, ...]:
    notes = []
    if not chosen.proved:
        text = "The search for the best plan was stopped before its end: a better one may exist."
        notes.append(Note(LAYER, "caution", text))
    old = old_prices(ground.prices, today, ground.crop.number("money.old_price_years"))
    if old:
        text = (
            f"These prices are old or undated: {', '.join(old).replace('_', ' ')}. Set your own "
            "under [prices] in farm.toml."
        )
        notes.append(Note(LAYER, "caution", text))
    if ground.lot.assumed:
        text = (
            "No seed tag was entered for "
            f"{', '.join(_TAG[name] for name in ground.lot.assumed)}: the order "
            "rests on usual figures. Order by the tag of the lot."
        )
        notes.append(Note(LAYER, "caution", text))
    few = ground.crop.number("odds.few_years")
    if 0 < len(by_year) < few:
        text = f"The fields share only {len(by_year)} years of weather: take the money as rough."
        notes.append(Note(LAYER, "caution", text))
    silent = [i for i, code in ground.why_not.items() if code == "no_use"]
    if silent:
        whose = "1 field does" if len(silent) == 1 else f"{len(silent)} fields do"
        text = (
            f"{whose} not say what the stand is for (use: {', '.join(USES)}): set use under [plan] "
            "in farm.toml, or it is not planned."
        )
        notes.append(Note(LAYER, "caution", text, tuple(silent)))
    return tuple(notes)
