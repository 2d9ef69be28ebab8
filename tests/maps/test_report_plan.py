"""The plan, the money and the order as text; numbers come from the plan, names stay harmless."""

import math
from dataclasses import replace

import pytest
from planned_farm import planned_farm
from pypdf import PdfReader
from small_farm import HOSTILE, small_farm

from maps.legend import Legend
from maps.page_plan import plan_lead
from maps.report import write_report
from maps.report_pages import report_pages
from maps.report_pdf import write_pdf
from maps.report_plan import plan_pages
from maps.words import load_words
from suitability.feed import Herd
from suitability.plan_settings import PlanSettings

WORDS = load_words()


def _pages(farm, units="us"):
    return plan_pages(farm, WORDS, Legend(units))


def _section(pages, key, **values):
    heading = WORDS(f"plan.{key}", **values)
    return next(s for s in pages.sections if s.heading == heading)


def test_without_a_plan_there_are_no_pages(tmp_path):
    assert _pages(small_farm()) is None
    write_report(report_pages(small_farm()), tmp_path / "r.html")
    assert 'id="plan"' not in (tmp_path / "r.html").read_text("utf-8")


def test_each_field_says_in_or_out_and_why():
    farm = planned_farm()
    rows = {row[0]: row for row in _section(_pages(farm), "choice_heading").table.rows}
    assert rows["1 Home field"][4:6] == ("sow", "It pays for itself.")
    assert rows[f"2 {HOSTILE}"][4:6] == ("sow", "You want it in.")
    assert rows["3 Bottom"][4:6] == ("leave", "You left it out.")
    assert rows["1 Home field"][3] == "24.7", "10 ha are 24.7 acres"
    best = farm.plan.fields.set_index("field_id").loc["C", "sow_date"]
    assert rows["3 Bottom"][2] == Legend("us").day(best)
    hint = _section(_pages(farm), "choice_heading").hint
    assert "of a field left out it is the recommended week" in hint


def test_the_order_page_by_hand():
    # 30 ha (74.1 acres) x 36.0 lb/ac x 1.03: 2,750 lb: 55 bags of 50 lb hold 2,750.
    farm = planned_farm()
    order = _pages(farm).order
    plan = farm.plan.order
    assert plan.n_bags == pytest.approx(30 * 33.6 / 0.833 * 1.03 / 22.68, abs=1)
    text = " ".join(order.lines)
    assert f"{plan.n_bags} bags of 50 lb" in text
    assert "30.0 lb/ac = 36.0 lb/ac" in text and "Germination 85 %, purity 98 %" in text
    assert "No seed tag was entered for: purity, seeds per pound, size of the bag" in text
    assert "some states list this genus as a noxious weed" in text
    assert len(order.table.rows) == 3
    # 5,500 lb of seed at normal rates, less or more where a field has the double rate.
    enough = plan.fields["bulk_kg"] @ plan.fields["inoculant"] / 0.45359237
    assert f"enough for {enough:,.0f} lb of seed" in text
    first = Legend("us").day(farm.plan.fields.loc[farm.plan.fields["sown"], "sow_date"].min())
    assert f"before {first}, the first week of sowing" in text and "bred in the tropics" in text
    metric = " ".join(_pages(planned_farm("metric"), "metric").order.lines)
    assert "33.6 kg/ha = 40.3 kg/ha" in metric


def test_the_order_if_the_tag_says_otherwise_by_hand():
    farm = planned_farm()
    rows = {row[0]: row for row in _pages(farm).order_otherwise.table.rows}
    own = farm.plan.order
    assert rows["85 %"][3] == str(own.n_bags)
    # Half a bag's rounding aside, seed goes as one over germination: 85 / 70 = 1.214 times as much.
    pounds = {pct: float(row[2].split()[0].replace(",", "")) for pct, row in rows.items()}
    assert pounds["70 %"] == pytest.approx(pounds["85 %"] * 85 / 70, abs=1)
    bags = math.ceil(pounds["70 %"] / 50 - 0.01)
    assert rows["70 %"][3] == str(bags) and rows["70 %"][4] == f"${bags * 50 * 0.5:,.0f}"


def test_herbicide_in_the_soil_stands_before_the_order():
    farm = planned_farm()
    fields = farm.fields.copy()
    fields["herbicide_product"] = ["atrazine", None, "none", "none"]
    lines = _section(_pages(replace(farm, fields=fields)), "choice_heading").lines
    told = [line for line in lines if line.startswith("Before you order seed")]
    assert len(told) == 1 and "1 Home field (atrazine)" in told[0]
    assert f"2 {HOSTILE} (what was put on is not said)" in told[0] and "3 Bottom" not in told[0]
    fields["herbicide_product"] = "none"
    lines = _section(_pages(replace(farm, fields=fields)), "choice_heading").lines
    assert not any("Before you order seed" in line for line in lines)


def test_a_search_cut_short_is_told_with_what_it_may_have_missed():
    farm = planned_farm()
    for more, words in (
        (49.2, "exist, but by no more than $50."),
        (float("inf"), "one may exist."),
    ):
        plan = replace(farm.plan, proved=False, more_usd=more)
        lines = _section(_pages(replace(farm, plan=plan)), "choice_heading").lines
        assert any(line.endswith(words) for line in lines)
    plan = replace(farm.plan, reasons=replace(farm.plan.reasons, bag_usd=float("nan")))
    lines = _section(_pages(replace(farm, plan=plan)), "choice_heading").lines
    assert any("could not be told in the time of the search" in line for line in lines)


def test_arkansas_is_named_on_the_order():
    farm = planned_farm()
    farm = replace(farm, farm=replace(farm.farm, state="AR"))
    assert "Arkansas lists Crotalaria" in " ".join(_pages(farm).order.lines)


def test_sow_none_is_said_plainly():
    farm = planned_farm(settings=PlanSettings(), seed=9.0)
    pages = _pages(farm)
    assert pages.lead.startswith("Sow none")
    assert "sown, it would lose $" in " ".join(_section(pages, "choice_heading").lines)


def test_sow_none_takes_no_more_pages_than_why_returns_and_prices(tmp_path):
    farm = planned_farm(settings=PlanSettings(), seed=9.0)
    headings = [section.heading for section in _pages(farm).sections]
    assert headings == [
        WORDS("plan.choice_heading"),
        WORDS("plan.money_heading", unit="acre"),
        WORDS("plan.prices_heading"),
    ]
    assert _pages(farm).order is None
    write_report(report_pages(farm), tmp_path / "r.html")
    page = (tmp_path / "r.html").read_text("utf-8")
    assert 'id="plan"' in page and 'id="order"' not in page
    write_pdf(report_pages(farm), tmp_path / "r.pdf")
    texts = [page.extract_text() for page in PdfReader(tmp_path / "r.pdf").pages]
    (start,) = [n for n, text in enumerate(texts) if "Sow none" in text]
    assert "Cost and return, each acre" in texts[start]
    assert "Prices behind the money" in texts[start] + texts[start + 1]
    assert any(text.startswith("Field 1:") for text in texts[start + 1 : start + 3])


def test_a_break_even_above_every_published_stand_is_never():
    # Georgia, Schomberg et al. 2007: 13.0 Mg/ha at most, 11,598 lb/ac.
    farm = planned_farm()
    money = farm.plan.money
    own = list(money.index[money["own"].astype(bool)])
    money.loc[own, "break_even_yield_kg_ha"] = [12900.0, 13100.0, float("inf"), 5000.0]
    section = _section(_pages(farm), "money_heading", unit="acre")
    told = [row[-1] for row in section.table.rows]
    assert told[1:3] == ["never", "never"] and "never" not in (told[0], told[3])
    assert float(told[0].replace(",", "")) == pytest.approx(12900 / 1.12085, abs=60)
    assert "not even with 11,600 lb/ac, the heaviest stand" in section.hint


def test_what_the_money_leaves_out_stands_under_it():
    for pages in (_pages(planned_farm()), _pages(planned_farm(settings=PlanSettings(), seed=9.0))):
        hint = _section(pages, "money_heading", unit="acre").hint
        assert "Not counted: the potash and phosphate" in hint and "labour of grazing" in hint


def test_the_trade_is_contradicted_and_nitrogen_alone_is_told():
    lines = " ".join(_section(_pages(planned_farm()), "money_heading", unit="acre").lines)
    assert "The trade counts $400 to $600 each acre" in lines and "We compute with ours" in lines
    section = _section(_pages(planned_farm()), "nitrogen_heading")
    assert "Nitrogen alone pays for no field here" in " ".join(section.lines)
    assert section.table.heads[2:] == ("In the stand, lb/ac", "For the next crop, lb/ac", "Worth")
    for _, _, stand, given, worth in section.table.rows:
        assert 0 <= int(given) <= max(int(stand), 0) / 2 + 1, "half is gone in four weeks"
        assert float(worth.strip("$")) == pytest.approx(0.65 * int(given), abs=0.9)  # USD a pound
    assert "not counted twice" in " ".join(section.lines)


def test_feed_and_its_cautions():
    herd = Herd("cows", 60, 500.0, 35, 1.0, "07-01", 2.0)
    farm = planned_farm(settings=PlanSettings(herds=(herd,), seed_type="tropical"))
    pages = _pages(farm)
    feed = _section(pages, "feed_heading")
    assert len(feed.table.rows) == 5 and feed.table.rows[0][0] == "July 1"
    assert "46,297 lb" in feed.lines[0], "21,000 kg"
    # 60 head x 500 kg x 2 % are 600 kg a day, 4,200 kg or 9,259 lb a week.
    assert feed.table.heads[1] == "Need, lb" and feed.table.rows[0][1] == "9,259"
    grazed = _section(pages, "grazed_heading").table
    assert grazed.heads[2:] == ("On offer, lb", "Taken, lb", "Left, lb")
    by_week = farm.plan.feed_fields.groupby("week")["grazed_kg"].sum()
    assert by_week.to_numpy() == pytest.approx(farm.plan.feed["grazed_kg"].to_numpy())
    assert {row[0] for row in grazed.rows} <= {row[0] for row in feed.table.rows}
    cautions = _section(pages, "cautions_heading").lines
    assert len(cautions) == 7 and any("horses" in line for line in cautions)


def test_a_herbicide_you_named_is_named_again_before_stock_go_in():
    farm = planned_farm()
    verdicts = farm.verdicts.copy()
    verdicts.loc[verdicts["field_id"].isin(["A/1", "C"]), "herbicide_product"] = "imazethapyr"
    lines = _section(_pages(replace(farm, verdicts=verdicts)), "cautions_heading").lines
    named = [line for line in lines if "imazethapyr" in line]
    assert named == ["1 Home field: read it on the label of imazethapyr first."], "C is not sown"


def test_the_trade_is_told_by_the_readers_own_unit():
    pages = _pages(planned_farm("metric"), "metric")
    # 400 and 600 USD an acre x 2.4711 acres a hectare.
    lines = " ".join(_section(pages, "money_heading", unit="ha").lines)
    assert "The trade counts $988 to $1,483 each ha" in lines


def test_our_figures_stand_beside_common_practice_in_its_units():
    rows = {
        row[0]: row[3:] for row in _section(_pages(planned_farm()), "practice_heading").table.rows
    }
    # plan_farm at 60 days: 1.65 m are 5.4 ft; 40 to 80 kg/ha a day, 2,200 to 4,400 kg/ha, are 1.0
    # to 2.0 short tons an acre; at 30 days 0.75 m are 2.5 ft; 33.6 kg/ha are 30 lb/ac.
    assert rows["Height at 60 days"] == ("5.4 ft", "more: ours is used")
    assert rows["Height at 30 days"] == (
        "2.5 ft",
        "more: published trials saw less, too. Measure before you graze",
    )
    low, answer = rows["Dry matter at 60 days"]
    assert low.endswith("-2 short ton/ac") and answer == "less: ours is used"
    assert rows["Seeding rate"] == ("30 lb/ac", "agrees")
    assert rows["Soil temperature to sow"] == ("65 °F", "agrees")
    # 20 % less 0.2 a day: as grazing opens and on day 55, when it closes.
    assert rows["Crude protein while grazed"] == ("9-16 %", "less: ours is used")


def test_a_herd_without_a_day_is_asked_for_it():
    herd = Herd("cows", 60, 500.0, 35, 1.0, None, 2.0)
    feed = _section(_pages(planned_farm(settings=PlanSettings(herds=(herd,)))), "feed_heading")
    assert feed.table is None and feed.hint == ""
    assert any("starts, under [[plan.herd]]" in line for line in feed.lines)


def test_a_plan_that_costs_more_than_it_returns_says_so():
    settings = PlanSettings(fields_in=("A/1",), fields_out=("B", "C", "D"), use="graze")
    farm = planned_farm(settings=settings, seed=20.0)
    assert farm.plan.mean_usd < 0
    lead = _pages(farm).lead
    cost = f"${-farm.plan.mean_usd:,.0f}"
    assert f"In the mean year the plan costs {cost} more than it returns" in lead
    assert "-$" not in lead


def test_a_herd_that_is_dearer_to_feed_than_hay_is_told_in_the_lead():
    # 2000 cows eat far more than grows: only the hay of what they take is saved.
    herd = Herd("cows", 2000, 500.0, 35, 1.0, "07-01", 2.0)
    farm = planned_farm(settings=PlanSettings(herds=(herd,), seed_type="tropical"), seed=9.0)
    plan, pages = farm.plan, _pages(farm)
    assert plan.mean_usd < 0
    less = f"and sowing only what pays, would leave ${plan.reasons.need_usd:,.0f} more."
    assert pages.lead.endswith(less) and plan_lead(farm, WORDS, Legend("us")).endswith(less)
    # 2000 cows of 500 kg, 2 % a day, five weeks: 700,000 kg, of which the fields grow a part.
    missing = plan.feed["gap_kg"].sum() / 0.45359237
    assert f"It does not feed them through: {missing:,.0f} lb of the 1,543,236 lb" in pages.lead
    assert "weeks. Buying the hay" in plan_lead(farm, WORDS, Legend("us"))
    # Hay at the price of planned_farm, 60 USD a roll of 408.23 kg, 85 % dry: 0.1729 USD a kg.
    saved = plan.eaten_kg.mean() * 60 / 408.233 / 0.85
    assert plan.eaten_kg.mean() <= plan.feed["grazed_kg"].sum() + 1e-3
    assert "only what yours take" in _section(pages, "money_heading", unit="acre").hint
    line = next(text for text in _section(pages, "feed_heading").lines if "buying the hay" in text)
    assert f"buying the hay that it saves (${saved:,.0f} in the mean year)" in line
    wanted = PlanSettings(herds=(replace(herd, head=60),), seed_type="tropical")
    cheap = planned_farm(settings=wanted, seed=0.05, drill=0.0, inoculant=0.0, kill=0.0)
    assert cheap.plan.mean_usd > 0 and cheap.plan.reasons.need_usd < 1
    assert "Buying the hay" not in _pages(cheap).lead


def test_a_herd_left_to_hay_is_said_to_be():
    herd = Herd("cows", 60, 500.0, 35, 1.0, None, 2.0)
    settings = PlanSettings(herds=(herd,), fields_in=("B",), seed_type="tropical", use="cut")
    farm = planned_farm(settings=settings, seed=9.0)
    plan = replace(farm.plan, eaten_kg=farm.plan.eaten_kg * 0.0)
    lines = _section(_pages(replace(farm, plan=plan)), "feed_heading").lines
    assert "this plan has them graze none of it" in lines[0]
    assert not _pages(replace(farm, plan=plan)).lead.startswith("For your stock")


def test_every_price_and_every_practice_has_words():
    pages = _pages(planned_farm())
    prices = _section(pages, "prices_heading").table.rows
    assert prices[0] == ("Seed", "0.5 USD/lb", "", "yours 2026-03-01")
    assert not [row for row in prices if row[3].endswith(";")]
    dear = _section(_pages(planned_farm(hay_roll=1250.5)), "prices_heading").table.rows
    assert "1,250.5 USD/roll" in {row[1] for row in dear}
    assert len(prices) == 11 and len(_section(pages, "practice_heading").table.rows) == 11


@pytest.mark.parametrize("units", ["us", "metric"])
def test_html_and_pdf_hold_the_plan(tmp_path, units):
    farm = planned_farm(units)
    write_report(report_pages(farm), tmp_path / "r.html")
    page = (tmp_path / "r.html").read_text("utf-8")
    assert 'id="plan"' in page and 'id="order"' in page and "<img src=x" not in page
    write_pdf(report_pages(farm), tmp_path / "r.pdf")
    text = "".join(p.extract_text() for p in PdfReader(tmp_path / "r.pdf").pages)
    for words in ("Order for the seed dealer", "Cost and return", "Prices behind the money"):
        assert words in text and words in page
