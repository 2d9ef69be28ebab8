"""The lower boundary: fitted to the survey's own wetness, and what follows from it."""

import numpy as np
import pandas as pd
import pytest
from real_data import real
from soil_columns import CLAY, LOAM, SAND, humid_weather, profiles_of, run

from layers.soil_map.reader import read_soil_survey
from suitability import soil_column as at
from suitability.bare_days import bare_days
from suitability.boundary_aim import BY_CLASS, MONTHLY
from suitability.columns import DRAINAGE_CLASSES, MONTHS
from suitability.contract import empty
from suitability.crop import crop_names, load_crop
from suitability.ground_position import ground_row
from suitability.lower_boundary import by_day, fit_lower_boundary
from suitability.profile import profiles, soil_rows

RAIN, ET0, DATES = humid_weather(years=6)
DOY = DATES.day_of_year.to_numpy(dtype=float)
CROP = load_crop(crop_names()[0])
NO_MONTHS = empty(MONTHS)
# 30 cm in winter, deep in late summer: our own, in the form of the survey's monthly listing.
WET_WINTER = [30, 25, 30, 45, 75, 110, 110, 105, 105, 120, 90, 45]


def months(table_cm, listed_to_cm=200.0):
    return pd.DataFrame(
        {
            "cokey": "0",
            "month": range(1, 13),
            "water_table_cm": np.array(table_cm, dtype=float),
            "moisture_listed_to_cm": listed_to_cm,
        }
    )


def fitted(profile, listing=NO_MONTHS, drainage_class=None, row=0):
    return fit_lower_boundary(profile, row, listing, drainage_class, RAIN, ET0, DATES)


def test_the_monthly_table_comes_out_near():
    found = fitted(profiles_of([LOAM]), months(WET_WINTER), "well")
    assert found.fitted_to == MONTHLY  # the listing goes before the class
    assert found.target_cm.tolist() == WET_WINTER
    assert found.n_months == 12 and found.n_agree >= 9 and found.error_cm < 20
    assert found.table_cm[:3].mean() < 50 < found.table_cm[5:9].mean()


def test_months_listed_dry_are_not_fed_from_below():
    # Moderately well drained, in the form of the survey's listing: free water from November to May.
    listing = [70, 60, 65, 90, 120, *[np.nan] * 5, 135, 95]
    profile = profiles_of([LOAM])
    found = fitted(profile, months(listing), "moderately well")
    soil, ground = soil_rows(profile, 0), ground_row(profile, 0, 0.0, found.conductance_per_d)
    days = bare_days(RAIN, ET0, found.outside_by_day(DOY), soil, ground, CROP)
    dry = np.isin(DATES.month, [7, 8, 9])
    assert days.water_table_cm[dry].mean() > 150  # the listing: none within 200 cm
    assert days.water_table_cm[np.isin(DATES.month, [1, 2, 3])].mean() < 90
    assert (found.outside_by_day(DOY)[dry] > 150).all() and found.error_cm < 20


def test_the_water_outside_runs_straight_from_mid_month_to_mid_month_and_round_the_year():
    monthly = np.array([10.0, *[40.0] * 10, 30.0])
    mid_january, new_year, mid_july = 365.25 / 24 + 0.5, 0.5, 365.25 * 13 / 24 + 0.5
    found = by_day(monthly, np.array([mid_january, new_year, mid_july]))
    assert found == pytest.approx([10.0, 20.0, 40.0])


def test_the_fit_is_the_same_twice():
    a, b = (fitted(profiles_of([LOAM]), months(WET_WINTER)) for _ in range(2))
    assert a.outside_cm.tolist() == b.outside_cm.tolist()
    assert a.conductance_per_d == b.conductance_per_d


def test_months_listed_dry_only_ask_to_be_dry_down_to_there():
    dry = fitted(profiles_of([LOAM]), months([np.nan] * 12, listed_to_cm=150.0), "poorly")
    assert dry.fitted_to == MONTHLY
    assert (dry.table_cm > 140).all() and dry.n_agree == 12
    assert (dry.target_cm >= 150).all()


def test_without_a_listing_the_drainage_class_speaks():
    found = fitted(profiles_of([LOAM]), NO_MONTHS, "somewhat poorly")
    assert found.fitted_to == BY_CLASS
    # Soil Survey Manual: free water at 25-50 cm for some months of the year.
    wettest = np.sort(found.table_cm)[:4]
    assert 25 <= wettest.mean() <= 50 and found.table_cm.max() > 50


def test_nothing_known_is_not_fitted():
    for profile, listing, named in (
        (profiles_of([LOAM]), NO_MONTHS, None),
        (profiles_of([(np.nan, np.nan)]), months(WET_WINTER), "poorly"),
        (profiles_of([LOAM]), months([np.nan] * 12, np.nan), None),
    ):
        found = fitted(profile, listing, named)
        assert found.fitted_to == "" and found.n_months == 0
        assert not found.is_fitted
        assert np.isnan(found.outside_cm).all() and np.isnan(found.conductance_per_d)


@pytest.mark.parametrize("texture", [SAND, (80.0, 8.0), (65.0, 10.0), LOAM, CLAY])
def test_days_of_saturation_never_fall_as_drainage_worsens(texture):
    profile = profiles_of([texture], hydrologic_group="C")
    soil = soil_rows(profile, 0)
    wet_days = []
    for named in DRAINAGE_CLASSES:
        found = fitted(profile, NO_MONTHS, named)
        ground = ground_row(profile, 0, found.outside_cm[0], found.conductance_per_d)
        out, _ = run(soil, ground, RAIN, ET0)
        wet_days.append(int(out[365:, at.SATURATED].sum()))
    assert (np.diff(wet_days) >= 0).all(), wet_days
    assert (np.diff(wet_days[3:]) > 0).all(), wet_days  # moderately well to very poorly


def test_gaps_in_the_record_are_passed_over():
    rain = RAIN.copy()
    rain[400:430] = np.nan
    found = fit_lower_boundary(profiles_of([LOAM]), 0, months(WET_WINTER), None, rain, ET0, DATES)
    assert found.n_months == 12 and np.isfinite(found.table_cm).all()


def test_real_monthly_tables_come_out_near():
    # An Iowa survey under the weather of a gridded record in Tennessee: not its own weather, so
    # only that the fit can follow the listing is shown: Tennessee has half as much rain again.
    found = read_soil_survey(real("soil_survey_export"))
    profile = profiles(found.components, found.horizons)
    drainage = found.components.set_index("cokey")["drainage_class"]
    errors = [
        fitted(profile, found.months, drainage[cokey], row).error_cm
        for row, cokey in enumerate(profile.cokeys)
    ]
    assert np.median(errors) < 15
