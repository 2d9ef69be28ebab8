"""Pictures of the ground in the page: what they show, what they say, and how large they may be."""

import base64
import io
import re
from dataclasses import replace
from pathlib import Path
from typing import Any

import geopandas as gpd
import numpy as np
import pytest
from farm_with_ground import farm_with_ground, heights, with_ground, with_photo
from PIL import Image
from pypdf import PdfReader
from small_farm import small_farm

from layers.ground_picture import LEVEL, WHITE, picture_of
from maps import page_ground as module
from maps.assessment import Assessment
from maps.drawing import field_svg
from maps.for_owner import of_owner
from maps.legend import Legend
from maps.online_imagery import HOST
from maps.page import constant_page
from maps.page_ground import page_ground
from maps.reader import legend_of, words_of
from maps.report import write_report
from maps.report_pages import report_pages
from maps.report_pdf import write_pdf
from maps.web_map import write_map
from maps.words import load_words

WORDS = load_words()


def _pictures(farm: Assessment) -> dict[str, Any]:
    return page_ground(farm, words_of(farm), legend_of(farm))


def _opened(picture: dict[str, Any]) -> Image.Image:
    kind, text = re.fullmatch(r"data:image/(\w+);base64,(.*)", picture["image"]).groups()
    assert kind == "webp"
    return Image.open(io.BytesIO(base64.b64decode(text)))


def _tone(picture: dict[str, Any], x: float, y: float) -> Any:
    """Pixel at a point of the farm's CRS, as a page that stretches between corners shows it."""
    image = _opened(picture)
    south, west, north, east = picture["box"]
    corners = gpd.GeoSeries(gpd.points_from_xy([west, east], [south, north]), crs=4326)
    (left, bottom), (right, top) = ((p.x, p.y) for p in corners.to_crs(3857))
    point = gpd.GeoSeries(gpd.points_from_xy([x], [y]), crs="EPSG:32616").to_crs(3857).iloc[0]
    column = (point.x - left) / (right - left) * image.width
    row = (top - point.y) / (top - bottom) * image.height
    return image.getpixel((int(column), int(row)))


def _grey(tone: Any) -> float:
    return float(np.mean(tone))


def test_the_shade_lies_where_the_ground_is_and_not_where_heights_are_missing():
    relief = _pictures(with_ground(small_farm()))["relief"]
    # Ground that rises to the north turns from the north-west light: darker than level ground.
    assert _grey(_tone(relief, 500100, 3500100)) < LEVEL - 20
    # The side of the bowl that faces the light (south-east of its middle) is the brighter one.
    facing = _grey(_tone(relief, 500348, 3500072))
    turned = _grey(_tone(relief, 500292, 3500128))
    assert facing > turned + 60
    # Field D has no heights: white, as if nothing lay there, and no line crosses it.
    assert _grey(_tone(relief, 500760, 3500100)) >= WHITE - 3
    lines = [np.cumsum(np.reshape(line, (-1, 2)), axis=0) for k in relief["lines"] for line in k]
    east_of_c = gpd.GeoSeries(gpd.points_from_xy([500650], [3500100]), crs="EPSG:32616")
    assert max(line[:, 0].max() for line in lines) < east_of_c.to_crs(4326).iloc[0].x * 1e6


def test_what_is_drawn_is_said_in_the_readers_units():
    told = _pictures(with_ground(small_farm()))["relief"]["told"]
    # A slope of about 3 % (a tenth of the ground, in the bowl, is up to 6 %), 6 to 8 m of relief.
    assert re.search(r"drawn (8|10|12) times as steep as it is, in cells of 13 ft", told)
    assert "Contour lines every 2 ft, heavier every 10 ft." in told
    metric = _pictures(with_ground(small_farm("metric")))["relief"]["told"]
    assert "in cells of 4 m" in metric
    assert "Contour lines every 0.5 m, heavier every 2.5 m." in metric


def test_without_heights_or_image_nothing_is_offered(tmp_path: Path):
    assert _pictures(small_farm()) == {}
    write_map(small_farm(), tmp_path / "map.html")
    page = (tmp_path / "map.html").read_text("utf-8")
    assert 'id="ground-picture"' not in page and "data:image/webp" not in page


def test_pictures_stay_within_their_bytes_however_rough_the_ground():
    rough = _pictures(with_ground(small_farm(), roughness_m=0.6))["relief"]
    most = module.SHADE_BYTES + 4 * module.SHADE_BYTES_A_FIELD
    assert len(rough["image"]) <= most * 4 / 3 + 40
    letters = sum(len(str(n)) + 1 for kind in rough["lines"] for line in kind for n in line)
    assert letters <= module.LINE_LETTERS + 4 * module.LINE_LETTERS_A_FIELD
    photo = _pictures(with_photo(small_farm(), noisy=True))["photo"]
    assert len(photo["image"]) <= module.PHOTO_BYTES * 4 / 3 + 40
    # Noise had to be joined to larger pixels than the 2.8 ft of the file, and that is said.
    pixel_ft = float(re.search(r"pixels of ([\d.]+) ft", photo["told"])[1])
    assert pixel_ft > 2.8


def test_where_all_lines_are_too_many_only_the_main_ones_are_drawn(
    monkeypatch: pytest.MonkeyPatch,
):
    farm = with_ground(small_farm())
    monkeypatch.setattr(module, "LINE_LETTERS_A_FIELD", 0)
    monkeypatch.setattr(module, "LINE_LETTERS", 900)
    main = _pictures(farm)["relief"]
    assert main["lines"][0] == [] and main["lines"][1]
    assert "Contour lines every 10 ft: closer ones would make this page too large." in main["told"]
    monkeypatch.setattr(module, "LINE_LETTERS", 10)
    none = _pictures(farm)["relief"]
    assert none["lines"] == [[], []] and "No contour lines" in none["told"]


def test_the_image_is_shown_around_the_fields_and_named():
    photo = _pictures(with_photo(small_farm()))["photo"]
    assert photo["told"].startswith("The aerial image photo <b>.tif, here in pixels of 2.8 ft.")
    dark, light = _tone(photo, 500100, 3500100), _tone(photo, 500760, 3500100)
    assert np.abs(np.subtract(dark, (40, 70, 30))).max() < 12
    assert np.abs(np.subtract(light, (90, 140, 60))).max() < 12


def test_an_owner_gets_no_ground_of_others():
    farm = farm_with_ground()
    own = of_owner(farm, "Marsh Hollow Land")  # fields B and C, from 500220 to 500640
    assert own.aerial is not None and own.aerial.source == ""
    pictures = _pictures(own)
    for name, reach_m in (("relief", 250), ("photo", 250)):
        south, west, north, east = pictures[name]["box"]
        box = gpd.GeoSeries(gpd.points_from_xy([west, east], [south, north]), crs=4326)
        box = box.to_crs("EPSG:32616")
        assert box.x.min() > 500220 - reach_m - 15 and box.x.max() < 500640 + reach_m + 15, name
    assert "photo" not in pictures["photo"]["told"].replace("The aerial image", "")
    # What lies farther than that from both fields is blank: 100 m into field A's west is 120 m away
    # and seen; the heights hold 500 m more to the west, and none of it is there.
    every = _pictures(farm)["relief"]["box"]
    assert pictures["relief"]["box"][1] > every[1]
    assert own.ground is not None and own.ground.lines.total_bounds[0] >= 500219


def test_the_page_can_ask_one_host_only_where_farm_toml_says_so(tmp_path: Path):
    assert "https" not in constant_page().policy
    sources = dict(rule.split(" ", 1) for rule in constant_page(online=True).policy.split("; "))
    assert sources["img-src"] == f"data: {HOST}"
    assert [name for name, value in sources.items() if "http" in value] == ["img-src"]
    farm = small_farm()
    write_map(farm, tmp_path / "map.html")
    plain = (tmp_path / "map.html").read_text("utf-8")
    assert (
        HOST not in plain and "offerOnline(map,data){" not in plain and 'id="online"' not in plain
    )
    write_map(replace(farm, farm=replace(farm.farm, online_imagery=True)), tmp_path / "map.html")
    online = (tmp_path / "map.html").read_text("utf-8")
    assert online.count(HOST) == 2  # in the policy, and where the script reads it
    assert "U.S. Geological Survey, The National Map" in online


def test_scripts_may_be_closed_up_as_they_are_written():
    # What page.py leans on when it takes blanks away.
    templates = Path(__file__).parents[2] / "maps" / "templates"
    for path in templates.glob("map*.js"):
        for line in path.read_text("utf-8").splitlines():
            if line.lstrip().startswith("//"):
                continue
            without_text = re.sub(r'"(?:[^"\\]|\\.)*"', "", line)
            assert not set("'`\"") & set(without_text), (path.name, line)
            assert "//" not in without_text and "/*" not in without_text, (path.name, line)


def test_the_drawing_of_a_field_has_shade_and_lines_under_it():
    farm = with_ground(small_farm())
    svg = field_svg(farm, "B", WORDS, Legend())
    assert svg.index("<image ") < svg.index("<path ")
    (picture,) = re.findall(r'<image href="data:image/jpeg;base64,([^"]+)"', svg)
    assert len(picture) < 12_000
    tones = np.asarray(Image.open(io.BytesIO(base64.b64decode(picture))), float)
    # Light enough to print and to read on: ink (17) on the darkest tone is far above 4.5 to 1.
    assert tones.min() > 100 and np.quantile(tones, 0.1) > 150
    assert 'stroke-opacity=".7"' in svg
    flat = field_svg(farm, "D", WORDS, Legend())  # without heights
    (picture,) = re.findall(r'<image href="data:image/jpeg;base64,([^"]+)"', flat)
    blank = np.asarray(Image.open(io.BytesIO(base64.b64decode(picture))), float)
    assert np.quantile(blank, 0.5) >= WHITE - 3 and 'stroke-opacity=".7"' not in flat
    assert "<image" not in field_svg(small_farm(), "B", WORDS, Legend())


def test_the_report_says_how_the_ground_is_drawn_and_the_pdf_holds_it(tmp_path: Path):
    farm = with_ground(small_farm())
    report = report_pages(farm)
    write_report(report, tmp_path / "report.html")
    page = (tmp_path / "report.html").read_text("utf-8")
    said = re.findall(r"contour lines every 2 ft; shading \d+ times as steep as the ground", page)
    assert len(said) == 3  # of the three fields with heights
    write_pdf(report, tmp_path / "report.pdf")
    sheets = PdfReader(tmp_path / "report.pdf").pages
    assert sum(len(sheet.images) for sheet in sheets) >= 3
    assert "contour lines every 2 ft" in " ".join(sheet.extract_text() for sheet in sheets)


def test_many_scattered_fields_have_a_coarse_picture_or_none(monkeypatch: pytest.MonkeyPatch):
    farm = small_farm()
    fields = farm.fields.copy()
    # Field D lies 60 km to the east: a picture of all would have cells too large to show a field.
    moved = fields.geometry.tolist()
    moved[3] = moved[2].buffer(0)
    moved[3] = gpd.GeoSeries([moved[3]]).translate(xoff=60_000).iloc[0]
    fields = fields.set_geometry(gpd.GeoSeries(moved, crs=fields.crs))
    picture = picture_of([heights()], fields, metric=False)
    apart = replace(farm, fields=fields, ground=picture)
    told = _pictures(apart)["relief"]["told"]
    cell_ft = float(re.search(r"cells of ([\d,]+) ft", told)[1])
    assert 95 <= cell_ft <= 200  # 60 km in at most 2,000 pixels: 30 m, 99 ft
    monkeypatch.setattr(module, "_COARSEST_M", 20.0)
    assert _pictures(apart) == {}
