"""Soil temperature: conduction against its analytic answer, laws, gaps, and measured stations."""

import os
import runpy
import subprocess
import sys
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from real_data import real

from suitability.crop import load_crop
from suitability.errors import InputError
from suitability.evapotranspiration import extraterrestrial_mj_m2_d
from suitability.published import table
from suitability.soil_heat import (
    N_STATE,
    SoilHeat,
    conduction_step,
    soil_heat,
    soil_temperature_step,
    sol_air_step,
    temperature_at_depth,
)
from suitability.soil_temperature import soil_temperature_c, surface_wetness
from suitability.warm_soil import warm_rule

BENCH = Path(__file__).parents[1] / "bench"
N = 730
DOY = np.arange(N) % 365 + 1
LAT = 32.5


def weather(n=N, seed=3):
    """Two made-up years of a warm place: a yearly wave, changing days, rain one day in four."""
    rng = np.random.default_rng(seed)
    mean = 18 - 10 * np.cos(2 * np.pi * (np.arange(n) - 20) / 365) + rng.normal(0, 3, n)
    spread = rng.uniform(4, 16, n)
    rain = np.where(rng.random(n) < 0.25, rng.exponential(12, n), 0.0)
    return mean + spread / 2, mean - spread / 2, rain


TMAX, TMIN, RAIN = weather()


def soil(depth=5.0, **changed):
    given = {"tmax_c": TMAX, "tmin_c": TMIN, "precip_mm": RAIN, "doy": DOY, "lat_deg": LAT}
    return soil_temperature_c(**(given | changed), depth_cm=depth)


# ---- conduction ------------------------------------------------------------------------------


def test_a_steady_surface_warms_the_whole_ground_to_it():
    heat, state = soil_heat(), np.full(N_STATE, 5.0)
    for _ in range(365 * 60):
        conduction_step(state, 20.0, heat.surface(), heat.layers())
    assert state == pytest.approx(np.full(N_STATE, 20.0), abs=0.01)


def test_one_day_keeps_the_heat_it_is_given():
    # What the layers gain in a day is what passes the sod, by the surface temperature it ends on.
    heat, state = soil_heat(), np.full(N_STATE, 10.0)
    conduction_step(state, 30.0, heat.surface(), heat.layers())
    thick_m = np.array([0.03, 0.04, 0.08, 0.15, 0.3, 0.6, 1.2, 2.4])
    gained = (thick_m * heat.capacity_mj_m3_k * (state[1:] - 10.0)).sum()
    passed = heat.ground_w_m2_k * (30.0 - state[0]) * 86400 / 1e6
    assert gained == pytest.approx(passed, rel=1e-9)


def test_the_yearly_wave_fades_and_lags_with_depth_as_the_printed_solution():
    # Hillel: T(z, t) = Tm + A exp(-z/d) sin(wt - z/d); yearly d = 2.24 m at 5e-7 m2/s. From 5 to
    # 50 cm the wave keeps exp(-0.45/2.24) = 0.818 and comes 0.45/2.24 rad = 11.7 days later. The
    # ground of the step ends at 4.8 m and has thick layers, so a little is allowed.
    heat = soil_heat()
    assert heat.conductivity_w_m_k / heat.capacity_mj_m3_k / 1e6 == pytest.approx(5e-7)
    state, days = np.full(N_STATE, 15.0), np.arange(365 * 12)
    waves = np.empty((len(days), 2))
    for i, day in enumerate(days):
        sol_air_c = 15 + 10 * np.sin(2 * np.pi * day / 365)
        conduction_step(state, sol_air_c, heat.surface(), heat.layers())
        waves[i] = [temperature_at_depth(state, z, heat.layers()) for z in (5.0, 50.0)]
    last = waves[-365:] - waves[-365:].mean(axis=0)
    shallow, deep = np.fft.rfft(last, axis=0)[1]
    assert abs(deep) / abs(shallow) == pytest.approx(0.818, abs=0.02)
    assert -np.angle(deep / shallow) * 365 / (2 * np.pi) == pytest.approx(11.7, abs=1.5)


def test_sol_air_by_hand():
    # No cover, dry: air 25 + (0.43 Rs - Rnl) x 11.574 / 16 / 0.6, Ra 40, range 10 degC:
    # Rs = 0.16 x 3.162 x 40 = 20.24; vapour 2.338 kPa; Rnl = 38.81 x (0.34 - 0.2141) x
    # (1.35 x 0.6747 - 0.35) = 2.740 MJ; (8.703 - 2.740) x 0.7234 / 0.6 = 7.19.
    heat = SoilHeat(0.43, 0.32, 16.0, 3.1, 1.1, 2.2, 0.4, 25.0).surface()
    assert sol_air_step(30.0, 20.0, 40.0, 0.0, 0.0, heat) == pytest.approx(25 + 7.19, abs=0.01)
    assert sol_air_step(30.0, 20.0, 40.0, 0.0, 1.0, heat) == 25.0


def test_depths_lie_on_straight_lines_between_middles():
    layers = soil_heat().layers()
    state = np.arange(N_STATE, dtype=float)
    assert layers[:3, 0] == pytest.approx([1.5, 5.0, 11.0])
    assert temperature_at_depth(state, 0.0, layers) == 0.0
    assert temperature_at_depth(state, 1.5, layers) == 1.0
    assert temperature_at_depth(state, 5.0, layers) == 2.0
    assert temperature_at_depth(state, 8.0, layers) == 2.5
    assert temperature_at_depth(state, 1e4, layers) == N_STATE - 1


# ---- laws ------------------------------------------------------------------------------------


def test_deeper_is_smoother_and_later():
    top, low = soil(1.5), soil(50.0)
    assert np.diff(low).std() < np.diff(soil(10.0)).std() < np.diff(top).std()
    yearly = [np.fft.rfft(series[-365:])[1] for series in (top, low)]
    assert abs(yearly[1]) < abs(yearly[0])
    assert np.angle(yearly[1] / yearly[0]) < 0  # a later wave has the smaller angle


def test_wetter_is_cooler_and_cover_brings_it_to_the_air():
    summer = slice(150, 240)
    dry, wet = soil(wetness_frac=0.0)[summer], soil(wetness_frac=1.0)[summer]
    assert (dry > wet).all()
    bare, grass, shaded = (soil(cover_frac=c)[summer].mean() for c in (0.0, 0.4, 1.0))
    assert bare > grass > shaded
    whole_year = soil(cover_frac=1.0)[-365:].mean()
    assert whole_year == pytest.approx(((TMAX + TMIN) / 2)[-365:].mean(), abs=0.3)


def test_warmer_air_gives_warmer_soil_on_every_day():
    assert (soil(tmax_c=TMAX + 1, tmin_c=TMIN + 1) > soil()).all()


def test_rain_keeps_the_surface_wet_and_sun_dries_it():
    ra = np.full(6, 35.0)
    rain = np.array([50.0, 0, 0, np.nan, 0, 0])
    wet = surface_wetness(np.full(6, 30.0), np.full(6, 18.0), rain, ra, 25.0)
    # ET0 = 0.0023 x 41.8 x 3.464 x 0.408 x 35 = 4.756 mm; each dry day keeps exp(-4.756/25).
    keep = np.exp(-4.756 / 25)
    assert wet == pytest.approx([keep, keep**2, keep**3, keep**3, keep**4, keep**5], rel=1e-3)


# ---- gaps and faults -------------------------------------------------------------------------


def test_a_short_gap_is_empty_and_no_longer():
    tmax = TMAX.copy()
    tmax[400:403] = np.nan
    told = soil(tmax_c=tmax)
    assert np.flatnonzero(np.isnan(told)).tolist() == [400, 401, 402]
    assert told[410:] == pytest.approx(soil()[410:], abs=1.0)


def test_a_long_gap_is_empty_until_as_many_days_are_known_again():
    tmin = TMIN.copy()
    tmin[400:412] = np.nan
    assert np.flatnonzero(np.isnan(soil(tmin_c=tmin))).tolist() == list(range(400, 424))
    tmin[300:400] = np.nan
    assert np.flatnonzero(np.isnan(soil(tmin_c=tmin))).tolist() == list(range(300, 442))


def test_swapped_highs_and_lows_count_as_missing():
    tmax = TMAX.copy()
    tmax[50] = TMIN[50] - 1
    assert np.flatnonzero(np.isnan(soil(tmax_c=tmax))).tolist() == [50]


def test_missing_rain_leaves_no_day_out():
    assert not np.isnan(soil(precip_mm=np.full(N, np.nan))).any()


def test_a_short_record_settles_first_and_an_empty_one_knows_nothing():
    half = slice(0, 180)
    told = soil(tmax_c=TMAX[half], tmin_c=TMIN[half], precip_mm=RAIN[half], doy=DOY[half])
    assert np.isnan(told[:60]).all() and not np.isnan(told[60:]).any()
    assert np.isnan(soil(tmax_c=np.full(N, np.nan))).all()
    assert len(soil_temperature_c([], [], [], [], LAT, 5.0)) == 0


def test_all_faults_are_told_at_once():
    doy = DOY.copy()
    doy[10:] += 1
    doy[doy > 365] -= 365
    with pytest.raises(InputError) as told:
        soil_temperature_c(TMAX, TMIN, RAIN, doy, 95.0, 300.0, cover_frac=40.0)
    for words in (
        "day 12 follows day 10: give a row to every day",
        "latitude 95 deg is outside -66 to 66",
        "depth 300 cm is outside 0 to 100",
        "cover_frac must be 0 to 1",
    ):
        assert words in str(told.value)
    with pytest.raises(InputError, match="of one length"):
        soil_temperature_c(TMAX[:5], TMIN, RAIN, DOY, LAT, 5.0)


# ---- the step --------------------------------------------------------------------------------


def test_the_step_moves_as_the_series_and_ignores_an_unknown_day():
    heat = soil_heat()
    surface, layers = heat.surface(), heat.layers()
    ra = extraterrestrial_mj_m2_d(LAT, DOY)
    wet = surface_wetness(TMAX, TMIN, RAIN, ra, heat.evaporable_mm)
    state, stepped = np.full(N_STATE, 18.0), np.empty((N, 2))
    for i in range(N):
        given = (TMAX[i], TMIN[i], ra[i], wet[i], heat.reference_cover_frac)
        stepped[i, 0] = soil_temperature_step(state, *given, 1.5, surface, layers)
        stepped[i, 1] = temperature_at_depth(state, 5.0, layers)
    # After 500 days nothing but the deep start is left between them.
    assert stepped[500:, 0] == pytest.approx(soil(1.5)[500:], abs=0.1)
    assert stepped[500:, 1] == pytest.approx(soil(5.0)[500:], abs=0.1)
    before = state.copy()
    assert np.isnan(soil_temperature_step(state, np.nan, 1.0, 30.0, 0.5, 0.4, 5.0, surface, layers))
    assert (state == before).all()


def test_plain_python_gives_what_compiled_code_gives(tmp_path):
    np.save(tmp_path / "in.npy", np.vstack([TMAX, TMIN, RAIN, DOY]))
    code = (
        "import sys, numpy as np; from pathlib import Path\n"
        "from suitability.soil_temperature import soil_temperature_c, surface_wetness\n"
        "assert not hasattr(surface_wetness, 'py_func')\n"
        "folder = Path(sys.argv[1]); v = np.load(folder / 'in.npy')\n"
        f"np.save(folder / 'out.npy', soil_temperature_c(*v, {LAT}, 5.0))\n"
    )
    subprocess.run(
        [sys.executable, "-c", code, str(tmp_path)],
        check=True,
        env=os.environ | {"NUMBA_DISABLE_JIT": "1"},
    )
    assert hasattr(surface_wetness, "py_func")
    assert np.load(tmp_path / "out.npy") == pytest.approx(soil(), abs=1e-9)


def test_every_coefficient_names_its_basis_and_source():
    rows = table("soil_heat").set_index("coefficient")
    assert sorted(rows.index) == sorted(SoilHeat.__dataclass_fields__)
    assert set(rows["basis"]) <= {"published", "computed", "judgement"}
    assert rows["source"].str.len().gt(5).all()


# ---- measured stations -----------------------------------------------------------------------


@pytest.fixture(scope="module")
def stations():
    path = real("soil_temperature", "stations_2020.csv")
    sys.path.insert(0, str(BENCH))
    try:
        fit = runpy.run_path(str(BENCH / "soil_heat_fit.py"))
    finally:
        sys.path.remove(str(BENCH))
    return pd.read_csv(path, parse_dates=["date"]), fit


def test_stations_unseen_by_the_fit_are_met(stations):
    data, fit = stations
    told = fit["held_out"](data, fit["region"](data))
    reached = fit["scores"](told, data, warm_rule(load_crop("sunn_hemp")))
    assert reached["stations"] == 18
    assert reached["median_station_rmse_c"] <= 1.6
    assert reached["warm_date_count"] >= 15
    assert reached["warm_date_measured_but_not_computed"] == 0
    assert reached["warm_date_median_abs_error_d"] <= 5


def test_the_table_holds_what_the_fit_gives(stations):
    data, fit = stations
    found, kept = fit["fitted"](data), soil_heat()
    assert kept.absorbed_frac == pytest.approx(found.absorbed_frac, abs=0.01)
    assert kept.evaporated_frac == pytest.approx(found.evaporated_frac, abs=0.01)
    assert kept.air_w_m2_k == pytest.approx(found.air_w_m2_k, abs=0.2)
    assert kept.ground_w_m2_k == pytest.approx(found.ground_w_m2_k, abs=0.1)


@pytest.mark.parametrize(("depth_cm", "most_c"), [(10, 1.3), (20, 1.3), (50, 1.5), (100, 1.6)])
def test_depths_never_fitted_are_met_too(stations, depth_cm, most_c):
    data, _ = stations
    off = []
    for _, rows in data.groupby("station"):
        told = soil_temperature_c(
            rows["tmax_c"],
            rows["tmin_c"],
            rows["precip_mm"],
            rows["date"].dt.day_of_year,
            rows["lat"].iloc[0],
            depth_cm,
        )
        error = (told - rows[f"soil_temp_{depth_cm}cm_c"])[rows["date"].dt.month.between(3, 6)]
        off.append(np.sqrt((error**2).mean()))
    assert np.nanmedian(off) <= most_c


def test_the_bench_reads_weather_alone(stations, tmp_path):
    data, _ = stations
    data = data[data["station"].isin(["KY_Versailles_3_NNW", "VA_Cape_Charles_5_ENE"])]
    weather_only = ["station", "lat", "lon", "date", "tmax_c", "tmin_c", "precip_mm"]
    told = []
    for name, columns in (("full", list(data)), ("bare", weather_only)):
        data[columns].to_csv(tmp_path / f"{name}.csv", index=False)
        subprocess.run(
            [
                sys.executable,
                str(BENCH / "soil_temperature.py"),
                "--stations",
                str(tmp_path / f"{name}.csv"),
                "--predictions",
                str(tmp_path / f"{name}_out.csv"),
            ],
            check=True,
            capture_output=True,
        )
        told.append((tmp_path / f"{name}_out.csv").read_text())
    assert told[0] == told[1]
    assert told[0].startswith("station,date,soil_temp_5cm_c\n")
