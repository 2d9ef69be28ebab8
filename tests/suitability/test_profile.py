"""From survey horizons to the layers of a column."""

import numpy as np
import pandas as pd
import pytest
from real_data import real
from soil_columns import CLAY, LOAM, SAND, profiles_of, survey

from layers.soil_map.reader import read_soil_survey
from suitability import soil_column as at
from suitability.columns import HORIZONS
from suitability.contract import names
from suitability.ground_position import dry_curve_number, ground_row, wet_curve_number
from suitability.horizon_water import horizon_water
from suitability.pedotransfer import saxton_rawls
from suitability.profile import profiles, readily_evaporable_mm, soil_rows


def test_what_the_survey_lists_is_used_and_thickness_weighs_it():
    components, horizons = survey([LOAM, LOAM])
    horizons = horizons.assign(cokey="0", chkey=["a", "b"])
    horizons["top_cm"], horizons["bottom_cm"] = [0.0, 20.0], [20.0, 200.0]
    horizons["water_third_bar_pct"] = [30.0, 24.0]
    horizons["water_fifteen_bar_pct"] = [12.0, 10.0]
    horizons["water_saturated_pct"] = [48.0, 42.0]
    horizons["ksat_um_s"] = [9.0, 3.0]
    profile = profiles(components.iloc[:1], horizons)
    # 15-30 cm: 5 cm of the upper and 10 cm of the lower horizon.
    assert profile.capacity_frac[0] == pytest.approx([0.30, 0.30, 0.26, 0.24, 0.24, 0.24])
    assert profile.wilting_frac[0, 2] == pytest.approx((0.12 * 5 + 0.10 * 10) / 15)
    # Across layers conductivity is the harmonic mean; 1 um/s = 86.4 mm/d.
    assert profile.ksat_mm_d[0, 0] == pytest.approx(777.6)
    assert profile.ksat_mm_d[0, 2] == pytest.approx(15 / (5 / 9 + 10 / 3) * 86.4)
    assert profile.estimated_frac[0] == 0.0 and profile.notes == ()


def test_what_it_does_not_list_comes_from_texture_and_listed_density():
    components, horizons = survey([LOAM], om_pct=2.5)
    profile = profiles(components, horizons)
    # Saxton and Rawls (2006), class table: loam 13.7, 28.0, 45.9 %, 15.5 mm/h.
    assert profile.wilting_frac[0] == pytest.approx(0.137, abs=0.0005)
    assert profile.capacity_frac[0] == pytest.approx(0.280, abs=0.0005)
    assert profile.saturation_frac[0] == pytest.approx(0.459, abs=0.0005)
    assert profile.ksat_mm_d[0] == pytest.approx(15.5 * 24, abs=1.3)
    assert profile.estimated_frac[0] == 1.0
    assert "estimated from texture" in profile.notes[0].text
    dense = profiles(components, horizons.assign(bulk_density_g_cm3=1.60))
    assert dense.saturation_frac[0] == pytest.approx(1 - 1.60 / 2.65)
    assert (dense.ksat_mm_d[0] < profile.ksat_mm_d[0]).all()


def test_a_component_without_water_or_texture_is_not_known():
    components, horizons = survey([LOAM, (np.nan, np.nan)])
    profile = profiles(components, horizons)
    assert profile.known.tolist() == [True, False]
    assert np.isnan(profile.capacity_frac[1]).all() and np.isnan(profile.curve_number[1])
    assert "Not simulated" in profile.notes[0].text and "1" in profile.notes[0].text


def test_water_or_rock_is_not_known_whatever_is_listed():
    assert not profiles_of([LOAM], kind="water").known[0]


def test_organic_matter_is_not_taken_beyond_the_data_of_the_regression():
    muck, at_most = profiles_of([LOAM], om_pct=45.0), profiles_of([LOAM], om_pct=8.0)
    assert np.array_equal(muck.capacity_frac, at_most.capacity_frac)


def test_listed_values_out_of_order_are_put_in_order():
    components, horizons = survey([CLAY])
    horizons["water_third_bar_pct"], horizons["water_saturated_pct"] = 44.0, 42.0
    horizons["water_fifteen_bar_pct"] = 43.0
    profile = profiles(components, horizons)
    least = np.diff(
        [profile.wilting_frac[0, 0], profile.capacity_frac[0, 0], profile.saturation_frac[0, 0]]
    )
    assert (least >= 0.02 - 1e-12).all()


def test_the_deepest_horizon_goes_on_and_bedrock_lets_little_through():
    components, horizons = survey([LOAM])
    horizons["bottom_cm"] = 60.0
    deep = profiles(components, horizons)
    assert deep.capacity_frac[0] == pytest.approx(deep.capacity_frac[0, 0])
    rock = components.assign(restriction_kind="Lithic bedrock", restriction_depth_cm=60.0)
    on_rock = profiles(rock, horizons)
    assert on_rock.ksat_mm_d[0, 4] == pytest.approx(0.1 * 86.4)
    assert on_rock.root_limit_cm[0] == 60.0 and deep.root_limit_cm[0] == at.COLUMN_CM
    change = components.assign(restriction_kind="Abrupt textural change", restriction_depth_cm=43.0)
    assert profiles(change, horizons).root_limit_cm[0] == at.COLUMN_CM  # roots pass it


def test_curve_numbers_by_hydrologic_group_and_drains():
    # NEH 630 table: row crop, contoured, good: A 65, B 75, C 82, D 86.
    profile = profiles_of([LOAM] * 5, hydrologic_group=["A", "B", "C", "D", "B/D"])
    assert profile.curve_number.tolist() == [65, 75, 82, 86, 86]
    assert profile.curve_number_drained.tolist() == [65, 75, 82, 86, 75]
    # Not listed: by the slowest layer of the top metre (here loam 3.9, sand 27, clay 0.2 um/s).
    unlisted = profiles_of([LOAM, SAND, CLAY])
    assert unlisted.curve_number.tolist() == [82, 65, 86]


def test_dry_and_wet_curve_numbers_stay_near_the_printed_ones():
    # NEH 630 table 10-1: II 90, 80, 70, 60, 50 -> I 78, 63, 51, 40, 31 and III 96, 91, 85, 78, 70.
    second = np.array([90.0, 80.0, 70.0, 60.0, 50.0])
    assert dry_curve_number(second) == pytest.approx([78, 63, 51, 40, 31], abs=1.7)
    assert wet_curve_number(second) == pytest.approx([96, 91, 85, 78, 70], abs=1.0)


def test_total_evaporable_water_is_that_of_fao_56():
    components, horizons = survey([LOAM])
    horizons["water_third_bar_pct"], horizons["water_fifteen_bar_pct"] = 23.0, 10.0
    # FAO-56 equation 73: 1000 (0.23 - 0.5 x 0.10) 0.10 = 18 mm.
    assert profiles(components, horizons).total_evaporable_mm[0] == pytest.approx(18.0)


def test_readily_evaporable_water_lies_in_the_ranges_of_fao_56_table_19():
    # Sand 2-7 (our regression at its sandiest 6.8), sandy loam 6-10, loam 8-10, clay 8-12.
    sand, clay = np.array([88.0, 65.0, 40.0, 25.0]), np.array([5.0, 10.0, 20.0, 45.0])
    rew = readily_evaporable_mm(sand, clay, np.full(4, 30.0))
    low, high = np.array([2, 6, 8, 8]), np.array([7, 10, 10, 12])
    assert (rew >= low).all() and (rew <= high).all()
    assert readily_evaporable_mm(np.array([np.nan]), np.array([np.nan]), np.array([20.0]))[0] == 8.0


def test_air_limit_is_a_tenth_and_for_fine_clay_half_the_air_at_field_capacity():
    profile = profiles_of([SAND, CLAY])
    assert profile.air_limit_frac[0] == 0.10
    air = profile.saturation_frac[1, 0] - profile.capacity_frac[1, 0]
    assert profile.air_limit_frac[1] == pytest.approx(air / 2) and air < 0.2


def test_rows_of_the_step():
    profile = profiles_of([LOAM])
    soil = soil_rows(profile, 0)
    assert soil.shape == (at.SOIL_ROWS, at.N_LAYERS)
    thick = np.array([50, 100, 150, 300, 400, 1000])
    assert soil[at.CAPACITY] == pytest.approx(profile.capacity_frac[0] * thick)
    free = soil[at.SATURATION] - soil[at.CAPACITY]
    assert soil[at.SEEP_FRAC] == pytest.approx(1 - np.exp(-profile.ksat_mm_d[0] / free))
    ground = ground_row(profile, 0, 100.0, 0.001)
    assert ground[at.RETENTION_MEAN] == pytest.approx(25400 / 82 - 254)


def test_a_finer_soil_holds_more_and_passes_less():
    profile = profiles_of([SAND, LOAM, CLAY])
    assert (np.diff(profile.wilting_frac[:, 0]) > 0).all()
    assert (np.diff(profile.ksat_mm_d[:, 0]) < 0).all()
    assert saxton_rawls(*SAND, 2.0).ksat_mm_h * 24 == pytest.approx(profile.ksat_mm_d[0, 0])


@pytest.mark.parametrize("folder", ["soil_survey_export", "soil_survey_with_dem"])
def test_real_surveys_give_whole_columns(folder):
    found = read_soil_survey(real(folder))
    profile = profiles(found.components, found.horizons)
    assert profile.known.all()  # every component of both lists its horizons
    assert (profile.wilting_frac < profile.capacity_frac).all()
    assert (profile.capacity_frac < profile.saturation_frac).all()
    assert (profile.estimated_frac < 0.3).all()


def test_field_capacity_is_at_least_what_the_survey_calls_available():
    # A deep sand: 5 % at 1/3 bar, 2 % at 15 bar, yet 0.06 available: counted from 1/10 bar.
    row = {name: [float("nan")] for name in names(HORIZONS)}
    row |= {"cokey": ["a"], "chkey": ["h"], "top_cm": [0.0], "bottom_cm": [200.0]}
    row |= {"water_third_bar_pct": [5.0], "water_fifteen_bar_pct": [2.0], "awc_frac": [0.06]}
    row |= {"water_saturated_pct": [42.0], "ksat_um_s": [100.0]}
    water = horizon_water(pd.DataFrame(row))
    assert water["capacity_frac"].tolist() == pytest.approx([0.08])
