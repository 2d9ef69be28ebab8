"""zones.kml and zones.gpx, read back by other readers than wrote them."""

from dataclasses import replace
from xml.etree import ElementTree as ET

import geopandas as gpd
import gpxpy
import pandas as pd
import pyogrio
import pytest
from shapely.geometry import MultiPolygon, Point, Polygon, box
from small_farm import HOSTILE, small_farm

from maps.phone_files import write_gpx, write_kml
from maps.shown_names import shown

KML = "{http://www.opengis.net/kml/2.2}"
CAUTIONS = ("not a wetland determination", "not a boundary survey", "before you drain")


def with_hole():
    """The small farm with wet ground in two parts, one of them around a dry island."""
    farm = small_farm()
    ring = Polygon(
        box(500230, 3500010, 500290, 3500070).exterior,
        [box(500250, 3500030, 500270, 3500050).exterior],
    )
    two = MultiPolygon([ring, box(500350, 3500150, 500380, 3500180)])
    wet = farm.wet_ground.copy()
    wet["geometry"] = gpd.GeoSeries([two], crs=wet.crs)
    wet["years_in_ten"] = 4.0
    return replace(farm, wet_ground=wet)


@pytest.fixture
def kml(tmp_path):
    write_kml(small_farm(), tmp_path / "zones.kml")
    return tmp_path / "zones.kml"


@pytest.fixture
def gpx(tmp_path):
    write_gpx(with_hole(), tmp_path / "zones.gpx")
    return gpxpy.parse((tmp_path / "zones.gpx").read_text("utf-8"))


def test_kml_shapes_lie_where_the_fields_lie(kml):
    farm = small_farm()
    assert pyogrio.list_layers(kml)[:, 0].tolist() == ["Fields", "Wet ground"]
    for layer, before in (("Fields", farm.fields), ("Wet ground", farm.wet_ground)):
        read = pyogrio.read_dataframe(kml, layer=layer).to_crs(before.crs)
        assert len(read) == len(before)
        for here, there in zip(read.geometry, before.geometry, strict=True):
            assert here.symmetric_difference(there).area < 0.001 * there.area
            assert here.hausdorff_distance(there) < 0.02  # seven decimals of a degree: 1 cm


def test_kml_names_and_answers(kml):
    read = pyogrio.read_dataframe(kml, layer="Fields")
    names = read["Name"].tolist()
    assert names[0] == "1 Home field: sow"
    assert names[1] == f"2 {shown(HOSTILE)}: sow with care"
    assert names[3] == "4 =1+1: not known"
    assert "9.9 acres, of which 9.2 acres to sow." in read["description"].iloc[1]


def test_cautions_stand_in_the_file_and_on_each_field_and_wet_ground(kml, gpx):
    document = ET.parse(kml).getroot().find(f"{KML}Document")
    marks = list(document.iter(f"{KML}Placemark"))
    told = [element.find(f"{KML}description").text for element in (document, *marks)]
    told += [gpx.description, gpx.waypoints[0].description, gpx.tracks[0].description]
    assert len(told) == 1 + 5 + 3
    for text in told:
        for caution in CAUTIONS:
            assert caution in text


def test_no_name_of_a_user_gets_where_a_map_app_reads_html(kml):
    for element in ET.parse(kml).getroot().iter():
        if element.tag != f"{KML}name":
            assert "O'Brien" not in (element.text or "") and "alert" not in (element.text or "")
        if element.tag == f"{KML}BalloonStyle":
            assert element.find(f"{KML}text").text == "$[description]"


def test_names_that_are_no_xml_still_make_files_that_open(tmp_path):
    farm = small_farm()
    names = ["a\x00\x0bb", "x\u202ey", "p\uffffq\ufffe", "]]></name><name>&lt;"]
    mixed = replace(farm, fields=farm.fields.assign(name=names))
    write_kml(mixed, tmp_path / "zones.kml")
    write_gpx(mixed, tmp_path / "zones.gpx")
    ET.parse(tmp_path / "zones.gpx")
    read = [
        mark.find(f"{KML}name").text
        for mark in ET.parse(tmp_path / "zones.kml").getroot().iter(f"{KML}Placemark")
    ]
    assert read[0] == "1 a\ufffd\ufffdb: sow" and read[2] == "3 p\ufffdq\ufffd: leave out"
    assert read[3] == "4 ]]></name><name>&lt;: not known"


def test_gpx_waypoints_lie_inside_and_tracks_run_around(gpx):
    farm = with_hole()
    shape = farm.wet_ground.geometry.iloc[0]
    (spot,) = gpx.waypoints
    place = gpd.GeoSeries([Point(spot.longitude, spot.latitude)], crs=4326).to_crs(farm.fields.crs)
    assert place.iloc[0].within(shape)
    (track,) = gpx.tracks
    assert (spot.name, track.name) == ("Wet 2-1", "Wet 2-1")
    # The outer edge, the edge of the island, and the second part.
    lengths = [
        gpd.GeoSeries([Polygon([(p.longitude, p.latitude) for p in s.points])], crs=4326)
        .to_crs(farm.fields.crs)
        .length.iloc[0]
        for s in track.segments
    ]
    assert lengths == pytest.approx([240, 80, 120], abs=0.1)
    for segment in track.segments:
        first, last = segment.points[0], segment.points[-1]
        assert (first.latitude, first.longitude) == (last.latitude, last.longitude)
    assert spot.description.startswith(
        "Wet ground, 0.69 acres, in field 2: the water table comes too near the surface. "
        "Too wet in 4 years of 10. "
    )


def test_gpx_is_found_as_layers_by_a_second_reader(tmp_path):
    write_gpx(with_hole(), tmp_path / "zones.gpx")
    points = pyogrio.read_dataframe(tmp_path / "zones.gpx", layer="waypoints")
    tracks = pyogrio.read_dataframe(tmp_path / "zones.gpx", layer="tracks")
    assert points["name"].tolist() == tracks["name"].tolist() == ["Wet 2-1"]
    assert points["type"].tolist() == ["Wet ground"]


def test_metric_readers_get_hectares(tmp_path):
    write_kml(small_farm("metric"), tmp_path / "zones.kml")
    read = pyogrio.read_dataframe(tmp_path / "zones.kml", layer="Fields")
    assert "4.0 ha, of which 3.7 ha to sow." in read["description"].iloc[1]


def test_unknown_odds_are_not_told(tmp_path):
    write_gpx(small_farm(), tmp_path / "zones.gpx")
    gpx = gpxpy.parse((tmp_path / "zones.gpx").read_text("utf-8"))
    assert pd.isna(small_farm().wet_ground["years_in_ten"].iloc[0])
    assert "years of 10" not in gpx.waypoints[0].description


def test_a_farm_without_wet_ground_says_so(tmp_path):
    farm = small_farm()
    dry = replace(farm, wet_ground=farm.wet_ground.iloc[:0])
    write_kml(dry, tmp_path / "zones.kml")
    write_gpx(dry, tmp_path / "zones.gpx")
    gpx = gpxpy.parse((tmp_path / "zones.gpx").read_text("utf-8"))
    assert gpx.waypoints == [] and gpx.tracks == []
    assert gpx.description.startswith("No wet ground is drawn on this farm.")
    document = ET.parse(tmp_path / "zones.kml").getroot().find(f"{KML}Document")
    assert "No wet ground is drawn" in document.find(f"{KML}description").text
