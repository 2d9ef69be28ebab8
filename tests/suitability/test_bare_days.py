"""The empty field's runoff and water table, and a pond that lives on them."""

import numpy as np
import pytest
from soil_columns import CLAY, LOAM, SAND, humid_weather, profiles_of, run

from suitability import soil_column as at
from suitability.bare_days import bare_days
from suitability.crop import crop_names, load_crop
from suitability.ground_position import ground_row
from suitability.ponds import PondCurves, pond_days
from suitability.profile import soil_rows

RAIN, ET0, _ = humid_weather()
CROP = load_crop(crop_names()[0])
FALLOW = [
    CROP.number(f"water_use.{name}")
    for name in ("fallow_kc", "fallow_cover_frac", "fallow_root_cm", "depletion_frac")
]


def column(texture, base=(400.0, 0.1)):
    profile = profiles_of([texture])
    ground = ground_row(profile, 0, *base, "unplaced", False)
    return np.full(len(RAIN), ground[at.BASE_CM]), soil_rows(profile, 0), ground


def test_the_days_are_those_of_the_column_after_a_year_to_settle():
    base_cm, soil, ground = column(LOAM)
    days = bare_days(RAIN, ET0, base_cm, soil, ground, CROP)
    _, settled = run(soil, ground, RAIN[:365], ET0[:365], plant=FALLOW)
    out, _ = run(soil, ground, RAIN, ET0, plant=FALLOW, state=settled)
    assert days.runoff_mm.tolist() == out[:, at.RUNOFF_MM].tolist()
    assert days.water_table_cm.tolist() == out[:, at.WATER_TABLE_CM].tolist()


def test_clay_sheds_more_than_sand():
    shed = [bare_days(RAIN, ET0, *column(t), CROP).runoff_mm.sum() for t in (CLAY, LOAM, SAND)]
    assert shed[0] > shed[1] >= shed[2] and 0 < shed[0] < RAIN.sum()


def test_a_day_without_weather_is_not_known():
    rain = RAIN.copy()
    rain[700] = np.nan
    days = bare_days(rain, ET0, *column(LOAM), CROP)
    assert np.isnan(days.runoff_mm[700]) and np.isnan(days.water_table_cm[700])
    assert np.isfinite(days.runoff_mm[701])


@pytest.mark.parametrize("texture", [CLAY, SAND])
def test_a_hollow_in_clay_ponds_and_one_in_sand_does_not(texture):
    days = bare_days(RAIN, ET0, *column(texture), CROP)
    ksat_mm_d = 5000.0 if texture is SAND else 5.0
    level = np.linspace(0.0, 0.4, 5)[None, :]
    hollow = PondCurves(np.array([-1]), np.array([-1]), level, 0 * level + 1000, level * 1000)
    pond = pond_days(hollow, [2.0], days.runoff_mm, RAIN, ET0, ksat_mm_d, days.water_table_cm)
    wet_days = int((pond.level_m[0] > 0).sum())
    assert (wet_days > 30) == (texture is CLAY)
    came = pond.inflow_m3 + pond.rain_m3 + pond.fed_m3
    went = pond.evaporated_m3 + pond.infiltrated_m3 + pond.left_m3 + pond.stored_m3
    assert came == pytest.approx(went, abs=1e-6)
