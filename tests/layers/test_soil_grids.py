"""Soil by rasters where no survey is: shares, units, depths, and doubt refused."""

import geopandas as gpd
import numpy as np
import pandas as pd
import pytest
import rasterio
from affine import Affine
from farm_tables import fields as known_fields
from shapely.geometry import box

from layers.overlay import nothing_surveyed, overlay
from layers.parts import build_parts
from layers.soil_grid_kinds import SoilGrid
from layers.soil_grids import read_soil_grids
from suitability.crop import load_crop
from suitability.errors import CrsError, InputError
from suitability.findings import find
from suitability.ground import ground

# affine 3 will deprecate the product that rasterio 1.4 uses when it writes.
pytestmark = pytest.mark.filterwarnings("ignore:Use `@` matmul:PendingDeprecationWarning")

UTM = 32617
LEFT, TOP = 500_000.0, 3_450_000.0
NINE = np.arange(1, 10, dtype=np.float32).reshape(3, 3)


def write(path, values, *, cell=100.0, crs=UTM, transform=None, **profile):
    values = np.asarray(values)
    transform = transform or Affine(cell, 0, LEFT, 0, -cell, TOP)
    with rasterio.open(
        path, "w", driver="GTiff", width=values.shape[1], height=values.shape[0], count=1,
        dtype=values.dtype, crs=crs, transform=transform, **profile,
    ) as raster:  # fmt: skip
        raster.write(values, 1)
    return path


def fields(*boxes):
    shapes = [box(LEFT + a, TOP + b, LEFT + c, TOP + d) for a, b, c, d in boxes]
    ids = [f"F{i}" for i in range(len(boxes))]
    frame = gpd.GeoDataFrame(known_fields(*ids), geometry=shapes, crs=UTM)
    frame["area_ha"] = frame.area / 10_000
    return frame


WHOLE = fields((0, -300, 300, 0))


def read(*grids, farm=WHOLE, cut=None):
    return read_soil_grids(grids, farm, nothing_surveyed(farm) if cut is None else cut)


def clay(path, **stated):
    return SoilGrid(path, "clay", **{"unit": "pct", "from_cm": 0, "to_cm": 30, **stated})


def refusal(*grids, **options):
    with pytest.raises(InputError) as caught:
        read(*grids, **options)
    return str(caught.value)


def texts(result):
    return " | ".join(note.text for note in result.notes)


def test_a_field_is_the_mean_of_its_cells_by_their_share(tmp_path):
    path = write(tmp_path / "clay.tif", NINE)
    # From the middle of the first cell to the middle of the last: 20 of 4 cells is 5. One sliver in
    # cell 6; one half on cell 9 and half beside the raster.
    farm = fields((50, -250, 250, -50), (210, -110, 212, -108), (250, -260, 350, -240))
    result = read(clay(path), farm=farm)
    assert result.horizons["clay_pct"].tolist() == pytest.approx([5, 6, 9])
    assert result.components["cokey"].tolist() == ["grid-F0", "grid-F1", "grid-F2"]
    assert result.components["comppct_pct"].eq(100).all()
    assert result.components["compname"].eq("soil grid").all()
    assert result.horizons[["top_cm", "bottom_cm"]].to_numpy().tolist() == [[0, 30]] * 3
    assert result.horizons[["sand_pct", "ph", "bulk_density_g_cm3"]].isna().all(axis=None)
    assert not len(result.months)
    assert "clay 0-30 cm from clay.tif: 5 to 9 pct in 3 fields" in texts(result)


@pytest.mark.parametrize(
    ("stored", "what", "stated", "column", "expected"),
    [
        (np.int16(251), "sand", {"unit": "g/kg"}, "sand_pct", 25.1),
        (np.uint8(25), "sand", {"unit": "pct"}, "sand_pct", 25),
        (np.float32(0.25), "silt", {"unit": "frac"}, "silt_pct", 25),
        (np.uint8(62), "ph", {"unit": "ph", "scale": 0.1}, "ph", 6.2),
        (np.int16(145), "bulk_density", {"unit": "cg/cm3"}, "bulk_density_g_cm3", 1.45),
        (np.int16(1450), "bulk_density", {"unit": "kg/m3"}, "bulk_density_g_cm3", 1.45),
        (np.float32(1.45), "bulk_density", {"unit": "g/cm3"}, "bulk_density_g_cm3", 1.45),
        (np.int16(2510), "clay", {"unit": "g/kg", "scale": 0.1}, "clay_pct", 25.1),
    ],
)
def test_units_and_scales(tmp_path, stored, what, stated, column, expected):
    path = write(tmp_path / "x.tif", np.full((3, 3), stored))
    result = read(SoilGrid(path, what, from_cm=0, to_cm=15, **stated))
    assert result.horizons[column].tolist() == pytest.approx([expected], rel=1e-6)


def test_the_files_own_scale_counts_unless_the_farm_file_states_one(tmp_path):
    path = write(tmp_path / "ph.tif", np.full((3, 3), 62, np.int16))
    with rasterio.open(path, "r+") as raster:
        raster.scales = (0.1,)
    grid = SoilGrid(path, "ph", "ph", from_cm=0, to_cm=15)
    result = read(grid)
    assert result.horizons["ph"].tolist() == pytest.approx([6.2])
    assert "stored times 0.1 plus 0, as the file states" in texts(result)
    other = read(SoilGrid(path, "ph", "ph", scale=0.05, from_cm=0, to_cm=15))
    assert other.horizons["ph"].tolist() == pytest.approx([3.1])
    assert "farm file's scale of 0.05 was used instead" in texts(other)


@pytest.mark.parametrize(
    ("stored", "what", "unit", "words"),
    [
        (62, "ph", "ph", "its ph 0-30 cm, stated in ph, runs from 62 to 62 ph in the fields"),
        (
            250,
            "clay",
            "pct",
            "expected 0 to 100. Is it in another unit (pct, g/kg, frac) or scale?",
        ),
        (1450, "bulk_density", "g/cm3", "runs from 1450 to 1450 g/cm3"),
        (2, "bulk_density", "kg/m3", "runs from 0.002 to 0.002 g/cm3"),
        (-3, "sand", "pct", "runs from -3 to -3 pct"),
    ],
)
def test_values_that_the_unit_cannot_give_are_refused(tmp_path, stored, what, unit, words):
    path = write(tmp_path / "x.tif", np.full((3, 3), stored, np.int16))
    told = refusal(SoilGrid(path, what, unit, from_cm=0, to_cm=30))
    assert words in told and "[[soil_grid]] in farm.toml" in told


def test_what_is_not_stated_is_asked_for_all_at_once(tmp_path):
    path = write(tmp_path / "x.tif", NINE)
    told = refusal(
        SoilGrid(path, "bulk_density", None, from_cm=0, to_cm=30),
        SoilGrid(path, "clay", "ph", from_cm=0, to_cm=30),
        SoilGrid(path, "ph", "ph", from_cm=0),
        SoilGrid(path, "sand", "pct", from_cm=30, to_cm=30),
        SoilGrid(path, "drainage_class"),
        SoilGrid(path, "water_table", "cm", classes={1: "well"}),
    )
    assert "unit is missing; bulk_density is stated in g/cm3 or kg/m3 or cg/cm3" in told
    assert "'ph' is no unit of clay; expected pct or g/kg or frac" in told
    assert "to_cm is missing; give the depths" in told
    assert "the lower depth (30 cm) must be more than from_cm (30 cm)" in told
    assert 'classes = { 1 = "well" }' in told and "somewhat poorly" in told
    assert "belongs to drainage_class only" in told
    twice = refusal(clay(path), clay(path, from_cm=20, to_cm=60))
    assert "speak of the same ground twice" in twice


def test_sand_silt_and_clay_add_up(tmp_path):
    paths = {
        n: write(tmp_path / f"{n}.tif", np.full((3, 3), v, np.float32))
        for n, v in (("sand", 60), ("silt", 27), ("clay", 17), ("low", 1.7))
    }

    def grids(**named):
        return [SoilGrid(p, n, "pct", from_cm=0, to_cm=30) for n, p in named.items()]

    # 104 together: each is scaled by 100/104.
    three = read(*grids(sand=paths["sand"], silt=paths["silt"], clay=paths["clay"])).horizons
    got = three[["sand_pct", "silt_pct", "clay_pct"]].iloc[0]
    assert got.tolist() == pytest.approx([6000 / 104, 2700 / 104, 1700 / 104])
    two = read(*grids(sand=paths["sand"], clay=paths["clay"])).horizons
    assert two[["sand_pct", "silt_pct", "clay_pct"]].iloc[0].tolist() == pytest.approx([60, 23, 17])
    # Clay a tenth of what it is (two scales at once): 88.7 together.
    told = refusal(*grids(sand=paths["sand"], silt=paths["silt"], clay=paths["low"]))
    assert "field F0, 0-30 cm: sand, silt and clay add up to 88.7 pct" in told


def test_depths_of_different_grids_are_cut_to_common_layers(tmp_path):
    path = write(tmp_path / "x.tif", np.full((3, 3), 6, np.float32))
    deep = write(tmp_path / "y.tif", np.full((3, 3), 9, np.float32))
    result = read(
        clay(path, from_cm=0, to_cm=15),
        clay(deep, from_cm=15, to_cm=60),
        SoilGrid(path, "ph", "ph", from_cm=0, to_cm=30),
    )
    rows = result.horizons[["top_cm", "bottom_cm", "clay_pct", "ph"]].to_numpy()
    expected = [[0, 15, 6, 6], [15, 30, 9, 6], [30, 60, 9, np.nan]]
    assert np.allclose(rows, expected, equal_nan=True)
    assert result.horizons["chkey"].is_unique


def test_drainage_classes_are_shared_out_not_averaged(tmp_path):
    codes = np.array([[1, 1, 1], [1, 5, 5], [0, 0, 0]], np.uint8)
    path = write(tmp_path / "drainage.tif", codes, nodata=0)
    grid = SoilGrid(path, "drainage_class", classes={1: "well", 5: "poorly"})
    ph = write(tmp_path / "ph.tif", np.full((3, 3), 6, np.float32))
    result = read(grid, SoilGrid(ph, "ph", "ph", from_cm=0, to_cm=30))
    table = result.components.set_index("drainage_class", drop=False)["comppct_pct"]
    assert table["well"] == pytest.approx(400 / 9) and table["poorly"] == pytest.approx(200 / 9)
    assert table[table.index.isna()].tolist() == pytest.approx([300 / 9])
    assert sorted(result.horizons["cokey"]) == ["grid-F0-1", "grid-F0-2", "grid-F0-3"]
    assert result.horizons["ph"].eq(6).all()
    told = refusal(SoilGrid(path, "drainage_class", classes={1: "well"}))
    assert "drainage.tif: its numbers 5 stand for no class" in told


def test_depth_to_water_stands_in_every_month(tmp_path):
    path = write(tmp_path / "water.tif", np.full((3, 3), 2, np.float32))
    result = read(SoilGrid(path, "water_table", "ft"))
    assert result.months["month"].tolist() == list(range(1, 13))
    assert result.months["water_table_cm"].unique() == pytest.approx([60.96])
    assert result.months["pond_frequency"].isna().all()
    assert "one depth for the whole year" in texts(result)
    deep = write(tmp_path / "deep.tif", np.full((3, 3), 40, np.float32))
    assert read(SoilGrid(deep, "water_table", "m")).months["water_table_cm"].eq(1000).all()


def test_only_ground_without_a_survey_is_filled(tmp_path):
    path = write(tmp_path / "clay.tif", NINE)
    farm = fields((0, -300, 300, 0), (0, -100, 100, 0), (900, -100, 990, 0))
    soil = gpd.GeoDataFrame(
        {"mukey": ["7"], "musym": ["Aa"], "muname": ["Alpha"]},
        geometry=[box(LEFT, TOP - 300, LEFT + 200, TOP)],
        crs=UTM,
    )
    cut = overlay(farm, soil)
    result = read(clay(path), farm=farm, cut=cut)
    # The eastern column, cells 3, 6, 9, is what the survey lacks of F0; F1 is all surveyed.
    assert result.pieces["mukey"].tolist() == ["grid-F0"]
    assert result.pieces["area_ha"].tolist() == pytest.approx([3])
    assert result.horizons["clay_pct"].tolist() == pytest.approx([6])
    outside = next(note for note in result.notes if note.level == "warning")
    assert outside.field_ids == ("F2",) and "not known" in outside.text
    parts = build_parts(
        farm,
        cut.__class__(pd.concat([cut.pieces, result.pieces]), cut.soil_cover_pct, ()),
        result.components,
    )
    area = parts.groupby("field_id")["area_ha"].sum()
    assert area.to_dict() == pytest.approx({"F0": 9, "F1": 1, "F2": 0.9})
    assert set(parts.loc[parts["field_id"] == "F0", "cokey"]) == {"unsurveyed", "grid-F0"}


def test_a_property_on_little_of_a_field_is_not_known(tmp_path):
    values = NINE.copy()
    values[:, :2] = -9999
    path = write(tmp_path / "clay.tif", values, nodata=-9999)
    result = read(clay(path))
    assert not len(result.horizons) and not len(result.components)
    assert "covers less than 50 % of 1 field" in texts(result)


def test_a_grid_in_degrees_needs_no_change(tmp_path):
    farm = WHOLE
    west, _, _, north = farm.to_crs(4326).total_bounds
    path = write(
        tmp_path / "ph.tif",
        np.full((40, 40), 5.5, np.float32),
        crs=4326,
        transform=Affine(0.002, 0, west - 0.04, 0, -0.002, north + 0.04),
    )
    result = read(SoilGrid(path, "ph", "ph", from_cm=0, to_cm=30), farm=farm)
    assert result.horizons["ph"].tolist() == [5.5]


def test_a_raster_without_crs_or_with_axes_swapped_is_refused(tmp_path):
    with pytest.raises(CrsError, match="does not say in which CRS"):
        read(clay(write(tmp_path / "a.tif", NINE, crs=None)))
    swapped = write(
        tmp_path / "b.tif", NINE, crs=4326, transform=Affine(0.01, 0, 31, 0, -0.01, -81)
    )
    with pytest.raises(CrsError, match="the two look swapped"):
        read(clay(swapped))


def test_acid_or_dense_ground_by_a_grid_is_never_worse_than_s2(tmp_path):
    ph = write(tmp_path / "ph.tif", np.full((3, 3), 3.5, np.float32))
    dense = write(tmp_path / "bd.tif", np.full((3, 3), 1.9, np.float32))
    texture = [
        SoilGrid(
            write(tmp_path / f"{n}.tif", np.full((3, 3), v, np.float32)), n, "pct", None, 0, 30
        )
        for n, v in (("sand", 40), ("clay", 20))
    ]
    grids = [
        SoilGrid(ph, "ph", "ph", from_cm=0, to_cm=30),
        SoilGrid(dense, "bulk_density", "g/cm3", from_cm=0, to_cm=30),
        *texture,
    ]
    farm = fields((0, -300, 100, 0), (200, -300, 300, 0))
    farm.loc[1, "soil_test_ph"] = 3.5
    result = read(*grids, farm=farm)
    cut = nothing_surveyed(farm)
    cut = cut.__class__(result.pieces, cut.soil_cover_pct, ())
    parts = ground(
        pd.DataFrame(farm.drop(columns="geometry")),
        build_parts(farm, cut, result.components),
        result.components,
        result.horizons,
        result.months,
    )
    found = find(parts, load_crop("sunn_hemp")).set_index(["field_id", "factor"])
    assert found.loc[("F0", "soil_ph"), ["suitability_class", "origin"]].tolist() == [
        "S2",
        "survey",
    ]
    assert found.loc[("F0", "bulk_density_class"), "suitability_class"] == "S2"
    assert found.loc[("F0", "bulk_density_class"), "value_text"] == "stopped"
    # A soil test speaks for itself.
    tested = found.loc[("F1", "soil_ph")]
    assert tested["origin"] == "grower" and tested["suitability_class"] in ("S3", "N")
