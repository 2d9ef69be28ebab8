"""Wet cells drawn, and what they take of the parts: areas are kept, by cells and by outlines."""

import geopandas as gpd
import numpy as np
import pandas as pd
import pytest
import shapely
from wet_land import ALL, CRS, fields, land, pocket, sloping, soil, units, with_hollow

from layers.field_wet import field_wet, wet_pct_of_parts, without_cells
from layers.overlay import overlay
from layers.wet_cells import WetCells
from layers.wet_outlines import cleaning_for
from suitability.columns import WET_CAUSES, WET_GROUND
from suitability.contract import names
from suitability.ground import PART_KEYS

NAMES = pd.Series({"upland": "Upland", "pocket": "Pocket Sink"})
HOLLOW = (slice(90, 110), slice(90, 110))  # in metres x 270-330, y 270-330


def cells_of(ground, years, cause="ponded", surveyed=False, soil_key=None):
    shape = ground.cells[0].field.shape
    odds, causes = np.full(shape, 0.0, np.float32), np.full(shape, -1, np.int16)
    soils, known = np.full(shape, -1, np.int32), np.zeros(shape, bool)
    odds[HOLLOW], causes[HOLLOW] = years, WET_CAUSES.index(cause)
    known[HOLLOW] = surveyed
    if soil_key:
        soils[HOLLOW] = ground.cokeys.index(soil_key)
    return (WetCells(odds, causes, soils, known),)


def drawn(ground, wet, farm=None, least=3.0):
    return field_wet(
        ground, wet, fields() if farm is None else farm, least, cleaning_for(), NAMES
    ).wet_ground


def shapes(**boxes):
    table = {"field_id": list(boxes), "area_ha": 0.0}
    return gpd.GeoDataFrame(table, geometry=[shapely.box(*b) for b in boxes.values()], crs=CRS)


def pct(ground, farm, soil_map, wet):
    return wet_pct_of_parts(ground, overlay(farm, soil_map).pieces, farm, wet)


def taken_ha(ground, share):
    parts = ground.parts.set_index(PART_KEYS)
    return (parts["area_ha"] * share / 100).groupby("field_id").sum()


@pytest.mark.parametrize(("years", "n"), [(2.9, 0), (3.0, 1), (10.0, 1)])
def test_ground_is_drawn_from_the_stated_odds_on(years, n):
    ground = land(with_hollow(), [soil("upland", 100)])
    wet = drawn(ground, cells_of(ground, years))
    assert len(wet) == n and set(names(WET_GROUND)) <= set(wet.columns)
    if n:
        row = wet.iloc[0]
        assert (row.field_id, row.cause, row.years_in_ten) == ("A", "ponded", pytest.approx(years))
        assert row.area_ha == pytest.approx(0.36, rel=0.01)  # 60 m x 60 m


def test_what_only_the_survey_calls_wet_shows_no_odds():
    ground = land(with_hollow(), [soil("upland", 90), pocket(10)])
    wet = drawn(ground, cells_of(ground, 0.4, "water table", True, "pocket"))
    assert wet["years_in_ten"].isna().all() and len(wet) == 1
    assert wet.loc[0, ["cause", "compname"]].tolist() == ["water table", "Pocket Sink"]
    often = drawn(ground, cells_of(ground, 6.0, "water table", True, "pocket"))
    assert often["years_in_ten"].tolist() == pytest.approx([6.0])


def test_wet_ground_over_a_border_is_cut_by_it():
    farm = fields(A=(30, 30, 300, 570), B=(300, 30, 570, 570))
    ground = land(with_hollow(), [soil("upland", 100)], farm)
    wet = drawn(ground, cells_of(ground, 8.0), farm)
    assert wet["field_id"].tolist() == ["A", "B"] and wet["wet_id"].is_unique
    assert wet["area_ha"].tolist() == pytest.approx([0.18, 0.18], rel=0.03)


def test_wet_ground_leaves_the_parts_it_lies_on():
    farm, soil_map = fields(), units()
    ground = land(with_hollow(), [soil("upland", 90), pocket(10)], farm, soil_map)
    wet = drawn(ground, cells_of(ground, 8.0, soil_key="pocket"), farm)
    share = pct(ground, farm, soil_map, wet)
    table = share.reset_index(name="pct")
    own = table[(table["cokey"] == "pocket") & (table["position"] == "hollow")]
    assert own["pct"].tolist() == pytest.approx([100], abs=1)
    assert table.loc[table["position"] == "shedding", "pct"].eq(0).all()
    assert taken_ha(ground, share)["A"] == pytest.approx(wet["area_ha"].sum(), rel=0.02)


def test_ground_of_several_soils_loses_the_same_share_of_each_and_the_area_is_kept():
    farm, soil_map = fields(), units()
    components = [soil("upland", 60), soil("other", 30), pocket(10)]
    ground = land(sloping(), components, farm, soil_map)
    wet = shapes(A=(30, 30, 84, 570))  # a tenth of 540 m
    share = pct(ground, farm, soil_map, wet)
    assert share.tolist() == pytest.approx([10.0] * len(share), abs=0.1)
    assert taken_ha(ground, share)["A"] == pytest.approx(54 * 540 / 10_000, rel=0.005)


def test_in_a_field_without_heights_outlines_do_the_same():
    farm = fields(A=(30, 30, 230, 230), B=(230, 30, 430, 230))
    soil_map = units(flat=(0, 0, 130, 600), bog=(130, 0, 400, 600))
    ground = land(None, [soil("upland", 100), soil("mire", 100, "bog")], farm, soil_map)
    assert without_cells(ground, farm) == ["A", "B"]
    # Half of the bog in A (100 m of 200 m north), and 20 m of the 30 m that nobody surveyed in B.
    wet = shapes(A=(130, 130, 230, 230), B=(410, 30, 430, 230))
    table = pct(ground, farm, soil_map, wet).reset_index(name="pct")
    found = table.set_index(["field_id", "mukey"])["pct"]
    assert found["A", "bog"] == pytest.approx(50) and found["A", "flat"] == 0
    assert found["B", "bog"] == 0
    assert found["B", "unsurveyed"] == pytest.approx(100 * 20 / 30)


def test_water_is_not_counted_twice():
    water = {"cokey": "lake", "mukey": "lake", "compname": "Lake", "kind": "water"}
    water["comppct_pct"] = 100
    farm, soil_map = fields(), units(flat=ALL, lake=(270, 270, 330, 330))
    ground = land(with_hollow(), [soil("upland", 100), water], farm, soil_map)
    share = pct(ground, farm, soil_map, shapes(A=(240, 270, 330, 330)))
    table = share.reset_index(name="pct").set_index("cokey")["pct"]
    assert table["lake"] == 0
    # 30 m x 60 m of dry ground lie in the shape; the lake's 60 m x 60 m are water already.
    assert taken_ha(ground, share)["A"] == pytest.approx(0.18, rel=0.01)
