"""All cases of a farm: what is run, for which weeks and gaps, and what is left unknown."""

import engine_farm as ef
import numpy as np
import pandas as pd
import pytest
from soil_columns import survey

from suitability import engine as module
from suitability.case_column import alike, case_columns
from suitability.columns import MONTHS
from suitability.contract import empty
from suitability.crop import load_crop
from suitability.engine import Offset, simulate
from suitability.gap import gap_days
from suitability.outcomes import outcome
from suitability.prepared import prepare
from suitability.sowing_weeks import weeks_in
from suitability.stand_run import AGE_STEP_D, CAUSE, EMERGED_D, KNOWN_D, STAND
from suitability.waterlogging_days import RUN_POOR_D, waterlogging_parameters

CROP = load_crop("sunn_hemp")
GAPS = ((("05-10", "09-20"),), (("06-10", "07-20"), ("07-01", "10-01")))


UNLIKE = ((65.0, 12.0), (88.0, 5.0))  # sand and clay [pct]
ALIKE = ((65.0, 12.0), (65.0, 12.0))


def engine(gaps=GAPS, n_years=3, drop_soil=False, soils=UNLIKE, hole=None, **changed):
    components, horizons = survey(list(soils), hydrologic_group="B")
    components["drainage_class"] = "well"
    if drop_soil:
        horizons.loc[horizons["cokey"] == "1", ["sand_pct", "clay_pct"]] = np.nan
    cases = pd.DataFrame(
        {
            "cokey": ["0", "1"],
            "position": "unplaced",
            "drained": False,
            "weather_id": "w",
            "irrigated_mm_week": 0.0,
        }
    ).assign(**changed)
    lat = pd.Series({"w": 31.0})
    weather = ef.weather(n_years)
    if hole is not None:
        weather.loc[weather["date"].between(*hole), ["tmax_c", "tmin_c", "precip_mm"]] = np.nan
    return prepare(cases, gaps, components, horizons, empty(MONTHS), weather, lat, CROP)


@pytest.fixture(scope="module")
def prepared():
    return engine()


@pytest.fixture(scope="module")
def simulated(prepared):
    return simulate(prepared)


def test_each_case_is_run_for_the_weeks_of_its_own_gaps(simulated):
    weeks = simulated.weeks
    assert weeks[0] == "05-14" and weeks[-1] == "09-24" and len(weeks) == 20
    ran = np.isfinite(simulated.result[..., KNOWN_D]).all(axis=1)
    first = [weeks[i] for i in np.flatnonzero(ran[0])]
    second = [weeks[i] for i in np.flatnonzero(ran[1])]
    assert (first[0], first[-1]) == ("05-14", "09-17")
    assert (second[0], second[-1]) == ("06-11", "09-24")
    assert simulated.years == (2001, 2002, 2003) and simulated.cases["simulated"].all()


def test_stands_are_kept_as_long_as_the_longest_gap_lasts(simulated):
    assert gap_days("05-14", "09-20") == 129
    assert simulated.standing.shape[3] == -(-129 // AGE_STEP_D)


def test_no_stand_is_followed_longer_than_the_crop_file_says():
    long = simulate(engine(((("02-01", "12-20"),), (("02-01", "12-20"),)), n_years=2))
    assert long.standing.shape[3] * AGE_STEP_D == CROP.number("water_use.longest_stand_d")


def test_only_the_weeks_asked_for_are_run_and_come_out_the_same(prepared, simulated):
    only = (frozenset({"06-11"}), frozenset({"07-02", "06-11"}))
    some = simulate(prepared, None, only)
    assert some.weeks == ("06-11", "07-02")
    at = [simulated.weeks.index(w) for w in some.weeks]
    np.testing.assert_array_equal(some.result[1], simulated.result[1][:, at])
    np.testing.assert_array_equal(some.result[0, :, 0], simulated.result[0][:, at[0]])
    assert np.isnan(some.result[0, :, 1]).all(), "not asked for this case"


def test_stands_begun_before_come_out_the_same_shifted_or_not(prepared, simulated):
    only = (frozenset({"06-11"}), frozenset({"07-02", "06-11"}))
    for shift in (None, Offset(soil_temp_c=-1.6, wet_run_d=-1.0)):
        afresh, begun = (simulate(prepared, shift, only, s) for s in (None, simulated))
        np.testing.assert_array_equal(begun.result, afresh.result)
        np.testing.assert_array_equal(begun.standing, afresh.standing)


def test_warmer_soil_comes_up_no_later_and_the_wet_limit_shifts(prepared, simulated):
    warm = simulate(prepared, Offset(soil_temp_c=1.6))
    both = (simulated.result[..., STAND] == 1) & (warm.result[..., STAND] == 1)
    up, then = (s.result[..., EMERGED_D][both] for s in (simulated, warm))
    assert (then <= up).all() and (then < up).any()
    from suitability.engine import _fixed

    poor = waterlogging_parameters(CROP)[RUN_POOR_D]
    assert _fixed(CROP, Offset(wet_run_d=-1.0))[3][RUN_POOR_D] == poor - 1


def test_a_soil_that_is_not_known_is_not_simulated():
    some = simulate(engine(drop_soil=True))
    assert some.cases["simulated"].tolist() == [True, False]
    assert np.isnan(some.result[1]).all() and np.isfinite(some.result[0, ..., STAND]).any()


def test_soils_with_the_same_numbers_are_run_once_each_for_its_own_gaps(monkeypatch):
    both = engine(soils=ALIKE)
    runs = []
    real = module.run_stands
    monkeypatch.setattr(module, "run_stands", lambda *a: (runs.append(1), real(*a))[1])
    once = simulate(both)
    assert runs == [1]
    assert both.boundaries["0", "w"] is both.boundaries["1", "w"]
    season = CROP.number("odds.season_needed_d"), CROP.number("odds.least_dry_matter_kg_ha")
    for number, gaps in enumerate(GAPS):
        # A soil of its own beside one that is unlike: what each gap comes to is the same.
        own = [UNLIKE[1], UNLIKE[1]]
        own[number] = ALIKE[0]
        alone = simulate(engine(soils=own))
        assert alone.weeks == once.weeks
        ran, expected = (np.isfinite(s.result[number, ..., KNOWN_D]) for s in (once, alone))
        np.testing.assert_array_equal(ran, expected)
        for opens, closes in gaps:
            inside = set(weeks_in(opens, closes))
            days = [gap_days(w, closes) if w in inside else np.nan for w in once.weeks]
            close_d = np.array([days], dtype=float)
            case = np.array([number])
            told, apart = (
                outcome(s.result, s.standing, case, close_d, *season) for s in (once, alone)
            )
            for name in told:
                np.testing.assert_array_equal(told[name], apart[name], err_msg=name)


def test_a_hole_that_begins_after_the_gap_has_closed_changes_no_outcome():
    # The longer gap of the soil that is alike asks the run to go on into the hole.
    gaps = ((("05-10", "09-20"),), (("06-10", "10-15"),))
    whole = simulate(engine(gaps, soils=ALIKE))
    cut = simulate(engine(gaps, soils=ALIKE, hole=("2002-09-22", "2002-10-10")))
    inside = set(weeks_in("05-10", "09-20"))
    days = [gap_days(w, "09-20") if w in inside else np.nan for w in whole.weeks]
    season = CROP.number("odds.season_needed_d"), CROP.number("odds.least_dry_matter_kg_ha")
    told, apart = (
        outcome(s.result, s.standing, np.array([0]), np.array([days], dtype=float), *season)
        for s in (whole, cut)
    )
    assert np.isnan(cut.result[0, 1, ..., STAND]).any(), "the hole does cut runs short"
    for name in told:
        # Dry matter is read on a straight line to where the run stopped, a few days sooner.
        near_kg_ha = 10.0 if name.startswith("dry_matter") else 0.0
        np.testing.assert_allclose(told[name], apart[name], 0.0, near_kg_ha, err_msg=name)


def test_weeks_asked_of_one_of_two_like_soils_start_on_the_same_ground():
    both = engine(soils=ALIKE)
    whole = simulate(both)
    only = (frozenset({"05-14"}), frozenset({"09-24"}))  # neither week is in the other's gaps
    afresh, begun = (simulate(both, None, only, s) for s in (None, whole))
    np.testing.assert_array_equal(begun.result, afresh.result)
    ran = np.isfinite(begun.result[..., KNOWN_D]).all(axis=1)
    assert ran.tolist() == [[True, False], [False, True]]


@pytest.mark.parametrize(
    "changed",
    [
        {"position": ["unplaced", "hollow"]},
        {"drained": [False, True]},
        {"irrigated_mm_week": [0.0, 25.0]},
    ],
)
def test_cases_that_differ_in_one_number_are_not_alike(changed):
    assert alike(case_columns(engine(soils=ALIKE))) == [[0, 1]]
    assert alike(case_columns(engine(soils=ALIKE, **changed))) == [[0], [1]]
    # The surface of the ground is the same at these two (tables/ground_positions.csv).
    same = engine(soils=ALIKE, position=["unplaced", "level"])
    assert alike(case_columns(same)) == [[0, 1]]


def test_progress_reaches_the_whole(prepared):
    shares = []
    simulate(prepared, None, (frozenset({"06-11"}),) * 2, progress=shares.append)
    assert shares == [0.5, 1.0]


def test_a_gap_across_new_year_takes_the_next_years_weather():
    over = simulate(engine(((("11-20", "02-20"),), (("11-20", "02-20"),))))
    assert over.weeks[0] == "01-01" and over.weeks[-1] == "12-24"
    late = over.weeks.index("12-03")
    known = over.result[0, :, late, KNOWN_D]
    assert (known[:2] >= gap_days("12-03", "02-20")).all(), "two winters are whole"
    assert known[2] < 31, "the record ends in the third"
    assert (over.result[0, :2, late, CAUSE] == 1).all() or np.isfinite(known[:2]).all()
