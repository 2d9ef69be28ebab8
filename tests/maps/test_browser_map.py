"""The map page in a real browser, with the network off: read, tapped, sorted, printed, attacked."""

import io
import re
from collections.abc import Callable
from dataclasses import replace
from importlib.metadata import files
from pathlib import Path
from typing import Any

import pytest
from pypdf import PdfReader
from small_farm import HOSTILE, small_farm

from maps.web_map import write_map

SIZES = {"phone": (390, 844), "wide": (1280, 800)}
Opener = Callable[..., Any]


@pytest.fixture(scope="module")
def page_file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("page") / "map.html"
    farm = small_farm()
    name = "<img src=x onerror=alert(1)>"
    write_map(replace(farm, farm=replace(farm.farm, name=name)), path)
    return path


@pytest.fixture
def opened(offline_page: Opener, page_file: Path) -> Opener:
    """Open the page offline in one of the two sizes."""

    def open_page(size: str = "wide", path: Path = page_file, **options: Any) -> Any:
        return offline_page(path, size, **options)

    return open_page


def _tap_field(page: Any, number: int) -> None:
    """Tap beside the field's number, as a finger on the map would."""
    box = page.locator(".number span", has_text=re.compile(f"^{number}$")).bounding_box()
    page.mouse.click(box["x"] + box["width"] / 2, box["y"] - 8)


@pytest.mark.parametrize("size", SIZES)
def test_tapping_a_field_tells_of_it(opened: Opener, size: str) -> None:
    page = opened(size)
    assert page.locator("#detail").is_hidden()
    assert page.locator(".leaflet-overlay-pane path").count() == 4
    _tap_field(page, 2)
    detail = page.locator("#detail")
    assert detail.locator("h2 bdi").inner_text() == HOSTILE
    text = detail.inner_text()
    for words in ("Sow with care", "9.2 acres", "Marsh Hollow Land", "Waterlogging: moderate"):
        assert words in text
    assert "within 24 inches of the surface" in text  # 60 cm
    assert "Bottom clay, ponded" in text and "double rate" in text
    assert detail.locator("img").count() == 0
    assert page.locator("tr.chosen").get_attribute("id") == "row-2"
    heading = page.locator("#detail-heading")
    assert heading.evaluate("node => node === document.activeElement")
    assert heading.bounding_box()["y"] < SIZES[size][1] - 150
    page.keyboard.press("Escape")
    assert detail.is_hidden() and page.locator("tr.chosen").count() == 0


@pytest.mark.parametrize("size", SIZES)
def test_tapping_wet_ground_tells_why_and_how_much(opened: Opener, size: str) -> None:
    page = opened(size)
    # The wet corner is a triangle with its right angle at the lower left of field 2.
    box = page.locator(".leaflet-wet-pane path").bounding_box()
    page.mouse.click(box["x"] + box["width"] * 0.2, box["y"] + box["height"] * 0.8)
    text = page.locator("#detail").inner_text()
    for words in ("Wet ground in field 2", "The water table comes too near the surface."):
        assert words in text
    for words in ("0.69 acres", "Cypress Sink", "not counted", "not a wetland determination"):
        assert words in text
    page.get_by_role("button", name="Back to field 2").click()
    assert "Sow with care" in page.locator("#detail").inner_text()
    page.get_by_role("button", name="0.69 acres").click()
    assert "Cypress Sink" in page.locator("#detail").inner_text()
    page.get_by_role("button", name="Close").click()
    assert page.locator("#detail").is_hidden()


@pytest.mark.parametrize("size", SIZES)
def test_tapping_open_water_tells_that_it_is_left_out_and_how_much(
    opened: Opener, size: str, tmp_path: Path
) -> None:
    farm = small_farm()
    pond = farm.wet_ground[["field_id", "geometry"]].assign(area_ha=0.28)
    write_map(
        replace(farm, level_water=pond, wet_ground=farm.wet_ground.iloc[:0]), tmp_path / "w.html"
    )
    page = opened(size, tmp_path / "w.html")
    box = page.locator(".leaflet-water-pane path").bounding_box()
    page.mouse.click(box["x"] + box["width"] * 0.2, box["y"] + box["height"] * 0.8)
    text = page.locator("#detail").inner_text()
    assert "Open water in field 2" in text and "Open water, left out: 0.69 acres." in text
    assert page.locator("tr.chosen").get_attribute("id") == "row-2"
    page.get_by_role("button", name="Back to field 2").click()
    assert "Sow with care" in page.locator("#detail").inner_text()
    # Without a finger: from the field's detail, and on by the keyboard.
    page.keyboard.press("Escape")
    page.locator("#row-2 button.pick").press("Enter")
    page.locator("#detail button", has_text="0.69 acres: left out").press("Enter")
    assert "Open water in field 2" in page.locator("#detail").inner_text()
    assert page.locator(".leaflet-chosen-pane path").count() == 2
    page.locator("#detail button", has_text="Back to field 2").press("Enter")
    assert page.locator("#detail h2 small").inner_text() == "Field 2"


def _order(page: Any) -> list[str]:
    return [row.get_attribute("id")[4:] for row in page.locator("tbody tr:visible").all()]


def test_table_sorts_and_searches(opened: Opener) -> None:
    page = opened("wide")
    head = page.get_by_role("columnheader", name=re.compile("^Field"))
    head.get_by_role("button").click()
    assert _order(page) == ["4", "3", "1", "2"]  # =1+1, Bottom, Home field, O'Brien
    assert head.get_attribute("aria-sort") == "ascending"
    head.get_by_role("button").click()
    assert _order(page) == ["2", "1", "3", "4"]
    page.get_by_role("button", name=re.compile("^To sow")).click()
    assert _order(page) == ["1", "4", "2", "3"]  # 9.9, 9.9, 9.2, none
    page.get_by_role("button", name="Waterlogging").click()
    assert _order(page) == ["1", "2", "3", "4"]  # low, moderate, high, not known
    page.locator("#search").fill("marsh hollow")
    assert sorted(_order(page)) == ["2", "3"]
    assert page.locator("#count").inner_text() == "2 of 4 fields"
    page.locator("#search").fill("{{ 7*7 }}")
    assert _order(page) == ["2"]
    page.locator("#search").fill("")
    assert page.locator("#count").inner_text() == "4 fields"


def test_table_sorts_on_a_phone_too(opened: Opener) -> None:
    page = opened("phone")
    page.locator("#sort-by").select_option(label="Field")
    assert _order(page) == ["4", "3", "1", "2"]


def test_all_of_it_works_by_keyboard(opened: Opener) -> None:
    page = opened("wide")
    seen = []
    for _ in range(40):
        page.keyboard.press("Tab")
        name = page.evaluate(
            "document.activeElement.closest('tr')?.id || document.activeElement.id"
        )
        seen.append(name)
        if name == "row-3":
            break
    assert {"colour-by", "show-soils", "map_farm", "search", "row-1", "row-2"} <= set(seen)
    outline = page.evaluate("getComputedStyle(document.activeElement).outlineWidth")
    assert outline == "3px"
    page.keyboard.press("Enter")
    assert "Leave out" in page.locator("#detail").inner_text()
    page.keyboard.press("Escape")
    assert page.evaluate("document.activeElement.closest('tr').id") == "row-3"


def test_the_map_is_coloured_by_what_is_asked(opened: Opener) -> None:
    page = opened("wide")

    def fills() -> list[str]:
        paths = page.locator(".leaflet-overlay-pane path").all()
        return [re.sub(r".*fill-(\w+).*", r"\1", p.get_attribute("fill")) for p in paths]

    assert fills() == ["sow", "care", "out", "unknown"]
    page.locator("#colour-by").select_option(label="Waterlogging")
    assert fills() == ["low", "mid", "high", "unknown"]
    key = page.locator(".key").inner_text()
    assert "moderate" in key and "sow with care" not in key
    page.locator("#colour-by").select_option(label="Inoculant")
    assert fills() == ["mid"] * 4  # all need the double rate, which rules out nothing


def test_soil_outlines_come_and_go(opened: Opener) -> None:
    page = opened("wide")
    assert page.locator(".leaflet-soil-pane path").count() == 0
    page.locator("#show-soils").check()
    assert page.locator(".leaflet-soil-pane path").count() == 4
    assert page.locator("#key-soil").is_visible()
    page.locator("#show-soils").uncheck()
    assert page.locator(".leaflet-soil-pane path").count() == 0


def test_map_enlarges_and_returns_to_the_whole_farm(opened: Opener) -> None:
    page = opened("wide")

    def apart() -> float:
        """Pixels between the numbers 2 and 3."""
        two, three = (page.locator(".number span").nth(i).bounding_box()["x"] for i in (1, 2))
        return float(three - two)

    before = apart()
    for _ in range(3):
        page.get_by_role("button", name="Larger").click()
        page.wait_for_timeout(350)  # Leaflet moves for a quarter of a second
    assert apart() == pytest.approx(before * 2**1.5, rel=0.03)  # three half steps of zoom
    page.get_by_role("button", name="Whole farm").click()
    assert apart() == pytest.approx(before, abs=2)
    assert page.locator(".leaflet-control-scale-line").all_inner_texts()[0].endswith("m")
    assert page.locator(".leaflet-control-scale-line").all_inner_texts()[1].endswith("ft")


@pytest.mark.parametrize("size", SIZES)
def test_nothing_is_too_wide_or_too_small_to_hit(opened: Opener, size: str) -> None:
    page = opened(size)
    _tap_field(page, 2)
    width = page.evaluate("document.documentElement.scrollWidth")
    assert width == SIZES[size][0]
    assert page.evaluate("document.querySelector('main').scrollWidth") <= width
    small = []
    for target in page.locator("button, select, input, summary").all():
        if not target.is_visible():
            continue
        # A tick box is hit by its whole label.
        box = target.evaluate(
            "node => { const b = (node.type === 'checkbox' ? node.closest('label') : node)"
            ".getBoundingClientRect(); return [b.width, b.height] }"
        )
        if min(box) < 44:
            small.append((target.inner_text(), box))
    assert small == []


@pytest.mark.parametrize("size", SIZES)
def test_without_scripts_the_drawing_and_table_stand_there(opened: Opener, size: str) -> None:
    page = opened(size, java_script_enabled=False)
    assert page.locator(".still svg").is_visible()
    assert page.get_by_text("this viewer runs no scripts").is_visible()
    assert not page.locator("#map_farm").is_visible()
    for dead in ("#search", "#colour-by", "#show-soils", ".map-buttons"):
        assert not page.locator(dead).is_visible()
    text = page.locator("#fields").inner_text()
    assert HOSTILE in text and "Leave out 0.69 acres of wet ground" in text
    assert "Waterlogging" in page.locator("#fields").text_content() and "moderate" in text


def test_with_scripts_the_drawing_is_hidden(opened: Opener) -> None:
    page = opened("wide")
    assert page.locator("#map_farm").is_visible()
    assert page.locator(".still").is_hidden()


def test_where_the_script_fails_the_drawing_takes_its_place(
    browser: Any, page_file: Path, tmp_path: Path
) -> None:
    broken = tmp_path / "broken.html"
    text = page_file.read_text("utf-8")
    broken.write_text(
        text.replace('type="application/json">{', 'type="application/json">{{'), "utf-8"
    )
    context = browser.new_context(offline=True)
    page = context.new_page()
    page.goto(broken.as_uri())
    assert page.locator(".still svg").is_visible()
    context.close()


def test_print_shows_the_drawing_and_every_field(opened: Opener) -> None:
    page = opened("wide")
    _tap_field(page, 2)
    page.emulate_media(media="print")
    assert page.locator(".still svg").is_visible()
    assert not page.locator("#map_farm").is_visible()
    assert not page.locator("#detail").is_visible()
    for paper in ("Letter", "A4"):
        sheets = PdfReader(io.BytesIO(page.pdf(format=paper))).pages
        text = " ".join(" ".join(sheet.extract_text().split()) for sheet in sheets)
        assert len(sheets) <= 3
        for words in ("Home field", "Bottom", "=1+1", "Leave out 0.69 acres", "Walk the field"):
            assert words in text


def test_a_script_forced_into_the_page_does_not_run(
    browser: Any, page_file: Path, tmp_path: Path
) -> None:
    forced = tmp_path / "forced.html"
    bad = "<img src=x onerror=alert(1)><script>alert(2)</script><p id=there onclick=alert(3)>x</p>"
    forced.write_text(page_file.read_text("utf-8").replace("<main>", "<main>" + bad), "utf-8")
    ran: list[str] = []
    refused: list[str] = []
    context = browser.new_context(offline=True)
    page = context.new_page()
    page.on("dialog", lambda d: (ran.append(d.message), d.dismiss()))
    page.on("console", lambda m: refused.append(m.text))
    page.goto(forced.as_uri())
    page.locator("#there").click()
    assert page.locator(".leaflet-overlay-pane path").count() == 4  # and the map lives
    assert ran == []
    assert any("Content Security Policy" in text for text in refused)
    context.close()


def _axe() -> str:
    (script,) = [f for f in files("axe-playwright-python") or [] if f.name == "axe.min.js"]
    return str(script.locate().read_text("utf-8"))


@pytest.mark.parametrize("size", SIZES)
def test_axe_finds_nothing(opened: Opener, size: str) -> None:
    page = opened(size)
    _tap_field(page, 2)
    page.evaluate(_axe())
    for scheme in ("field", "closed"):
        if scheme == "closed":
            page.keyboard.press("Escape")
        found = page.evaluate("axe.run().then(r => r.violations)")
        told = [(v["id"], [n["html"][:120] for n in v["nodes"]]) for v in found]
        assert told == [], scheme
