"""Sowing weeks of ground that is left out by the survey are shown nowhere; the page says why."""

from dataclasses import replace

import pytest
from farm_with_years import farm_with_years

from maps.assessment import Assessment
from maps.page_weeks import page_weeks
from maps.reader import legend_of, teller_of, words_of
from maps.report_weeks import weeks_table
from maps.told_weeks import told_weeks
from maps.weeks_drawing import weeks_svg


def _too_wet(*field_ids: str) -> Assessment:
    """Fields that the survey leaves out as too wet, though their weeks were simulated."""
    farm = farm_with_years()
    mine = farm.verdicts["field_id"].isin(field_ids)
    verdicts = farm.verdicts.copy()
    verdicts.loc[mine, "score_basis"] = "survey rule"
    verdicts.loc[mine, "verdict"] = "leave out"
    verdicts.loc[mine, "sowable_ha"] = 0.0
    return replace(farm, verdicts=verdicts)


def test_only_fields_judged_by_their_years_have_weeks() -> None:
    farm = _too_wet("A/1")
    assert set(told_weeks(farm)["field_id"]) == {"B", "C"}
    teller = teller_of(farm)
    weeks = page_weeks(farm, teller)
    assert weeks is not None and set(weeks.fields) == {"B", "C"}
    assert weeks_table(farm, teller, "A/1") is None
    assert weeks_table(farm, teller, "B") is not None


def test_where_all_ground_is_left_out_by_the_survey_no_strip_is_drawn() -> None:
    farm = _too_wet("A/1", "B", "C")
    assert page_weeks(farm, teller_of(farm)) is None
    assert weeks_svg(farm, words_of(farm), legend_of(farm)) == ""


@pytest.mark.parametrize("sown", [True, False])
def test_the_whole_farm_is_never_told_with_nothing(sown: bool) -> None:
    farm = farm_with_years()
    if not sown:  # left out by their years: the strip shows how seldom it works
        farm = replace(farm, verdicts=farm.verdicts.assign(sowable_ha=0.0))
    weeks = page_weeks(farm, teller_of(farm))
    assert weeks is not None
    assert bool(weeks.farm["average"]) == sown
    said = "" if sown else "No field is to be sown. The bars are averages"
    assert weeks.farm["out"].startswith(said) and bool(weeks.farm["out"]) == (not sown)
    assert all(("left out" in ground) == (not sown) for ground in weeks.farm["ground"])
