"""Freeze dates from farm.toml to the verdicts, on a farm of one field with a table of its own."""

import geopandas as gpd
import numpy as np
import pytest
import rasterio
from affine import Affine
from shapely.geometry import box

from maps.farm_file import read_farm_file
from maps.run import assess
from suitability.errors import InputError

TABLE = """event,threshold_f,prob_pct,date
last_spring,32,10,04-04
last_spring,32,50,03-13
first_autumn,32,10,11-02
first_autumn,32,50,11-19
first_autumn,28,10,11-13
first_autumn,28,50,12-08
first_autumn,28,90,01-04
"""


def farm(tmp_path, frost, closes="12-15"):
    shape = gpd.GeoDataFrame({"id": ["7"]}, geometry=[box(-83.76, 31.65, -83.75, 31.66)], crs=4326)
    shape.to_file(tmp_path / "fields.gpkg")
    path = tmp_path / "farm.toml"
    path.write_text(
        f'[fields]\nfile = "fields.gpkg"\nid = "id"\n[gap]\nopens = "05-15"\ncloses = "{closes}"\n'
        f"[frost]\n{frost}\n"
    )
    return path


def verdict(path):
    made = assess(read_farm_file(path), lambda step: None)
    return made, made.verdicts.set_index("field_id").loc["7"]


def test_a_table_fills_the_columns_and_ends_the_season(tmp_path):
    (tmp_path / "frost.csv").write_text(TABLE)
    made, row = verdict(farm(tmp_path, 'file = "frost.csv"'))
    assert row["last_freeze_p10":"first_freeze_28f_p50"].tolist() == [
        "04-04", "03-13", "11-02", "11-19", "11-13", "12-08",
    ]  # fmt: skip
    # 31 December is 23 of 27 days on the way from 50 to 90 %.
    assert row["freeze_years_in_ten"] == pytest.approx(5 + 4 * 23 / 27)
    assert row["season_value"] == 182  # 15 May to 13 November, not to 15 December
    assert any("the season is counted to that day" in n.text for n in made.notes)
    early, row = verdict(farm(tmp_path, 'file = "frost.csv"', closes="09-15"))
    assert row["season_value"] == 123
    assert not any("counted to that day" in n.text for n in early.notes)


def test_what_a_raster_is_of_can_stand_in_the_farm_file(tmp_path):
    profile = {
        "driver": "GTiff", "height": 1, "width": 1, "count": 1, "dtype": "int16", "crs": 4326,
        "transform": Affine(1, 0, -84, 0, -1, 32),
    }  # fmt: skip
    with rasterio.open(tmp_path / "dates.tif", "w", **profile) as out:
        out.write(np.full((1, 1), 315, np.int16), 1)
    lines = 'file = "dates.tif"\nevent = "first_autumn"\nthreshold_c = -2.2\nprob_pct = 10'
    with pytest.raises(InputError, match='dates_as = "doy" or "mmdd"'):
        verdict(farm(tmp_path, lines))
    _, row = verdict(farm(tmp_path, f'{lines}\ndates_as = "doy"'))
    assert row["first_freeze_28f_p10"] == "11-11"
    assert row["first_freeze_p10"] is None
    assert np.isnan(row["freeze_years_in_ten"])


@pytest.mark.parametrize(
    ("line", "said"),
    [
        ('event = "spring"', "'spring' is not one of last_spring, first_autumn, season"),
        ("threshold_c = 28", "must be a number from -20 to 10 degrees C, got 28"),
        ("prob_pct = 0.1", "must be a number from 1 to 99 per cent, got 0.1"),
        ('dates_as = "julian"', "'julian' is not one of doy, mmdd"),
    ],
)
def test_keys_of_frost_are_held_to_their_range(tmp_path, line, said):
    (tmp_path / "frost.csv").write_text(TABLE)
    with pytest.raises(InputError) as caught:
        read_farm_file(farm(tmp_path, f'file = "frost.csv"\n{line}'))
    assert said in str(caught.value)
