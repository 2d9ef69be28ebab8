"""The day of a soil column: printed examples, laws, an independent implementation."""

import json
import os
import subprocess
import sys
import warnings
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from real_data import real
from soil_columns import CLAY, LOAM, SAND, humid_weather, profiles_of, run, survey

from layers.soil_map.reader import read_soil_survey
from suitability import soil_column as at
from suitability.columns import POSITIONS
from suitability.drying import evaporation_reduction, water_stress
from suitability.evapotranspiration import extraterrestrial_mj_m2_d, hargreaves_et0_mm_d
from suitability.ground_position import ground_row
from suitability.profile import profiles, soil_rows
from suitability.runoff import runoff_mm
from suitability.side_by_side import LANES, in_lanes, start_lanes, water_step_lanes
from suitability.soil_water import water_step

RAIN, ET0, _ = humid_weather()
DRY_BELOW = (400.0, 0.1)  # base [cm], conductance [1/d] of freely draining ground


def case(texture=LOAM, base=DRY_BELOW, position="unplaced", drained=False, **of_all):
    profile = profiles_of([texture], **of_all)
    return soil_rows(profile, 0), ground_row(profile, 0, *base, position, drained)


def retention(curve_number):
    return 25400 / curve_number - 254


@pytest.mark.parametrize(
    ("rain_mm", "curve_number", "runoff"),
    [
        # TR-55 table 2-1 in inches (from memory): 4 in on 80, 5 in on 70, 6 in on 75.
        (101.6, 80, 2.04 * 25.4),
        (127.0, 70, 2.04 * 25.4),
        (152.4, 75, 3.28 * 25.4),
        # The equation of NEH 630 chapter 10 by hand.
        (50, 78, 11.86),
        (75, 78, 27.82),
        (100, 78, 46.66),
        (75, 91, 51.49),
        (10, 70, 0.0),  # all of it wets the ground first
    ],
)
def test_runoff_of_printed_curve_numbers(rain_mm, curve_number, runoff):
    assert runoff_mm(rain_mm, retention(curve_number)) == pytest.approx(runoff, abs=0.13)


def test_stress_and_evaporation_reduction_of_fao_56():
    # Equations 82-84: FC 0.32, WP 0.12, roots 0.8 m hold 160 mm; Ks(110, 80, 0.6) = 0.682.
    assert 1000 * (0.32 - 0.12) * 0.8 == pytest.approx(160)
    assert water_stress(80.0, 110.0, 0.6) == pytest.approx(0.682, abs=0.0005)
    assert [water_stress(d, 110.0, 0.6) for d in (0.0, 66.0, 110.0, 120.0)] == [1, 1, 0, 0]
    assert water_stress(0.0, 0.0, 0.6) == 1.0  # nothing grows
    # Equation 74 with TEW 18, REW 8.
    assert [evaporation_reduction(d, 18.0, 8.0) for d in (0, 8, 13, 18, 20)] == [1, 1, 0.5, 0, 0]


def test_wetness_moves_runoff_between_the_dry_and_the_wet_curve_number():
    soil, ground = case(hydrologic_group="B")
    ran = {}
    for name, row in (("dry", at.WILTING), ("wet", at.CAPACITY)):
        state = np.zeros(at.STATE_SIZE)
        at.start_state(state, soil)
        state[: at.N_LAYERS] = soil[row]
        ran[name] = run(soil, ground, [80.0], [0.0], state=state)[0][0, at.RUNOFF_MM]
    storage = ground[at.STORAGE]  # the surface keeps this much of what would run off
    wet, dry = 23 * 75 / (10 + 0.13 * 75), 4.2 * 75 / (10 - 0.058 * 75)
    assert ran["wet"] == pytest.approx(runoff_mm(80.0, retention(wet)) - storage, abs=1e-9)
    assert ran["dry"] == pytest.approx(
        max(0.0, runoff_mm(80.0, retention(dry)) - storage), abs=1e-9
    )


@pytest.mark.parametrize("drained", [False, True])
@pytest.mark.parametrize("position", POSITIONS)
@pytest.mark.parametrize("texture", [SAND, LOAM, CLAY], ids=["sand", "loam", "clay"])
def test_no_water_is_lost_or_made(texture, position, drained):
    for base in (DRY_BELOW, (30.0, 0.003), (-20.0, 0.05)):
        soil, ground = case(texture, base, position, drained)
        state = np.zeros(at.STATE_SIZE)
        at.start_state(state, soil)
        for year in range(3):
            days = slice(365 * year, 365 * (year + 1))
            before = at.stored_mm(state)
            out, state = run(soil, ground, RAIN[days], ET0[days], irrigation_mm=0.5, state=state)
            total = out.sum(axis=0)
            came = RAIN[days].sum() + 365 * 0.5 + total[at.RUN_ON_MM]
            left = total[[at.RUNOFF_MM, at.DRAINAGE_MM, at.EVAPORATION_MM]].sum()
            left += total[at.TRANSPIRATION_MM] + at.stored_mm(state) - before
            assert came - left == pytest.approx(0, abs=1e-6)


def test_water_stays_between_dry_and_saturated():
    for texture in (SAND, LOAM, CLAY):
        soil, ground = case(texture, (20.0, 0.01), "hollow")
        state = np.zeros(at.STATE_SIZE)
        at.start_state(state, soil)
        out = np.zeros(at.OUT_SIZE)
        for day in range(len(RAIN)):
            water_step(state, soil, ground, RAIN[day], 0, 0, ET0[day], 0.8, 0.5, 90, 0.5, out)
            assert (state[: at.N_LAYERS] <= soil[at.SATURATION] + 1e-9).all()
            assert (state[: at.N_LAYERS] >= 0.5 * soil[at.WILTING] - 1e-9).all()
            assert 0 <= state[at.PONDED] <= ground[at.STORAGE]
            assert 0 <= out[at.WATER_STRESS] <= 1 and 0 <= out[at.AERATION_STRESS] <= 1
            assert 0 <= out[at.WATER_TABLE_CM] <= at.COLUMN_CM


def test_saturation_by_hand():
    soil, ground = case(LOAM, (0.0, 0.0), "hollow", hydrologic_group="B")
    state = np.zeros(at.STATE_SIZE)
    at.start_state(state, soil)
    # Filled to the brim, nothing leaves below: one more centimetre of rain stands on top.
    state[: at.N_LAYERS] = soil[at.SATURATION]
    state[at.TABLE] = 0.0
    out, state = run(soil, ground, [10.0], [0.0], plant=(0, 0, 0, 0.5), state=state)
    day = out[0]
    assert day[at.PONDED_MM] == pytest.approx(10.0 + day[at.RUN_ON_MM] - day[at.RUNOFF_MM])
    assert day[at.AIR_FRAC] == pytest.approx(0) and day[at.WATER_TABLE_CM] == 0
    assert day[at.SATURATED] == 1 and day[at.SEED_ZONE_FRAC] > 1


def test_a_table_stands_on_the_bottom_and_a_perched_one_on_a_tight_layer():
    soil, _ = case(LOAM, (at.COLUMN_CM, 0.0))
    state = np.zeros(at.STATE_SIZE)
    at.start_state(state, soil)
    free = soil[at.SATURATION] - soil[at.CAPACITY]
    state[5] = soil[at.SATURATION, 5]
    state[4] += 0.5 * free[4]  # half of 60-100 cm
    assert at.water_tables_cm(tuple(state[:6]), tuple(map(tuple, soil)))[0] == pytest.approx(80)
    state[:] = 0
    at.start_state(state, soil)
    state[2], state[1] = soil[at.SATURATION, 2], state[1] + 0.25 * free[1]
    joined, shallowest = at.water_tables_cm(tuple(state[:6]), tuple(map(tuple, soil)))
    assert (joined, shallowest) == (200.0, pytest.approx(12.5))


def test_a_table_falls_towards_its_base_and_rises_towards_it_from_below():
    soil, ground = case(LOAM, (100.0, 0.01))
    for start_full in (True, False):
        state = np.zeros(at.STATE_SIZE)
        at.start_state(state, soil)
        if start_full:
            state[: at.N_LAYERS] = soil[at.SATURATION]
            state[at.TABLE] = 0.0
        out, _ = run(soil, ground, np.zeros(900), np.zeros(900), (0, 0, 0, 0.5), state=state)
        table_cm = out[:, at.WATER_TABLE_CM]
        assert table_cm[-1] == pytest.approx(100, abs=3)
        steps = np.diff(table_cm[5:])
        assert (steps >= -1e-9).all() if start_full else (steps <= 1e-9).all()


def test_wetter_positions_are_wetter_in_order():
    wet_days, topsoil = [], []
    for position in ("shedding", "level", "gathering", "hollow"):
        soil, ground = case(LOAM, (40.0, 0.003), position, hydrologic_group="C")
        out, _ = run(soil, ground, RAIN, ET0)
        wet_days.append(out[365:, at.SATURATED].sum())
        topsoil.append(out[365:, at.AIR_FRAC].mean())
    assert (np.diff(wet_days) >= 0).all() and wet_days[-1] > wet_days[0]
    assert (np.diff(topsoil) <= 0).all()


def test_drains_lower_the_table_and_the_days_of_saturation():
    for texture in (SAND, LOAM, CLAY):
        wet = [
            run(*case(texture, (10.0, 0.003), drained=drained), RAIN, ET0)[0][365:]
            for drained in (False, True)
        ]
        assert wet[1][:, at.SATURATED].sum() < wet[0][:, at.SATURATED].sum()
        assert wet[1][:, at.WATER_TABLE_CM].mean() > wet[0][:, at.WATER_TABLE_CM].mean()


def test_more_rain_is_never_drier_and_irrigation_never_runs_off_dry_ground():
    soil, ground = case(LOAM)
    less, _ = run(soil, ground, RAIN, ET0)
    more, _ = run(soil, ground, 1.3 * RAIN, ET0)
    assert more[:, at.DEPLETION_MM].mean() < less[:, at.DEPLETION_MM].mean()
    given, _ = run(soil, ground, np.zeros(60), np.full(60, 6.0), irrigation_mm=4.0)
    assert given[:, at.RUNOFF_MM].sum() == 0


def test_missing_weather_makes_the_day_unknown_and_leaves_the_ground():
    soil, ground = case()
    for gap in ((np.nan, 4.0), (3.0, np.nan)):
        state = np.zeros(at.STATE_SIZE)
        at.start_state(state, soil)
        before = state.copy()
        out = np.zeros(at.OUT_SIZE)
        water_step(state, soil, ground, gap[0], 0.0, 0.0, gap[1], 0.8, 0.8, 60.0, 0.5, out)
        assert np.isnan(out).all() and np.array_equal(state, before)


def test_columns_side_by_side_are_the_same_columns():
    textures = [SAND, LOAM, CLAY, (65.0, 10.0)]
    profile = profiles_of(textures)
    soils = [soil_rows(profile, i) for i in range(4)]
    grounds = [ground_row(profile, i, 30.0 * i, 0.004, POSITIONS[i + 1]) for i in range(4)]
    soil, ground = in_lanes(soils), in_lanes(grounds)
    state, out = start_lanes(soil, at.STATE_SIZE), np.zeros(at.OUT_SIZE * LANES)
    plant = [np.full(LANES, v) for v in (0.8, 0.8, 60.0)]
    for day in range(365):
        sky = np.full(LANES, RAIN[day]), np.full(LANES, ET0[day])
        water_step_lanes(state, soil, ground, sky[0], 0.0, 0.0, sky[1], *plant, 0.5, out)
    for i in range(4):
        days, last = run(soils[i], grounds[i], RAIN[:365], ET0[:365])
        assert state.reshape(-1, LANES)[:, i] == pytest.approx(last, abs=1e-9)
        assert out.reshape(-1, LANES)[:, i] == pytest.approx(days[-1], abs=1e-9)


def _two_years():
    out, state = run(*case(CLAY, (20.0, 0.004), "gathering"), RAIN[:730], ET0[:730])
    return [*out.sum(axis=0).tolist(), *out[-1].tolist(), *state.tolist()]


def test_compiled_equals_uncompiled():
    code = (
        "import sys, json; sys.path.append(sys.argv[1]); sys.path.append(sys.argv[2])\n"
        "import suitability, layers, test_soil_water as t; print(json.dumps(t._two_years()))"
    )
    here = Path(__file__).parent
    told = subprocess.run(
        [sys.executable, "-c", code, str(here), str(here.parent)],
        env={**os.environ, "NUMBA_DISABLE_JIT": "1"},
        capture_output=True,
        text=True,
        check=True,
        cwd=here.parents[1],
    )
    assert json.loads(told.stdout) == pytest.approx(_two_years(), abs=1e-9)


def _reference(rain, et0, cover_kcb):
    """A season by pyfao56 (package registry), the same soil, roots and ET0; no runoff."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # its pandas calls
        import pyfao56

        plant = dict(Kcbini=cover_kcb[0], Kcbmid=cover_kcb[1], Kcbend=cover_kcb[1])
        par = pyfao56.Parameters(
            **plant, Lini=20, Ldev=30, Lmid=80, Lend=10, hini=0.001, hmax=0.001, thetaFC=0.28,
            thetaWP=0.137, theta0=0.28, Zrini=0.6, Zrmax=0.6, pbase=0.45, Ze=0.1, REW=9.0,
        )  # fmt: skip
        sky = pyfao56.Weather()
        dates = pd.date_range("2001-05-01", periods=len(rain))
        sky.wdata = pd.DataFrame(
            dict(
                Srad=np.nan, Tmax=np.nan, Tmin=np.nan, Vapr=np.nan, Tdew=np.nan, RHmax=np.nan,
                RHmin=45.0, Wndsp=2.0, Rain=rain, ETref=et0, MorP="M",
            ),
            index=dates.strftime("%Y-%j"),
        )  # fmt: skip
        sky.wndht = 2.0
        model = pyfao56.Model(dates[0].strftime("%Y-%j"), dates[-1].strftime("%Y-%j"), par, sky)
        model.run()
    return model.odata.astype(float, errors="ignore")


def test_a_season_agrees_with_an_independent_fao_56():
    # The same definitions apply: dual coefficients, Ze 0.10 m, one root depth, no runoff, free
    # drainage. They differ in the order within a day (Kr and Ks of the evening before there, after
    # the day's rain here) and here water leaves by layers, so days differ and sums agree.
    days = slice(120, 260)
    rain, et0 = RAIN[days] * 0.5, ET0[days] + 1.0
    rain[0] = 60.0  # both start wet
    theirs = _reference(rain, et0, (0.15, 1.05))
    components, horizons = survey([LOAM])
    horizons["water_third_bar_pct"], horizons["water_fifteen_bar_pct"] = 28.0, 13.7
    profile = profiles(components, horizons)
    soil, ground = soil_rows(profile, 0), ground_row(profile, 0, *DRY_BELOW)
    ground[: at.RETENTION_FULL + 1] = 1e9  # no runoff
    ground[at.READILY_EVAPORABLE] = 9.0
    state = np.zeros(at.STATE_SIZE)
    at.start_state(state, soil)
    out = np.zeros((len(rain), at.OUT_SIZE))
    for day in range(len(rain)):
        kcb, cover = float(theirs["Kcb"].iloc[day]), float(theirs["fc"].iloc[day])
        water_step(
            state, soil, ground, rain[day], 0.0, 0.0, et0[day], kcb, cover, 60.0, 0.45, out[day]
        )
    ours = pd.DataFrame(
        {
            "E": out[:, at.EVAPORATION_MM],
            "T": out[:, at.TRANSPIRATION_MM],
            "Dr": out[:, at.DEPLETION_MM],
        }
    )
    assert ours["T"].sum() == pytest.approx(theirs["T"].sum(), rel=0.03)
    assert ours["E"].sum() == pytest.approx(theirs["E"].sum(), rel=0.10)
    apart = (ours["Dr"] - theirs["Dr"].to_numpy(dtype=float)).abs()
    assert theirs["Dr"].max() > 60  # the season dries out
    assert apart.mean() < 2  # of 86 mm that the root zone holds


@pytest.mark.parametrize("station", ["KY_Versailles_3_NNW", "NC_Asheville_8_SSW"])
def test_simulated_topsoil_dries_and_wets_as_measured(station):
    # Public-domain station record 2020 under grass; a generic loam, nothing fitted to it.
    days = pd.read_csv(real("soil_temperature", "stations_2020.csv"), parse_dates=["date"])
    days = days[days["station"] == station].sort_values("date")
    ra = extraterrestrial_mj_m2_d(float(days["lat"].iloc[0]), days["date"].dt.day_of_year)
    et0 = hargreaves_et0_mm_d(days["tmax_c"], days["tmin_c"], ra)
    rain = days["precip_mm"].to_numpy(dtype=float)
    whole = ~np.isnan(rain + et0)
    last = np.flatnonzero(~whole)[0] if not whole.all() else len(whole)
    soil, ground = case(LOAM)
    out, _ = run(soil, ground, rain[:last], et0[:last])
    seed = pd.Series(out[60:, at.SEED_ZONE_FRAC])
    measured = pd.Series(days["soil_moisture_5cm"].to_numpy(dtype=float)[60:last])
    assert measured.notna().sum() >= 30
    assert seed.corr(measured, method="spearman") > 0.6


def test_real_columns_keep_their_water():
    found = read_soil_survey(real("soil_survey_export"))
    profile = profiles(found.components, found.horizons)
    for row in range(len(profile.cokeys)):
        soil = soil_rows(profile, row)
        for position in POSITIONS:
            ground = ground_row(profile, row, 50.0, 0.002, position)
            out, state = run(soil, ground, RAIN, ET0)
            total = out.sum(axis=0)
            came = RAIN.sum() + total[at.RUN_ON_MM] + soil[at.CAPACITY].sum()
            left = total[[at.RUNOFF_MM, at.DRAINAGE_MM, at.EVAPORATION_MM]].sum()
            left += total[at.TRANSPIRATION_MM] + at.stored_mm(state)
            assert came - left == pytest.approx(0, abs=3e-6)
