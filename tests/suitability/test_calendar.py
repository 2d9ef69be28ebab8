"""Days of the plan by hand: sown, up, feed, end, next seeding, each with its spread."""

from datetime import date

import pandas as pd
import plan_farm as farm

from suitability.calendar import EVENTS, calendar
from suitability.crop import load_crop
from suitability.plan import make_plan
from suitability.plan_settings import PlanSettings
from suitability.prices import prices
from suitability.seed_order import seed_lot
from suitability.stand_run import EMERGED_D, SOWN_D

CROP = load_crop("sunn_hemp")
_SPREAD = ["early_mmdd", "usual_mmdd", "late_mmdd"]


def _calendar(sim=None, seed_type="tropical", **columns):
    fields, verdicts = farm.fields(**columns), farm.verdicts(soil_65f_held_p50="04-20")
    plan = make_plan(
        fields, verdicts, farm.SOWABLE_HA, farm.NO_FLOOD, farm.years(sim),
        PlanSettings(seed_type=seed_type, fields_in=("a",)), prices(), seed_lot(CROP), CROP,
        date(2026, 3, 1),
    )  # fmt: skip
    table = calendar(plan, fields, verdicts)
    return table[table["field_id"] == "a"].set_index("event"), plan


def test_days_of_one_field_by_hand():
    days, plan = _calendar()
    week = plan.fields.set_index("field_id").loc["a", "sow_date"]
    sown = pd.Timestamp(f"2001-{week}")

    def after(n):
        return f"{sown + pd.Timedelta(days=n):%m-%d}"

    assert list(days.index) == [event for event in EVENTS if event != "gap_closes"]
    assert days.loc["soil_warm", ["usual_mmdd", "late_mmdd"]].tolist() == ["04-20", "05-01"]
    assert days["sow_date"].eq(week).all()
    assert days.loc["sow", ["early_mmdd", "usual_mmdd", "late_mmdd"]].tolist() == [week] * 3
    assert days.loc["check_stand", "usual_mmdd"] == after(5)
    # 1.5 ft at 20 days, protein under 9 % at 55 (see test_plan).
    assert days.loc["feed_opens", "usual_mmdd"] == after(20)
    assert days.loc["feed_closes", "usual_mmdd"] == after(55)
    assert days.loc["end_stand", "usual_mmdd"] == "09-29", "no pods of the tropical type before"
    assert days.loc["next_seeding", "usual_mmdd"] == "09-30"
    assert days["n_years"].eq(10).all()


def test_the_spread_is_of_the_years():
    sim = farm.simulated()
    sim.result[0, :, :, EMERGED_D] = farm.np.arange(5, 15)[:, None]
    days, plan = _calendar(sim)
    week = plan.fields.set_index("field_id").loc["a", "sow_date"]
    up = [pd.Timestamp(f"2001-{d}") for d in days.loc["check_stand", _SPREAD]]
    # 5 to 14 days: 5.9, 9.5 and 13.1 at 10, 50 and 90 %.
    assert [(d - pd.Timestamp(f"2001-{week}")).days for d in up] == [6, 10, 13]


def _apart(days, first, last, when="usual_mmdd"):
    sow, then = (pd.Timestamp(f"2001-{days.loc[event, when]}") for event in (first, last))
    return (then - sow).days


def test_later_days_fit_the_day_of_sowing_within_its_week():
    sim = farm.simulated()
    # Sown on the last day of the week in seven years of ten, on the first or second in the others;
    # protein that stays high, so that the crop file's own limit closes the feed.
    sim.result[0, :, :, SOWN_D] = farm.np.array([0, 0, 1, 6, 6, 6, 6, 6, 6, 6])[:, None]
    sim.result[0, :, :, EMERGED_D] = farm.np.array([9, 9, 9, 5, 5, 6, 6, 7, 7, 8])[:, None]
    sim.standing[0, ..., farm.s.NITROGEN_KG_HA] = sim.standing[0, ..., farm.s.DRY_MATTER_KG_HA] / 25
    days, _ = _calendar(sim)
    week = pd.Timestamp(f"2001-{days['sow_date'].iloc[0]}")
    sown = [(pd.Timestamp(f"2001-{d}") - week).days for d in days.loc["sow", _SPREAD]]
    assert sown == [0, 6, 6]
    assert _apart(days, "sow", "feed_closes") == CROP.number("feed.closes_d") == 56
    assert _apart(days, "sow", "feed_opens") == 20
    assert 5 <= _apart(days, "sow", "check_stand") <= 9
    for when in _SPREAD:
        assert _apart(days, "sow", "feed_closes", when) <= 56


def test_a_year_that_feeds_nothing_moves_no_day():
    sim = farm.simulated()
    sim.result[0, :4, :, SOWN_D] = 0
    sim.result[0, 4:, :, SOWN_D] = 6
    sim.result[0, 6:, :, farm.s.END_D] = 10  # killed before it can be grazed
    days, _ = _calendar(sim)
    assert days["n_years"].eq(6).all()
    assert days.loc["sow", "usual_mmdd"] == days["sow_date"].iloc[0]
    assert _apart(days, "sow", "feed_closes") <= 56


def test_the_gap_ends_with_a_next_crop_only_where_one_is_named():
    days, _ = _calendar(next_crop=None)
    assert "next_seeding" not in days.index
    assert days.loc["gap_closes", "usual_mmdd"] == "09-30"
    assert days.loc["end_stand", "late_mmdd"] == "09-29", "on the day before"
    assert list(days.index)[-1] == "gap_closes"


def test_a_seed_setting_stand_is_ended_before_its_pods():
    tropical, _ = _calendar()
    setting, _ = _calendar(seed_type="seed-setting")
    assert setting.loc["end_stand", "usual_mmdd"] < tropical.loc["end_stand", "usual_mmdd"]
    assert setting.loc["feed_closes", "late_mmdd"] <= setting.loc["end_stand", "early_mmdd"]


def test_cover_has_no_days_of_feed():
    days, _ = _calendar(use="cover")
    assert "feed_opens" not in days.index and "end_stand" in days.index
