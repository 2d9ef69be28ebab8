"""Freeze dates on grids and outlines, with cells that can be counted by hand."""

import geopandas as gpd
import numpy as np
import pytest
import rasterio
from affine import Affine
from frost_fields import CRS, X0, Y0, two_fields, value
from shapely.geometry import box

from layers.frost.reader import read_frost
from layers.frost.stated import Stated
from suitability.errors import CrsError, InputError

NAME = "first_freeze_28F_p10.tif"


def raster(tmp_path, cells, *, name=NAME, size=100.0, x0=X0, top=Y0 + 200, crs=CRS, nodata=-1):
    cells = np.asarray(cells)
    path = tmp_path / name
    profile = {
        "driver": "GTiff", "height": cells.shape[0], "width": cells.shape[1], "count": 1,
        "dtype": cells.dtype, "crs": crs, "nodata": nodata,
        "transform": Affine(size, 0, x0, 0, -size, top),
    }  # fmt: skip
    with rasterio.open(path, "w", **profile) as out:
        out.write(cells, 1)
    return path


def frost_of(path, **stated):
    return read_frost(path, two_fields(), Stated(**stated)).frost


def refusal(path, kind=InputError, **stated):
    with pytest.raises(kind) as caught:
        frost_of(path, **stated)
    return str(caught.value)


# Field a takes the second and third column, b the fourth and fifth, of two rows.
DOY = np.array([[1, 310, 312, 330, 330, 1], [1, 314, 320, 330, 340, 1]], dtype=np.int16)


def test_a_field_takes_the_date_in_the_middle_of_its_cells(tmp_path):
    frost = frost_of(raster(tmp_path, DOY))
    # Days 310, 312, 314, 320: of the middle two the earlier, 8 November; of 330 three times and 340
    # it is 330.
    assert value(frost, "a", "first_autumn", 28, 10) == "11-08"
    assert value(frost, "b", "first_autumn", 28, 10) == "11-26"
    assert set(frost["source"]) == {NAME}


def test_cells_count_by_how_much_of_them_lies_in_the_field(tmp_path):
    # Cells of 400 m: field a lies wholly in the first, b (300 to 500) half in each.
    cells = np.array([[317, 340]], np.int16)
    frost = frost_of(raster(tmp_path, cells, size=400, top=Y0 + 300))
    assert value(frost, "a", "first_autumn", 28, 10) == "11-13"
    assert value(frost, "b", "first_autumn", 28, 10) == "11-13"
    # From 350 on is the second cell: three quarters of b.
    frost = frost_of(raster(tmp_path, cells, size=350, top=Y0 + 300))
    assert value(frost, "b", "first_autumn", 28, 10) == "12-06"


def test_month_and_day_as_a_number(tmp_path):
    mmdd = np.array([[1101, 1109, 1109, 1126, 1126, 1231]] * 2, dtype=np.int16)
    frost = frost_of(raster(tmp_path, mmdd))
    assert value(frost, "a", "first_autumn", 28, 10) == "11-09"
    assert value(frost, "b", "first_autumn", 28, 10) == "11-26"


def test_numbers_that_can_be_either_ask_which(tmp_path):
    cells = np.full((2, 6), 315, dtype=np.int16)
    path = raster(tmp_path, cells, name="last_freeze_32F_p10.tif")
    assert 'dates_as = "doy" or "mmdd"' in refusal(path)
    assert value(frost_of(path, dates_as="mmdd"), "a", "last_spring", 32, 10) == "03-15"
    first = raster(tmp_path, cells)
    assert value(frost_of(first, dates_as="doy"), "a", "first_autumn", 28, 10) == "11-11"


def test_of_two_middle_dates_the_safe_one_is_taken(tmp_path):
    cells = np.array([[100, 100, 101, 100, 101, 100]] * 2, dtype=np.int16)
    last = frost_of(raster(tmp_path, cells, name="last_freeze_32F_p10.tif"))
    assert value(last, "a", "last_spring", 32, 10) == "04-11"  # day 101, the later of the two
    cells = cells + np.int16(213)
    first = frost_of(raster(tmp_path, cells), dates_as="doy")
    assert value(first, "a", "first_autumn", 28, 10) == "11-09"  # day 313, the earlier


def test_january_lies_after_december(tmp_path):
    cells = np.array([[1, 360, 2, 2, 360, 1]] * 2, dtype=np.int16)
    # Half 26 December (360), half 2 January (2): the earlier first freeze is in December.
    frost = frost_of(raster(tmp_path, cells, name="first_freeze_28F_p60.tif"))
    assert value(frost, "a", "first_autumn", 28, 60) == "12-26"


def test_a_grid_in_degrees_and_a_season_in_days(tmp_path):
    cells = np.full((4, 4), 249.4, dtype=np.float32)
    path = raster(
        tmp_path, cells, name="season_32f_p50.tif", size=0.05, x0=-83.85, top=31.75, crs=4326
    )
    assert value(frost_of(path), "a", "season", 32, 50, "season_d") == 249


def test_holes_and_edges(tmp_path):
    cells = DOY.copy()
    cells[:, 3:] = -1
    read = read_frost(raster(tmp_path, cells), two_fields())
    assert read.frost["field_id"].tolist() == ["a"]
    assert any("covers less than half of 1 fields" in n.text for n in read.notes)
    away = read_frost(raster(tmp_path, DOY, x0=X0 + 50_000), two_fields())
    assert not len(away.frost)


@pytest.mark.parametrize(
    ("cells", "said"),
    [
        ([[0, 310]], "holds values from 0 to 310; expected days of the year (1 to 366)"),
        ([[400, 900]], "holds values from 400 to 900; expected"),
        ([[-1, -1]], "has no cell with a value"),
    ],
)
def test_cells_that_are_no_dates(tmp_path, cells, said):
    assert said in refusal(raster(tmp_path, np.array(cells, np.int16)))


def test_a_grid_must_say_where_and_what_it_is(tmp_path):
    assert "does not say in which CRS" in refusal(raster(tmp_path, DOY, crs=None), CrsError)
    told = refusal(raster(tmp_path, DOY, name="frost.tif"))
    assert "prob_pct: stated neither by farm.toml nor by the file name" in told
    stated = {"event": "first_autumn", "threshold_c": -2.22, "prob_pct": 10.0}
    assert len(frost_of(raster(tmp_path, DOY, name="frost.tif"), **stated)) == 2
    path = tmp_path / "cut_first_28f_p10.tif"
    path.write_bytes(raster(tmp_path, DOY).read_bytes()[:120])
    assert "cannot be read as a raster" in refusal(path)


def test_rasters_of_several_odds_in_a_folder_must_agree(tmp_path):
    raster(tmp_path, DOY)
    raster(tmp_path, DOY + 20, name="first_freeze_28F_p50.tif")
    frost = frost_of(tmp_path)
    assert value(frost, "a", "first_autumn", 28, 50) == "11-28"
    raster(
        tmp_path, np.where(DOY > 1, DOY - 40, 1).astype(np.int16), name="first_freeze_28F_p90.tif"
    )
    assert "but later dates have larger odds" in refusal(tmp_path)


# ---- outlines ----


def outlines(tmp_path, columns, shapes, name="dates.gpkg"):
    path = tmp_path / name
    gpd.GeoDataFrame(columns, geometry=shapes, crs=CRS).to_file(path)
    return path


WEST, EAST = box(X0, Y0 - 50, X0 + 250, Y0 + 300), box(X0 + 250, Y0 - 50, X0 + 600, Y0 + 300)


def test_a_field_takes_the_date_in_the_middle_of_its_ground(tmp_path):
    columns = {"event": "first_autumn", "threshold_f": 28, "prob_pct": 10}
    path = outlines(tmp_path, columns | {"date": ["11-13", "11-20"]}, [WEST, EAST])
    frost = frost_of(path)
    assert value(frost, "a", "first_autumn", 28, 10) == "11-13"  # on 150 m of its 200
    assert value(frost, "b", "first_autumn", 28, 10) == "11-20"


def test_a_zone_counts_with_its_end_on_the_safe_side(tmp_path):
    zone = {"date_from": ["11-11", "11-21"], "date_to": ["11-20", "11-30"]}
    path = outlines(tmp_path, zone, [WEST, EAST], "first_freeze_28f_p10.gpkg")
    assert value(frost_of(path), "b", "first_autumn", 28, 10) == "11-21"
    zone = {"date_from": ["03-11", "03-21"], "date_to": ["03-20", "03-31"]}
    path = outlines(tmp_path, zone, [WEST, EAST], "last_freeze_32f_p10.gpkg")
    assert value(frost_of(path), "b", "last_spring", 32, 10) == "03-31"


def test_outlines_beside_the_field_say_nothing_of_it(tmp_path):
    columns = {"date": ["11-13"]}
    path = outlines(tmp_path, columns, [WEST], "first_freeze_28f_p10.gpkg")
    read = read_frost(path, two_fields())
    assert read.frost["field_id"].tolist() == ["a"]
    assert any(n.field_ids == ("b",) for n in read.notes)


def test_outlines_without_dates_are_refused(tmp_path):
    told = refusal(outlines(tmp_path, {"zone": ["8b"]}, [WEST], "last_freeze_32f_p10.gpkg"))
    assert "has no column 'date' or 'season_d'; it has zone" in told
    told = refusal(outlines(tmp_path, {"date": ["8b"]}, [WEST], "last_freeze_32f_p10.gpkg"))
    assert "row 2: date: '8b' is no month and day" in told
