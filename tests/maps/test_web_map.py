"""The map page as a file: safe to make, safe to open, whole in itself, and light."""

import base64
import hashlib
import json
import re
from dataclasses import replace
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

import geopandas as gpd
import numpy as np
import pytest
import shapely
from pyproj import Geod
from small_farm import HOSTILE, small_farm

from maps.assessment import Assessment, SourceFile
from maps.colours import INK, QUIET, RULE
from maps.page import FarmPage, constant_page
from maps.page_shapes import coded_shapes
from maps.shown_names import shown
from maps.web_map import script_json, write_map
from maps.words import load_words
from suitability.notes import Note

HOSTILE_NAMES = [
    HOSTILE,
    "<img src=x onerror=alert(1)>",
    "${alert(1)} `${alert(2)}`",
    "{{ cycler.__init__.__globals__ }}",
    "{% raw %} {# 7 #} {{ unclosed",
    "</script><script>alert(1)</script>",
    "]]> --> <!-- <style>*{display:none}",
    "@@FARM_HTML@@ \\u003c &lt; &amp;",
    "quote \" and ' and \u2028 line",
]

_PAGE_PARTS = (".html", ".js", "_table.js", "_detail.js", "_ground.js", "_weeks.js")
_MADE_UP = (
    "first_",
    "key_weeks_",
    "key_wet_",
    "plan_",
)  # names put together from a part and a name of the contract


class _Reader(HTMLParser):
    """Collects the tags, the text of scripts and styles, and what is shown."""

    def __init__(self, page: str) -> None:
        super().__init__(convert_charrefs=True)
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.blocks: list[tuple[str, dict[str, str | None], str]] = []
        self.shown: list[str] = []
        self.feed(page)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))
        if tag in ("script", "style"):
            self.blocks.append((tag, dict(attrs), ""))

    def handle_data(self, data: str) -> None:
        if (
            self.tags
            and self.tags[-1][0] in ("script", "style")
            and self.lasttag
            in (
                "script",
                "style",
            )
        ):
            tag, attrs, text = self.blocks[-1]
            if not text:
                self.blocks[-1] = (tag, attrs, data)
                return
        self.shown.append(data)


def _page(farm: Assessment, folder: Path) -> str:
    path = folder / "map.html"
    write_map(farm, path)
    return path.read_bytes().decode("utf-8")


def _data(page: str) -> dict[str, Any]:
    text = re.search(r'<script id="farm-data" type="application/json">(.*?)</script>', page, re.S)
    assert text
    found: dict[str, Any] = json.loads(text[1])
    return found


def _renamed(name: str) -> Assessment:
    farm = small_farm()
    fields = farm.fields.copy()
    fields["name"] = [name, *fields["name"][1:]]
    fields["owner"] = [name, *fields["owner"][1:]]
    wet, soils = farm.wet_ground.copy(), farm.soil_parts.copy()
    wet["compname"] = name
    soils["muname"], soils["musym"] = name, name
    return replace(
        farm,
        farm=replace(farm.farm, name=name),
        fields=fields,
        wet_ground=wet,
        soil_parts=soils,
        notes=(Note("soil", "caution", name, ("A/1",)), Note("soil", "info", name)),
        provenance=replace(farm.provenance, files=(SourceFile(name, name, 1, "2026-04-01", name),)),
    )


@pytest.mark.parametrize("name", HOSTILE_NAMES)
def test_hostile_names_come_out_letter_for_letter(name: str, tmp_path: Path) -> None:
    page = _page(_renamed(name), tmp_path)
    data, as_shown = _data(page), shown(name)
    assert data["fields"][0]["name"] == as_shown
    assert data["fields"][0]["soils"][0][1] == as_shown
    assert ["Owner", as_shown] in data["fields"][0]["facts"]
    assert data["fields"][0]["noted"] == [as_shown]
    assert ["Wet soil", as_shown] in data["wet"][0]["facts"]
    read = _Reader(page)
    # Farm, name and owner in the table, two notes, file, its layer: each as text, never as a tag.
    assert sum(as_shown in text for text in read.shown) >= 6
    assert not [tag for tag, _ in read.tags if tag == "img"]
    assert [attrs.get("type") for tag, attrs, _ in read.blocks if tag == "script"] == [
        None,
        "application/json",
        None,
        None,
    ]


def test_a_name_changes_nothing_of_what_runs(tmp_path: Path) -> None:
    plain, hostile = (_Reader(_page(farm, tmp_path)) for farm in (small_farm(), _renamed(HOSTILE)))
    code = [[b for b in read.blocks if b[1].get("type") is None] for read in (plain, hostile)]
    assert code[0] == code[1]
    policy = [
        attrs["content"]
        for read in (plain, hostile)
        for tag, attrs in read.tags
        if attrs.get("http-equiv") == "Content-Security-Policy"
    ]
    assert len(policy) == 2 and policy[0] == policy[1]


def test_policy_allows_our_own_blocks_and_nothing_else(tmp_path: Path) -> None:
    read = _Reader(_page(small_farm(), tmp_path))
    (policy,) = [
        attrs["content"] or ""
        for _, attrs in read.tags
        if attrs.get("http-equiv") == "Content-Security-Policy"
    ]
    rules = dict(rule.split(" ", 1) for rule in policy.split("; "))
    assert rules["default-src"] == "'none'"
    for kind in ("script", "style"):
        expected = {
            "'sha256-" + base64.b64encode(hashlib.sha256(text.encode()).digest()).decode() + "'"
            for tag, attrs, text in read.blocks
            if tag == kind and attrs.get("type") is None
        }
        assert set(rules[f"{kind}-src"].split()) == expected
    assert "unsafe" not in policy
    assert not [a for _, attrs in read.tags for a in attrs if a.startswith("on") or a == "style"]


def test_nothing_is_loaded_from_anywhere(tmp_path: Path) -> None:
    page = _page(small_farm(), tmp_path)
    read = _Reader(page)
    for _, attrs in read.tags:
        for name in ("src", "href", "srcset", "data", "action", "poster", "xlink:href"):
            assert name not in attrs, attrs
    assert "sourceMappingURL" not in page
    for tag, _, text in read.blocks:
        if tag == "style":
            assert "@import" not in text and "url(" not in text
    # What is left of addresses are names of standards and Leaflet's own credit, never fetched.
    left = set(re.findall(r"https?://[^\s\"'<>)]+", page))
    assert {re.sub(r"^https?://(www\.)?([^/]+).*", r"\2", url) for url in left} <= {
        "w3.org",
        "leafletjs.com",
        "github.com",
        "bugs.chromium.org",
        "bugs.webkit.org",
        "bugzilla.mozilla.org",
    }


def test_the_page_without_data_is_light() -> None:
    page = constant_page()
    parts = [page.policy, page.licence, page.style, page.start, page.library]
    assert sum(len(text.encode()) for text in [*parts, page.map_div, page.script]) < 156_000


def test_a_small_farm_is_under_its_limit(tmp_path: Path) -> None:
    assert len(_page(small_farm(), tmp_path).encode()) < 196_000


def test_head_has_language_title_and_a_view_that_can_be_enlarged(tmp_path: Path) -> None:
    page = _page(small_farm(), tmp_path)
    assert page.startswith('<!DOCTYPE html>\n<html lang="en">')
    assert "<title>Four Corners: where sunn hemp can go</title>" in page
    assert '<meta name="viewport" content="width=device-width, initial-scale=1">' in page
    assert "user-scalable" not in page and "maximum-scale" not in page
    assert "BSD 2-Clause License" in page  # Leaflet asks that its notice stay with it


def test_every_number_is_the_verdict_tables(tmp_path: Path) -> None:
    data = _data(_page(small_farm(), tmp_path))
    # 4.0 ha are 9.9 acres, 3.72 ha are 9.2, 0.28 ha are 0.69 (1 ha = 2.4711 acres).
    facts = [dict(field["facts"]) for field in data["fields"]]
    assert [f["Size"] for f in facts] == ["9.9 acres"] * 4
    assert [f["Sowable ground"] for f in facts] == ["9.9 acres", "9.2 acres", "none", "9.9 acres"]
    assert dict(data["wet"][0]["facts"])["Size"] == "0.69 acres"
    assert "soil survey itself rates it too wet" in dict(data["wet"][0]["facts"])["Too wet in"]
    assert [f["fills"][0] for f in data["fields"]] == ["sow", "care", "out", "unknown"]
    assert data["fields"][3]["fills"][1:3] == ["unknown", "unknown"]
    # Steps 0 to 2 are what the verdict table says, 3 is not known; the words stand once.
    low, high, two = ["low", "moderate", "high"], "not known", ["normal rate", "double rate"]
    words = {rating["label"]: rating["words"] for rating in data["ratings"]}
    assert words["Waterlogging"] == [*low, high] and words["Inoculant"] == [*two, high, high]
    assert [field["ratings"][1][0] for field in data["fields"]] == [0, 1, 2, 3]
    assert [f.get("FAO class") for f in facts] == ["S1", "S2", "N", None]


def test_metric_farm_is_told_in_hectares(tmp_path: Path) -> None:
    page = _page(small_farm("metric"), tmp_path)
    assert dict(_data(page)["fields"][1]["facts"])["Sowable ground"] == "3.7 ha"
    assert "acres" not in _Reader(page).shown


def test_years_in_ten_are_told_where_known(tmp_path: Path) -> None:
    farm = small_farm()
    wet = farm.wet_ground.assign(years_in_ten=3.0)
    verdicts = farm.verdicts.assign(works_years_in_ten=7.0, sow_date="06-05")
    data = _data(_page(replace(farm, wet_ground=wet, verdicts=verdicts), tmp_path))
    assert dict(data["wet"][0]["facts"])["Too wet in"] == "3 years of 10"
    facts = dict(data["fields"][0]["facts"])
    assert (facts["Works in"], facts["Start sowing"]) == ("7 years of 10", "June 5")


def test_not_a_number_is_refused_and_markup_is_written_as_letters() -> None:
    with pytest.raises(ValueError, match="JSON compliant"):
        script_json({"x": float("nan")})
    text = script_json("<!--</script>&\u2028\u2029")
    assert not set("<>&\u2028\u2029") & set(text)
    assert json.loads(text) == "<!--</script>&\u2028\u2029"


def test_our_script_passes_through_two_templates_unchanged() -> None:
    script = constant_page().script
    assert "{%" not in script and "raw" not in script.split("startFarmPage")[0][-40:]
    assert FarmPage("{{ 1 }}").code == "{% raw %}{{ 1 }}{% endraw %}"
    for name in ("innerHTML", "outerHTML", "insertAdjacentHTML", "document.write", "eval("):
        assert name not in script


def test_the_sheet_has_the_shared_colours() -> None:
    for colour in (INK, QUIET, RULE):
        assert colour.lower() in constant_page().style


def test_every_word_of_the_page_is_in_the_catalogue() -> None:
    template = (Path(__file__).parents[2] / "maps" / "templates" / "map.html").read_text("utf-8")
    without_code = re.sub(r"<style>.*|<!--.*?-->|{{.*?}}|{%.*?%}|<[^>]*>", "", template, flags=re.S)
    assert not re.findall(r"[A-Za-z]{3,}", without_code)


def test_no_word_of_the_page_lies_unused() -> None:
    maps = Path(__file__).parents[2] / "maps"
    own = ["web_map.py", "page_fields.py", "page_plan.py", "page_weeks.py", "weeks_drawing.py"]
    names = [*own, *(f"templates/map{n}" for n in _PAGE_PARTS)]
    code = " ".join((maps / name).read_text("utf-8") for name in names)
    found = [key.removeprefix("map.") for key in load_words().sentences if key.startswith("map.")]
    plain = [key for key in found if "." not in key and not key.startswith(_MADE_UP)]
    assert len(plain) > 40
    assert [key for key in plain if not re.search(rf"(map\.|t\.|words\.|t\(\"){key}\b", code)] == []


def _decoded(shape: list[list[list[int]]]) -> shapely.Geometry:
    polygons = [
        [np.cumsum(np.array(ring).reshape(-1, 2), axis=0) / 1e6 for ring in polygon]
        for polygon in shape
    ]
    return shapely.MultiPolygon([shapely.Polygon(p[0], p[1:]) for p in polygons])


def test_shapes_come_back_where_they_were() -> None:
    square = shapely.box(500000, 3500000, 500200, 3500200)
    ring = square.difference(shapely.box(500050, 3500050, 500100, 3500100))
    two = shapely.MultiPolygon([square, shapely.box(500300, 3500000, 500400, 3500100)])
    ground = gpd.GeoSeries([square, ring, two, None], crs="EPSG:32616")
    coded = coded_shapes(ground, 0.3)
    assert coded[3] == []
    # Geodesic areas: 4, 3.75 and 5 ha on the grid, within 0.1 % of the ground (scale 0.9996).
    for shape, area_m2 in zip(coded, (40_000, 37_500, 50_000), strict=False):
        on_ground = abs(Geod(ellps="WGS84").geometry_area_perimeter(_decoded(shape))[0])
        assert on_ground == pytest.approx(area_m2 / 0.9996**2, rel=2e-3)
    west, south, *_ = _decoded(coded[0]).bounds
    expected = ground.to_crs(4326).iloc[0].bounds
    assert (west, south) == pytest.approx(expected[:2], abs=1e-6)
