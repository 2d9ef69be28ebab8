"""What the fit of the water below the soils is said to rest on."""

import numpy as np

from suitability.boundary_aim import BY_CLASS, MONTHLY
from suitability.lower_boundary import LowerBoundary
from suitability.years_notes import fitted_notes

NONE = np.full(12, np.nan)


def boundary(fitted_to, n_months=0, n_agree=0):
    return LowerBoundary(NONE, 0.01, fitted_to, 5.0, n_months, n_agree, NONE, NONE)


def test_only_months_that_the_survey_lists_are_counted():
    given = [boundary(MONTHLY, 12, 10), boundary(MONTHLY, 8, 8), boundary(BY_CLASS, 12, 12)]
    monthly, by_class = (note.text for note in fitted_notes(given))
    assert monthly.startswith("The water below 2 soils") and "18 of 20 months agree" in monthly
    assert by_class.startswith("For 1 soils the survey lists no water table by month")


def test_a_survey_without_months_tells_of_the_drainage_class_and_counts_none():
    (note,) = fitted_notes([boundary(BY_CLASS, 12, 12)] * 19)
    assert "drainage class" in note.text and "agree" not in note.text
    assert fitted_notes([boundary("")]) == []
