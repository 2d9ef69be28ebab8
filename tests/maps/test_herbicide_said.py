"""What a grower says of herbicide: for all fields, for one, or in a column of the outlines."""

import geopandas as gpd
import pandas as pd
import pytest
from shapely.geometry import box

from maps.farm_file import read_farm_file
from maps.layers_read import fields_of
from suitability.herbicide import STATED, herbicide_stated

HEAD = """[fields]
file = "fields.gpkg"
id = "id"
[fields.columns]
herbicide_product = "SPRAY"
"""


@pytest.fixture
def folder(tmp_path):
    squares = [box(-84 + i / 100, 31, -83.995 + i / 100, 31.005) for i in range(3)]
    columns = {"id": ["F1", "F2", "F3"], "SPRAY": [None, None, "imazethapyr"]}
    gpd.GeoDataFrame(columns, geometry=squares, crs="EPSG:4326").to_file(tmp_path / "fields.gpkg")
    return tmp_path


def said(folder, text):
    (folder / "farm.toml").write_text(HEAD + text)
    fields = fields_of(read_farm_file(folder / "farm.toml")).set_index("field_id")
    days = fields["herbicide_date"].dt.strftime("%Y-%m-%d")
    fields["day"], fields["state"] = days, herbicide_stated(fields["herbicide_product"])
    told = fields[["herbicide_product", "day", "state"]].astype(object)
    return {i: tuple(None if pd.isna(v) else v for v in row) for i, *row in told.itertuples()}


def test_where_nothing_is_said_it_is_not_stated(folder):
    assert said(folder, "") == {
        "F1": (None, None, "not stated"),
        "F2": (None, None, "not stated"),
        "F3": ("imazethapyr", None, "named"),
    }


def test_one_table_speaks_for_all_fields_that_do_not_say_themselves(folder):
    text = '[herbicide]\nproduct = "none"\n[field.F2]\nherbicide_product = "unknown"\n'
    assert [state for _, _, state in said(folder, text).values()] == ["none", "not stated", "named"]


def test_the_day_goes_with_its_product_only(folder):
    text = '[herbicide]\nproduct = "atrazine"\ndate = 2026-04-01\n'
    assert said(folder, text) == {
        "F1": ("atrazine", "2026-04-01", "named"),
        "F2": ("atrazine", "2026-04-01", "named"),
        "F3": ("imazethapyr", None, "named"),
    }


def test_the_three_states_are_told_apart_in_any_case_of_letters():
    told = herbicide_stated(pd.Series(["NONE", "Fomesafen", "Not known"], index=[7, 8, 9]))
    assert told.to_dict() == dict(zip((7, 8, 9), STATED, strict=True))
