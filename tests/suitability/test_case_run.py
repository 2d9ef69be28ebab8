"""One case through the record: compiled as plain, holes in the weather, days of sowing, laws."""

import json
import os
import subprocess
import sys
from pathlib import Path

import engine_farm as ef
import numpy as np
import pandas as pd
import pytest

from suitability import stand_run as at
from suitability.crop import load_crop

CROP = load_crop("sunn_hemp")


@pytest.fixture(scope="module")
def whole():
    return ef.stands(*ef.case(ef.weather(4)))


def with_hole(first, last, n_years=4):
    table = ef.weather(n_years)
    table.loc[table["date"].between(first, last), "precip_mm"] = np.nan
    return ef.stands(*ef.case(table))


def test_compiled_and_plain_give_the_same_stands():
    done = subprocess.run(
        [sys.executable, str(Path(ef.__file__))],
        env={**os.environ, "NUMBA_DISABLE_JIT": "1"},
        capture_output=True,
        text=True,
        check=True,
    )
    ours = ef.two_years()
    for mine, plain in zip(ours, json.loads(done.stdout), strict=True):
        np.testing.assert_allclose(np.array(mine), np.array(plain), rtol=1e-9, atol=1e-9)
    assert np.nanmax(np.array(ours[1])[..., at.DRY_MATTER_KG_HA]) > 500, "something must grow"


def test_a_hole_in_the_weather_takes_its_stands_and_no_others(whole):
    result, standing = with_hole("2002-07-20", "2002-07-25")
    assert np.isnan(result[1, :, at.STAND]).all()
    # Sown 14 May + its wait: whole up to 19 July, the day before the hole.
    sown = pd.Timestamp("2002-05-14") + pd.Timedelta(days=result[1, 0, at.SOWN_D])
    assert result[1, 0, at.KNOWN_D] == (pd.Timestamp("2002-07-20") - sown).days
    for year in (0, 2, 3):
        assert np.isfinite(result[year, :, at.STAND]).all()
    np.testing.assert_array_equal(result[0, ..., : at.KNOWN_D], whole[0][0, ..., : at.KNOWN_D])
    np.testing.assert_array_equal(standing[0], whole[1][0])
    assert (result[2:, :, at.STAND] == whole[0][2:, :, at.STAND]).all()


@pytest.mark.parametrize(("hole_to", "runs"), [("2002-04-13", True), ("2002-04-16", False)])
def test_no_stand_is_sown_before_the_ground_has_settled_after_a_hole(hole_to, runs):
    # settle_d whole days must lie between the hole and 14 May, the first day of the week: 30 days
    # from 14 April to 13 May.
    assert CROP.number("water_use.settle_d") == 30
    result, _ = with_hole("2002-04-01", hole_to)
    assert np.isfinite(result[1, 0, at.STAND]) == runs
    assert np.isnan(result[1, 0]).all() != runs
    assert np.isfinite(result[1, 1:, at.STAND]).all(), "later weeks are far enough from it"


def test_the_end_of_the_record_cuts_a_stand_and_says_how_far_it_is_known():
    table = ef.weather(2)
    result, _ = ef.stands(*ef.case(table[table["date"] <= "2002-06-30"]))
    assert np.isnan(result[1, 0, at.STAND]) and np.isnan(result[1, 2]).all()
    assert result[1, 0, at.KNOWN_D] == 48 - result[1, 0, at.SOWN_D]  # 14 May to 30 June


def test_it_is_sown_on_the_first_fit_day_of_the_week_else_on_the_last():
    table = ef.weather(3, dry_years=(2002,))
    wet_week = table["date"].between("2003-05-10", "2003-05-13")
    table.loc[wet_week, "precip_mm"] = 12.0
    result, _ = ef.stands(*ef.case(table), weeks=("05-14", "08-06"))
    assert result[1, 1, at.SOWN_D] == 6, "no rain since May: it waits in vain"
    assert result[2, 0, at.SOWN_D] == 0, "moist and firm"


def test_a_stand_of_29_february_is_of_1_march():
    record, _ = ef.case(ef.weather(4))
    leap = record.row(2004, "02-29")
    assert record.dates[leap] == pd.Timestamp("2004-03-01") and leap == record.row(2004, "03-01")
    assert record.row(2004, "03-01") - record.row(2004, "02-28") == 2
    assert record.row(2003, "03-01") - record.row(2003, "02-28") == 1
    assert record.row(2000, "05-01") == -1 and record.row(2005, "01-01") == -1


def test_standing_and_last_day_agree(whole):
    result, standing = whole
    up = result[..., at.STAND] == 1
    assert up.any()
    for year, week in np.argwhere(up):
        last = result[year, week, at.LAST_D]
        if last % at.AGE_STEP_D == 0:
            row = int(last) // at.AGE_STEP_D - 1
            kept = standing[year, week, row, at.DRY_MATTER_KG_HA]
            assert kept == result[year, week, at.LAST_DRY_MATTER_KG_HA]
    grown = standing[up][..., at.DRY_MATTER_KG_HA]
    steps = np.diff(grown, axis=-1)
    assert (steps[np.isfinite(steps)] >= 0).all(), "what stands does not shrink"


def test_a_dry_year_grows_less_and_irrigation_gives_it_back():
    table = ef.weather(4, dry_years=(2003,))
    dry, _ = ef.stands(*ef.case(table), weeks=("06-04",))
    wet, _ = ef.stands(*ef.case(table, irrigation_mm_week=40.0), weeks=("06-04",))
    last = at.LAST_DRY_MATTER_KG_HA
    assert dry[2, 0, at.STAND] == 0 and dry[2, 0, at.CAUSE] == 2, "dry seed bed"
    assert wet[2, 0, last] > 3000
    assert wet[2, 0, last] > dry[[0, 1, 3], 0, last].min() * 0.5


def test_a_higher_water_outside_never_shortens_the_wet_runs():
    runs = []
    for base_cm in (300.0, 60.0, 10.0):
        result, _ = ef.stands(*ef.case(ef.weather(3), base_cm=base_cm, conductance_per_d=0.05))
        runs.append(np.nanmean(result[..., at.RUN_EARLY_D]))
    assert runs[0] <= runs[1] <= runs[2] and runs[2] > runs[0]


def test_a_warmer_ground_never_comes_up_later():
    base = ef.case(ef.weather(3))
    warm = ef.case(ef.weather(3), offset_c=1.6)
    up = [ef.stands(*given)[0][..., at.EMERGED_D] for given in (base, warm)]
    both = np.isfinite(up[0]) & np.isfinite(up[1])
    assert both.any() and (up[1][both] <= up[0][both]).all()
    assert np.nanmean(up[1]) < np.nanmean(up[0])
