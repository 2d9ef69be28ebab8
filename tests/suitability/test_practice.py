"""What a hand-made plan comes to beside common practice."""

from datetime import date

import pandas as pd
import plan_farm as farm
import pytest

from suitability.crop import load_crop
from suitability.plan import make_plan
from suitability.plan_settings import PlanSettings
from suitability.practice import beside, our_practice
from suitability.prices import prices
from suitability.published import table
from suitability.seed_order import seed_lot

CROP = load_crop("sunn_hemp")


def _plan(settings, **price):
    return make_plan(
        farm.fields(),
        farm.verdicts(),
        farm.SOWABLE_HA,
        farm.NO_FLOOD,
        farm.years(),
        settings,
        prices(price or {"seed": 0.5, "drill": 10.0}, own_date="2026-03-01"),
        seed_lot(CROP, germination_pct=85.0),
        CROP,
        date(2026, 5, 1),
    )


def test_figures_of_the_sown_fields_by_hand():
    plan = _plan(PlanSettings(fields_in=("a", "b"), fields_out=("c", "d")))
    ours = our_practice(plan)
    # plan_farm: up on the fifth day, the sowing day being the first; 0.03 m a day from day 5 on;
    # 80 kg/ha a day in a, 60 in b; protein 8 % at 60 days, of which 6.25 kg hold 1 kg of nitrogen.
    assert ours["emergence"] == (4, 4)
    assert ours["height_30d"] == pytest.approx((0.75, 0.75))
    assert ours["height_60d"] == pytest.approx((1.65, 1.65))
    assert ours["dry_matter_60d"] == pytest.approx((55 * 60, 55 * 80))
    assert ours["nitrogen"] == pytest.approx((55 * 60 * 0.08 / 6.25, 55 * 80 * 0.08 / 6.25))
    assert ours["seeding_rate"] == pytest.approx((33.6, 33.6), abs=0.1)  # 30 lb/ac
    assert ours["soil_warm"] == pytest.approx((18.3, 18.3), abs=0.05)  # 65 F
    assert ours["cost"][0] == pytest.approx(
        plan.money.loc[plan.money["own"] & plan.money["field_id"].isin(["a", "b"])][
            "cost_mean_usd_ha"
        ].min()
    )
    # Protein falls by 0.2 % a day from 20 %: 9 % on day 55, when grazing closes.
    opens_d, closes_d = ours["graze_open"]
    assert ours["protein"] == pytest.approx((20 - 0.2 * closes_d, 20 - 0.2 * opens_d), abs=0.05)
    assert 15 < ours["graze_open"][0] <= 45 and ours["graze_open"][1] >= ours["graze_open"][0]


def test_without_a_sown_field_all_that_were_planned_count():
    plan = _plan(PlanSettings(), seed=50.0)
    assert not plan.fields["sown"].any()
    ours = our_practice(plan)
    assert ours["dry_matter_60d"] == pytest.approx((55 * 40, 55 * 80)), "c to a and d"
    assert "seeding_rate" not in ours, "nothing is ordered"


@pytest.mark.parametrize(
    ("ours", "trade", "answer"),
    [
        ((24, 56), (40, 60), "less"),  # 16 of its 32 days lie within
        ((1.9, 2.3), (1.5, 2), "more"),  # 0.1 of 0.4 ft
        ((65, 65), (65, 65), "agrees"),
        ((30, 30), (25, 40), "agrees"),
        ((38, 46), (40, 60), "agrees"),  # 6 of 8
        ((37, 46), (40, 60), "less"),  # 6 of 9
        ((30, 80), (40, 60), "wider"),
        ((3, 4), (2, 2), "more"),
        ((68, 75), (100, 120), "less"),
    ],
)
def test_it_agrees_where_three_quarters_lie_within(ours, trade, answer):
    assert beside(ours, trade) == answer


def test_every_name_is_one_of_the_table():
    ours = our_practice(_plan(PlanSettings(fields_in=("a",))))
    assert set(ours) <= set(table("practice")["name"])
    assert set(table("practice")["name"]) == set(ours)


def test_a_farm_without_a_planned_field_has_no_figure():
    plan = _plan(PlanSettings())
    empty = plan.money.iloc[:0]
    from dataclasses import replace

    orderless = replace(plan.order, fields=plan.order.fields.iloc[:0])
    nothing = replace(plan, money=empty, order=orderless)
    assert our_practice(nothing) == {} and isinstance(empty, pd.DataFrame)
