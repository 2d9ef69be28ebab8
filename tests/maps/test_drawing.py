"""The drawings: what is filled, hatched, numbered and to scale, read out of the SVG itself."""

import re
from dataclasses import replace
from xml.etree import ElementTree

import geopandas as gpd
import pytest
import shapely
from shapely.geometry import Point, Polygon, box
from small_farm import CRS, small_farm

from maps import colours
from maps.drawing import farm_svg, field_numbers, field_svg, swatch_svg
from maps.drawing_frame import MARGIN_PX, frame_for, round_length
from maps.hatching import dots, stripes
from maps.legend import Legend
from maps.words import load_words

SVG = "{http://www.w3.org/2000/svg}"
WORDS = load_words()


def _farm(assessment=None, width_px=720):
    return farm_svg(assessment or small_farm(), WORDS, Legend(), width_px)


def _texts(svg):
    return [t.text for t in ElementTree.fromstring(svg).iter(f"{SVG}text")]


def _paths(svg, **attributes):
    found = ElementTree.fromstring(svg).iter(f"{SVG}path")
    return [
        p.get("d")
        for p in found
        if all(p.get(k.replace("_", "-")) == v for k, v in attributes.items())
    ]


def _points(data):
    return [(float(x), float(y)) for x, y in re.findall(r"(-?[\d.]+) (-?[\d.]+)", data)]


def test_numbers_are_the_rows_of_the_verdicts():
    assert field_numbers(small_farm()) == {"A/1": 1, "B": 2, "C": 3, "D": 4}


def test_every_field_is_numbered_on_the_drawing():
    assert {"1", "2", "3", "4"} <= set(_texts(_farm()))


def test_numbers_do_not_depend_on_the_order_of_the_shapes():
    farm = small_farm()
    turned = replace(farm, fields=farm.fields.iloc[::-1])
    first, second = _number_places(_farm()), _number_places(_farm(turned))
    assert first == second
    # Field 1 lies west of field 4.
    assert first["1"][0] < first["4"][0]


def _number_places(svg):
    texts = ElementTree.fromstring(svg).iter(f"{SVG}text")
    return {t.text: (float(t.get("x")), float(t.get("y"))) for t in texts if t.text in "1234"}


def test_each_verdict_has_its_colour():
    svg = _farm()
    for swatch in colours.VERDICT.values():
        assert len(_paths(svg, fill=swatch.fill)) >= 1


def test_four_squares_of_200_m_are_drawn_to_scale():
    # 4 x 200 m and 3 gaps of 20 m = 860 m over 720 - 2 x 10 px: 1.2286 m a pixel.
    sow = _points(_paths(_farm(), fill=colours.VERDICT["sow"].fill)[0])
    wide = max(x for x, _ in sow) - min(x for x, _ in sow)
    tall = max(y for _, y in sow) - min(y for _, y in sow)
    assert wide == pytest.approx(200 / (860 / 700), abs=0.2)
    assert tall == pytest.approx(wide, abs=0.2)


def test_nothing_is_drawn_outside_the_sheet():
    svg = _farm()
    _, _, width, height = (float(n) for n in ElementTree.fromstring(svg).get("viewBox").split())
    fills = [d for swatch in colours.VERDICT.values() for d in _paths(svg, fill=swatch.fill)]
    for x, y in (point for data in fills for point in _points(data)):
        assert MARGIN_PX - 0.1 <= x <= width - MARGIN_PX + 0.1
        assert 0 <= y <= height


def test_north_is_up():
    frame = frame_for((0, 0, 100, 100), 200)
    south, north = frame.to_px(box(0, 0, 1, 1)), frame.to_px(box(0, 99, 1, 100))
    assert north.centroid.y < south.centroid.y


@pytest.mark.parametrize(
    ("wide_m", "feet", "metres"),
    [
        # 860 m over 700 px; 30 % of 720 px are 265 m = 870 feet.
        (860, "500 ft", "200 m"),
        # 10 km: 3,086 m = 1.9 miles.
        (10000, "1 mi", "2 km"),
    ],
)
def test_scale_in_feet_and_metres_as_long_as_it_says(wide_m, feet, metres):
    farm = small_farm()
    stretched = farm.fields.copy()
    stretched.geometry = [
        box(500000 + x, 3500000, 500000 + x + 0.2 * wide_m, 3500100)
        for x in (0, 0.2 * wide_m, 0.4 * wide_m, 0.8 * wide_m)
    ]
    svg = _farm(replace(farm, fields=stretched, wet_ground=farm.wet_ground.iloc[:0]))
    assert feet in _texts(svg)
    assert metres in _texts(svg)
    bar = next(p for p in _paths(svg, stroke=colours.INK, fill="none") if "v-6" in p)
    ends = [float(x) for x in re.findall(r"M([\d.]+) [\d.]+v", bar)]
    start = float(re.match(r"M([\d.]+)", bar).group(1))
    m_per_px = wide_m / 700
    feet_m = {"500 ft": 152.4, "1 mi": 1609.344}[feet]
    metres_m = {"200 m": 200, "2 km": 2000}[metres]
    assert (ends[0] - start) * m_per_px == pytest.approx(feet_m, rel=0.01)
    assert (ends[1] - start) * m_per_px == pytest.approx(metres_m, rel=0.01)


@pytest.mark.parametrize(("at_most", "length"), [(1, 1), (4.99, 2), (5, 5), (99, 50), (0.07, 0.05)])
def test_scale_lengths_are_one_two_or_five(at_most, length):
    assert round_length(at_most) == pytest.approx(length)


def test_stripes_are_real_lines_inside_the_ground():
    ring = Point(50, 50).buffer(40).difference(Point(50, 50).buffer(20))
    ends = _points(stripes(ring, 9, 45))
    assert len(ends) > 20
    lines = shapely.linestrings([ends[i : i + 2] for i in range(0, len(ends), 2)])
    assert all(ring.buffer(0.2).contains(line) for line in lines)
    # 45 degrees anticlockwise on a screen whose y runs down.
    assert all((b[1] - a[1]) / (b[0] - a[0]) == pytest.approx(-1, abs=0.2) for a, b in _long(ends))


def _long(ends):
    pairs = [(ends[i], ends[i + 1]) for i in range(0, len(ends), 2)]
    return [(a, b) for a, b in pairs if abs(a[0] - b[0]) > 5]


def test_stripes_lie_the_spacing_apart():
    ends = _points(stripes(box(0, 0, 100, 100), 10, 45))
    # On a 45 degree line x + y is the same all along; 10 px apart makes 10 x sqrt(2).
    sums = sorted({round(x + y) for x, y in ends})
    assert sums[1] - sums[0] == pytest.approx(14.1, abs=1)


def test_ground_too_small_for_the_pattern_still_has_a_mark():
    small = box(3.2, 3.2, 4.4, 4.4)
    assert stripes(small, 50, 45).startswith("M")
    assert dots(small, 50, 2.5).startswith("M")


def test_no_pattern_no_script_no_style_reaches_the_drawing():
    farm = small_farm()
    for svg in (_farm(), *(field_svg(farm, f, WORDS, Legend()) for f in farm.fields.field_id)):
        assert not re.search(r"<pattern|<script|<style|style=|url\(|href", svg)


def test_wet_ground_is_hatched_in_blue_on_farm_and_field():
    farm = small_farm()
    for svg in (_farm(), field_svg(farm, "B", WORDS, Legend())):
        assert len(_paths(svg, fill=colours.WATER_PAPER)) == 1
        assert len(_paths(svg, stroke=colours.WATER, stroke_width="1.4")) == 1
    assert _paths(field_svg(farm, "A/1", WORDS, Legend()), fill=colours.WATER_PAPER) == []


def test_a_field_shows_the_symbols_of_its_soils():
    texts = _texts(field_svg(small_farm(), "B", WORDS, Legend()))
    assert {"UpA", "BtA"} <= set(texts)


def test_a_hostile_symbol_stays_text():
    farm = small_farm()
    soils = farm.soil_parts.copy()
    soils["musym"] = "<b>&\x00\u202e"
    svg = field_svg(replace(farm, soil_parts=soils), "A/1", WORDS, Legend())
    assert "<b>&\ufffd\ufffd" in _texts(svg)


def test_a_hole_stays_open_and_a_multipart_field_has_both_parts():
    farm = small_farm()
    shapes = farm.fields.geometry.tolist()
    shapes[0] = shapely.multipolygons(
        [
            Polygon(
                box(500000, 3500000, 500090, 3500200).exterior,
                [box(500030, 3500050, 500060, 3500100).exterior],
            ),
            box(500110, 3500000, 500200, 3500200),
        ]
    )
    fields = gpd.GeoDataFrame(farm.fields.drop(columns="geometry"), geometry=shapes, crs=CRS)
    svg = _farm(replace(farm, fields=fields))
    data = _paths(svg, fill=colours.VERDICT["sow"].fill)[0]
    assert data.count("M") == 3
    assert data.count("Z") == 3


def test_a_field_far_smaller_than_a_pixel_can_be_seen():
    farm = small_farm()
    shapes = farm.fields.geometry.tolist()
    shapes[3] = box(520000, 3500000, 520002, 3500002)
    fields = gpd.GeoDataFrame(farm.fields.drop(columns="geometry"), geometry=shapes, crs=CRS)
    svg = _farm(replace(farm, fields=fields, wet_ground=farm.wet_ground.iloc[:0]))
    spot = _points(_paths(svg, fill=colours.VERDICT["not known"].fill)[0])
    assert max(x for x, _ in spot) - min(x for x, _ in spot) >= 3


def test_numbers_never_lie_on_each_other():
    farm = small_farm()
    shapes = [box(500000 + 3 * i, 3500000, 500003 + 3 * i, 3500003) for i in range(3)]
    shapes.append(box(500000, 3490000, 510000, 3499000))
    fields = gpd.GeoDataFrame(farm.fields.drop(columns="geometry"), geometry=shapes, crs=CRS)
    svg = _farm(replace(farm, fields=fields, wet_ground=farm.wet_ground.iloc[:0]))
    boxes = [
        box(*(float(r.get(k)) for k in ("x", "y")), *_far(r))
        for r in ElementTree.fromstring(svg).iter(f"{SVG}rect")
    ]
    assert len(boxes) == 2  # the large field and one of the three
    assert not boxes[0].intersects(boxes[1])


def _far(rect):
    x, y, w, h = (float(rect.get(k)) for k in ("x", "y", "width", "height"))
    return x + w, y + h


@pytest.mark.parametrize("name", [*colours.VERDICT, "wet ground", "soil"])
def test_every_entry_of_the_key_can_be_drawn(name):
    assert ElementTree.fromstring(swatch_svg(name)).findall(f"{SVG}path")


def test_open_water_is_told_from_sown_ground_where_all_is_grey():
    """Both are dark: water has level light lines on it, sown ground has none."""
    assert _paths(swatch_svg("open water"), stroke=colours.WATER_PAPER)
    assert not _paths(swatch_svg("sow"), stroke=colours.WATER_PAPER)
