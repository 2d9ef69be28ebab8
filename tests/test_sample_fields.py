"""The sample farm is what it claims to be, and its script makes it again.

Shares and areas are counted here anew, not taken from the script; what a hollow or a pond is comes
from a filling by pyflwdir.
"""

import importlib.util
import json
import subprocess
import sys
from pathlib import Path
from types import ModuleType

import geopandas as gpd
import numpy as np
import pandas as pd
import pyflwdir
import pyogrio
import pytest
import rasterio
import shapely
from pyproj import Geod
from rasterio.features import geometry_mask

from maps.farm_file import read_farm_file

SAMPLE = Path(__file__).parents[1] / "sample_fields"
SURVEY = SAMPLE / "soil_survey.gpkg"
TABLES = ("mapunit", "component", "chorizon", "comonth", "cosoilmoist", "corestrictions")
M2_PER_ACRE = 4_046.856_422_4
NODATA = -9999.0


@pytest.fixture(scope="module")
def fields() -> gpd.GeoDataFrame:
    return gpd.read_file(SAMPLE / "fields.geojson")


@pytest.fixture(scope="module")
def soil_map() -> gpd.GeoDataFrame:
    return gpd.read_file(SURVEY, layer="mupolygon")


@pytest.fixture(scope="module")
def tables() -> dict[str, pd.DataFrame]:
    return {name: pyogrio.read_dataframe(SURVEY, layer=name) for name in TABLES}


@pytest.fixture(scope="module")
def weather() -> pd.DataFrame:
    return pd.read_csv(SAMPLE / "weather.csv", parse_dates=["DATE"])


@pytest.fixture(scope="module")
def normals() -> pd.Series:
    return pd.read_csv(SAMPLE / "freeze_normals.csv", dtype=str).iloc[0]


@pytest.fixture(scope="module")
def height_m() -> np.ndarray:
    with rasterio.open(SAMPLE / "elevation.tif") as dem:
        return dem.read(1)


@pytest.fixture(scope="module")
def fill_m(height_m: np.ndarray) -> np.ndarray:
    known = np.where(np.isnan(height_m), NODATA, height_m).astype("float32")
    filled, _ = pyflwdir.dem.fill_depressions(known, nodata=NODATA)
    return np.where(np.isnan(height_m), 0.0, filled - known)


@pytest.fixture(scope="module")
def terrain() -> ModuleType:
    spec = importlib.util.spec_from_file_location("sample_terrain", SAMPLE / "_terrain.py")
    assert spec is not None and spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    sys.modules[spec.name] = module
    spec.loader.exec_module(module)
    return module


@pytest.fixture(scope="module")
def again(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("sample")
    script = SAMPLE / "make_sample_fields.py"
    subprocess.run([sys.executable, str(script), str(folder)], check=True)
    return folder


def test_the_whole_folder_is_small() -> None:
    size = sum(f.stat().st_size for f in SAMPLE.glob("*") if f.is_file())
    assert size < 6_000_000


def test_the_farm_file_reads_and_names_every_layer() -> None:
    farm = read_farm_file(SAMPLE / "farm.toml")
    assert [layer for layer, _ in farm.input_files] == [
        "fields", "soil", "elevation", "weather", "frost",
        "culverts",
    ]  # fmt: skip
    assert farm.known_of == {"F08": {"next_crop": "ryegrass", "compaction": "moderate"}}


def test_twelve_fields_of_about_400_acres_and_three_owners(fields: gpd.GeoDataFrame) -> None:
    assert fields["field_id"].is_unique
    assert len(fields) == 12
    assert fields["owner"].nunique() == 3
    geod = Geod(ellps="WGS84")
    acres = [abs(geod.geometry_area_perimeter(f)[0]) / M2_PER_ACRE for f in fields.geometry]
    assert 380 < sum(acres) < 420
    assert min(acres) > 10


def test_outlines_are_sound_one_in_two_pieces_one_with_a_hole(fields: gpd.GeoDataFrame) -> None:
    assert fields.is_valid.all()
    pieces = [len(shapely.get_parts(f)) for f in fields.geometry]
    assert sorted(pieces) == [1] * 11 + [2]
    holes = [sum(len(p.interiors) for p in shapely.get_parts(f)) for f in fields.geometry]
    assert sorted(holes) == [0] * 11 + [1]
    first, second = fields.sindex.query(fields.geometry, predicate="overlaps")
    assert len(first) == len(second) == 0


def test_what_growers_know_keeps_its_kind_and_its_gaps() -> None:
    features = json.loads((SAMPLE / "fields.geojson").read_text("utf-8"))["features"]
    known = {f["properties"]["field_id"]: f["properties"] for f in features}
    assert known["F11"]["drained"] is True
    assert known["F02"]["drained"] is False
    assert known["F01"]["drained"] is None
    assert known["F01"]["legume_last_year"] == 2024
    unknown = [v for k, v in known["F08"].items() if k not in ("field_id", "name", "owner")]
    assert unknown == [None] * 12


def test_every_layer_has_its_own_reference_system(
    fields: gpd.GeoDataFrame, soil_map: gpd.GeoDataFrame
) -> None:
    with rasterio.open(SAMPLE / "elevation.tif") as dem:
        systems = [fields.crs.to_epsg(), soil_map.crs.to_epsg(), dem.crs.to_epsg()]
        assert systems == [4326, 5070, 26917]
        assert dem.res == (3.0, 3.0)
        assert dem.units == ("metre",)
        assert np.isnan(dem.nodata)


def test_soil_map_has_no_gap_and_no_overlap(soil_map: gpd.GeoDataFrame) -> None:
    assert soil_map.is_valid.all()
    whole = soil_map.union_all()
    assert whole.geom_type == "Polygon"
    assert len(whole.interiors) == 0
    assert soil_map.area.sum() == pytest.approx(whole.area, rel=1e-9)


def test_survey_reaches_every_field_but_one_corner(
    fields: gpd.GeoDataFrame, soil_map: gpd.GeoDataFrame
) -> None:
    here = fields.to_crs(soil_map.crs)
    cover_pct = 100 * here.intersection(soil_map.union_all()).area / here.area
    part = dict(zip(fields["field_id"], cover_pct, strict=True))
    assert 85 < part.pop("F08") < 95
    assert min(part.values()) == pytest.approx(100, abs=1e-6)


def test_tables_hang_together(soil_map: gpd.GeoDataFrame, tables: dict[str, pd.DataFrame]) -> None:
    component, horizon = tables["component"], tables["chorizon"]
    assert set(soil_map["mukey"]) == set(tables["mapunit"]["mukey"]) == set(component["mukey"])
    assert (component.groupby("mukey")["comppct_r"].sum() == 100).all()
    assert set(horizon["cokey"]) < set(component["cokey"])
    assert set(tables["cosoilmoist"]["comonthkey"]) == set(tables["comonth"]["comonthkey"])
    total = horizon[["sandtotal_r", "silttotal_r", "claytotal_r"]].sum(axis=1)
    assert np.allclose(total, 100)
    # Water held cannot exceed the pores: 1 - bulk density / 2.65 (density of quartz).
    pores = 100 * (1 - horizon["dbthirdbar_r"] / 2.65)
    assert (horizon["wthirdbar_r"] < pores).all()
    assert (horizon["wfifteenbar_r"] < horizon["wthirdbar_r"]).all()


def test_a_tenth_of_the_flats_is_ponded_ground(tables: dict[str, pd.DataFrame]) -> None:
    wet = tables["component"].query("localphase == 'depressional'")
    assert wet["comppct_r"].tolist() == [10]
    assert wet["majcompflag"].tolist() == ["No "]
    months = tables["comonth"].merge(wet[["cokey"]], on="cokey").set_index("monthseq")
    assert months.loc[[12, 1, 2, 3, 4, 5, 6, 7], "pondfreqcl"].eq("Frequent").all()
    assert months.loc[[12, 1, 2, 3, 4, 5, 6], "ponddurcl"].eq("Long (7 to 30 days)").all()
    assert months.loc[[8, 9], "pondfreqcl"].eq("Occasional").all()
    assert months.loc[[10, 11], "ponddep_r"].isna().all()


def test_soils_lie_where_the_ground_says(
    soil_map: gpd.GeoDataFrame, height_m: np.ndarray, terrain: ModuleType
) -> None:
    here = soil_map.to_crs(terrain.CRS)
    with rasterio.open(SAMPLE / "elevation.tif") as dem:
        mean = {
            symbol: np.nanmean(
                height_m[geometry_mask(part.geometry, dem.shape, dem.transform, invert=True)]
            )
            for symbol, part in here.groupby("musym")
        }
    assert mean["SgA"] < mean["DsA"] < mean["RgC2"] < mean["FhB"] < mean["TwA"]


def test_hollows_are_closed_to_their_depth_and_lie_in_the_unit_that_has_them(
    fill_m: np.ndarray, soil_map: gpd.GeoDataFrame, terrain: ModuleType
) -> None:
    flats = soil_map.query("musym == 'TwA'").to_crs(terrain.CRS).union_all()
    surveyed = soil_map.to_crs(terrain.CRS).union_all()
    x, y = terrain.centres()
    acres = []
    for hollow in terrain.HOLLOWS:
        inside = terrain.spot_radius(hollow, x, y) < 1.2
        assert fill_m[inside].max() == pytest.approx(-hollow.height_m, abs=0.08)
        acres.append((fill_m[inside] > 0.05).sum() * 9 / M2_PER_ACRE)
        middle = terrain.on_map(shapely.Point(hollow.x_m, hollow.y_m))
        assert flats.contains(middle) or not surveyed.contains(middle)
    assert 0.3 < min(acres) < 0.5
    assert 2.5 < max(acres) < 3.2


def test_knolls_hold_no_water(fill_m: np.ndarray, terrain: ModuleType) -> None:
    x, y = terrain.centres()
    for knoll in terrain.KNOLLS:
        assert fill_m[terrain.spot_radius(knoll, x, y) < 0.6].max() < 0.02


def test_the_pond_is_flat_water_and_part_of_it_lies_in_a_field(
    fields: gpd.GeoDataFrame, soil_map: gpd.GeoDataFrame, height_m: np.ndarray
) -> None:
    water = soil_map.query("musym == 'W'").to_crs("EPSG:26917")
    assert 1.5 < water.area.sum() / M2_PER_ACRE < 3.5
    with rasterio.open(SAMPLE / "elevation.tif") as dem:
        inside = geometry_mask(water.buffer(-8), dem.shape, dem.transform, invert=True)
    assert inside.sum() > 500
    assert np.unique(height_m[inside]).size == 1
    field = fields.query("name == 'Pond Field'").to_crs("EPSG:26917").union_all()
    assert field.intersection(water.union_all()).area > 0.5 * water.area.sum()


def test_the_road_dams_its_branch_where_the_culvert_is(
    height_m: np.ndarray, fill_m: np.ndarray
) -> None:
    pipe = gpd.read_file(SAMPLE / "culverts.geojson").to_crs("EPSG:26917").geometry.iloc[0]
    with rasterio.open(SAMPLE / "elevation.tif") as dem:
        at = [pipe.interpolate(share, normalized=True) for share in (0.0, 0.5, 1.0)]
        upper, crown, lower = (dem.index(p.x, p.y) for p in at)
    assert height_m[crown] > height_m[upper] + 1.0
    assert height_m[lower] < height_m[upper]
    assert fill_m[upper] > 1.0  # a false pond, as long as nobody tells of the pipe


def test_thirty_years_of_southern_weather(weather: pd.DataFrame) -> None:
    date = weather["DATE"]
    assert date.is_unique
    assert date.is_monotonic_increasing
    every = pd.date_range("1996-01-01", "2025-12-31")
    assert len(every) - len(weather) == 6
    assert weather[["PRCP", "TMAX", "TMIN"]].isna().sum().tolist() == [3, 3, 3]
    assert (weather["TMAX"] > weather["TMIN"]).sum() == len(weather) - 6
    rain = weather.groupby(date.dt.year)["PRCP"].sum()
    assert 1250 < rain.mean() < 1350
    monthly = weather.groupby(date.dt.month)[["TMAX", "TMIN"]].mean()
    assert monthly.loc[7, "TMAX"] == pytest.approx(33.5, abs=0.5)
    assert monthly.loc[1, "TMIN"] == pytest.approx(4.0, abs=0.5)
    dry = rain < 0.9 * rain.mean()
    assert (dry & dry.shift(-1, fill_value=False)).any()
    assert (rain > 1.2 * rain.mean()).sum() >= 3
    storms = weather[date.dt.month.between(8, 10)]["PRCP"]
    assert storms.max() > 100


def _seasons(weather: pd.DataFrame, threshold_f: int) -> pd.DataFrame:
    """First and last freeze by full season July-June, as dates; NaT where there is none."""
    season = weather["DATE"].dt.year - (weather["DATE"].dt.month < 7)
    frost = weather[weather["TMIN"] <= (threshold_f - 32) * 5 / 9 + 1e-9]
    found = frost.groupby(season)["DATE"].agg(["min", "max"])
    return found.reindex(range(1996, 2025))


@pytest.mark.parametrize("threshold_f", [16, 20, 24, 28, 32, 36])
def test_freeze_dates_have_the_odds_they_claim(
    weather: pd.DataFrame, normals: pd.Series, threshold_f: int
) -> None:
    seasons = _seasons(weather, threshold_f)
    some = seasons["min"].notna()
    occurs = float(normals[f"ANN-TMIN-PRBOCC-LSTH{threshold_f:03d}"])
    assert occurs == pytest.approx(100 * some.mean(), abs=0.06)
    for kind, found in (("PRBFST", "min"), ("PRBLST", "max")):
        for odds in range(10, 100, 10):
            text = normals[f"ANN-TMIN-{kind}-T{threshold_f}FP{odds}"].strip()
            if text == "-6666":
                assert occurs < odds + 5
                continue
            month, day = (int(part) for part in text.split("/"))
            limit = [pd.Timestamp(y + (month < 7), month, day) for y in seasons.index]
            past = seasons[found] < limit if kind == "PRBFST" else seasons[found] > limit
            on = (seasons[found] == limit).sum()
            due = odds / 100 * len(seasons)
            # Ranks are interpolated and days whole: right to one season and a half.
            assert past.sum() - 1.5 <= due <= past.sum() + on + 1.5, (kind, odds, text)


def test_freezes_are_those_of_the_warm_south(normals: pd.Series, weather: pd.DataFrame) -> None:
    assert "03/05" < normals["ANN-TMIN-PRBLST-T32FP50"].strip() < "03/25"
    assert "11/05" < normals["ANN-TMIN-PRBFST-T32FP50"].strip() < "11/25"
    first = _seasons(weather, 28)["min"]
    by_new_year = [d <= pd.Timestamp(y, 12, 31) for y, d in first.items()]
    assert 0.6 < np.mean(by_new_year) < 0.95
    assert first.isna().any()


def test_the_script_makes_the_same_tables_again(again: Path) -> None:
    for name in ("weather.csv", "freeze_normals.csv"):
        pd.testing.assert_frame_equal(pd.read_csv(SAMPLE / name), pd.read_csv(again / name))
    for name in TABLES:
        pd.testing.assert_frame_equal(
            pyogrio.read_dataframe(SURVEY, layer=name),
            pyogrio.read_dataframe(again / SURVEY.name, layer=name),
        )


def test_the_script_makes_the_same_ground_and_outlines_again(again: Path) -> None:
    with (
        rasterio.open(SAMPLE / "elevation.tif") as old,
        rasterio.open(again / "elevation.tif") as new,
    ):
        assert old.transform == new.transform
        # One step of 1/128 m: rounding may fall the other way on another machine.
        np.testing.assert_allclose(old.read(1), new.read(1), atol=1 / 128 + 1e-6)
    for name, layer, key, off in (
        ("fields.geojson", None, "field_id", 1e-6),
        ("culverts.geojson", None, "kind", 1e-6),
        ("soil_survey.gpkg", "mupolygon", "mukey", 0.5),
    ):
        old_map = gpd.read_file(SAMPLE / name, layer=layer)
        new_map = gpd.read_file(again / name, layer=layer)
        assert old_map[key].tolist() == new_map[key].tolist()
        for old_shape, new_shape in zip(old_map.geometry, new_map.geometry, strict=True):
            assert shapely.hausdorff_distance(old_shape, new_shape) < off
