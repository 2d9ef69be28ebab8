"""The ground picture, images from the internet, and where-am-I, in a real browser."""

import base64
import io
import re
from collections.abc import Callable, Iterator
from dataclasses import replace
from importlib.metadata import files
from pathlib import Path
from typing import Any

import geopandas as gpd
import numpy as np
import pytest
from farm_with_ground import farm_with_ground
from PIL import Image
from small_farm import small_farm

from maps.online_imagery import HOST
from maps.report import write_report
from maps.report_pages import report_pages
from maps.web_map import write_map

Opener = Callable[..., Any]
SIZES = {"phone": (390, 844), "wide": (1280, 800)}
# The smallest picture there is: one transparent point.
_TILE = base64.b64decode(
    "iVBORw0KGgoAAAANSUhEUgAAAAEAAAABCAYAAAAfFcSJAAAADUlEQVR42mNk+M9QDwADhgGAWjR9awAAAABJRU5ErkJggg=="
)


@pytest.fixture(scope="module")
def pages(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    folder = tmp_path_factory.mktemp("ground")
    online = small_farm()
    farms = {
        "ground": farm_with_ground(),
        "plain": small_farm(),
        "online": replace(online, farm=replace(online.farm, online_imagery=True)),
    }
    for name, farm in farms.items():
        write_map(farm, folder / f"{name}.html")
    return {name: folder / f"{name}.html" for name in farms}


def _place(x: float, y: float) -> dict[str, float]:
    """Longitude and latitude of a point of the farm's CRS."""
    point = gpd.GeoSeries(gpd.points_from_xy([x], [y]), crs="EPSG:32616").to_crs(4326).iloc[0]
    return {"longitude": point.x, "latitude": point.y}


def test_the_ground_is_plain_until_it_is_asked_for(offline_page: Opener, pages: dict[str, Path]):
    page = offline_page(pages["ground"])
    assert page.locator("#map_farm img").count() == 0
    assert page.locator("#ground-told").is_hidden()
    offered = page.locator("#ground-picture option").all_inner_texts()
    assert offered == ["plain", "hillshade and contours", "aerial image"]
    assert offline_page(pages["plain"]).locator("#ground-picture").count() == 0


@pytest.mark.parametrize("size", SIZES)
def test_hillshade_and_contours_lie_on_the_fields(
    offline_page: Opener, pages: dict[str, Path], size: str
):
    page = offline_page(pages["ground"], size)
    page.locator("#ground-picture").focus()
    page.keyboard.press("ArrowDown")
    shade = page.locator(".leaflet-relief-pane img")
    assert shade.evaluate("image => image.complete && image.naturalWidth > 100")
    assert page.locator(".leaflet-contours-pane path").count() == 2  # lesser and main lines
    assert "Contour lines every 2 ft" in page.locator("#ground-told").inner_text()
    assert page.locator("#ground-told").is_visible()
    # The picture lies where the ground does: 250 m around the three fields with heights, of which
    # the map's own numbers 1 and 3 stand in the middles of the outer ones.
    box = shade.bounding_box()
    one, three = (
        page.locator(".number span", has_text=re.compile(f"^{n}$")).bounding_box() for n in (1, 3)
    )
    px_per_m = (three["x"] - one["x"]) / 440
    middle = one["x"] + one["width"] / 2
    assert middle - box["x"] == pytest.approx((100 + 250) * px_per_m, abs=4)
    # A tap still finds the field under it.
    page.mouse.click(middle, one["y"] - 8)
    assert "Home field" in page.locator("#detail").inner_text()
    page.locator("#ground-picture").select_option("plain")
    assert page.locator("#map_farm img").count() == 0
    assert page.locator("#ground-told").is_hidden()


def test_the_aerial_image_lies_under_the_fields(offline_page: Opener, pages: dict[str, Path]):
    page = offline_page(pages["ground"])
    page.locator("#ground-picture").select_option("photo")
    assert page.locator(".leaflet-photo-pane img").evaluate("i => i.complete && i.naturalWidth > 0")
    assert page.locator(".leaflet-relief-pane img").count() == 0
    assert "photo <b>.tif" in page.locator("#ground-told").inner_text()
    field = page.locator(".leaflet-overlay-pane path").first
    assert float(field.evaluate("f => getComputedStyle(f).fillOpacity")) < 0.5


def _axe() -> str:
    (script,) = [f for f in files("axe-playwright-python") or [] if f.name == "axe.min.js"]
    return str(script.locate().read_text("utf-8"))


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("name", ["ground", "online"])
def test_axe_finds_nothing_and_targets_can_be_hit(
    offline_page: Opener, pages: dict[str, Path], size: str, name: str
):
    page = offline_page(pages[name], size)
    if name == "ground":
        page.locator("#ground-picture").select_option("relief")
    page.evaluate(_axe())
    found = page.evaluate("axe.run().then(r => r.violations)")
    assert [(v["id"], [n["html"][:120] for n in v["nodes"]]) for v in found] == []
    for target in ("#ground-picture", ".where", "label:has(#online)"):
        for box in (t.bounding_box() for t in page.locator(target).all()):
            assert min(box["width"], box["height"]) >= 44, target
    assert page.evaluate("document.documentElement.scrollWidth") == SIZES[size][0]
    # The buttons end before the sign of the north begins.
    buttons, north = (page.locator(c).bounding_box() for c in (".map-buttons", ".north"))
    assert buttons["x"] + buttons["width"] <= north["x"]


@pytest.fixture
def online_page(browser: Any, pages: dict[str, Path]) -> Iterator[Opener]:
    """Open the page with a net in which only a stand-in of the imagery's host answers."""
    contexts = []

    def open_page(answer: Callable[[Any], None]) -> tuple[Any, list[str]]:
        context = browser.new_context(viewport={"width": 1280, "height": 800})
        contexts.append(context)
        asked: list[str] = []
        page = context.new_page()
        page.set_default_timeout(5000)
        page.on(
            "request",
            lambda r: None if r.url.startswith(("file:", "data:")) else asked.append(r.url),
        )
        page.route("https://**/*", answer)
        page.goto(pages["online"].as_uri())
        return page, asked

    yield open_page
    for context in contexts:
        context.close()


def test_nothing_is_asked_of_the_internet_before_the_tick(online_page: Opener):
    page, asked = online_page(
        lambda route: route.fulfill(body=_TILE, content_type="image/png", status=200)
    )
    page.get_by_role("button", name="Larger").click()
    page.wait_for_timeout(500)
    assert asked == []
    assert not page.locator("#online").is_checked()
    assert "learns which ground that is" in page.locator("#online-hint").inner_text()
    page.locator("#online").check()
    page.locator(".leaflet-tile-loaded").first.wait_for()
    assert asked and all(url.startswith(HOST + "/arcgis/rest/services/") for url in asked)
    # Zoom, row and column as web maps count them; none finer than the source has.
    zooms = {int(re.search(r"/tile/(\d+)/\d+/\d+$", url)[1]) for url in asked}
    assert max(zooms) <= 16
    assert (
        page.locator(".credit").inner_text() == "Images: U.S. Geological Survey, The National Map"
    )
    assert page.locator("#online-told").inner_text() == ""
    page.set_viewport_size({"width": 390, "height": 844})
    scale = page.locator(".leaflet-control-scale").bounding_box()
    assert scale["x"] + scale["width"] <= page.locator(".credit").bounding_box()["x"]
    page.locator("#online").uncheck()
    assert page.locator(".leaflet-tile").count() == 0 and page.locator(".credit").count() == 0
    before = len(asked)
    page.get_by_role("button", name="Larger").click()
    page.wait_for_timeout(500)
    assert len(asked) == before


def test_without_signal_a_plain_line_says_so(online_page: Opener):
    page, _ = online_page(lambda route: route.abort("internetdisconnected"))
    page.locator("#online").check()
    told = page.locator("#online-told", has_text="No signal")
    told.wait_for()
    assert "All else works." in told.inner_text()
    assert page.locator(".leaflet-overlay-pane path").count() == 4


def test_the_policy_stops_any_other_host(online_page: Opener):
    answered: list[str] = []

    def answer(route: Any) -> None:
        answered.append(route.request.url)
        route.fulfill(body=_TILE, content_type="image/png")

    page, _ = online_page(answer)
    refused: list[str] = []
    page.on("console", lambda message: refused.append(message.text))
    load = "url => { const i = new Image(); i.src = url; document.body.append(i) }"
    page.evaluate(load, "https://tiles.example/0/0/0.png")
    page.evaluate(load, HOST + "/there.png")
    page.locator(f"img[src='{HOST}/there.png']").wait_for()
    page.wait_for_timeout(300)
    assert answered == [HOST + "/there.png"]
    assert any("Content Security Policy" in text for text in refused)


def _ask(page: Any) -> Any:
    page.get_by_role("button", name="Where am I").click()
    return page.locator("#place-told")


@pytest.mark.parametrize("size", SIZES)
def test_where_am_i_inside_a_field(offline_page: Opener, pages: dict[str, Path], size: str):
    where = {**_place(500520, 3500150), "accuracy": 9.0}
    page = offline_page(pages["plain"], size, geolocation=where, permissions=["geolocation"])
    told = _ask(page)
    told.filter(has_text="You are in field 3").wait_for()
    assert told.inner_text() == "You are in field 3, give or take 30 ft."  # 9 m
    button = page.get_by_role("button", name="Where am I")
    assert button.get_attribute("aria-pressed") == "true"
    ring, dot = page.locator(".leaflet-place-pane path").all()
    three = page.locator(".number span", has_text=re.compile("^3$")).bounding_box()
    # Field 3 reaches from 500440 to 500640: the place is 20 m west of its middle.
    assert 0 < three["x"] + three["width"] / 2 - _middle(dot) < 30
    assert _middle(ring) == pytest.approx(_middle(dot), abs=1.5)
    # Walking moves the dot and the words.
    page.context.set_geolocation({**_place(500100, 3500100), "accuracy": 40.0})
    told.filter(has_text="You are in field 1, give or take 130 ft.").wait_for()
    button.click()
    assert page.locator(".leaflet-place-pane path").count() == 0
    assert told.inner_text() == "" and button.get_attribute("aria-pressed") == "false"


def _middle(locator: Any) -> float:
    box = locator.bounding_box()
    return float(box["x"] + box["width"] / 2)


def test_where_am_i_beside_the_farm(offline_page: Opener, pages: dict[str, Path]):
    # 3,000 m west and 3,000 m south of the lower left corner of field 1: 4,243 m, 2.6 miles.
    where = {**_place(497000, 3497000), "accuracy": 25.0}
    page = offline_page(pages["plain"], geolocation=where, permissions=["geolocation"])
    told = _ask(page)
    told.filter(has_text="You are outside").wait_for()
    assert told.inner_text() == (
        "You are outside the fields: field 1 is 2.6 mi to the northeast, give or take 80 ft."
    )
    # The map stays with the farm.
    one = page.locator(".number span", has_text=re.compile("^1$"))
    assert one.is_visible()


def test_where_am_i_refused(offline_page: Opener, pages: dict[str, Path]):
    page = offline_page(pages["plain"], permissions=[])
    told = _ask(page)
    told.filter(has_text="does not tell the page where you are").wait_for()
    assert "zones.gpx" in told.inner_text()
    button = page.get_by_role("button", name="Where am I")
    assert button.get_attribute("aria-pressed") == "false"


@pytest.mark.parametrize(
    ("code", "words"), [(2, "cannot find where it is"), (3, "no place within 20 seconds")]
)
def test_where_am_i_not_to_be_had(
    offline_page: Opener, pages: dict[str, Path], code: int, words: str
):
    page = offline_page(pages["plain"])
    page.evaluate(
        "code => { navigator.geolocation.watchPosition = (found, failed) =>"
        " { setTimeout(() => failed({ code: code }), 10); return 7; } }",
        code,
    )
    told = _ask(page)
    told.filter(has_text=words).wait_for()
    assert "open sky" in told.inner_text()


def test_the_report_shows_shade_under_its_drawings(offline_page: Opener, tmp_path: Path):
    farm = farm_with_ground()
    write_report(report_pages(farm), tmp_path / "report.html")
    page = offline_page(tmp_path / "report.html")  # fails where the policy refuses the picture
    drawing = page.locator("#field-2 figure svg").first
    drawing.scroll_into_view_if_needed()
    shot = Image.open(io.BytesIO(drawing.screenshot())).convert("L")
    tones = np.asarray(shot, float)
    # Beside the field the ground is grey, neither paper nor ink.
    assert ((tones > 100) & (tones < 245)).mean() > 0.3
    page.evaluate(_axe())
    found = page.evaluate("axe.run().then(r => r.violations)")
    assert [(v["id"], [n["html"][:120] for n in v["nodes"]]) for v in found] == []
