"""Growth against hand-worked days, laws, and published trials run on real weather.

Which trials set the parameters and which only test them is said above each group. Runs are rainfed,
on one bucket of soil water that starts full; the soils of the trials are not known, so the likely
texture is assumed and named.
"""

from itertools import pairwise

import numpy as np
import pandas as pd
import pytest
from growing_seasons import ALABAMA, GEORGIA, OKLAHOMA, north_florida, season, station, tennessee

from suitability import growth as g
from suitability.crop import load_crop

CROP = load_crop("sunn_hemp")
P = g.growth_parameters(CROP)


def grow(days=60, tmax=32.0, tmin=22.0, sun=22.0, water=1.0, air=1.0, emerged=1.0):
    state = np.zeros(g.STATE_SIZE)
    g.emerge(state, emerged, P)
    out = [state.copy()]
    for _ in range(days):
        g.growth_step(state, tmax, tmin, sun, water, air, P)
        out.append(state.copy())
    return np.array(out)


def tonnes(states, day):
    return float(states[day - 1, g.DRY_MATTER]) / 1000


def test_each_parameter_sits_at_its_index():
    indices = (
        *(g.BASE_C, g.FULL_LOW_C, g.FULL_HIGH_C, g.CEILING_C, g.START_KG_HA, g.LIGHT_USE),
        *(g.EXTINCTION, g.LEAF_AREA_M2_KG, g.LEAF_MOST, g.LEAF_AT_1_T, g.LEAF_POWER),
        *(g.FULL_VIGOUR_CD, g.OLD_CD, g.OLD_VIGOUR),
        *(g.HEIGHT_AT_1_T_M, g.HEIGHT_POWER, g.HEIGHT_MOST_M),
        *(g.LEAF_NITROGEN_PCT, g.STEM_NITROGEN_PCT),
        *(g.LEAF_DIGESTIBLE_PCT, g.STEM_DIGESTIBLE_PCT),
        *(g.ROOT_START_CM, g.ROOT_GROWTH_CM_D, g.ROOT_MOST_CM),
    )
    assert indices == tuple(range(len(P)))
    for name, value in zip(g.PARAMETERS, P, strict=True):
        assert value == CROP.number(f"growth.{name}")
    assert g.PARAMETERS[g.LIGHT_USE] == "light_use_g_mj"
    assert g.PARAMETERS[g.STEM_NITROGEN_PCT] == "stem_nitrogen_pct"
    assert g.PARAMETERS[g.HEIGHT_MOST_M] == "height_most_m"


def test_the_first_day_by_hand():
    # 30 kg/ha, 60 pct leaf: 0.0018 kg/m2 x 24 m2/kg = 0.0432; cover 1 - exp(-0.6 x 0.0432) =
    # 0.025587; 20 MJ x 1.05 g/MJ x 0.025587 = 0.53733 g/m2 = 5.3733 kg/ha at 27 C, no stress.
    before, after = grow(1, 32.0, 22.0, 20.0)
    assert before[g.LEAF_AREA] == pytest.approx(0.0432)
    assert before[g.COVER] == pytest.approx(0.025587, abs=1e-6)
    assert after[g.DRY_MATTER] == pytest.approx(35.3733, abs=1e-3)
    assert after[g.THERMAL] == 17.0 and after[g.DAYS] == 1
    assert after[g.ROOT] == pytest.approx(6.5)
    assert after[g.NITROGEN_PCT] == pytest.approx(0.6 * 3.96 + 0.4 * 0.88)
    assert after[g.PROTEIN_PCT] == pytest.approx(6.25 * 2.728)
    assert after[g.NITROGEN] == pytest.approx(35.3733 * 0.02728, abs=1e-4)


@pytest.mark.parametrize(
    ("mean", "frac"), [(10, 0), (16.5, 0.5), (23, 1), (32, 1), (37, 0.5), (42, 0), (5, 0), (50, 0)]
)
def test_warmth(mean, frac):
    assert g.warmth_frac(float(mean), P) == pytest.approx(frac)


def test_vigour_falls_with_age_to_its_least():
    # Full to 900 degree-days, a fifth from 2000: half-way down, 1450, 0.6.
    for thermal, frac in ((0.0, 1.0), (900.0, 1.0), (1450.0, 0.6), (2000.0, 0.2), (5000.0, 0.2)):
        assert g.vigour_frac(thermal, P) == pytest.approx(frac)


def test_more_stress_never_more_dry_matter():
    for kind in ("water", "air", "emerged"):
        ends = [grow(**{kind: s})[-1, g.DRY_MATTER] for s in np.linspace(0.05, 1, 20)]
        assert all(a < b for a, b in pairwise(ends)), kind
    assert grow(water=0.0)[-1, g.DRY_MATTER] == P[g.START_KG_HA]
    one_bad_week = grow(20)[-1].copy()
    spared = one_bad_week.copy()
    for day in range(60):
        g.growth_step(one_bad_week, 32.0, 22.0, 22.0, 0.3 if day < 7 else 1.0, 1.0, P)
        g.growth_step(spared, 32.0, 22.0, 22.0, 1.0, 1.0, P)
    assert one_bad_week[g.DRY_MATTER] < spared[g.DRY_MATTER]


def test_as_it_grows_it_gets_taller_stemmier_and_poorer():
    states = grow(110)
    for index in (g.DRY_MATTER, g.COVER, g.HEIGHT, g.STEM, g.NITROGEN, g.ROOT):
        assert (np.diff(states[:, index]) >= 0).all()
    for index in (g.NITROGEN_PCT, g.PROTEIN_PCT, g.DIGESTIBLE_PCT):
        assert (np.diff(states[:, index]) <= 0).all()
    assert states[-1, g.COVER] < 1 and states[-1, g.HEIGHT] <= P[g.HEIGHT_MOST_M]
    assert states[-1, g.ROOT] == P[g.ROOT_MOST_CM]


# ---- published, and used to set the parameters: agreement is calibration, not proof -----------


def test_georgia_highest_at_120_days():
    # Schomberg et al. 2007, Agron. J. 99:1448: sown mid-April to mid-July, to 120 d, highest
    # 8.9-13.0 Mg/ha, N 135-285 kg/ha. Two stations of 2020, the better soil.
    runs = [
        season(station(name), f"2020-{sown}", 120)
        for name in GEORGIA
        for sown in ("04-15", "05-01", "05-15", "06-01", "06-15", "07-01", "07-15")
    ]
    best = max(runs, key=lambda s: tonnes(s, 120))
    assert 8.9 <= tonnes(best, 120) <= 13.0
    assert 135 <= best[-1, g.NITROGEN] <= 285


def test_georgia_loses_by_delay_after_the_best_week():
    ends = [tonnes(season(station(GEORGIA[0]), f"2020-{s}", 120), 120) for s in _JUNE_ON]
    assert all(b < a for a, b in pairwise(ends))


_JUNE_ON = ("06-08", "06-22", "07-06", "07-20", "08-03")


def test_north_florida_summer():
    # UF/IFAS Extension ENY-717: 5.4 Mg/ha in summer; its days are not stated. Ours passes 5.4
    # between 60 and 75 days in the middle year.
    runs = _florida()
    middle = {d: np.median([tonnes(s, d) for s in runs]) for d in (60, 75)}
    assert middle[60] < 5.4 < middle[75]


def test_typical_at_60_days():
    # Extension summaries: 1-3 short ton/ac, 2.2-6.7 Mg/ha, at 60 days.
    middle = [np.median([tonnes(s, 60) for s in _florida()])]
    middle += [np.median([tonnes(season(tennessee(), f"{y}-06-01", 60, "loam"), 60) for y in _TEN])]
    assert all(2.2 <= m <= 6.7 for m in middle)


_TEN = range(2000, 2010)


def test_four_feet_at_about_45_days():
    # USDA-NRCS plant guide: 4 ft (1.22 m) at about 45 days.
    states = season(station(ALABAMA), "2020-06-01", 60)
    assert states[44, g.HEIGHT] == pytest.approx(1.22, rel=0.1)


def test_protein_lies_between_the_feed_samples_and_the_nitrogen_trials():
    # Guerrero: 15.6, 10.7 and 8.3 pct at 30, 43 and 56 d (doi 10.29312/remexca.v15i6.3338); hay in
    # Florida 9 pct at 49 d. North Florida 5.4 Mg/ha with 110-140 kg N means 12.7-16 pct. They
    # disagree: ours lies between, nearer the feed samples, and so promises less feed and nitrogen
    # than the nitrogen trials.
    runs = _florida()
    ours = {d: np.median([s[d - 1, g.PROTEIN_PCT] for s in runs]) for d in (30, 43, 49, 56)}
    assert ours[30] == pytest.approx(15.6, abs=1.5)
    for day, feed_pct in ((43, 10.7), (49, 9.0), (56, 8.3)):
        assert feed_pct <= ours[day] <= min(12.7, feed_pct + 2.5)


def test_hay_of_49_days_is_half_digestible():
    # University of Florida hay trial: 48 pct digestible organic matter at 49 d.
    ours = np.median([s[48, g.DIGESTIBLE_PCT] for s in _florida()])
    assert ours == pytest.approx(48, abs=2)


# ---- published, and no parameter is fitted to it (though it was known when they were chosen) ---


def test_six_feet_by_day_60():
    # Alabama Cooperative Extension System: 6 ft (1.83 m) by day 60, little growth in the first 30.
    # Read as a usual figure: within a fifth of it in Alabama's dry June of 2020 and north Florida.
    alabama = [season(station(ALABAMA), f"2020-{s}", 60) for s in ("05-15", "06-01")]
    heights = [s[59, g.HEIGHT] for s in alabama]
    heights.append(np.median([s[59, g.HEIGHT] for s in _florida()]))
    assert np.mean(heights) == pytest.approx(1.83, rel=0.2)
    for states in alabama:
        assert tonnes(states, 30) < 0.3 * tonnes(states, 60)


def test_oklahoma_in_60_to_90_days():
    # Oklahoma State University Extension: 2.5 short ton/ac (5.6 Mg/ha) in 60-90 d. (Its 9.6 in
    # 45-60 d is an outlier among all trials and is not used.) Sown 1 June and 1 July 2020.
    runs = [season(station(n), f"2020-{s}", 90, "loam") for n in OKLAHOMA for s in _OKLAHOMA_SOWN]
    at_60, at_90 = (np.mean([tonnes(s, d) for s in runs]) for d in (60, 90))
    assert at_60 <= 5.6 <= at_90
    assert at_90 < 9.6, "no 90-day mean near the outlier"


_OKLAHOMA_SOWN = ("06-01", "07-01")


def test_hawaii_at_60_days():
    # UF/IFAS Extension ENY-717: 6.7 Mg/ha at 60 d in Hawaii. No record of the site is at hand: a
    # lowland summer there (30/22.5 C, 21 MJ) is from memory, water not short.
    states = season(_steady(30.0, 22.5, 21.0), "2001-06-01", 60, watered=True)
    assert tonnes(states, 60) == pytest.approx(6.7, rel=0.2)


def test_guerrero_at_70_days():
    # doi 10.29312/remexca.v15i6.3338: 5.9-9.1 Mg/ha at 70 d by density. Weather (33/22 C, 20 MJ)
    # from memory, water not short. Its protein helped to set the leaf share; its tonnage nothing.
    states = season(_steady(33.0, 22.0, 20.0), "2001-06-01", 70, watered=True)
    assert 5.9 <= tonnes(states, 70) <= 9.1


def test_wyoming_at_60_days():
    # Wyoming Extension: above 2.2 Mg/ha at 60 d. Weather (29/12 C, 24 MJ) from memory; watered.
    assert tonnes(season(_steady(29.0, 12.0, 24.0), "2001-06-01", 60, watered=True), 60) > 2.2


def test_years_differ_and_the_dry_ones_show():
    # doi 10.3390/agronomy10121913: 5.6-14.7 Mg/ha between years at one Alabama site, a factor of
    # 2.6. In 36 Florida years on sand the best must be well above the worst, and rain must tell.
    runs = _florida()
    ends = np.array([tonnes(s, 100) for s in runs])
    assert ends.max() / ends.min() > 1.4
    days = north_florida()["precip_mm"]
    rain = np.array([days.loc[f"{y}-06-15" :].iloc[:100].sum() for y in _FLORIDA])
    dry, wet = ends[rain < np.percentile(rain, 25)], ends[rain > np.percentile(rain, 75)]
    assert dry.mean() < wet.mean()


_FLORIDA = range(1985, 2021)
_cache: dict = {}


def _florida():
    if not _cache:
        _cache["runs"] = [season(north_florida(), f"{y}-06-15", 100, "sand") for y in _FLORIDA]
    return _cache["runs"]


def _steady(tmax, tmin, sun):
    dates = pd.date_range("2001-06-01", periods=130)
    return pd.DataFrame(
        {"tmax_c": tmax, "tmin_c": tmin, "precip_mm": 0.0, "solar": sun, "ra": 40.0}, index=dates
    )
