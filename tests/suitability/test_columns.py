"""The contract: names carry units, and every fault of a table is told at once."""

import numpy as np
import pandas as pd
import pytest

from suitability.columns import PARTS, TABLES, WEATHER
from suitability.contract import check, empty, names
from suitability.errors import ColumnError
from suitability.factors import FACTORS
from suitability.units import unit_of

ALL = [c for table in TABLES.values() for c in table] + list(FACTORS.values())


@pytest.mark.parametrize("column", ALL, ids=lambda c: c.name)
def test_a_number_with_a_unit_says_so_in_its_name(column):
    if column.kind == "number":
        assert unit_of(column.name) == column.unit
        assert column.low < column.high
        assert column.low > float("-inf") or not column.unit


@pytest.mark.parametrize("name", TABLES)
def test_an_empty_table_keeps_its_contract(name):
    check(empty(TABLES[name]), TABLES[name], name)


def _weather(**changes):
    table = pd.DataFrame(
        {
            "weather_id": ["w", "w"],
            "date": pd.to_datetime(["2020-01-01", "2020-01-02"]),
            "tmax_c": [10.0, 11.0],
            "tmin_c": [1.0, 2.0],
            "precip_mm": [0.0, 3.0],
            "solar_mj_m2_d": [np.nan, 9.0],
        }
    )
    return table.assign(**changes)


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        (
            {"tmax_c": [250.0, 11.0]},
            "tmax_c: 1 values outside -60 to 60 degC, the first is 250; is it in another unit?",
        ),
        ({"tmax_c": ["x", "y"]}, "tmax_c: must be numbers, got 'x'"),
        ({"date": ["a", "b"]}, "date: must be dates, got 'a'"),
        ({"weather_id": [None, "w"]}, "weather_id: 1 values are missing"),
        (
            {"date": pd.to_datetime(["2020-01-01"] * 2)},
            "2 rows share a key, the first is weather_id=w",
        ),
    ],
)
def test_each_fault_of_a_table_is_told(changes, said):
    with pytest.raises(ColumnError) as error:
        check(_weather(**changes), WEATHER, "weather.csv")
    assert said in str(error.value)
    assert str(error.value).startswith("weather.csv cannot be used:")


def test_missing_columns_and_bad_words_are_told_together():
    table = pd.DataFrame(
        {
            "field_id": ["a"],
            "mukey": ["1"],
            "cokey": ["1"],
            "position": ["uphill"],
            "drained": [2],
            "weather_id": ["w"],
        }
    )
    with pytest.raises(ColumnError) as error:
        check(table, PARTS, "parts")
    for said in (
        "column 'area_ha' is missing",
        "position: 'uphill' is not one of unplaced",
        "drained: must be true or false, got 2",
    ):
        assert said in str(error.value)


def test_a_value_on_the_edge_of_its_range_passes():
    check(_weather(tmax_c=[60.0, -60.0]), WEATHER, "w")
    assert names(WEATHER)[0] == "weather_id"
