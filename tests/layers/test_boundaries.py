"""Fields out of boundary files: what is kept, mended, left out, and said about it."""

import json
import math
from pathlib import Path

import geopandas as gpd
import numpy as np
import pandas as pd
import pytest
from real_data import real
from shapely.geometry import (
    GeometryCollection,
    LineString,
    MultiLineString,
    MultiPolygon,
    Point,
    Polygon,
    box,
)

from layers.boundaries import read_fields
from layers.files import open_vector
from layers.outlines import area_ha, outline
from suitability.columns import FIELDS
from suitability.contract import names
from suitability.errors import CrsError, InputError

ACRES_PER_HA = 10_000 / 4046.8564224
ZONE = 32617
HOSTILE = "O'Brien {{ 7*7 }} <b>&amp;</b> =cmd"


def square(x: float, y: float, side: float = 100.0) -> Polygon:
    """Square in metres, in UTM zone 17 near 82 W 30 N."""
    return box(400_000 + x, 3_320_000 + y, 400_000 + x + side, 3_320_000 + y + side)


def ring(*points: tuple[float, float]) -> list[tuple[float, float]]:
    return [(400_000 + x, 3_320_000 + y) for x, y in points]


def file_of(folder: Path, shapes: list, file_name: str = "farm.gpkg", **columns: list) -> Path:
    path = folder / file_name
    frame = gpd.GeoDataFrame(columns, geometry=shapes, crs=ZONE)
    if file_name.endswith(".geojson"):
        frame = frame.to_crs(4326)
    frame.to_file(path, engine="pyogrio")
    return path


def said(notes) -> str:
    return "\n".join(note.text for note in notes)


def refusal(path: Path, **options) -> str:
    with pytest.raises(InputError) as caught:
        read_fields(path, **options)
    return str(caught.value)


# --- areas -------------------------------------------------------------------------------------


def test_geodesic_area_equals_the_closed_formula_for_a_cell_of_the_ellipsoid():
    # Snyder, J. P. (1987), Map projections, USGS Prof. Paper 1395, equation 3-12 (formula from
    # memory): the zone between two latitudes has a^2 dlon (q2 - q1) / 2.
    a, f = 6_378_137.0, 1 / 298.257223563
    e = math.sqrt(f * (2 - f))

    def q(lat_deg: float) -> float:
        s = math.sin(math.radians(lat_deg))
        log = math.log((1 - e * s) / (1 + e * s))
        return (1 - e**2) * (s / (1 - e**2 * s**2) - log / (2 * e))

    expected_ha = a**2 * math.radians(1) * (q(31) - q(30)) / 2 / 10_000
    lon = np.linspace(-83, -82, 2001)
    cell = Polygon([*((x, 30) for x in lon), *((x, 31) for x in lon[::-1])])
    assert area_ha(cell) == pytest.approx(expected_ha, rel=1e-8)


def test_holes_are_subtracted_whichever_way_their_ring_runs():
    outer = [(0, 0), (1, 0), (1, 1), (0, 1)]
    hole = [(0.4, 0.4), (0.6, 0.4), (0.6, 0.6), (0.4, 0.6)]
    expected = area_ha(Polygon(outer)) - area_ha(Polygon(hole))
    for one in (hole, hole[::-1]):
        assert area_ha(Polygon(outer, [one])) == pytest.approx(expected, rel=1e-12)
        assert area_ha(Polygon(outer[::-1], [one])) == pytest.approx(expected, rel=1e-12)


def test_a_square_of_100_m_is_a_hectare_but_for_the_scale_of_the_zone(tmp_path):
    fields, _ = read_fields(file_of(tmp_path, [square(0, 0)]))
    # 100 km west of the zone's middle its scale is 0.9996 (1 + 100^2 / (2 * 6371^2)), so true
    # ground is 1 / scale^2 of the map.
    scale = 0.9996 * (1 + 100**2 / (2 * 6371**2))
    assert fields["area_ha"].tolist() == pytest.approx([1 / scale**2], rel=1e-5)


# --- the table ---------------------------------------------------------------------------------


def test_all_columns_of_the_contract_come_in_the_working_crs(tmp_path):
    shapes = [square(0, 0), MultiPolygon([square(200, 0), square(400, 0)])]
    path = file_of(
        tmp_path, shapes, field_id=["a", "b"], Name=["North", HOSTILE], OWNER=["Ann", None]
    )
    fields, notes = read_fields(path)
    assert fields.columns.tolist() == [*names(FIELDS), "geometry"]
    assert fields.crs.to_epsg() == ZONE
    assert fields["field_id"].tolist() == ["a", "b"]
    assert fields["name"].tolist() == ["North", HOSTILE]
    assert fields["owner"].tolist()[0] == "Ann" and fields["owner"].isna().tolist()[1]
    assert fields["lat_deg"].between(30.0, 30.01).all()
    assert fields["lon_deg"].between(-82.04, -82.03).all()
    assert "name from column 'Name', owner from column 'OWNER'" in said(notes)
    assert "farm.gpkg: layer 'farm' (GeoPackage, WGS 84 / UTM zone 17N), rows: 2" in said(notes)
    assert fields["drained"].isna().all() and fields["soil_test_ph"].isna().all()


def test_columns_that_are_named_but_absent_are_listed_with_those_there_are(tmp_path):
    path = file_of(tmp_path, [square(0, 0)], plot=["1"], farmer=["Ann"])
    message = refusal(
        path,
        id_column="nr",
        owner_column="landlord",
        knowledge_columns={"drained": "tile", "moon": "plot"},
    )
    for words in (
        "farm.gpkg: columns that were named cannot be used",
        "column 'nr' for field_id is not in the file",
        "column 'landlord' for owner is not in the file",
        "column 'tile' for drained is not in the file",
        "'moon' is none of gap_opens",
        "The file's columns are: plot, farmer. Name one of these.",
    ):
        assert words in message
    fields, _ = read_fields(path, id_column="plot", owner_column="farmer")
    assert fields[["field_id", "owner"]].to_numpy().tolist() == [["1", "Ann"]]


def test_ids_are_kept_where_unique_and_made_where_not(tmp_path):
    shapes = [square(200 * i, 0) for i in range(5)]
    path = file_of(tmp_path, shapes, field_id=["7", "8", "7", None, "7-3"])
    fields, notes = read_fields(path)
    assert fields["field_id"].tolist() == ["7-1", "8", "7-3x", "4", "7-3"]
    assert "3 of 5 ids in column 'field_id' were empty or stood more than once" in said(notes)
    again, _ = read_fields(path)
    assert again["field_id"].tolist() == fields["field_id"].tolist()
    fields, notes = read_fields(file_of(tmp_path, shapes, "b.gpkg", plot=list("abcde")))
    assert fields["field_id"].tolist() == ["1", "2", "3", "4", "5"]
    assert "No column of ids was named or found" in said(notes)


def test_whole_numbers_stay_whole_as_ids(tmp_path):
    path = file_of(tmp_path, [square(0, 0), square(200, 0)], nr=[12.0, np.nan])
    fields, _ = read_fields(path, id_column="nr")
    assert fields["field_id"].tolist() == ["12", "2"]


# --- outlines ----------------------------------------------------------------------------------


def test_a_self_crossing_ring_is_repaired_and_its_area_is_said(tmp_path):
    # Two triangles of 0.25 ha that meet in the middle; their signed areas cancel as drawn.
    bowtie = Polygon(ring((0, 0), (100, 100), (100, 0), (0, 100)))
    fields, notes = read_fields(file_of(tmp_path, [bowtie, square(200, 0)], name=["Tie", "B"]))
    assert fields.geometry.is_valid.all()
    assert fields["area_ha"].tolist()[0] == pytest.approx(0.5, rel=1e-3)
    (note,) = [n for n in notes if "repaired" in n.text]
    assert "row 1 ('Tie'): the outline crosses itself" in note.text
    assert "from 0.000 ha to 0.500 ha" in note.text
    assert note.field_ids == ("1",) and note.level == "warning"


def test_heights_are_dropped_and_mixed_kinds_kept(tmp_path):
    shapes = [
        Polygon([(x, y, 30.0) for x, y in square(0, 0).exterior.coords]),
        MultiPolygon([square(200, 0), square(400, 0)]),
        GeometryCollection([square(600, 0), Point(400_700, 3_320_000)]),
    ]
    fields, notes = read_fields(file_of(tmp_path, shapes, "farm.geojson"))
    assert not fields.geometry.has_z.any()
    assert fields.geom_type.tolist() == ["Polygon", "MultiPolygon", "Polygon"]
    assert fields["area_ha"].tolist() == pytest.approx([1, 2, 1], rel=2e-3)
    assert "left aside: row 3 (point)" in said(notes)


def test_what_is_no_field_is_left_out_and_named(tmp_path):
    shapes = [
        square(0, 0),
        None,
        Point(400_000, 3_320_000),
        LineString(ring((0, 0), (500, 0))),
        square(300, 0, 5),  # 25 m2
        box(400_600, 3_320_000, 400_601, 3_321_000),  # 1 m wide
        square(0, 0),
        Polygon(),
    ]
    fields, notes = read_fields(file_of(tmp_path, shapes, name=list("abcdefgh")))
    assert fields["name"].tolist() == ["a"]
    for words in (
        "2 rows were left out (no shape, or one without area): row 2 ('b'), row 8 ('h')",
        "1 row was left out (points, not outlines): row 3 ('c')",
        "1 row was left out (open lines, not outlines): row 4 ('d')",
        "2 rows were left out (slivers, smaller than 0.01 ha or narrower than 2 m): row 5 ('e'), "
        "row 6 ('f')",
        "1 row was left out, the same outline stands twice: row 7 ('g') repeats row 1 ('a')",
    ):
        assert words in said(notes)


def test_a_file_without_any_field_is_refused_with_the_reasons(tmp_path):
    path = file_of(tmp_path, [Point(400_000, 3_320_000), square(0, 0, 2)], name=["gate", "hut"])
    message = refusal(path)
    assert "no field is left (rows in the file: 2)" in message
    assert "points, not outlines): row 1 ('gate')" in message and "slivers" in message
    assert "Expected polygons, or lines that close" in message
    none = tmp_path / "none.geojson"
    none.write_text('{"type": "FeatureCollection", "features": []}')
    assert "none.geojson holds no field. Expected outlines" in refusal(none)


def test_an_unclosed_ring_is_closed_and_said(tmp_path):
    path = tmp_path / "u.geojson"
    corners = "[-82,30],[-81.998,30],[-81.998,30.001],[-82,30.001]"
    path.write_text('{"type": "Polygon", "coordinates": [[' + corners + "]]}")
    fields, notes = read_fields(path)
    assert fields["area_ha"].tolist() == pytest.approx([193.0 * 110.9 / 10_000], rel=2e-3)
    assert "u.geojson: the reading library remarked: Non closed ring detected" in said(notes)


def test_overlaps_are_named_with_their_area_and_touching_fields_are_not(tmp_path):
    shapes = [square(0, 0), square(100, 0), square(150, 50)]
    fields, notes = read_fields(file_of(tmp_path, shapes, field_id=["a", "b", "c"]))
    (note,) = [n for n in notes if "overlap" in n.text]
    assert "'b' and 'c' (0.25 ha)" in note.text and "'a'" not in note.text
    assert note.field_ids == ("b", "c")
    assert len(fields) == 3


def test_a_corner_that_is_no_number_is_refused_and_named(tmp_path):
    good = [[-84, 31], [-83.99, 31], [-83.99, 31.01], [-84, 31]]
    bad = [[-83.9, 31], [-83.89, 31], [math.nan, 31.01], [-83.9, 31.01], [-83.9, 31]]
    features = [
        {
            "type": "Feature",
            "properties": {"name": name},
            "geometry": {"type": "Polygon", "coordinates": [ring]},
        }
        for name, ring in (("Home", good), ("Far", bad))
    ]
    path = tmp_path / "farm.geojson"  # some programs write NaN, though JSON knows none
    path.write_text(json.dumps({"type": "FeatureCollection", "features": features}))
    told = refusal(path)
    assert "corners whose x or y is no number" in told and "Home" not in told
    assert "Far" in told and "1 of 5, the first is corner 3" in told
    assert "Expected two finite coordinates" in told


def test_a_missing_crs_is_refused(tmp_path):
    square_at_82_w = gpd.GeoDataFrame(geometry=[square(0, 0)], crs=ZONE)
    square_at_82_w.to_file(tmp_path / "a.shp")
    (tmp_path / "a.prj").unlink()
    with pytest.raises(CrsError, match=r"a\.shp does not say in which CRS"):
        read_fields(tmp_path / "a.shp")


# --- tracks and outlines drawn as lines ----------------------------------------------------------


def gpx(path: Path, *points: tuple[float, float], kind: str = "trk", name: str = "Back 40") -> Path:
    """A walked track or a route; points are metres east and north of 82 W 30 N."""
    tag = {"trk": "trkpt", "rte": "rtept"}[kind]
    places = "".join(
        f'<{tag} lat="{30 + y / 110_850:.7f}" lon="{-82 + x / 96_486:.7f}"><ele>30</ele></{tag}>'
        for x, y in points
    )
    body = f"<trkseg>{places}</trkseg>" if kind == "trk" else places
    path.write_text(
        '<?xml version="1.0"?><gpx version="1.1" creator="t" '
        f'xmlns="http://www.topografix.com/GPX/1/1"><{kind}><name>{name}</name>{body}'
        f"</{kind}></gpx>"
    )
    return path


@pytest.mark.parametrize("kind", ["trk", "rte"])
def test_a_closed_track_or_route_becomes_a_field(tmp_path, kind):
    path = gpx(tmp_path / "t.gpx", (0, 0), (200, 0), (200, 100), (0, 100), (0, 12), kind=kind)
    fields, notes = read_fields(path)
    assert fields["name"].tolist() == ["Back 40"]
    assert fields["area_ha"].tolist() == pytest.approx([2.0], rel=2e-3)
    assert "taken as the outlines of fields: row 1 ('Back 40') (ends 12 m apart)" in said(notes)


def test_an_open_track_is_refused(tmp_path):
    message = refusal(gpx(tmp_path / "t.gpx", (0, 0), (200, 0), (200, 100), (0, 100)))
    assert "t.gpx: open tracks or lines are no fields" in message
    assert "row 1 ('Back 40'): its ends lie 100 m apart" in message
    assert "within 20 m of each other. Walk back to where you began" in message


def test_a_track_that_was_paused_is_strung_together_and_a_back_and_forth_is_none():
    def degrees(*points: tuple[float, float]) -> list[tuple[float, float]]:
        return [(-82 + x / 96_486, 30 + y / 110_850) for x, y in points]

    paused = MultiLineString(
        [degrees((0, 0), (200, 0)), degrees((200, 5), (200, 100), (0, 100), (0, 5))]
    )
    result = outline(paused)
    assert result.shape is not None and area_ha(result.shape) == pytest.approx(2.0, rel=5e-3)
    assert result.gap_m == pytest.approx(5, abs=0.1)
    assert outline(LineString(degrees((0, 0), (200, 0), (0, 0)))).trouble == "open line"


def test_a_kml_outline_with_its_name_becomes_a_field(tmp_path):
    corners = "-82,30,0 -81.998,30,0 -81.998,30.001,0 -82,30.001,0 -82,30,0"
    path = tmp_path / "k.kml"
    path.write_text(
        '<?xml version="1.0"?><kml xmlns="http://www.opengis.net/kml/2.2"><Document>'
        f"<Placemark><name>Line</name><LineString><coordinates>{corners}</coordinates>"
        "</LineString></Placemark></Document></kml>"
    )
    fields, notes = read_fields(path)
    assert fields["name"].tolist() == ["Line"] and fields.geom_type.tolist() == ["Polygon"]
    # 0.002 degrees of longitude and 0.001 of latitude at 30 N: 193.0 m x 110.9 m.
    assert fields["area_ha"].tolist() == pytest.approx([193.0 * 110.9 / 10_000], rel=2e-3)
    assert "name from column 'Name'" in said(notes)


# --- what the grower knows ---------------------------------------------------------------------


def test_what_the_grower_knows_is_read_by_name_and_by_mapping(tmp_path):
    path = file_of(
        tmp_path,
        [square(0, 0), square(200, 0)],
        "farm.geojson",
        gap_opens=["05-20", None],
        tile=["Yes", "0"],
        soil_test_date=["2024-02-29", ""],
        soil_test_ph=["6.1", None],
        legume=[2021, None],
        compaction=["Severe", None],
        next_crop=["oats & <rye>", None],
        irrigated_mm_week=[25, 0],
    )
    fields, notes = read_fields(
        path, knowledge_columns={"drained": "tile", "legume_last_year": "legume"}
    )
    first, second = (fields.iloc[i] for i in (0, 1))
    assert first["gap_opens"] == "05-20" and first["next_crop"] == "oats & <rye>"
    assert first["drained"] is True and second["drained"] is False
    assert first["soil_test_date"] == pd.Timestamp("2024-02-29")
    assert first["soil_test_ph"] == 6.1 and first["legume_last_year"] == 2021
    assert first["compaction"] == "severe"
    assert second["irrigated_mm_week"] == 0
    assert second[["gap_opens", "soil_test_date", "soil_test_ph", "next_crop"]].isna().all()
    assert "drained from column 'tile'" in said(notes)


def test_all_faults_of_what_the_grower_knows_come_at_once(tmp_path):
    path = file_of(
        tmp_path,
        [square(0, 0), square(200, 0)],
        name=["North", None],
        gap_opens=["5/20", "02-30"],
        gap_closes=["13-01", None],
        drained=["maybe", None],
        soil_test_date=["2024-02-30", "03/04/2024"],
        soil_test_ph=["61", "acid"],
        use=["hay", None],
        irrigated_mm_week=[None, "200"],
    )
    message = refusal(path)
    for words in (
        "farm.gpkg: values cannot be used",
        "row 1 ('North'), gap_opens: '5/20' found, expected month and day as MM-DD",
        "row 2, gap_opens: '02-30' found, expected month and day as MM-DD",
        "row 1 ('North'), gap_closes: '13-01' found",
        "row 1 ('North'), drained: 'maybe' found, expected yes or no",
        "soil_test_date: '2024-02-30' found, expected a day as YYYY-MM-DD",
        "row 2, soil_test_date: '03/04/2024' found",
        "soil_test_ph: 61 found, expected a number from 3 to 10",
        "row 2, soil_test_ph: 'acid' found, expected a number from 3 to 10",
        "use: 'hay' found, expected one of graze, cut, cover",
        "irrigated_mm_week: 200 mm/week found, expected a number from 0 to 100 mm/week",
        "Mend or empty these values.",
    ):
        assert words in message
    assert message.count("\n  - ") == 10


# --- real --------------------------------------------------------------------------------------


def test_a_real_outline_has_the_area_that_its_survey_export_states():
    path = real("soil_survey_export", "spatial", "aoi_a_aoi.shp")
    fields, _ = read_fields(path)
    acres = fields["area_ha"].sum() * ACRES_PER_HA
    # Stated as 44.8 acres, which is its area in the plane of UTM zone 15 (44.84); true ground is
    # 0.06 % more there. Two equal-area planes agree with the geodesic area to a millionth.
    assert acres == pytest.approx(44.8, abs=0.1)
    frame = open_vector(path)
    for code in (5070, 6933):
        plane_ha = frame.to_crs(code).area.sum() / 10_000
        assert fields["area_ha"].sum() == pytest.approx(plane_ha, rel=1e-6)


def test_a_hundred_real_fields_have_the_areas_that_their_file_states():
    path = real("fields", "NationalCSB_2017-2024_rev23", "CSB1724.gdb")
    fields, notes = read_fields(path, id_column="CSBID")
    raw = open_vector(path)
    assert fields["field_id"].tolist() == raw["CSBID"].tolist()
    assert np.allclose(fields["area_ha"] * 10_000, raw["Shape_Area"], rtol=1e-6)
    assert np.allclose(fields["area_ha"] * ACRES_PER_HA, raw["CSBACRES"], rtol=1e-5)
    assert fields.geometry.is_valid.all()
    repaired = [n for n in notes if "repaired" in n.text]
    assert len(repaired) == int((~raw.geometry.is_valid).sum()) == 4
    assert all("its area stayed" in n.text for n in repaired)
    assert fields.crs.to_epsg() == 32613
