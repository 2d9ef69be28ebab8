"""Wet ground by sowing week in page data, words and a real browser; numbers set by hand."""

import json
import re
from collections.abc import Callable
from importlib.metadata import files
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from farm_with_years import farm_with_wet_weeks, farm_with_years
from test_colours import lab, linear

from maps.colours import WATER, WATER_PAPER
from maps.page_patterns import patterns_svg
from maps.page_weeks import page_weeks
from maps.reader import teller_of
from maps.report_field import field_page
from maps.web_map import write_map
from maps.wet_by_week import wet_fill, wet_of, wet_steps, wet_weeks_told

SIZES = ("phone", "wide")
Opener = Callable[..., Any]


def test_steps_run_from_the_odds_that_leave_ground_out_to_half_way_from_there() -> None:
    wet = wet_of(farm_with_wet_weeks())
    assert wet is not None and wet_steps(wet) == (3.0, 6.5)
    tenths = {0.0: "wet0", 2.9: "wet0", 3.0: "wet", 6.4: "wet", 6.5: "wet2", 10.0: "wet2"}
    assert {years: wet_fill(years, wet) for years in tenths} == tenths
    assert wet_fill(float("nan"), wet) == "wetu"
    assert wet_fill(2.96, wet) == "wet", "as 3.0 years of 10 are told"
    assert wet_of(farm_with_years()) is None


def test_the_page_has_two_letters_a_week_for_each_spot_and_the_acres_of_the_field() -> None:
    farm = farm_with_wet_weeks()
    weeks = page_weeks(farm, teller_of(farm))
    assert weeks is not None
    # 90, 50, 20 and 0 tenths in base 36; B is not free in the first week.
    assert weeks.spots == {"B-1": "--2i1e0k00"}
    # 90, 50 and 20 tenths; and no sowing in the first week.
    assert weeks.wet_fills == ("wet2", "wet", "wet0", "wetu")
    assert weeks.farm["too_wet"] == [
        "",
        "Too wet if sown then: 2.0 acres in all.",
        "Too wet if sown then: 0.69 acres in all.",
        "None of it is too wet if sown then.",
    ]
    assert weeks.fields["B"]["wet"] == "0001020303"
    assert "wet" not in weeks.fields["A/1"], "a field that is never wet says nothing of it"


def test_the_report_tells_how_wet_acres_change_where_it_matters() -> None:
    farm = farm_with_wet_weeks()
    teller = teller_of(farm)
    # The driest and the wettest of the weeks that work, beside the recommended one.
    told = (
        "How much ground stands too wet soon after sowing changes with the sowing week: "
        "0.69 acres in the week of May 28; 0 acres in the week of June 4; "
        "2.0 acres in the week of May 21."
    )
    assert wet_weeks_told(farm, teller, "B") == [told]
    assert told in field_page(farm, teller, "B").season
    assert wet_weeks_told(farm, teller, "A/1") == [], "the same in all weeks"
    assert wet_weeks_told(farm, teller, "D") == []
    assert wet_weeks_told(farm_with_years(), teller, "B") == []


def _wet_grey(name: str) -> float:
    """Mean L* of a pattern of wet ground: paper, and lines as wide as the pattern says."""
    (pattern,) = re.findall(rf'id="fill-{name}" width="(\d+)"(.*?)</pattern>', patterns_svg())
    size, marks = float(pattern[0]), pattern[1].split("/>")[1:]
    bare = 1.0
    for mark in filter(None, marks):
        if "circle" in mark:
            (radius,) = re.findall(r' r="([\d.]+)"', mark)
            bare *= 1 - np.pi * float(radius) ** 2 / size**2
        else:
            line = min(float(x) for x in re.findall(r'(?:width|height)="([\d.]+)"', mark))
            bare *= 1 - line / size
    return float(lab(bare * linear(WATER_PAPER) + (1 - bare) * linear(WATER))[0])


def test_ground_wet_in_more_years_is_darker_in_grey_too() -> None:
    grey = [_wet_grey(name) for name in ("wet0", "wet", "wet2")]
    assert np.diff(grey).max() <= -8  # beside that the lines differ: thin, close, crossed
    assert "circle" in patterns_svg().split('id="fill-wetu"')[1].split("</pattern>")[0]


@pytest.fixture(scope="module")
def page_file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("wet") / "map.html"
    write_map(farm_with_wet_weeks(), path)
    return path


@pytest.fixture
def opened(offline_page: Opener, page_file: Path) -> Opener:
    return lambda size, **options: offline_page(page_file, size, **options)


def _wet(page: Any) -> tuple[str, str | None]:
    path = page.locator(".leaflet-wet-pane path")
    return re.sub(r".*fill-(\w+).*", r"\1", path.get_attribute("fill")), path.get_attribute(
        "stroke-dasharray"
    )


def _step(page: Any, key: str) -> None:
    page.locator("#weeks").focus()
    page.keyboard.press(key)


@pytest.mark.parametrize("size", SIZES)
def test_the_slider_recolours_wet_ground(opened: Opener, size: str) -> None:
    page = opened(size)
    assert _wet(page) == ("wet", None)  # 5 years of 10 in B's own week, 28 May
    seen = []
    _step(page, "Home")
    for _ in range(5):
        seen.append(_wet(page))
        _step(page, "ArrowRight")
    # Not free, 9, 5, 2, 0 years of 10.
    assert seen == [("wetu", None), ("wet2", None), ("wet", None), ("wet0", "4 4"), ("wet0", "4 4")]
    page.locator("#best-weeks").click()
    assert _wet(page) == ("wet", None)


@pytest.mark.parametrize("size", SIZES)
def test_wet_ground_tells_the_odds_of_the_chosen_week(opened: Opener, size: str) -> None:
    page = opened(size)
    page.locator("#row-2 .pick").click()
    page.locator(".wet-item").click()
    strip, odds = page.locator("#weeks"), page.locator("#wet-week")
    told = "Sown the week of May 28, it stands too wet in 5 years of 10."
    assert odds.inner_text() == told
    assert strip.get_attribute("aria-valuetext") == f"Wet ground in field 2: {told}"
    _step(page, "ArrowLeft")
    told = "Sown the week of May 21, it stands too wet in 9 years of 10."
    assert odds.inner_text() == told and told in strip.get_attribute("aria-valuetext")
    assert "fill-wet2" in page.locator("#detail .answer .swatch").inner_html()
    _step(page, "Home")
    assert odds.inner_text().startswith("There is no sowing in the week of May 14")
    _step(page, "End")
    page.locator(".back").click()
    detail = page.locator("#detail").inner_text()
    assert "None of it is too wet if sown then." in detail
    _step(page, "Home")
    _step(page, "ArrowRight")
    assert "Too wet if sown then: 2.0 acres in all." in page.locator("#detail").inner_text()
    assert "2.0 acres in all" in strip.get_attribute("aria-valuetext")


@pytest.mark.parametrize("size", SIZES)
def test_the_key_explains_every_pattern_of_wet_ground(opened: Opener, size: str) -> None:
    page = opened(size)
    told = page.locator(".key .lines").inner_text()
    for words in (
        "wet ground, left out, 0.69 acres",
        "that of the week chosen, on average over the spot",
        "too wet in 6.5 years of 10 or more",
        "too wet in 3 to 6.5 years of 10",
        "too wet in fewer than 3 years of 10",
        "years not counted, or no sowing then",
    ):
        assert words in told, words
    page.locator("#row-2 .pick").click()
    page.locator(".wet-item").click()
    (script,) = [f for f in files("axe-playwright-python") or [] if f.name == "axe.min.js"]
    page.evaluate(script.locate().read_text("utf-8"))
    assert page.evaluate("axe.run().then(r => r.violations.map(v => v.id))") == []
    width = page.viewport_size["width"]
    assert page.evaluate("document.documentElement.scrollWidth") == width


def test_wet_ground_without_odds_looks_and_tells_as_ever(
    offline_page: Opener, tmp_path: Path
) -> None:
    write_map(farm_with_years(), tmp_path / "map.html")
    page = offline_page(tmp_path / "map.html", "wide")
    assert _wet(page) == ("wet", None)
    page.locator("#row-2 .pick").click()
    page.locator(".wet-item").click()
    assert "not counted" in page.locator("#detail").inner_text()
    assert page.locator("#wet-week").is_hidden()
    data = json.loads(page.locator("#farm-data").text_content())
    assert "odds" not in data["wet"][0] and data["weeks"]["wet"] == []
