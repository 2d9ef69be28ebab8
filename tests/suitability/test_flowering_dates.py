"""Days of first flower and pods, from the day a stand comes up in the recommended week."""

from types import SimpleNamespace
from typing import Any

import numpy as np
import pandas as pd
import pytest

from suitability.crop import load_crop
from suitability.flowering import flowering
from suitability.flowering_dates import flowering_columns
from suitability.stand_run import EMERGED_D, N_RESULT, SOWN_D, STAND

CROP = load_crop("sunn_hemp")
LAT = pd.Series({"a": 31.63, "b": 31.63, "c": 31.63})


def _years(sown_d: list[float], emerged_d: list[float], stand: list[float]) -> Any:
    """One case, three years, one week; fields a and c lie on it, b on nothing simulated."""
    result = np.full((1, 3, 1, N_RESULT), np.nan, dtype=np.float32)
    result[0, :, 0, SOWN_D], result[0, :, 0, EMERGED_D] = sown_d, emerged_d
    result[0, :, 0, STAND] = stand
    return SimpleNamespace(
        best=pd.DataFrame({"sow_date": ["05-28"] * 3}, index=["a", "b", "c"]),
        parts=pd.DataFrame(
            {"field_id": ["a", "b", "c"], "case": [0, -1, 0], "area_ha": [1.0, 1.0, 2.0]}
        ),
        simulated=SimpleNamespace(weeks=("05-28",), result=result),
    )


def test_the_days_count_from_the_median_day_it_is_up() -> None:
    # Sown on day 1, 0 and 2 of the week, up on the 5th, 6th and 5th day: 5, 5 and 6 days on.
    found = flowering_columns(_years([1, 0, 2], [5, 6, 5], [1, 1, 1]), LAT, "tropical", CROP)
    up_doy = 148 + 5  # 28 May is day 148
    days = flowering(up_doy, 31.63, "tropical", CROP)
    first = pd.Timestamp("2001-01-01") + pd.Timedelta(days=up_doy - 1 + days.first_flower_d)
    assert found.at["a", "first_flower_mmdd"] == first.strftime("%m-%d")
    assert found.at["a", "seed_type"] == "tropical"
    assert found.loc["c"].equals(found.loc["a"].rename("c"))
    assert found.loc["b"].isna().all()


def test_of_an_unknown_type_the_early_one_counts_and_the_range_is_wide() -> None:
    years = _years([0, 0, 0], [6, 6, 6], [1, 1, 0])
    by_type = {
        t: flowering_columns(years, LAT, t, CROP).loc["a"]
        for t in ("tropical", "seed-setting", "unknown")
    }
    assert by_type["unknown"].first_pods_mmdd == by_type["seed-setting"].first_pods_mmdd
    assert by_type["unknown"].latest_flower_mmdd == by_type["tropical"].latest_flower_mmdd
    assert by_type["seed-setting"].first_pods_mmdd < by_type["tropical"].first_pods_mmdd


def test_without_a_stand_in_any_year_nothing_is_said() -> None:
    found = flowering_columns(_years([0, 0, 0], [6, 6, 6], [0, 0, 0]), LAT, "tropical", CROP)
    assert found.isna().all(axis=None)


def test_a_type_that_is_none_is_refused() -> None:
    with pytest.raises(ValueError, match="seed type"):
        flowering_columns(_years([0, 0, 0], [6, 6, 6], [1, 1, 1]), LAT, "dwarf", CROP)
