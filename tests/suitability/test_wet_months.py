"""What the survey says of the months of a gap."""

import numpy as np
import pandas as pd
import pytest

from suitability.gap import gap_days, gap_months
from suitability.waterlogging import phase_event
from suitability.wet_months import wet_months


def _months(*rows):
    columns = ["cokey", "month", "flood_frequency", "flood_duration", "pond_frequency"]
    columns += ["pond_duration", "pond_depth_cm", "water_table_cm", "moisture_listed_to_cm"]
    return pd.DataFrame(rows, columns=columns)


def test_the_worst_month_of_the_gap_counts_and_months_outside_do_not():
    months = _months(
        ("a", 4, "none", None, "frequent", "long", 15, 0.0, 150.0),
        ("a", 5, "none", None, "occasional", "brief", 15, 40.0, 150.0),
        ("a", 6, "none", None, "rare", "long", 15, 90.0, 150.0),
        ("b", 6, None, None, None, None, np.nan, np.nan, 180.0),
    )
    wet = wet_months(months, (5, 6))
    assert wet.loc["a", "water_table_cm"] == 40.0
    assert wet.loc["a", "ponding"] == "occasional brief"
    assert wet.loc["a", "flooding"] == "none"
    # b: listed dry to 180 cm, so its table is at least that deep; of floods nothing is known.
    assert wet.loc["b", "water_table_cm"] == 180.0
    assert pd.isna(wet.loc["b", "flooding"])
    assert wet_months(months, (4,)).loc["a", "ponding"] == "frequent long"


def test_a_longer_spell_is_worse_than_a_shorter_one_of_the_same_odds():
    months = _months(
        ("a", 5, "occasional", "long", "none", None, np.nan, np.nan, np.nan),
        ("a", 6, "occasional", "very brief", "none", None, np.nan, np.nan, np.nan),
        ("a", 7, "rare", "very long", "none", None, np.nan, np.nan, np.nan),
    )
    wet = wet_months(months, (5, 6, 7))
    assert wet.loc["a", "flooding"] == "occasional long"
    assert wet.loc["a", "ponding"] == "none"
    assert np.isnan(wet.loc["a", "water_table_cm"])


@pytest.mark.parametrize(
    ("opens", "closes", "days", "months"),
    [
        ("05-15", "09-15", 123, (5, 6, 7, 8, 9)),
        ("06-01", "06-30", 29, (6,)),
        ("11-20", "02-10", 82, (11, 12, 1, 2)),
        ("02-29", "03-01", 1, (2, 3)),
    ],
)
def test_a_gap_in_days_and_months(opens, closes, days, months):
    assert gap_days(opens, closes) == days
    assert gap_months(opens, closes) == months


def test_a_phase_tells_how_often_it_floods():
    phase = pd.Series(
        [
            "occasionally flooded",
            "very rarely flooded",
            None,
            "channeled, frequently flooded",
            "eroded",
        ]
    )
    found = phase_event(phase, "flooded")
    assert found.tolist()[:2] == ["occasional", "very rare"]
    assert found[3] == "frequent"
    assert found[[2, 4]].isna().all()
    assert phase_event(phase, "ponded").isna().all()
