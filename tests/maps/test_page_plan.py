"""The plan on the map: sentence, table, detail and colours, and what of it an owner may see."""

import json
import re
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from owned_farm import owned_farm
from planned_farm import planned_farm
from small_farm import small_farm

from maps.field_table import field_table
from maps.for_owner import of_owner
from maps.legend import Legend
from maps.page_plan import plan_lead, plan_of_fields, why_told
from maps.report_field import field_page
from maps.report_pages import report_pages
from maps.report_pdf import write_pdf
from maps.sentences import Teller
from maps.web_map import write_map
from maps.words import load_words
from suitability.feed import Herd
from suitability.plan_settings import PlanSettings

WORDS, LEGEND = load_words(), Legend("us")


def _told(farm):
    return plan_of_fields(farm, WORDS, LEGEND)


def _data(path: Path) -> dict[str, Any]:
    found = re.search(r'<script id="farm-data"[^>]*>(.*?)</script>', path.read_text("utf-8"), re.S)
    assert found is not None
    data: dict[str, Any] = json.loads(found[1])
    return data


def test_the_sentence_counts_fields_acres_weeks_and_bags():
    # Three fields of 10 ha are 74.1 acres; 55 bags: see test_report_plan.
    lead = plan_lead(planned_farm(), WORDS, LEGEND)
    assert lead == (
        "For your budget the plan sows 3 fields, 74.1 acres, in the week of June 4; order 55 bags "
        "of 50 lb."
    )
    one = PlanSettings(fields_in=("B",), fields_out=("A/1", "C", "D"))
    told = plan_lead(planned_farm(settings=one), WORDS, LEGEND)
    # 10 ha x 33.6 / 0.833 kg x 1.03 = 415 kg: 18.3 bags of 22.7 kg, 19 whole ones.
    assert "the plan sows 1 field, 24.7 acres" in told and told.endswith("order 19 bags of 50 lb.")
    assert plan_lead(small_farm(), WORDS, LEGEND) == ""


def test_the_plan_says_what_it_is_for():
    herd = Herd("cows", 10, 500.0, 20, 0.5, "07-01", 2.0)
    asked = PlanSettings(fields_in=("B",), order_budget_usd=9000.0, herds=(herd,))
    told = plan_lead(planned_farm(settings=asked), WORDS, LEGEND)
    assert told.startswith("For your budget and your stock the plan sows")
    free = planned_farm(settings=PlanSettings(fields_in=("B",)))
    assert plan_lead(free, WORDS, LEGEND).startswith("At these prices the plan sows")


def test_the_key_of_the_plan_counts_the_ground_that_is_sown(tmp_path):
    # The plan sows 10 ha of each, 49.4 acres in all; the fields measure 4 ha, 19.8 acres in all.
    asked = PlanSettings(fields_in=("A/1", "B"), fields_out=("C", "D"))
    write_map(planned_farm(settings=asked), tmp_path / "map.html")
    page = (tmp_path / "map.html").read_text("utf-8")
    keys = set(re.findall(r"(?:1 field|\d fields)(?:, [\d.]+ acres)?", page))
    assert "2 fields, 49.4 acres" in keys and "2 fields, 19.8 acres" not in keys


def test_sow_none_is_said_as_a_plan():
    farm = planned_farm(settings=PlanSettings(use="cover"), seed=50.0)
    assert plan_lead(farm, WORDS, LEGEND).startswith("Sow none: at these prices")
    assert {told.state for told in _told(farm).values()} == {"held"}


def test_a_field_that_does_not_pay_says_which_other_use_would():
    # As cover no field pays; as hay at 400 USD a roll of 408 kg all do.
    farm = planned_farm(settings=PlanSettings(use="cover"), seed=0.5, drill=10.0, hay_roll=400.0)
    farm.plan.fields["why"] = "does_not_pay"
    money = farm.plan.money.set_index(["field_id", "use"])
    money["own"] = money.index.get_level_values("use") == "cover"
    plan = replace(farm.plan, money=money.reset_index())
    best = money.loc["A/1"]["net_mean_usd_ha"].drop("cover")
    use = {"graze": "grazing", "cut": "hay"}[best.idxmax()]
    told = why_told(plan, "A/1", WORDS, LEGEND)
    assert told == (
        "As grazing it costs more than it returns. "
        f"As {use} it would leave ${best.max() / 2.471054:,.0f} each acre."
    )
    none = replace(plan, money=plan.money.assign(net_mean_usd_ha=-1.0))
    assert why_told(none, "A/1", WORDS, LEGEND).endswith("it costs more than it returns.")


def test_a_field_put_in_against_its_verdict_is_told_so():
    farm = planned_farm()
    farm.plan.fields["why"] = "you_put_in"
    out = farm.plan.ground.about.assign(verdict_out=lambda table: table.index == "B")
    plan = replace(farm.plan, ground=replace(farm.plan.ground, about=out))
    told = {field: why_told(plan, field, WORDS, LEGEND) for field in ("A/1", "B")}
    assert told == {
        "A/1": "You want it in.",
        "B": "You want it in, though its verdict is to leave it out.",
    }


@pytest.mark.parametrize(
    ("settings", "said"),
    [
        # 10 ha are 19 bags of 22.68 kg at 0.5 USD a lb (25 USD a bag), and inoculant for 24.7 acres
        # at 4 USD: 475 + 98.8, told as 574 so that it does.
        (
            PlanSettings(order_budget_usd=100.0),
            "Sow none: a field is sown whole or not at all, and the budget does not do for any "
            "that pays. The cheapest of them, 1 Home field, needs $574 for seed and inoculant; "
            "the budget is $100.",
        ),
        (PlanSettings(most_ha=5.0), "Sow none: some fields would pay, but what you"),
        (PlanSettings(fields_out=("A/1", "B", "C", "D")), "Sow none: no field is left that could"),
    ],
)
def test_sow_none_says_what_is_in_the_way(settings, said):
    assert plan_lead(planned_farm(settings=settings), WORDS, LEGEND).startswith(said)


def test_each_field_is_sown_held_back_or_not_asked():
    told = _told(planned_farm())
    assert [told[i].state for i in ("A/1", "B", "C", "D")] == ["sown", "sown", "held", "sown"]
    assert told["C"].told == "In the plan: held back. You left it out."
    week = "sow in the week of June 4, for grazing."
    assert told["A/1"].told.startswith(f"In the plan: {week} It pays for itself.")
    assert (told["A/1"].week, told["C"].week) == ("June 4", "")
    assert _told(small_farm()) == {}


def test_a_week_that_is_not_the_recommended_one_says_what_it_is_for():
    farm = planned_farm()
    farm.plan.fields.loc[0, "sow_date"] = "06-18"
    assert "pays more than the recommended one." in _told(farm)["A/1"].told
    farm = replace(farm)  # another farm: answers are kept by the very object
    farm.plan.fields.loc[0, "why"] = "feed"
    told = _told(farm)["A/1"].told
    assert "feeds your stock when they need it." in told and "pays more" not in told


def test_a_field_that_could_not_be_planned_was_not_asked():
    farm = planned_farm()
    table = farm.plan.fields
    table.loc[table["field_id"] == "D", ["sown", "why", "sow_date"]] = [False, "no_odds", None]
    told = _told(farm)["D"]
    assert told.state == "not_asked" and "Nothing could be simulated" in told.told


def test_map_report_and_pdf_tell_the_same(tmp_path):
    from pypdf import PdfReader

    farm = planned_farm()
    write_map(farm, tmp_path / "map.html")
    data = _data(tmp_path / "map.html")
    assert [field["fills"][5] for field in data["fields"]] == ["y3", "y3", "y1", "y3"]
    told = _told(farm)["A/1"].told
    assert data["fields"][0]["plan"] == told
    assert field_page(farm, Teller(WORDS, LEGEND), "A/1").plan == told
    write_pdf(report_pages(farm), tmp_path / "r.pdf")
    text = " ".join(" ".join(p.extract_text().split()) for p in PdfReader(tmp_path / "r.pdf").pages)
    assert told in text


def test_the_table_of_fields_has_the_plan_where_there_is_one():
    table = field_table(planned_farm())
    assert table["plan"].tolist() == ["sow", "sow", "held back", "sow"]
    assert table["plan_sow_date"].tolist() == ["06-04", "06-04", None, "06-04"]
    assert "plan" not in field_table(small_farm())
    own = field_table(of_owner(owned_farm(), "Marsh Hollow Land"))
    assert own["plan"].tolist() == ["sow", "held back"]


def test_a_page_without_a_plan_says_nothing_of_one(tmp_path):
    write_map(small_farm(), tmp_path / "map.html")
    page = (tmp_path / "map.html").read_text("utf-8")
    body = page[page.index("<body>") : page.index('<script id="farm-data"')]
    assert "plan" not in re.sub(r"<svg.*?</svg>", "", body, flags=re.S).lower().split()
    assert "The plan" not in body and 'class="plan' not in body
    assert all(
        len(f["fills"]) == 5 and "plan" not in f for f in _data(tmp_path / "map.html")["fields"]
    )


def test_an_owner_sees_what_becomes_of_their_fields_but_no_reason_and_no_order(tmp_path):
    farm = of_owner(owned_farm(), "Marsh Hollow Land")
    told = _told(farm)
    assert list(told) == ["QUA-02", "QUA-03"]
    assert told["QUA-02"].told == "In the plan: sow in the week of June 4, for grazing."
    assert told["QUA-03"].told == "In the plan: held back."
    write_map(farm, tmp_path / "map.html")
    page = (tmp_path / "map.html").read_text("utf-8")
    for private in ("order 55 bags", "bags of 50 lb", "You want it in", "pays for itself", "$"):
        body = page[page.index("<body>") : page.index("<script>", page.index("farm-data"))]
        assert private not in body.replace("${alert(1)}", "")


@pytest.mark.parametrize("size", ["phone", "wide"])
def test_the_map_can_be_coloured_by_the_plan(offline_page, tmp_path, size):
    write_map(planned_farm(), tmp_path / "map.html")
    page = offline_page(tmp_path / "map.html", size)
    assert "the plan sows 3 fields, 74.1 acres" in page.locator(".plan-lead").inner_text()
    page.select_option("#colour-by", label="The plan")
    paths = page.locator(".leaflet-overlay-pane path").all()
    fills = [re.sub(r".*fill-(\w+).*", r"\1", path.get_attribute("fill")) for path in paths]
    assert fills[:4] == ["y3", "y3", "y1", "y3"]
    key = page.locator("#key-5").inner_text()
    assert "Sow" in key and "Held back" in key and page.locator("#key-0").is_hidden()
    assert [c.inner_text() for c in page.locator("td.plan b").all()] == [
        "Sow", "Sow", "Held back", "Sow",
    ]  # fmt: skip
    page.locator("#row-3 .pick").click()
    assert "In the plan: held back. You left it out." in page.locator("#detail").inner_text()
