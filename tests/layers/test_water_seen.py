"""Water seen from above beside the answer: shares that can be counted on a 10 x 10 grid."""

import datetime

import geopandas as gpd
import numpy as np
import pytest
import rasterio
from rasterio.transform import from_origin
from shapely.geometry import box

from layers.water_seen import FIELD_COLUMNS, read_water_seen
from suitability.errors import CrsError, InputError

# rasterio multiplies transforms in a way that the affine package is about to retire.
pytestmark = pytest.mark.filterwarnings("ignore:Use `@` matmul:PendingDeprecationWarning")
CRS = "EPSG:32617"


def written(path, values, nodata=None):
    values = np.asarray(values)
    with rasterio.open(
        path, "w", driver="GTiff", height=10, width=10, count=1, dtype=values.dtype, crs=CRS,
        transform=from_origin(0, 100, 10, 10), nodata=nodata,
    ) as raster:  # fmt: skip
        raster.write(values, 1)
    return path


def ground(*boxes):
    ids = [f"F{i}" for i in range(len(boxes))]
    return gpd.GeoDataFrame({"field_id": ids}, geometry=[box(*b) for b in boxes], crs=CRS)


FIELD = ground((0, 0, 100, 100))
WET = ground((0, 0, 40, 50))  # the 4 western columns of the 5 southern rows: 20 cells


def test_shares_of_a_day(tmp_path):
    seen = np.zeros((10, 10), np.uint8)
    seen[5:, 2:6] = 1  # 20 cells, half of them mapped as wet
    seen[0, 0] = 1
    found = read_water_seen(written(tmp_path / "water_20240605.tif", seen), WET, FIELD)
    row = found.agreement.iloc[0]
    assert row["date"] == datetime.datetime(2024, 6, 5)
    assert row[["seen_pct", "wet_seen_pct", "cover_pct"]].tolist() == pytest.approx([21, 50, 100])
    assert row["seen_wet_pct"] == pytest.approx(100 * 10 / 21)
    assert found.notes[0].text == (
        "2024-06-05: 21 % of the fields was seen wet; of the ground shown as wet, 50 %; of what "
        "was seen wet, 48 % is shown as wet ground. One day tells of that day only."
    )


def test_each_field_is_told_how_far_wet_and_dry_were_seen_so(tmp_path):
    seen = np.zeros((10, 10), np.uint8)
    seen[5:, 2:6] = 1  # the 4 columns from 20 m to 60 m of the southern half
    path = written(tmp_path / "water_20240605.tif", seen)
    # A half with the wet ground, a half without any, and one beside the picture.
    fields = ground((0, 0, 50, 100), (50, 0, 100, 100), (500, 0, 600, 100))
    told = read_water_seen(path, WET, fields).by_field
    assert list(told) == list(FIELD_COLUMNS) and told["field_id"].tolist() == ["F0", "F1"]
    west, east = (row for _, row in told.iterrows())
    # 10 of 20 wet cells were seen wet, 5 of 30 dry ones: 10 + 25 of 50 agree.
    assert west[["wet_seen_pct", "dry_seen_pct"]].tolist() == pytest.approx([50, 100 / 6])
    assert (west["agree_pct"], west["n_cells"]) == (pytest.approx(70), 50)
    # By chance (20/50)(15/50) + (30/50)(35/50) = 0.54 agree: (0.7 - 0.54) / (1 - 0.54).
    assert west["kappa"] == pytest.approx(0.16 / 0.46)
    assert np.isnan(east["wet_seen_pct"]) and east["dry_seen_pct"] == pytest.approx(10)
    assert (east["agree_pct"], east["n_cells"]) == (pytest.approx(90), 50)
    assert east["kappa"] == pytest.approx(0)  # nothing is drawn there: no better than chance


def test_dry_ground_alone_makes_no_agreement_beyond_chance(tmp_path):
    # Two per cent drawn as wet, none of it seen wet: 98 % "agree", all of them dry.
    path = written(tmp_path / "2024-06-05.tif", np.zeros((10, 10), np.uint8))
    wet = ground((0, 0, 20, 10))
    row = read_water_seen(path, wet, FIELD).by_field.iloc[0]
    assert (row["wet_seen_pct"], row["dry_seen_pct"]) == (0, 0)
    assert row["agree_pct"] == pytest.approx(98) and row["kappa"] == pytest.approx(0)
    all_dry = read_water_seen(path, wet.iloc[:0], FIELD).by_field.iloc[0]
    assert all_dry["agree_pct"] == 100 and np.isnan(all_dry["kappa"])


def test_days_come_in_their_order_and_cells_without_a_value_count_nowhere(tmp_path):
    index = np.full((10, 10), -0.5, np.float32)
    index[5:, :2] = 0.3
    index[5:, 2:4] = -9999
    written(tmp_path / "b_2023-07-01.tif", index, nodata=-9999)
    written(tmp_path / "a_2024-07-01.tif", np.full((10, 10), -0.2, np.float32))
    found = read_water_seen(tmp_path, WET, FIELD, wet_from=0.1).agreement
    assert found["file"].tolist() == ["b_2023-07-01.tif", "a_2024-07-01.tif"]
    assert found.iloc[0][["wet_seen_pct", "seen_wet_pct"]].tolist() == pytest.approx([100, 100])
    assert found.iloc[0]["seen_pct"] == pytest.approx(100 * 10 / 90)
    assert found.iloc[0]["cover_pct"] == pytest.approx(90)
    assert found.iloc[1]["wet_seen_pct"] == 0 and np.isnan(found.iloc[1]["seen_wet_pct"])


def test_without_mapped_wet_ground_there_is_no_share_of_it(tmp_path):
    path = written(tmp_path / "20240605.tif", np.ones((10, 10), np.uint8))
    row = read_water_seen(path, WET.iloc[:0], FIELD).agreement.iloc[0]
    assert np.isnan(row["wet_seen_pct"]) and row["seen_wet_pct"] == 0 and row["seen_pct"] == 100


def test_neither_a_day_nor_what_counts_as_wet_is_guessed(tmp_path):
    written(tmp_path / "index.tif", np.full((10, 10), 0.4, np.float32))
    with pytest.raises(InputError) as error:
        read_water_seen(tmp_path / "index.tif", WET, FIELD)
    assert "index.tif: no day in its name, such as 2024-06-05" in str(error.value)
    assert "index.tif: numbers 0.4 to 0.4; which of them are wet?" in str(error.value)
    day = {"index.tif": datetime.date(2022, 6, 1)}
    found = read_water_seen(tmp_path / "index.tif", WET, FIELD, wet_from=0.3, dates=day)
    assert found.agreement["seen_pct"].tolist() == [100]


def test_a_raster_elsewhere_is_said(tmp_path):
    path = written(tmp_path / "20240605.tif", np.ones((10, 10), np.uint8))
    far = ground((5000, 5000, 5100, 5100))
    found = read_water_seen(path, far, far)
    assert found.agreement["cover_pct"].tolist() == [0]
    assert found.notes[0].text == ("20240605.tif does not cover the fields or has no value there.")


def test_a_day_that_is_still_to_come_is_a_fault(tmp_path):
    path = written(tmp_path / "water_2099-06-05.tif", np.zeros((10, 10), np.uint8))
    with pytest.raises(InputError, match=r"water_2099-06-05\.tif: 2099-06-05 is still to come"):
        read_water_seen(path, WET, FIELD)


def test_metres_labelled_as_degrees_are_a_fault(tmp_path):
    path = tmp_path / "water_2024-06-05.tif"
    with rasterio.open(
        path, "w", driver="GTiff", height=10, width=10, count=1, dtype="uint8", crs="EPSG:4326",
        transform=from_origin(240_000, 3_500_000, 10, 10),
    ) as raster:  # fmt: skip
        raster.write(np.zeros((1, 10, 10), np.uint8))
    with pytest.raises(CrsError, match="look like metres or feet under a wrong label"):
        read_water_seen(path, WET, FIELD)
