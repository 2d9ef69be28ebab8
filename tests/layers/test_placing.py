"""Inclusions are placed where the ground looks like theirs, by their share, and nowhere else."""

from pathlib import Path

import geopandas as gpd
import numpy as np
import pandas as pd
import pyproj
import pytest
import shapely
from real_data import real

from layers.boundaries import read_fields
from layers.crs import to_working
from layers.drains import read_drains
from layers.elevation import ElevationRead, GroundGroup, read_elevation
from layers.grid import Grid
from layers.ground import ground_of
from layers.ground_parts import OPEN_WATER
from layers.inclusions import inclusions
from layers.overlay import overlay
from layers.parts import build_parts
from layers.shaped_ground import shaped_ground
from layers.soil_map.reader import read_soil_survey
from suitability.columns import COMPONENTS, POSITIONS, UNSURVEYED
from suitability.contract import names

CRS = pyproj.CRS.from_epsg(32617)
SAMPLE = Path(__file__).parents[2] / "sample_fields"
HOLLOW = POSITIONS.index("hollow")


def soils(*rows):
    return pd.DataFrame(rows).reindex(columns=names(COMPONENTS))


def soil(cokey, share, mukey="flat", **more):
    row = {"cokey": cokey, "mukey": mukey, "compname": cokey.title(), "comppct_pct": share}
    row["kind"] = "soil"
    return row | {"drainage_class": "moderately well", "hydric": False} | more


def pocket(share=10.0, mukey="flat", **more):
    wet = {"drainage_class": "poorly", "hydric": True, "phase": "depressional"}
    return soil(f"pocket-{mukey}", share, mukey, **(wet | more))


def fields(**boxes):
    shapes = [shapely.box(*box) for box in boxes.values()]
    return gpd.GeoDataFrame(
        {"field_id": list(boxes), "drained": False, "area_ha": shapely.area(shapes) / 10_000},
        geometry=shapes,
        crs=CRS,
    )


def units(**boxes):
    table = {"mukey": list(boxes), "musym": list(boxes), "muname": list(boxes)}
    return gpd.GeoDataFrame(table, geometry=[shapely.box(*b) for b in boxes.values()], crs=CRS)


def ground(z, farm, soil_map, components, cell=3.0):
    """Heights with their lower left corner at 0, 0."""
    top = z.shape[0] * cell
    grid = Grid(z.astype(np.float32), (cell, 0.0, 0.0, 0.0, -cell, top), CRS)
    group = GroundGroup(grid, tuple(farm["field_id"]))
    read = ElevationRead((group,), cell, None, False, pd.Series(dtype=float), (), ())
    cut = overlay(farm, soil_map)
    return ground_of(farm, cut, soil_map, components, shaped_ground(read, farm))


def sloping(rows=200, columns=200, per_cell=0.03):
    return 100 + per_cell * np.mgrid[:rows, :columns][1]


def share_of(read, field_id, cokey):
    parts = read.parts[read.parts["field_id"] == field_id]
    mine = parts[parts["cokey"] == cokey].groupby("position")["area_ha"].sum()
    return (100 * mine / parts["area_ha"].sum()).to_dict()


ALL = (0, 0, 600, 600)
WEST, EAST = (30, 30, 270, 570), (330, 30, 570, 570)


def test_a_planar_field_gets_no_placed_corner_and_its_share_is_reported():
    components = soils(soil("upland", 90), pocket())
    read = ground(sloping(), fields(A=WEST), units(flat=ALL), components)
    assert share_of(read, "A", "pocket-flat") == {"unplaced": pytest.approx(10)}
    assert share_of(read, "A", "upland") == {"level": pytest.approx(90)}
    assert not (read.cells[0].component >= 0).any()
    told = [n for n in read.notes if "were not placed" in n.text]
    assert [n.field_ids for n in told] == [("A",)]
    assert "make up 10 % of the ground of 1 field" in told[0].text
    assert "no ground looks like theirs: Pocket-Flat" in told[0].text


def test_without_heights_nothing_is_placed_and_parts_are_as_ever():
    components = soils(soil("upland", 80), pocket(20))
    farm, soil_map = fields(A=WEST, B=EAST), units(flat=(0, 0, 450, 600))
    cut = overlay(farm, soil_map)
    read = ground_of(farm, cut, soil_map, components, shaped_ground(None, farm))
    keys = ["field_id", "mukey", "cokey", "position", "drained"]
    expected = build_parts(farm, cut, components)
    pd.testing.assert_frame_equal(
        read.parts.sort_values(keys, ignore_index=True),
        expected.sort_values(keys, ignore_index=True),
    )
    assert read.cells == () and "no heights to tell where" in read.notes[0].text


def test_a_hollow_takes_the_share_of_the_whole_unit_not_of_one_field():
    # 40000 cells; the pocket's 10 % are 4000. The only hollow, 50 x 50 cells, lies in field A.
    z = sloping()
    z[100:150, 20:70] -= 3.0
    components = soils(soil("upland", 90), pocket())
    read = ground(z, fields(A=WEST, B=EAST), units(flat=ALL), components)
    cells = read.cells[0]
    wet = cells.component == read.cokeys.index("pocket-flat")
    hollow = cells.position == HOLLOW
    assert 2000 < hollow.sum() <= 2500 and (wet == hollow).all()
    # 80 x 180 cells in A. What is left of the 10 % is shared over all ground without placed soil.
    placed = hollow.sum()
    rest = (4000 - placed) / (40_000 - placed)
    in_a = 100 * placed / (80 * 180)
    assert share_of(read, "A", "pocket-flat") == {
        "hollow": pytest.approx(in_a),
        "unplaced": pytest.approx((100 - in_a) * rest),
    }
    assert share_of(read, "B", "pocket-flat") == {"unplaced": pytest.approx(100 * rest)}
    assert read.placed["placed_m2"].tolist() == [9 * placed]


def test_the_deepest_ground_is_taken_first_and_no_more_than_the_share():
    # Two hollows: the shallow one keeps nothing of a share of 2 %, 800 cells.
    z = sloping(per_cell=0.001)
    z[20:60, 20:60] -= 0.3
    z[120:150, 120:150] -= 0.6
    components = soils(soil("upland", 98), pocket(2))
    read = ground(z, fields(A=(30, 30, 570, 570)), units(flat=ALL), components)
    wet = read.cells[0].component >= 0
    assert wet.sum() == 800 and wet[120:150, 120:150].sum() == 800
    assert set(share_of(read, "A", "pocket-flat")) == {"hollow"}
    # The shallow hollow is a hollow still, of a soil that is not known.
    assert share_of(read, "A", "upland")["hollow"] > 5


def test_areas_add_up_and_the_order_of_fields_changes_nothing():
    rng = np.random.default_rng(7)
    z = sloping() + np.cumsum(rng.normal(0, 0.05, (200, 200)), axis=0)
    z[:30, :80] = np.nan
    components = soils(
        soil("upland", 70), pocket(20), soil("other", 10), soil("low", 100, "low", hydric=True)
    )
    farm = fields(A=WEST, B=(280, 30, 595, 400), C=(301, 450, 304, 452), D=(900, 0, 1000, 100))
    soil_map = units(flat=(0, 0, 450, 600), low=(450, 0, 580, 600))
    read = ground(z, farm, soil_map, components)
    area = read.parts.groupby("field_id")["area_ha"].sum()
    assert area.to_dict() == pytest.approx(farm.set_index("field_id")["area_ha"].to_dict())
    pieces = overlay(farm, soil_map).pieces.groupby(["field_id", "mukey"])["area_ha"].sum()
    by_unit = read.parts.groupby(["field_id", "mukey"])["area_ha"].sum()
    assert by_unit.reindex(pieces.index).to_numpy() == pytest.approx(pieces.to_numpy())
    assert set(read.parts.loc[read.parts["field_id"] == "D", "cokey"]) == {UNSURVEYED}
    again = ground(z, farm.iloc[::-1].reset_index(drop=True), soil_map, components)
    keys = ["field_id", "mukey", "cokey", "position"]
    one, other = (r.parts.set_index(keys)["area_ha"].sort_index() for r in (read, again))
    pd.testing.assert_series_equal(one, other)


def test_cells_look_their_parts_up():
    z = sloping()
    z[100:150, 20:70] -= 3.0
    components = soils(soil("upland", 90), pocket())
    read = ground(z, fields(A=WEST, B=EAST), units(flat=ALL), components)
    cells = read.cells[0]
    parts = read.parts.set_index(["field_id", "mukey", "cokey", "position"])["area_ha"]
    for row, column in ((120, 40), (50, 40), (50, 150)):
        field, unit = read.field_ids[cells.field[row, column]], read.mukeys[cells.unit[row, column]]
        position = POSITIONS[cells.position[row, column]]
        number = cells.component[row, column]
        cokey = read.cokeys[number] if number >= 0 else "upland"
        assert parts[field, unit, cokey, position] > 0
    assert cells.field[0, 0] == -1 and cells.unit[0, 0] == 0 and cells.cell_m2 == 9


def test_level_water_in_heights_and_water_units_are_water():
    z = sloping() + np.random.default_rng(1).normal(0, 0.01, (200, 200))
    z[20:60, 20:60] = 99.0
    components = soils(
        soil("upland", 100),
        soil("lake", 100, "lake", kind="water", hydric=None, drainage_class=None),
    )
    farm = fields(A=WEST, B=EAST)
    read = ground(z, farm, units(flat=(0, 0, 500, 600), lake=(500, 0, 600, 600)), components)
    # 1600 cells of 9 m2, a few of them outside the field.
    water = read.parts[read.parts["cokey"] == OPEN_WATER]
    assert water["field_id"].tolist() == ["A"]
    assert water["area_ha"].iloc[0] == pytest.approx(1600 * 9 / 10_000, rel=0.01)
    assert share_of(read, "B", "lake") == {"unplaced": pytest.approx(100 * 70 / 240)}
    row = read.components.set_index("cokey").loc[OPEN_WATER]
    assert row["kind"] == "water" and row["compname"] == "Open water"
    lake = read.cells[0].unit == read.mukeys.index("lake")
    assert read.cells[0].water[lake].all() and not read.cells[0].position[lake].any()


def test_which_soils_can_be_placed():
    components = soils(
        soil("main", 70),
        soil("swaley", 4, landform="swales on uplands", drainage_class="well"),
        soil("pond", 6, phase="occasionally ponded", drainage_class="very poorly"),
        soil("wet", 5, drainage_class="poorly"),
        soil("hydric", 5, hydric=True),
        soil("dry", 10, landform="interfluves", drainage_class="well"),
        soil("low-main", 80, "low", landform="drainageways", drainage_class="poorly"),
        soil("low-like", 10, "low", landform="flood plains", drainage_class="poorly"),
        soil("low-wetter", 10, "low", landform="flood plains", drainage_class="very poorly"),
    )
    found = inclusions(components).set_index("cokey")["ground"].to_dict()
    assert found == {
        "pond": "depression",
        "wet": "wet",
        "hydric": "wet",
        "swaley": "drainageway",
        "low-wetter": "drainageway",
    }
    assert list(found)[:2] == ["pond", "wet"]  # the wettest first
    assert not len(inclusions(soils()))


@pytest.fixture(scope="module")
def sample():
    farm, _ = read_fields(SAMPLE / "fields.geojson")
    survey = read_soil_survey(SAMPLE / "soil_survey.gpkg")
    soil_map = to_working(survey.map_units, farm.crs)
    drains = read_drains(SAMPLE / "culverts.geojson", farm.crs)
    read = read_elevation(SAMPLE / "elevation.tif", farm)
    cut = overlay(farm, soil_map)
    shaped = shaped_ground(read, farm, drains)
    return farm, ground_of(farm, cut, soil_map, survey.components, shaped)


def test_sample_farm_puts_the_ponded_soil_into_its_hollows(sample):
    farm, read = sample
    names_of = read.components.set_index("cokey")["compname"]
    parts = read.parts.assign(compname=read.parts["cokey"].map(names_of))
    assert parts.groupby("field_id")["area_ha"].sum().to_dict() == pytest.approx(
        farm.set_index("field_id")["area_ha"].to_dict()
    )
    ponded = parts[parts["compname"] == "Bayhollin"].groupby("position")["area_ha"].sum()
    assert ponded["hollow"] > 4.5 and ponded["hollow"] > 0.8 * ponded.sum()
    hollow = parts[parts["position"] == "hollow"].groupby("compname")["area_ha"].sum()
    assert hollow["Bayhollin"] > 0.98 * hollow.sum()
    water = parts[parts["compname"].isin(["Water", "Open water"])]
    assert set(water["field_id"]) == {"F07"} and 0.8 < water["area_ha"].sum() < 1.1
    assert any("along 1 pipe or ditch as you drew them" in note.text for note in read.notes)


def test_a_real_survey_puts_its_drainageway_soil_into_the_drainageways():
    folder = real("soil_survey_with_dem")
    farm = fields(A=(666450, 4362450, 666800, 4363000), B=(666850, 4362950, 667300, 4363450))
    farm = farm.set_crs(32614, allow_override=True)
    survey = read_soil_survey(folder)
    read_heights = read_elevation(folder / "elev.tif", farm, vertical_unit="m")
    place = farm.to_crs(4326).geometry.representative_point()
    farm = farm.assign(lat_deg=place.y, lon_deg=place.x)
    soil_map = to_working(survey.map_units, farm.crs)
    cut = overlay(farm, soil_map)
    read = ground_of(farm, cut, soil_map, survey.components, shaped_ground(read_heights, farm))
    cells = read.cells[0]
    name = read.components.set_index("cokey")["compname"]
    upland = [f for f in read.placed["mukey"].unique() if f in ("2668914", "2668916")]
    assert len(upland) == 2
    for mukey in upland:
        here = (cells.unit == read.mukeys.index(mukey)) & cells.known
        hobbs = [i for i, k in enumerate(read.cokeys) if i and name[k] == "Hobbs"]
        low = here & np.isin(cells.component, hobbs)
        assert low.sum() == pytest.approx(0.03 * here.sum(), abs=2)
        assert cells.shape.above_m[low].max() <= -0.1
        assert np.median(cells.shape.wetness[low]) > np.quantile(cells.shape.wetness[here], 0.9)
