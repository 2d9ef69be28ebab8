"""Rows of one field are those that carry its id, in their order, and none of a strange field."""

import geopandas as gpd
import pandas as pd
import pytest
from shapely.geometry import Point
from small_farm import small_farm

from maps.of_field import field_rows, has_rows, rows_of, verdict_rows


def test_rows_of_a_field_keep_their_order_and_a_strange_field_has_none() -> None:
    table = pd.DataFrame({"field_id": ["B", "A", "B", None, "C"], "wet_ha": [3, 1, 2, 9, 4]})
    assert rows_of(table, "B")["wet_ha"].tolist() == [3, 2]
    assert rows_of(table, "A")["wet_ha"].tolist() == [1]
    assert rows_of(table, "X").empty and list(rows_of(table, "X")) == ["field_id", "wet_ha"]
    assert has_rows(table, "C") and not has_rows(table, "X") and not has_rows(table, "None")


def test_shapes_stay_shapes_in_their_crs() -> None:
    table = gpd.GeoDataFrame(
        {"field_id": ["A", "B"]}, geometry=[Point(0, 0), Point(3, 4)], crs="EPSG:32616"
    )
    found = rows_of(table, "B")
    assert isinstance(found, gpd.GeoDataFrame) and found.crs == table.crs
    assert found.geometry.iloc[0].equals(Point(3, 4))


def test_a_field_has_its_own_row_of_verdicts_and_fields() -> None:
    farm = small_farm()
    assert list(verdict_rows(farm)) == ["A/1", "B", "C", "D"]
    assert [row["verdict"] for row in verdict_rows(farm).values()] == list(farm.verdicts["verdict"])
    assert field_rows(farm)["C"]["name"] == "Bottom"
    assert field_rows(farm)["C"]["geometry"].bounds[0] == 500440
    with pytest.raises(KeyError, match="X"):
        verdict_rows(farm)["X"]
