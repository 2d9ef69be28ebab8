"""What was seen beside what was simulated, on hand-made stands and weather."""

from datetime import date

import numpy as np
import pandas as pd
import plan_farm as farm
import pytest

from suitability.seen import NO_SOWING, NO_WEATHER, NOT_COMPARED, NOT_SIMULATED, seen_beside

STATIONS = pd.DataFrame({"weather_id": ["w"], "lat_deg": [31.0], "lon_deg": [-84.0]})
CELLS = pd.Series(dict.fromkeys(farm.IDS, "w"))


def _weather(first=2001, last=2010):
    """Every year two degrees warmer than the one before, so that years can be told apart."""
    days = pd.date_range(f"{first}-01-01", f"{last}-12-31")
    mean = 15 + 2.0 * (days.year - first)
    return pd.DataFrame(
        {"weather_id": "w", "date": days, "tmax_c": mean + 5, "tmin_c": mean - 5, "precip_mm": 0.0}
    )


def _log(*rows):
    """Rows of day, field, what and the value in the log's own unit."""
    table = pd.DataFrame(rows, columns=["day", "field_id", "what", "in_our_unit"])
    return table.assign(day=[date.fromisoformat(d) for d in table["day"]], note="")


def _years():
    years = farm.years()
    years.weeks["n_years"] = 10.0
    return years


def _seen(*rows, years=None, cells=CELLS):
    log = _log(*rows)
    told = _years() if years is None else years
    return seen_beside(log, told, farm.fields(), _weather(), STATIONS, cells)


def test_a_season_the_record_reaches_is_set_beside_that_very_year():
    sown = ("2005-06-06", "a", "sown", np.nan)
    table = _seen(
        sown,
        ("2005-06-12", "a", "emerged", np.nan),
        ("2005-07-06", "a", "height", 0.9),
        ("2005-07-06", "a", "cut-weight", 2500.0),
        ("2005-06-20", "a", "stand", 80.0),
    ).set_index("what")
    # Up on the fifth day, the sowing day being the first: four days after it.
    assert tuple(table.loc["emerged", ["seen", "mid"]]) == (6, 4)
    # Age 30 d: 25 days x 0.03 m and 25 days x 80 kg/ha (see plan_farm).
    assert table.loc["height", "mid"] == pytest.approx(0.75)
    assert table.loc["cut-weight", "mid"] == pytest.approx(2000)
    assert table.loc["stand", "mid"] == 10, "it came up"
    assert table.loc[["emerged", "height", "cut-weight", "stand"], "of_year"].all()
    assert table.loc["sown", "mid"] == 9 and table.loc["sown", "n_years"] == 10


def test_a_season_after_the_record_is_set_beside_the_range_of_all_years():
    simulated = farm.simulated()
    # Year y of 10 grows y/5 times as fast: at 30 days 0.15, 0.30 ... 1.50 m.
    for y in range(10):
        simulated.standing[0, y, ..., 1] *= (y + 1) / 5
    years = farm.years(simulated)
    from suitability.stand_run import HEIGHT_M

    assert HEIGHT_M == 1, "the hand-made array is scaled at the right place"
    years.weeks["n_years"] = 10.0
    row = _seen(
        ("2026-06-06", "a", "sown", np.nan), ("2026-07-06", "a", "height", 0.9), years=years
    ).iloc[1]
    assert not row["of_year"] and row["n_years"] == 10
    # numpy's quantiles of 0.15 ... 1.50: between the first and second, the middle, and so on.
    assert (row["low"], row["mid"], row["high"]) == pytest.approx((0.285, 0.825, 1.365), rel=1e-4)


def test_a_year_without_a_stand_says_so():
    rows = [("2001-06-06", "b", "sown", np.nan), ("2001-06-20", "b", "stand", 3.0)]
    table = _seen(*rows, ("2001-07-06", "b", "height", 0.2)).set_index("what")
    assert table.loc["stand", "mid"] == 0 and table.loc["stand", "of_year"]
    assert np.isnan(table.loc["height", "mid"])
    assert table.loc["height", "why_not"] == NOT_SIMULATED
    later = _seen(("2026-06-06", "b", "sown", np.nan), ("2026-06-20", "b", "stand", 3.0))
    assert later["mid"].iloc[1] == pytest.approx(8), "two of ten years failed"


def test_soil_is_of_its_day_and_else_of_that_day_of_all_years():
    table = _seen(
        ("2004-05-15", "a", "soil-temperature", 22.0), ("2026-05-15", "a", "soil-temperature", 22.0)
    )
    own, later = table.iloc[0], table.iloc[1]
    assert own["of_year"] and not later["of_year"] and later["n_years"] == 10
    assert later["low"] < own["mid"] < later["mid"] < later["high"]
    # The air warms by 2 degrees a year: 1 to 9 years of 10 span 0.8 x 9 years, the soil follows.
    assert later["high"] - later["low"] == pytest.approx(14.4, abs=1.5)
    none = _seen(("2004-05-15", "a", "soil-temperature", 22.0), cells=pd.Series({"a": None}))
    assert none["why_not"].iloc[0] == NO_WEATHER


def test_what_cannot_be_compared_stays_unknown():
    table = _seen(
        ("2005-07-06", "a", "height", 0.9),
        ("2005-07-06", "a", "grazing-days", 300.0),
        ("2004-06-06", "b", "sown", np.nan),
        ("2005-07-06", "b", "height", 0.9),
        ("2005-06-06", "c", "wet-spot", np.nan),
        ("2005-01-06", "d", "sown", np.nan),
        ("2005-07-06", "elsewhere", "height", 0.9),
    )
    assert table["field_id"].tolist() == ["a", "a", "b", "b", "c", "d"]
    told = [NO_SOWING, NOT_COMPARED, "", NO_SOWING, NOT_COMPARED, NOT_SIMULATED]
    assert table["why_not"].tolist() == told, "last year's sowing is of another stand"
    assert table.loc[table["why_not"] != "", "mid"].isna().all()


def test_the_log_of_no_field_is_an_empty_table():
    table = _seen()
    assert len(table) == 0 and "mid" in table
