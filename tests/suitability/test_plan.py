"""The plan from fields to order, on a farm made by hand, and its messages."""

from datetime import date

import numpy as np
import pandas as pd
import plan_farm as farm
import pytest

from suitability.crop import load_crop
from suitability.errors import InputError
from suitability.feed import Herd
from suitability.plan import make_plan
from suitability.plan_returns import common_years
from suitability.plan_settings import PlanSettings
from suitability.prices import prices
from suitability.seed_order import seed_lot

CROP = load_crop("sunn_hemp")
LOT = seed_lot(CROP, germination_pct=85.0, purity_pct=98.0, n_seeds_per_kg=33000.0, bag_kg=25.0)
RICH = prices({"seed": 0.5, "drill": 10, "inoculant": 3, "kill": 0.0})  # most fields pay
DEAR = prices({"seed": 9.0})


def _plan(settings=None, price=RICH, lot=LOT, **changes):
    about = {
        "fields": farm.fields(),
        "verdicts": farm.verdicts(),
        "sowable_ha": farm.SOWABLE_HA,
        "flood_years_in_ten": farm.NO_FLOOD,
        "years": farm.years(),
    }
    about.update(changes)
    wishes = PlanSettings(seed_type="tropical") if settings is None else settings
    return make_plan(
        **about, settings=wishes, prices=price, lot=lot, crop=CROP, today=date(2025, 1, 1)
    )


def _row(plan, field_id):
    return plan.fields.set_index("field_id").loc[field_id]


def test_money_of_a_field_by_hand():
    # Field a, 80 kg a day from day 5. 0.03 m a day: 0.457 m at 20.2 days; protein under 9 % at 55.
    # Middle 37.6 days: 32.6 x 80 = 2609 kg, half eaten, at 60 / 408.23 / 0.85 $: 225.6 $/ha.
    plan = _plan()
    own = plan.money[plan.money["own"]].set_index("field_id").loc["a"]
    assert own.feed_mean_usd_ha == pytest.approx(225.6, abs=0.5)
    # Seed 40.336 x 1.03 = 41.546 kg at 1.1023 $; inoculant 7.41; drill 24.71: 77.9 $/ha.
    assert own.sowing_usd_ha == pytest.approx(41.546 * 1.10231 + 7.413 + 24.711, abs=0.02)
    assert own.cost_mean_usd_ha == pytest.approx(own.sowing_usd_ha)
    assert own.pays_years_in_ten == 10


def test_each_use_is_priced_at_its_own_rate_of_seed():
    # Cover 16.8 kg/ha (15 lb/ac), forage 33.6 (30 lb/ac) of pure live seed, drilled: crop file.
    # Bulk: / 0.85 / 0.98 x 1.03; the rest of sowing is 7.41 + 24.71 $/ha.
    rest = 7.413 + 24.711
    for own in ("graze", "cover"):
        money = _plan(fields=farm.fields(use=own)).money.set_index(["field_id", "use"])
        for use, pls in (("graze", 33.6), ("cut", 33.6), ("cover", 16.8)):
            seed = pls / 0.85 / 0.98 * 1.03 * 1.10231
            sowing = money.loc[("a", use), "sowing_usd_ha"]
            assert sowing == pytest.approx(seed + rest, abs=0.1), (own, use)
    asked = seed_lot(CROP, germination_pct=85.0, purity_pct=98.0, bag_kg=25.0, pls_kg_ha=30.0)
    same = _plan(lot=asked).money.set_index(["field_id", "use"])["sowing_usd_ha"]["a"]
    assert same.nunique() == 1, "the grower's own rate is for every use"


def test_the_plan_adds_up():
    plan = _plan()
    assert _row(plan, "a").sown and _row(plan, "a").why == "pays"
    sown = plan.fields[plan.fields["sown"]]
    money = plan.money[plan.money["own"]].set_index("field_id")["net_mean_usd_ha"]
    by_field = (sown["sowable_ha"].to_numpy() * money.reindex(sown["field_id"]).to_numpy()).sum()
    spare = plan.order.left_over_kg * RICH.seed_usd_kg
    assert plan.mean_usd == pytest.approx(by_field - spare, abs=0.01)
    assert plan.by_year_usd.mean() == pytest.approx(plan.mean_usd)
    assert plan.reached_usd == sorted(plan.by_year_usd)[2]
    assert list(plan.order.fields["field_id"]) == list(sown["field_id"]) and plan.proved


def test_sow_none_at_a_dear_price_of_seed():
    plan = _plan(price=DEAR)
    assert not plan.fields["sown"].any() and plan.order.n_bags == 0 and plan.mean_usd == 0
    assert set(plan.fields["why"]) == {"does_not_pay"}
    assert plan.next_field_id in ("a", "d") and plan.reasons.next_usd < 0
    cheaper = plan.money[plan.money["own"]].set_index("field_id")["break_even_seed_usd_kg"]
    assert (cheaper < DEAR.seed_usd_kg).all()


def test_nothing_pays_as_cover_at_default_prices():
    plan = _plan(PlanSettings(), prices(), fields=farm.fields(use="cover"))
    assert not plan.fields["sown"].any()
    cover = plan.money[plan.money["use"] == "cover"]
    assert not cover["nitrogen_alone_pays"].any() and (cover["nitrogen_mean_usd_ha"] > 0).all()


def test_fields_that_cannot_be_planned_say_why():
    sowable = farm.SOWABLE_HA.copy()
    sowable["b"] = 0.0
    years = farm.years()
    years.weeks = years.weeks[years.weeks["field_id"] != "c"]
    verdicts = farm.verdicts(verdict=["sow", "sow", "sow", "leave out"])
    plan = _plan(verdicts=verdicts, sowable_ha=sowable, years=years)
    why = plan.fields.set_index("field_id")["why"]
    assert why.to_dict() == {"a": "pays", "b": "no_ground", "c": "no_odds", "d": "verdict"}
    silent = _plan(fields=farm.fields(use=[None, "graze", "graze", "graze"]))
    assert _row(silent, "a").why == "no_use" and _row(silent, "a").sown is np.False_
    assert any(
        n.text.startswith("1 field does not say what the stand is for") for n in silent.notes
    )
    assert _row(_plan(PlanSettings(use="cut"), fields=farm.fields(use=None)), "a").use == "cut"


def test_the_grower_puts_in_what_the_verdict_leaves_out():
    verdicts = farm.verdicts(verdict="leave out")
    plan = _plan(PlanSettings(fields_in=("c",)), verdicts=verdicts)
    assert plan.fields.set_index("field_id")["why"].to_dict() == {
        "a": "verdict", "b": "verdict", "c": "you_put_in", "d": "verdict"
    }  # fmt: skip


def test_wishes_that_cannot_be_kept_are_told_all_at_once():
    wishes = PlanSettings(
        fields_in=("a", "x"), fields_out=("a", "y"), rent_usd_ha={"z": 10.0}, use="graze"
    )
    with pytest.raises(InputError) as error:
        _plan(wishes)
    text = str(error.value)
    for words in (
        "fields_in: there is no field 'x'",
        "fields_out: there is no field 'y'",
        "rent: there is no field 'z'",
        "field 'a' is both in and out",
        "Mend these lines under [plan]",
    ):
        assert words in text
    with pytest.raises(InputError, match=r"123.6 acres are asked for, 98.8 acres \(40.0 ha\) can"):
        _plan(PlanSettings(least_ha=50.0))
    with pytest.raises(InputError, match="cannot be kept together"):
        _plan(PlanSettings(least_ha=30.0, order_budget_usd=100.0))
    with pytest.raises(InputError, match="fields_in: field 'a' cannot be planned: it has no sow"):
        _plan(PlanSettings(fields_in=("a",)), sowable_ha=farm.SOWABLE_HA * 0)


def test_a_search_that_found_nothing_in_time_blames_no_limit(monkeypatch):
    monkeypatch.setattr("suitability.plan.choose", lambda choices, limits: None)
    for wishes in (PlanSettings(), PlanSettings(fields_in=("a",))):
        with pytest.raises(InputError, match="no plan was found in the time of the search"):
            _plan(wishes)


def test_rent_is_a_cost_of_sowing_that_field():
    plan = _plan(PlanSettings(rent_usd_ha={"a": 500.0}))
    assert not _row(plan, "a").sown and _row(plan, "d").sown
    own = plan.money[plan.money["own"]].set_index("field_id")
    assert own.loc["a", "sowing_usd_ha"] - own.loc["d", "sowing_usd_ha"] == pytest.approx(500)


def test_weeks_before_the_soil_is_warm_and_weeks_that_fail_are_not_taken():
    late = _plan(verdicts=farm.verdicts(soil_65f_held_p80="06-10"))
    assert _row(late, "a").sow_date >= "06-11"
    never = _plan(verdicts=farm.verdicts(soil_65f_held_p80="12-01"))
    assert _row(never, "a").sown, "no warm week is left: all are asked"
    fails = _plan(years=farm.years(works=4.0))
    assert not fails.fields["sown"].any()


def test_floods_make_each_year_poorer():
    dry, wet = _plan(), _plan(flood_years_in_ten=farm.NO_FLOOD + 2.0)
    feed = [p.money[p.money["own"]].set_index("field_id").loc["a"] for p in (dry, wet)]
    assert feed[1].feed_mean_usd_ha == pytest.approx(0.8 * feed[0].feed_mean_usd_ha)
    assert feed[1].sowing_usd_ha == feed[0].sowing_usd_ha


def test_a_next_crop_makes_the_nitrogen_worth_more():
    with_crop, without = _plan(), _plan(fields=farm.fields(next_crop=None))
    value = [
        p.money[p.money["use"] == "cover"].set_index("field_id").loc["a", "nitrogen_mean_usd_ha"]
        for p in (with_crop, without)
    ]
    assert value[0] == pytest.approx(2.5 * value[1]), "0.50 of it against 0.20"


def test_a_herd_is_fed_week_by_week():
    # 60 cows of 500 kg at 2 %, all of the diet: 600 kg a day for five weeks from 1 July.
    herd = Herd("cows", 60, 500.0, 35, 1.0, "07-01", 2.0)
    plan = _plan(PlanSettings(herds=(herd,), seed_type="tropical"))
    assert plan.feed["need_kg"].tolist() == [4200] * 5
    assert plan.feed["gap_kg"].max() < 1e-3
    assert (plan.feed["fed_years_in_ten"] >= 8).all()
    assert plan.hay_instead_usd == pytest.approx(21000 * 60 / 408.233 / 0.85, rel=1e-4)
    # In no year more is credited than the table says is taken, in all years together or in one.
    assert plan.eaten_kg.max() <= plan.feed["grazed_kg"].sum() + 1e-3
    many = _plan(PlanSettings(herds=(Herd("cows", 2000, 500.0, 35, 1.0, "07-01", 2.0),)))
    assert many.feed["gap_kg"].sum() > 0, "more than grows: the gap is shown"
    assert many.eaten_kg.max() <= many.feed["grazed_kg"].sum() + 1e-3 < 700000
    assert many.hay_instead_usd == pytest.approx(
        many.eaten_kg.mean() * 60 / 408.233 / 0.85, rel=1e-4
    )
    with pytest.raises(InputError, match="horses must not be fed"):
        _plan(PlanSettings(herds=(Herd("horses", 2, 500.0, 35, 1.0),)))


def test_cautions_of_the_plan():
    lot = seed_lot(CROP)
    texts = [n.text for n in _plan(lot=lot).notes]
    assert any("No seed tag was entered for germination, purity" in t for t in texts)
    assert any("old or undated: bale" in t for t in texts)


def test_years_that_only_some_fields_know():
    known = np.ones((3, 12), dtype=bool)
    known[0, 0] = known[1, 1] = False
    keep, same = common_years(known, 10)
    assert keep.all() and same.sum() == 10 and not same[:2].any()
    known[2, :4] = False  # 8 years alone: too few
    keep, same = common_years(known, 10)
    assert keep.tolist() == [True, True, False] and same.sum() == 10
    keep, same = common_years(np.zeros((2, 12), dtype=bool), 10)
    assert not keep.any() and not same.any()


def test_shuffled_fields_give_the_same_plan():
    order = [2, 0, 3, 1]
    plan = _plan(PlanSettings(order_budget_usd=1200.0))
    other = _plan(
        PlanSettings(order_budget_usd=1200.0),
        fields=farm.fields().iloc[order],
        verdicts=farm.verdicts().iloc[order],
    )
    assert plan.mean_usd == pytest.approx(other.mean_usd)
    columns = ["field_id", "why", "sowable_ha"]
    mixed = other.fields.sort_values("field_id").reset_index(drop=True)
    pd.testing.assert_frame_equal(plan.fields[columns[1:]], mixed[columns[1:]])
