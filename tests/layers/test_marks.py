"""The grower's marks: read from what a phone writes, laid over wet ground, shown as theirs."""

import json

import geopandas as gpd
import numpy as np
import pyproj
import pytest
import shapely
from shapely.geometry import box

from layers.drains import drawn_drains
from layers.marked_ground import apply_marks
from layers.marks import read_marks
from suitability.errors import CrsError, InputError

CRS = pyproj.CRS.from_epsg(32617)
TO_LONLAT = pyproj.Transformer.from_crs(CRS, 4326, always_xy=True)
X, Y = 300000.0, 3500000.0


def lonlat(x, y):
    """Longitude and latitude of a place x m east and y m north of the field's corner."""
    return TO_LONLAT.transform(X + x, Y + y)


@pytest.fixture
def fields():
    shapes = [box(X, Y, X + 200, Y + 200), box(X + 200, Y, X + 400, Y + 200)]
    return gpd.GeoDataFrame(
        {"field_id": ["west", "east"], "area_ha": [4.0, 4.0]}, geometry=shapes, crs=CRS
    )


def wet_ground(*boxes):
    table = {
        "field_id": ["west"] * len(boxes),
        "wet_id": [f"west-wet-{n + 1}" for n in range(len(boxes))],
        "area_ha": [box(*b).area / 1e4 for b in boxes],
        "years_in_ten": [4.0] * len(boxes),
        "cause": ["ponded"] * len(boxes),
        "compname": [None] * len(boxes),
    }
    shapes = [box(X + w, Y + s, X + e, Y + n) for w, s, e, n in boxes]
    return gpd.GeoDataFrame(table, geometry=shapes, crs=CRS)


def points(*rows):
    lines = ["kind,lat,lon,name,radius_m"]
    for kind, x, y, name, radius in rows:
        lon, lat = lonlat(x, y)
        lines.append(f"{kind},{lat:.8f},{lon:.8f},{name},{radius}")
    return "\n".join(lines)


def coords(*places):
    return " ".join("{:.8f},{:.8f}".format(*lonlat(x, y)) for x, y in places)


def test_csv_points_reach_as_far_as_they_say_or_as_is_stated(tmp_path, fields):
    (tmp_path / "m.csv").write_text(
        points(
            ("wet", 50, 50, "barn", 20), ("Never wet", 120, 50, "", ""), ("tile", 80, 80, "", "")
        )
    )
    marks, notes = read_marks(tmp_path / "m.csv", fields)
    assert marks["kind"].tolist() == ["wet", "dry", "drain"]
    assert marks["name"].tolist()[0] == "barn"
    assert marks.crs == CRS
    assert marks.area.tolist() == pytest.approx([np.pi * 400, np.pi * 100, 0], rel=0.01)
    assert marks.distance(shapely.Point(X + 50, Y + 50)).iloc[0] == 0
    assert [n.text for n in notes] == [
        "m.csv: marks read: wet: 1, never wet: 1, drain: 1.",
        "1 of them are points without a size; each was taken to reach 10 m around. "
        "Walk round a spot to give its size.",
        "Drains that are not drawn as a line change nothing: row 4.",
    ]


def test_a_radius_in_feet_is_no_radius_in_metres(tmp_path, fields):
    lon, lat = lonlat(50, 50)
    (tmp_path / "m.csv").write_text(f"kind;lat;lon;radius_ft\nwet;{lat};{lon};100\n")
    marks, _ = read_marks(tmp_path / "m.csv", fields)
    assert marks.area.iloc[0] == pytest.approx(np.pi * 30.48**2, rel=0.01)


def test_all_faults_of_a_csv_at_once(tmp_path, fields):
    (tmp_path / "m.csv").write_text(
        "kind,lat,lon,radius_m\nwet,31.6,-84.1,\nsoggy,31.6,-84.1,\nwet,316,x,-5\n"
    )
    with pytest.raises(InputError) as error:
        read_marks(tmp_path / "m.csv", fields)
    said = str(error.value)
    for words in (
        "row 3: kind is 'soggy'",
        "row 4: lat is '316'; expected -90 to 90 degrees",
        "row 4: lon is 'x'",
        "row 4: radius_m is '-5'; expected 0.1 to 1000 m",
        "Expected wet, dry (never wet) or drain as kind",
    ):
        assert words in said
    assert "row 2" not in said
    (tmp_path / "m.csv").write_text("what,lat,lon,radius\nwet,31,-84,5\n")
    with pytest.raises(InputError, match="column 'kind' is missing") as error:
        read_marks(tmp_path / "m.csv", fields)
    assert "name it radius_m or radius_ft" in str(error.value)


def test_gpx_points_tracks_and_routes_all_count(tmp_path, fields):
    def point(tag, x, y):
        lon, lat = lonlat(x, y)
        return f'<{tag} lat="{lat:.8f}" lon="{lon:.8f}"/>'

    walk = "".join(point("trkpt", x, y) for x, y in [(20, 20), (80, 20), (80, 60), (20, 60)])
    back = point("trkpt", 20, 25)  # the walk ends 5 m from its start
    lon, lat = lonlat(150, 150)
    (tmp_path / "m.gpx").write_text(
        '<?xml version="1.0"?><gpx version="1.1" creator="x"'
        ' xmlns="http://www.topografix.com/GPX/1/1">'
        f'<wpt lat="{lat:.8f}" lon="{lon:.8f}"><name>WET by the oak</name></wpt>'
        f"<rte><name>ditch</name>{point('rtept', 0, 0)}{point('rtept', 0, 200)}</rte>"
        f"<trk><name>never wet knoll</name><trkseg>{walk}{back}</trkseg></trk></gpx>"
    )
    marks, _ = read_marks(tmp_path / "m.gpx", fields)
    by_kind = marks.set_index("kind")
    assert sorted(marks["kind"]) == ["drain", "dry", "wet"]
    assert by_kind.loc["dry", "geometry"].area == pytest.approx(2400, rel=0.01)
    assert by_kind.loc["drain", "geometry"].length == pytest.approx(200, rel=0.001)
    assert by_kind.loc["wet", "name"] == "WET by the oak"


def test_kml_folders_all_count_and_a_line_that_is_not_closed_is_a_strip(tmp_path, fields):
    ring = coords((100, 100), (140, 100), (140, 150), (100, 150), (100, 100))
    line = coords((10, 10), (110, 10))
    (tmp_path / "m.kml").write_text(
        '<?xml version="1.0"?><kml xmlns="http://www.opengis.net/kml/2.2"><Document>'
        "<Folder><name>one</name><Placemark><name>wet</name><Polygon><outerBoundaryIs><LinearRing>"
        f"<coordinates>{ring}</coordinates></LinearRing></outerBoundaryIs></Polygon></Placemark>"
        "</Folder><Folder><name>two</name><Placemark><name>wet: seep</name><LineString>"
        f"<coordinates>{line}</coordinates></LineString></Placemark></Folder></Document></kml>"
    )
    marks, _ = read_marks(tmp_path / "m.kml", fields, point_radius_m=5)
    assert marks["kind"].tolist() == ["wet", "wet"]
    assert sorted(marks.area) == pytest.approx([100 * 10 + np.pi * 25, 2000], rel=0.01)


def geojson(tmp_path, *features):
    (tmp_path / "m.geojson").write_text(
        json.dumps(
            {
                "type": "FeatureCollection",
                "features": [
                    {
                        "type": "Feature",
                        "properties": said,
                        "geometry": {"type": "Point", "coordinates": lonlat(x, y)},
                    }
                    for said, x, y in features
                ],
            }
        )
    )
    return tmp_path / "m.geojson"


def test_geojson_kind_comes_from_its_column_before_the_name(tmp_path, fields):
    path = geojson(
        tmp_path,
        ({"kind": "dry", "name": "wet looking", "radius_m": 30}, 50, 50),
        ({"kind": None, "name": "Wet-corner", "radius_m": None}, 900, 50),
    )
    marks, notes = read_marks(path, fields)
    assert marks["kind"].tolist() == ["dry", "wet"]
    assert marks.area.tolist() == pytest.approx([np.pi * 900, np.pi * 100], rel=0.01)
    assert notes[-1].text == "1 of them lie in no field and change nothing: row 2."


def test_a_mark_that_does_not_say_what_it_is_is_never_guessed(tmp_path, fields):
    path = geojson(
        tmp_path,
        ({"name": "Wetherby's corner"}, 50, 50),
        ({"name": "wet", "radius": 30}, 50, 50),
        ({"name": "wet", "radius_m": 30000}, 50, 50),
    )
    with pytest.raises(InputError) as error:
        read_marks(path, fields)
    said = str(error.value)
    assert 'number 1, called "Wetherby\'s corner": not said what it is' in said
    assert "number 2: column 'radius' does not say its unit" in said
    assert "number 3: radius_m is 30000" in said
    assert "'wet by the barn'" in said


def marks_of(*rows):
    return gpd.GeoDataFrame(
        {"kind": [kind for kind, _ in rows], "name": None},
        geometry=[box(X + w, Y + s, X + e, Y + n) for _, (w, s, e, n) in rows],
        crs=CRS,
    )


def test_a_wet_mark_is_wet_ground_of_each_field_it_reaches(fields):
    table, notes = apply_marks(wet_ground(), marks_of(("wet", (150, 50, 250, 100))), fields)
    assert table["field_id"].tolist() == ["west", "east"]
    assert table["cause"].tolist() == ["your mark"] * 2
    assert table["area_ha"].tolist() == pytest.approx([0.25, 0.25])
    assert table["years_in_ten"].isna().all()
    assert notes[0].text == "You marked 1.2 acres (0.5 ha) as wet; that ground is left out."
    assert set(notes[0].field_ids) == {"west", "east"}


def test_a_wet_mark_over_wet_ground_is_counted_once(fields):
    before = wet_ground((20, 20, 60, 60), (100, 100, 120, 120))
    table, _ = apply_marks(before, marks_of(("wet", (40, 0, 80, 80))), fields)
    by_id = table.set_index("wet_id")
    assert by_id["area_ha"].to_dict() == pytest.approx(
        {"west-wet-1": 0.08, "west-wet-2": 0.04, "west-mark-1": 0.32}
    )
    assert shapely.union_all(table.geometry.to_numpy()).area == pytest.approx(4400)
    assert by_id.loc["west-wet-2", "years_in_ten"] == 4.0
    assert before["area_ha"].tolist() == [0.16, 0.04]  # what was given stays as it was


def test_a_dry_mark_takes_wet_ground_out_and_may_part_it(fields):
    before = wet_ground((20, 20, 100, 40), (150, 150, 160, 160))
    marks = marks_of(("dry", (50, 0, 70, 100)), ("dry", (140, 140, 170, 170)))
    table, notes = apply_marks(before, marks, fields)
    assert table["wet_id"].tolist() == ["west-wet-1", "west-wet-1b"]
    assert table["area_ha"].tolist() == pytest.approx([0.06, 0.06])
    assert notes[0].text == (
        "You marked ground as never wet: 0.12 acres (500 m2) that would have been left "
        "out as too wet are sown."
    )
    assert notes[0].level == "warning"


def test_where_marks_contradict_each_other_the_ground_stays_wet(fields):
    marks = marks_of(("dry", (0, 0, 100, 100)), ("wet", (50, 50, 150, 100)))
    table, notes = apply_marks(wet_ground((0, 0, 60, 100)), marks, fields)
    assert table["wet_id"].tolist() == ["west-mark-1"]
    assert table["area_ha"].tolist() == pytest.approx([0.5])
    assert "0.62 acres (0.25 ha) are marked as wet and as never wet; they were taken as wet." in [
        n.text for n in notes
    ]


def test_drains_alone_change_no_ground(fields):
    before = wet_ground((20, 20, 60, 60))
    table, notes = apply_marks(before, marks_of(("drain", (0, 0, 100, 100))), fields)
    assert table["area_ha"].tolist() == [0.16] and notes == ()
    assert table.geometry.iloc[0].equals(before.geometry.iloc[0])


def test_a_dry_mark_where_no_ground_is_wet_is_said_to_change_nothing(fields):
    marks = marks_of(("dry", (0, 0, 10, 10)), ("dry", (30, 30, 40, 40)), ("dry", (900, 0, 910, 9)))
    _, notes = apply_marks(wet_ground((20, 20, 60, 60)), marks, fields)
    assert [n.text for n in notes if n.level == "info"] == [
        "1 mark of ground that is never wet: no ground there would be left out anyway."
    ]


def marks_file(path, *rows):
    """Marks by kind and geometry."""
    features = [
        {"type": "Feature", "properties": {"kind": kind}, "geometry": shape} for kind, shape in rows
    ]
    path.write_text(json.dumps({"type": "FeatureCollection", "features": features}))
    return path


def test_marks_that_cannot_count_are_named_with_their_row(tmp_path, fields):
    here, there, beyond = lonlat(50, 50), lonlat(90, 50), lonlat(9000, 50)
    path = marks_file(
        tmp_path / "m.geojson",
        ("wet", None),
        ("wet", {"type": "Point", "coordinates": here}),
        ("dry", {"type": "Polygon", "coordinates": [[here, there, here, here]]}),
        ("drain", {"type": "Point", "coordinates": here}),
        ("drain", {"type": "LineString", "coordinates": [here, here]}),
        ("drain", {"type": "LineString", "coordinates": [here, there]}),
        ("wet", {"type": "Point", "coordinates": beyond}),
        ("wet", {"type": "Point", "coordinates": [0, 0]}),
    )
    marks, notes = read_marks(path, fields)
    assert [n.text for n in notes if n.level == "warning"] == [
        "Marks without a place, or an outline around no ground, change nothing: row 1, row 3.",
        "Drains that are not drawn as a line change nothing: row 4, row 5.",
        "2 of them lie in no field and change nothing: row 7, row 8.",
    ]
    assert len(drawn_drains(marks)) == 1
    table, _ = apply_marks(wet_ground(), marks, fields)
    assert table["area_ha"].tolist() == pytest.approx([0.0312], rel=0.01)  # pi times 10 m squared


def test_a_track_of_one_point_is_named(tmp_path, fields):
    lon, lat = lonlat(50, 50)
    (tmp_path / "m.gpx").write_text(
        '<?xml version="1.0"?><gpx version="1.1" creator="x" '
        'xmlns="http://www.topografix.com/GPX/1/1">'
        f'<wpt lat="{lat}" lon="{lon}"><name>wet</name></wpt><trk><name>wet round</name><trkseg>'
        f'<trkpt lat="{lat}" lon="{lon}"/></trkseg></trk></gpx>'
    )
    _, notes = read_marks(tmp_path / "m.gpx", fields)
    assert "change nothing: row 1 of tracks." in notes[-1].text


def test_a_file_without_marks_is_a_warning(tmp_path, fields):
    _, notes = read_marks(marks_file(tmp_path / "m.geojson"), fields)
    assert [(n.level, n.text) for n in notes] == [("warning", "m.geojson: marks read: none.")]


def test_a_corner_that_is_no_number_is_a_fault_of_its_row(tmp_path, fields):
    corners = ", ".join("[{}, {}]".format(*lonlat(x, 9)) for x in (10, 30))
    good = '{"type": "Feature", "properties": {"kind": "wet"}, "geometry": null}'
    bad = good.replace("null", f'{{"type": "LineString", "coordinates": [{corners}, [NaN, NaN]]}}')
    text = f'{{"type": "FeatureCollection", "features": [{good}, {bad}]}}'
    (tmp_path / "m.geojson").write_text(text)
    with pytest.raises(
        CrsError, match=r"m\.geojson holds coordinates that are no numbers: row 2\."
    ):
        read_marks(tmp_path / "m.geojson", fields)


def test_latitude_and_longitude_swapped_in_a_csv_are_a_fault(tmp_path, fields):
    lon, lat = lonlat(50, 50)
    (tmp_path / "m.csv").write_text(f"kind,lat,lon\nwet,{lat},{lon}\ndry,{lon},{lat}\nwet,0,0\n")
    with pytest.raises(
        InputError, match=r"row 3: lat is -83\.\d+ and lon 31\.\d+; they look swapped"
    ):
        read_marks(tmp_path / "m.csv", fields)
