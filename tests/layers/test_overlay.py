"""Soil map over fields: areas by hand, against the general-purpose overlay, and gaps said."""

import geopandas as gpd
import numpy as np
import pandas as pd
import pytest
from real_data import real
from shapely.geometry import Point, box

from layers.overlay import area_table, nothing_surveyed, overlay
from layers.parts import build_parts
from layers.wet_ground import wet_ground_of_units
from suitability.columns import TABLES, UNSURVEYED
from suitability.contract import empty, names

CRS = "EPSG:32616"
E0, N0 = 500000.0, 3500000.0


def _fields(*shapes, area_ha=None):
    table = gpd.GeoDataFrame(
        {"field_id": [f"F{i}" for i in range(len(shapes))]}, geometry=list(shapes), crs=CRS
    )
    table["area_ha"] = table.area / 1e4 if area_ha is None else area_ha
    table["drained"] = None
    return table


def _units(**shapes):
    keys = list(shapes)
    return gpd.GeoDataFrame(
        {"mukey": keys, "musym": keys, "muname": [k.upper() for k in keys]},
        geometry=list(shapes.values()),
        crs=CRS,
    )


def _rect(x0, y0, x1, y1):
    return box(E0 + x0, N0 + y0, E0 + x1, N0 + y1)


SOILS = pd.DataFrame(
    {
        "cokey": ["a1", "a2", "aw", "w1"],
        "mukey": ["a", "a", "a", "w"],
        "kind": ["soil", "soil", "water", "water"],
        "comppct_pct": [60.0, 30.0, 10.0, 100.0],
    }
)


def test_two_rectangles_share_a_field_seven_to_three():
    cut = overlay(
        _fields(_rect(0, 0, 100, 100)),
        _units(a=_rect(-50, -50, 70, 150), b=_rect(70, -50, 200, 150)),
    )
    assert cut.pieces.set_index("mukey")["area_ha"].to_dict() == pytest.approx({"a": 0.7, "b": 0.3})
    assert cut.soil_cover_pct["F0"] == pytest.approx(100)
    assert cut.notes == ()


def test_pieces_add_up_to_the_geodesic_area_of_the_field():
    cut = overlay(_fields(_rect(0, 0, 100, 100), area_ha=1.0004), _units(a=_rect(-9, -9, 999, 999)))
    assert cut.pieces["area_ha"].tolist() == pytest.approx([1.0004])


def test_a_field_outside_is_not_known_and_a_gap_is_said():
    fields = _fields(_rect(0, 0, 100, 100), _rect(5000, 0, 5100, 100))
    cut = overlay(fields, _units(a=_rect(0, 0, 60, 100)))
    assert cut.soil_cover_pct.to_dict() == pytest.approx({"F0": 60.0, "F1": 0.0})
    texts = [note.text for note in cut.notes]
    assert texts == [
        "1 field outside the soil survey: the soil there is not known.",
        "Soil survey on only part of 1 field (60 % of the least covered).",
    ]
    parts = build_parts(fields, cut, SOILS.assign(mukey="a", kind="soil").iloc[:1])
    assert parts.groupby("field_id")["area_ha"].sum().to_dict() == pytest.approx(
        {"F0": 1.0, "F1": 1.0}
    )
    assert set(parts.loc[parts["field_id"] == "F1", "cokey"]) == {UNSURVEYED}


def test_ground_mapped_twice_is_scaled_down_and_said():
    cut = overlay(
        _fields(_rect(0, 0, 100, 100)), _units(a=_rect(0, 0, 100, 100), b=_rect(50, 0, 100, 100))
    )
    assert cut.pieces["area_ha"].sum() == pytest.approx(1.0)
    assert "covers ground twice in 1 field (by up to 50 %)" in cut.notes[0].text


def test_soils_share_a_unit_and_water_only_where_there_is_no_soil():
    fields = _fields(_rect(0, 0, 100, 100))
    cut = overlay(fields, _units(a=_rect(0, 0, 50, 100), w=_rect(50, 0, 100, 100)))
    parts = build_parts(fields, cut, SOILS).set_index("cokey")["area_ha"]
    assert parts.to_dict() == pytest.approx({"a1": 0.5 * 60 / 90, "a2": 0.5 * 30 / 90, "w1": 0.5})


def test_areas_equal_the_general_purpose_overlay():
    # geopandas.overlay is the reference; 30 blobs over 20 units, holes and multiparts among them.
    rng = np.random.default_rng(3)
    blobs = [
        Point(E0 + x, N0 + y).buffer(r)
        for x, y, r in rng.uniform([0, 0, 20], [900, 900, 120], (30, 3))
    ]
    blobs[0] = blobs[0].difference(blobs[0].centroid.buffer(8))
    blobs[1] = blobs[1].union(Point(E0 + 450, N0 + 450).buffer(30))
    cells = {
        f"u{i}{j}": _rect(200 * i, 250 * j, 200 * i + 200, 250 * j + 250)
        for i in range(5)
        for j in range(4)
    }
    fields, units = _fields(*blobs), _units(**cells)
    ours = area_table(fields, units, "field_id").set_index(["field_id", "mukey"])["area_m2"]
    theirs = gpd.overlay(fields, units, how="intersection", keep_geom_type=True)
    theirs = theirs.assign(area_m2=theirs.area).groupby(["field_id", "mukey"])["area_m2"].sum()
    theirs = theirs[theirs > 1e-6]
    pd.testing.assert_series_equal(ours[ours > 1e-6].sort_index(), theirs.sort_index(), rtol=1e-9)


def test_areas_equal_the_general_purpose_overlay_on_a_real_survey():
    units = gpd.read_file(real("soil_survey_with_dem", "ssurgo.shp")).rename(columns=str.lower)
    units = units.assign(mukey=units["mukey"].astype(str), musym="", muname="")
    x0, y0, x1, y1 = units.total_bounds
    fields = gpd.GeoDataFrame(
        {"field_id": ["w", "e"]},
        geometry=[box(x0, y0, (x0 + x1) / 2, y1), box((x0 + x1) / 2, y0, x1, y1)],
        crs=units.crs,
    )
    ours = area_table(fields, units, "field_id").set_index(["field_id", "mukey"])["area_m2"]
    theirs = gpd.overlay(fields, units[["mukey", "geometry"]], how="intersection")
    theirs = theirs.assign(area_m2=theirs.area).groupby(["field_id", "mukey"])["area_m2"].sum()
    pd.testing.assert_series_equal(ours.sort_index(), theirs.sort_index(), rtol=1e-9)


def test_a_farm_without_a_survey_has_no_pieces_and_all_its_area_unknown():
    fields = _fields(_rect(0, 0, 100, 100))
    parts = build_parts(fields, nothing_surveyed(fields), empty(TABLES["components"]))
    assert parts[["cokey", "area_ha"]].to_dict("records") == [{"cokey": UNSURVEYED, "area_ha": 1.0}]


def test_wet_units_become_wet_ground_with_the_map_units_shape():
    cut = overlay(
        _fields(_rect(0, 0, 100, 100)), _units(a=_rect(0, 0, 70, 100), b=_rect(70, 0, 100, 100))
    )
    wet = pd.DataFrame(
        {"field_id": ["F0"], "mukey": ["b"], "cause": ["ponded"], "compname": ["Bogside"]}
    )
    drawn = wet_ground_of_units(cut.pieces, wet)
    assert list(drawn.columns) == [*names(TABLES["wet_ground"]), "geometry"]
    assert drawn["area_ha"].tolist() == pytest.approx([0.3])
    assert drawn.geometry[0].equals(_rect(70, 0, 100, 100))
