"""The whole farm by week: means by ground that can be checked in the head."""

import math

import pandas as pd
import pytest

from suitability.farm_weeks import farm_weeks, farm_years_in_ten

WEEKS = pd.DataFrame(
    {
        "field_id": ["a", "a", "b", "c"],
        "sow_date": ["05-14", "05-21", "05-21", "05-21"],
        "works_years_in_ten": [6.0, 8.0, 4.0, 10.0],
    }
)


def test_a_week_is_the_mean_of_the_fields_free_then_by_their_ground() -> None:
    found = farm_weeks(WEEKS, pd.Series({"a": 3.0, "b": 1.0, "c": 0.0})).set_index("sow_date")
    assert list(found.index) == ["05-14", "05-21"]
    assert found.loc["05-14"].to_list() == [6.0, 1, 3.0]
    assert found.loc["05-21"].to_list() == [(3 * 8 + 4) / 4, 2, 4.0]  # c has nothing to sow


def test_where_nothing_is_to_be_sown_every_field_counts_alike() -> None:
    found = farm_weeks(WEEKS, pd.Series({"a": 0.0, "b": 0.0, "c": float("nan")}))
    assert found.works_years_in_ten.to_list() == pytest.approx([6.0, 22 / 3])


def test_the_farm_at_its_recommended_weeks() -> None:
    table = pd.DataFrame(
        {"sowable_ha": [3.0, 1.0, 0.0, 5.0], "works_years_in_ten": [9.0, 5.0, 0.0, float("nan")]}
    )
    assert farm_years_in_ten(table) == 8.0
    assert math.isnan(farm_years_in_ten(table.iloc[2:]))
