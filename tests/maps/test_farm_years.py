"""Wet ground of the sample farm from its files to acres, verdicts and shapes.

What is a hollow, a knoll or a pond is taken from ``sample_fields/_terrain.py``, which made the
ground and which the program never reads.
"""

import importlib.util
import json
import re
import sys
from pathlib import Path

import geopandas as gpd
import numpy as np
import pandas as pd
import pyogrio
import pytest
import rasterio
import shapely
from click.testing import CliRunner
from large_farm import large_farm

from maps.assessment import Assessment
from maps.cli import suitability
from maps.exports import write_fields_csv, write_zones
from maps.farm_file import read_farm_file
from maps.legend import ACRES_PER_HA
from maps.reader import teller_of
from maps.report_field import field_page
from maps.run import assess
from maps.web_map import write_map
from maps.writing import write_all
from suitability.errors import InputError

pytestmark = pytest.mark.filterwarnings("ignore:Use `@` matmul:PendingDeprecationWarning")

SAMPLE = Path(__file__).parents[2] / "sample_fields"


def made_ground():
    spec = importlib.util.spec_from_file_location("ground_of_sample", SAMPLE / "_terrain.py")
    assert spec is not None and spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    sys.modules[spec.name] = module
    spec.loader.exec_module(module)
    return module


TERRAIN = made_ground()


def silent(_step: str) -> None:
    pass


@pytest.fixture(scope="module")
def whole() -> Assessment:
    return assess(read_farm_file(SAMPLE / "farm.toml"), silent)


@pytest.fixture(scope="module")
def verdicts(whole: Assessment) -> pd.DataFrame:
    return whole.verdicts.set_index("field_id")


def spots(kind: str, crs: object) -> gpd.GeoDataFrame:
    listed = getattr(TERRAIN, kind)
    points = [shapely.Point(TERRAIN.ORIGIN_E_M + s.x_m, TERRAIN.ORIGIN_N_M + s.y_m) for s in listed]
    return gpd.GeoDataFrame(geometry=points, crs=TERRAIN.CRS).to_crs(crs)


def farm_of(folder: Path, ids: list[str], more: str = "", without: tuple[str, ...] = ()) -> Path:
    """A farm file in ``folder`` for a few fields of the sample farm."""
    fields = gpd.read_file(SAMPLE / "fields.geojson")
    fields[fields["field_id"].isin(ids)].to_file(folder / "fields.geojson", driver="GeoJSON")
    tables = {
        "soil": f'file = "{SAMPLE / "soil_survey.gpkg"}"',
        "elevation": f'file = "{SAMPLE / "elevation.tif"}"',
        "weather": f'file = "{SAMPLE / "weather.csv"}"',
        "frost": f'file = "{SAMPLE / "freeze_normals.csv"}"',
        "gap": 'opens = "05-15"\ncloses = "10-15"',
    }
    text = '[fields]\nfile = "fields.geojson"\nid = "field_id"\n'
    text += "".join(f"[{k}]\n{v}\n" for k, v in tables.items() if k not in without)
    (folder / "farm.toml").write_text(text + more)
    return folder / "farm.toml"


def run(path: Path) -> Assessment:
    return assess(read_farm_file(path), silent)


def texts(told: Assessment) -> str:
    return "\n".join(note.text for note in told.notes)


# ---- the whole sample farm ---------------------------------------------------------------------


def test_the_nine_hollows_in_fields_are_wet_ground(whole: Assessment) -> None:
    hollows = spots("HOLLOWS", whole.fields.crs)
    inside = hollows[hollows.within(whole.fields.union_all())]
    assert len(inside) == 9
    wet = whole.wet_ground.union_all()
    assert inside.within(wet).all()
    assert (whole.wet_ground["years_in_ten"].dropna() >= 3).all()


def test_knolls_are_not(whole: Assessment) -> None:
    knolls = spots("KNOLLS", whole.fields.crs)
    wet = whole.wet_ground.union_all()
    # Nor is the ground 20 m around their tops.
    assert (knolls.distance(wet) > 20).all()


def test_the_page_of_the_sample_farm_is_under_400_kb_with_its_ground(
    whole: Assessment, tmp_path: Path
) -> None:
    write_map(whole, tmp_path / "map.html")
    page = (tmp_path / "map.html").read_bytes()
    assert len(page) < 400_000
    assert page.count(b"data:image/webp") == 1
    # 12 m of relief on the farm, and its fields on slopes of a few per cent.
    assert b"Contour lines every 2 ft, heavier every 10 ft." in page
    assert b"drawn 10 times as steep as it is, in cells of 10 ft" in page


def test_200_fields_with_600_wet_spots_are_under_2500_kb(whole: Assessment, tmp_path: Path) -> None:
    large = large_farm(whole, 200, 600)
    assert (len(large.fields), len(large.wet_ground)) == (200, 600)
    assert large.plan is not None and large.ground is not None and large.years is not None
    write_map(large, tmp_path / "map.html")
    page = (tmp_path / "map.html").read_text("utf-8")
    found = re.search(r'<script id="farm-data"[^>]*>(.*?)</script>', page, re.S)
    assert found is not None
    data = json.loads(found[1])
    # Nothing was left away to make it small.
    assert all(field["shape"] and field["facts"] and field["soils"] for field in data["fields"])
    assert sum(field["weeks"] is not None for field in data["fields"]) > 150
    assert all(spot["shape"] for spot in data["wet"])
    assert "relief" in data["ground"]
    assert len(page.encode()) < 2_500_000


def test_the_pond_is_water_and_not_wet_ground(whole: Assessment, verdicts: pd.DataFrame) -> None:
    with rasterio.open(SAMPLE / "elevation.tif") as dem:
        heights, transform = dem.read(1), dem.transform
    ground = TERRAIN.make_ground(np.random.default_rng([20_260_401, 1]))
    pond = gpd.GeoSeries(
        [
            shapely.union_all([
                shapely.geometry.shape(s)
                for s, _ in rasterio.features.shapes(
                    ground.pond.astype("uint8"), mask=ground.pond, transform=transform
                )
            ])
        ],
        crs=TERRAIN.CRS,
    ).to_crs(whole.fields.crs).iloc[0]  # fmt: skip
    assert heights.shape == ground.pond.shape
    field = whole.fields.set_index("field_id").geometry["F07"]
    water_ha = shapely.intersection(pond, field).area / 10_000
    assert water_ha > 0.8
    assert verdicts.loc["F07", "water_ha"] == pytest.approx(water_ha, rel=0.03)
    assert verdicts["water_ha"].drop("F07").eq(0).all()
    # The survey draws the shore to its own accuracy; wet ground may touch it, not lie on it.
    on_it = shapely.intersection(whole.wet_ground.union_all(), pond.buffer(-3)).area
    assert on_it < 10


def test_acres_add_up_field_by_field(whole: Assessment, verdicts: pd.DataFrame) -> None:
    wet_ha = whole.wet_ground.groupby("field_id")["area_ha"].sum()
    sown = verdicts[verdicts["verdict"] != "leave out"]
    left = sown["area_ha"] - sown["water_ha"] - wet_ha.reindex(sown.index).fillna(0.0)
    off_pct = 100 * (sown["sowable_ha"] - left).abs() / sown["area_ha"]
    assert len(sown) == 11 and off_pct.max() < 0.1


def test_a_field_with_a_wet_tenth_is_sown_with_care(
    whole: Assessment, verdicts: pd.DataFrame
) -> None:
    wet_ha = whole.wet_ground.groupby("field_id")["area_ha"].sum()
    share_pct = 100 * wet_ha / verdicts["area_ha"]
    tenth = share_pct.index[share_pct > 10]
    assert set(tenth) == {"F01", "F04"}
    for field_id in tenth:
        row = verdicts.loc[field_id]
        assert row.verdict == "sow with care" and "leave_wet_ground" in row.conditions
        assert row.works_years_in_ten >= 8  # of what is left


def test_every_piece_lies_in_its_field_and_has_a_cause(whole: Assessment) -> None:
    fields = whole.fields.set_index("field_id").geometry
    wet = whole.wet_ground
    assert wet["wet_id"].is_unique and wet.is_valid.all()
    for row in wet.itertuples():
        assert row.geometry.within(fields[row.field_id].buffer(0.01))
    unknown = wet[wet["years_in_ten"].isna()]
    assert set(unknown["cause"]) <= {"water table", "ponded"}  # drawn by the survey alone


def test_in_the_recommended_week_spots_and_acres_by_week_are_those_of_the_map(
    whole: Assessment,
) -> None:
    assert whole.years is not None and whole.years.wet is not None
    wet, best = whole.years.wet, whole.years.best["sow_date"]
    now = wet.spots[wet.spots["sow_date"] == wet.spots["field_id"].map(best)]
    told = whole.wet_ground.dropna(subset="years_in_ten").set_index("wet_id")["years_in_ten"]
    assert len(told) >= 9
    assert now.set_index("wet_id")["years_in_ten"].to_dict() == pytest.approx(told.to_dict())
    acres = wet.fields[wet.fields["sow_date"] == wet.fields["field_id"].map(best)]
    drawn = whole.wet_ground.groupby("field_id")["area_ha"].sum()
    expected = drawn.reindex(acres["field_id"]).fillna(0.0).tolist()
    assert acres["wet_ha"].tolist() == pytest.approx(expected)
    # Every week in which a field can be sown has its acres, and no other.
    weeks = whole.years.weeks[["field_id", "sow_date"]]
    assert sorted(weeks.itertuples(index=False, name=None)) == sorted(
        wet.fields[["field_id", "sow_date"]].itertuples(index=False, name=None)
    )


def test_the_shallow_hollows_are_wet_more_often_in_spring_than_in_midsummer(
    whole: Assessment,
) -> None:
    assert whole.years is not None and whole.years.wet is not None
    spots = whole.years.wet.spots
    ponded = whole.wet_ground.loc[whole.wet_ground["cause"] == "ponded", "wet_id"]
    table = spots[spots["wet_id"].isin(ponded)].pivot(
        index="sow_date", columns="wet_id", values="years_in_ten"
    )
    assert len(table.columns) == 2  # of Dish Field
    fewer = table.loc["05-07"] - table.loc["06-25"]
    assert (fewer > 0).all() and fewer.max() > 1


def test_map_csv_and_shapes_tell_the_same_acres(whole: Assessment, tmp_path: Path) -> None:
    write_fields_csv(whole, tmp_path / "fields.csv")
    write_zones(whole, tmp_path / "zones.gpkg")
    write_map(whole, tmp_path / "map.html")
    table = pd.read_csv(tmp_path / "fields.csv").set_index("field_id")
    wet = pyogrio.read_dataframe(tmp_path / "zones.gpkg", layer="wet_ground")
    fields = pyogrio.read_dataframe(tmp_path / "zones.gpkg", layer="fields").set_index("field_id")
    assert wet["caution"].str.contains("not a wetland").all()
    drawn_acres = wet.to_crs(whole.fields.crs).area / 10_000 * ACRES_PER_HA
    assert wet["area_acres"].tolist() == pytest.approx(drawn_acres.tolist(), abs=0.02)
    pd.testing.assert_series_equal(
        table["sowable_acres"], fields["sowable_acres"], check_index_type=False
    )
    page = (tmp_path / "map.html").read_text("utf-8")
    total = whole.wet_ground["area_ha"].sum() * ACRES_PER_HA
    assert f"{total:.1f} acres" in page


def test_the_culvert_counts_and_the_run_says_so(whole: Assessment) -> None:
    assert "Water was let through banks along 1 pipe or ditch" in texts(whole)


def test_the_notes_state_odds_drill_and_smallest_spot(whole: Assessment) -> None:
    told = texts(whole)
    assert "in 3 years of 10 or more is left out (our figure" in told
    assert "for a drill 20 ft (6.1 m) wide: wet spots under 0.037 acres (149 m2)" in told


# ---- a few of its fields -----------------------------------------------------------------------


def test_water_seen_from_above_reaches_the_fields_page_and_the_tables_are_all_written(
    tmp_path: Path,
) -> None:
    fields = gpd.read_file(SAMPLE / "fields.geojson").to_crs(TERRAIN.CRS)
    west, south, east, north = fields.total_bounds
    with rasterio.open(
        tmp_path / "water_2024-06-05.tif", "w", driver="GTiff", height=60, width=60, count=1,
        dtype="uint8", crs=TERRAIN.CRS,
        transform=rasterio.transform.from_bounds(west, south, east, north, 60, 60),
    ) as raster:  # fmt: skip
        raster.write(np.zeros((60, 60), np.uint8), 1)
    more = f'[water_seen]\nfile = "{tmp_path / "water_2024-06-05.tif"}"\n'
    told = run(farm_of(tmp_path, ["F01"], more))
    assert told.water_seen is not None
    row = told.water_seen.iloc[0]
    wet_ha, area_ha = told.wet_ground["area_ha"].sum(), told.fields["area_ha"].sum()
    # Nothing was seen wet: what is mapped dry agrees.
    assert (row["wet_seen_pct"], row["dry_seen_pct"]) == (0, 0)
    assert row["agree_pct"] == pytest.approx(100 * (1 - wet_ha / area_ha), abs=0.5)
    page = field_page(told, teller_of(told), "F01")
    assert page.water_seen is not None and page.water_seen.rows[0][0] == "June 5, 2024"
    write_all(told, tmp_path, tables=True, progress=silent)
    table = pd.read_csv(tmp_path / "wet_weeks.csv", dtype={"sow_date": str})
    weeks = pd.read_csv(tmp_path / "weeks.csv", dtype={"sow_date": str})
    assert set(table["sow_date"]) == set(weeks["sow_date"])
    assert set(table["wet_id"]) <= set(told.wet_ground["wet_id"])
    assert weeks["wet_acres"].notna().all()


def test_without_heights_the_share_is_named_and_nothing_is_drawn_but_survey_units(
    tmp_path: Path,
) -> None:
    told = run(farm_of(tmp_path, ["F01", "F09"], without=("elevation",)))
    rows = told.verdicts.set_index("field_id")
    survey = gpd.read_file(SAMPLE / "soil_survey.gpkg", layer="mupolygon").to_crs(told.fields.crs)
    assert "no heights to tell where" in texts(told)
    assert rows.loc["F01", "wet_unplaced_pct"] > 5
    assert rows.loc["F01", "conditions"].split()[0] == "wet_unplaced"
    assert "F01" not in set(told.wet_ground["field_id"])
    assert set(told.wet_ground["field_id"]) == {"F09"}
    unit = survey[survey["mukey"] == "9990016"].union_all()
    assert told.wet_ground.union_all().difference(unit.buffer(0.1)).area < 1


def test_on_a_plane_no_corner_is_placed(tmp_path: Path) -> None:
    with rasterio.open(SAMPLE / "elevation.tif") as dem:
        profile, shape = dem.profile, dem.shape
    plane = 90 + 0.02 * np.mgrid[: shape[0], : shape[1]].sum(axis=0)
    with rasterio.open(tmp_path / "plane.tif", "w", **profile) as out:
        out.write(plane.astype("float32"), 1)
    more = f'[elevation]\nfile = "{tmp_path / "plane.tif"}"\nvertical_unit = "m"\n'
    told = run(farm_of(tmp_path, ["F01"], more, without=("elevation",)))
    assert told.wet_ground.empty
    row = told.verdicts.iloc[0]
    assert row.wet_unplaced_pct > 5 and "wet_unplaced" in row.conditions
    assert row.sowable_ha == pytest.approx(row.area_ha)
    assert "no ground looks like theirs" in texts(told)


def marks(folder: Path, **shapes: shapely.Geometry) -> str:
    table = gpd.GeoDataFrame(
        {"kind": [name.split("_")[0] for name in shapes]},
        geometry=list(shapes.values()),
        crs=TERRAIN.CRS,
    ).to_crs(4326)
    table.to_file(folder / "marks.geojson", driver="GeoJSON")
    return f'[marks]\nfile = "{folder / "marks.geojson"}"\n'


def in_f01() -> tuple[shapely.Geometry, shapely.Geometry]:
    """The hollow of F01 with its rim, and a square hectare of dry ground north-east of it."""
    field = gpd.read_file(SAMPLE / "fields.geojson").to_crs(TERRAIN.CRS)
    ground = field.set_index("field_id").geometry["F01"]
    hollow = TERRAIN.HOLLOWS[1]
    centre = shapely.Point(TERRAIN.ORIGIN_E_M + hollow.x_m, TERRAIN.ORIGIN_N_M + hollow.y_m)
    around = centre.buffer(2 * hollow.long_m)
    rest = shapely.difference(ground.buffer(-20), around)
    spot = rest.representative_point().buffer(25)
    return around, shapely.intersection(spot, rest)


def test_marks_override_and_show_as_the_growers_own(tmp_path: Path) -> None:
    around, dry_spot = in_f01()
    more = marks(tmp_path, dry=around, wet=dry_spot)
    told = run(farm_of(tmp_path, ["F01"], more))
    wet = told.wet_ground
    assert set(wet["cause"]) == {"your mark"} and wet["years_in_ten"].isna().all()
    row = told.verdicts.iloc[0]
    assert wet["area_ha"].sum() == pytest.approx(dry_spot.area / 10_000, rel=0.01)
    assert row.sowable_ha == pytest.approx(row.area_ha - wet["area_ha"].sum(), rel=0.001)
    # The hollow is sown, on the grower's word, and drowns no year of the rest.
    assert row.verdict == "sow with care" and row.works_years_in_ten >= 8
    assert "You marked ground as never wet: 2." in texts(told)


def test_a_wet_mark_leaves_the_acres_without_heights_too(tmp_path: Path) -> None:
    _, dry_spot = in_f01()
    path = farm_of(tmp_path, ["F01"], marks(tmp_path, wet=dry_spot), without=("elevation",))
    told = run(path)
    row = told.verdicts.iloc[0]
    assert told.wet_ground["cause"].tolist() == ["your mark"]
    marked_ha = told.wet_ground["area_ha"].sum()
    assert row.area_ha - row.sowable_ha == pytest.approx(marked_ha, rel=0.001)
    assert "leave_wet_ground" in row.conditions


def test_a_drain_that_was_marked_lets_the_hollow_run_out(tmp_path: Path, whole: Assessment) -> None:
    hollow = TERRAIN.HOLLOWS[1]
    x, y = TERRAIN.ORIGIN_E_M + hollow.x_m, TERRAIN.ORIGIN_N_M + hollow.y_m
    drain = shapely.LineString([(x, y), (x + 250, y - 250)])
    told = run(farm_of(tmp_path, ["F01"], marks(tmp_path, drain=drain)))
    assert "Water was let through banks along 1 pipe or ditch" in texts(told)
    usual_ha = whole.wet_ground.groupby("field_id")["area_ha"].sum()["F01"]
    assert told.wet_ground["area_ha"].sum() < 0.5 * usual_ha


def test_without_weather_what_was_placed_is_drawn_by_the_survey_alone(tmp_path: Path) -> None:
    told = run(farm_of(tmp_path, ["F01"], without=("weather",)))
    wet, row = told.wet_ground, told.verdicts.iloc[0]
    assert wet["cause"].tolist() == ["wet inclusion"] and wet["years_in_ten"].isna().all()
    assert wet["area_ha"].sum() == pytest.approx(0.8, abs=0.1)
    assert row.sowable_ha == pytest.approx(row.area_ha - wet["area_ha"].sum(), rel=0.001)


def test_a_wider_drill_and_other_odds_are_used_and_stated(
    tmp_path: Path, whole: Assessment
) -> None:
    more = "[wet_ground]\ndrill_m = 9\nyears_in_ten = 7\nsmallest_acres = 0.5\n"
    told = run(farm_of(tmp_path, ["F11"], more))
    usual = whole.wet_ground[whole.wet_ground["field_id"] == "F11"]
    wet = told.wet_ground
    # The smaller hollow, a third of an acre, goes; of the larger the middle, wet more often, stays.
    assert len(usual) == 2 and len(wet) == 1
    assert wet["years_in_ten"].iloc[0] > usual["years_in_ten"].max()
    assert 0.5 / ACRES_PER_HA < wet["area_ha"].iloc[0] < usual["area_ha"].max()
    said = texts(told)
    assert "in 7 years of 10 or more is left out (as you chose)" in said
    assert "a drill 30 ft (9.0 m) wide: wet spots under 0.5 acres (0.2 ha) are not shown" in said


def test_water_seen_from_above_is_laid_beside_the_answer(tmp_path: Path) -> None:
    around, _ = in_f01()
    with rasterio.open(SAMPLE / "elevation.tif") as dem:
        profile = dem.profile | {"dtype": "uint8", "nodata": 255, "predictor": 1}
        seen = ~rasterio.features.geometry_mask([around], dem.shape, dem.transform)
    with rasterio.open(tmp_path / "water_2024-06-05.tif", "w", **profile) as out:
        out.write(seen.astype("uint8"), 1)
    more = '[water_seen]\nfile = "water_2024-06-05.tif"\n'
    told = run(farm_of(tmp_path, ["F01"], more))
    (note,) = [n for n in told.notes if n.layer == "water seen"]
    assert note.text.startswith("2024-06-05: ")
    assert "of the ground shown as wet, 100 %" in note.text
    assert "water_seen" in {f.layer for f in told.provenance.files}
    check = CliRunner().invoke(suitability, ["check", str(tmp_path / "farm.toml")])
    assert check.exit_code == 0 and "WATER SEEN water_2024-06-05.tif" in check.output


def test_feet_and_metres_of_a_drill_must_agree(tmp_path: Path) -> None:
    path = farm_of(tmp_path, ["F01"], "[wet_ground]\ndrill_ft = 20\ndrill_m = 9\n")
    with pytest.raises(InputError, match=r"\[wet_ground\] drill_m: 9 m are not the 20 ft of"):
        read_farm_file(path)


def test_check_tells_of_the_culverts_of_the_sample_farm() -> None:
    told = CliRunner().invoke(suitability, ["check", str(SAMPLE / "farm.toml")])
    assert told.exit_code == 0, told.output
    assert "ELEVATION elevation.tif culverts.geojson" in told.output
