"""The verdict by years in ten: classes at their limits, ratings, flips, what stays as it was."""

from dataclasses import replace
from types import SimpleNamespace

import engine_farm as ef
import pandas as pd
import pytest

from suitability.crop import load_crop
from suitability.verdict import OF_LEFT_OUT
from suitability.works import by_years, left_out_against_years, two_classes_apart

CROP = load_crop("sunn_hemp")
LOAM = (65.0, 12.0)
RISKS = ("germination_risk", "waterlogging", "season_short")


@pytest.fixture(scope="module")
def judged():
    """Four fields of good loam, one of poorly drained clay."""
    good = [(LOAM, "well", 5.0)]
    return ef.farm(good, good, good, good, [((30.0, 45.0), "poorly", 5.0)])[1]


def best(**works):
    """The recommended week of fields: (works, no stand, drowned, short) in years of ten."""
    rows = {}
    for field_id, (yes, *risks) in works.items():
        rows[field_id] = {
            "sow_date": "05-21",
            "n_years": 30.0,
            "works_years_in_ten": yes,
            **{f"{r}_years_in_ten": v for r, v in zip(RISKS, risks, strict=True)},
            "dry_matter_end_kg_ha_p50": 5000.0,
        }
    return pd.DataFrame.from_dict(rows, orient="index").rename_axis("field_id")


def years(table, low=None, high=None):
    works = table["works_years_in_ten"]
    return SimpleNamespace(
        best=table,
        low=works if low is None else pd.Series(low).astype(float),
        high=works if high is None else pd.Series(high).astype(float),
    )


def told(judged, given, **shifts):
    return by_years(judged, years(given, **shifts), CROP).set_index("field_id")


@pytest.mark.parametrize(
    ("works", "klass", "verdict"),
    [
        (10.0, "S1", "sow"),
        (8.0, "S1", "sow"),
        (7.999, "S2", "sow with care"),
        (7.0, "S2", "sow with care"),
        (6.9, "S3", "sow with care"),
        (5.0, "S3", "sow with care"),
        (4.9, "N", "leave out"),
        (0.0, "N", "leave out"),
    ],
)
def test_years_that_work_set_the_class(judged, works, klass, verdict):
    row = told(judged, best(F1=(works, 0.0, 0.0, 10 - works))).loc["F1"]
    # A short season asks for care from S2 on (more than good = 1 year of ten).
    care = 10 - works > CROP.of("season")[0].bounds[0].good.value
    assert row["suitability_class"] == klass
    assert row["verdict"] == ("sow with care" if verdict == "sow" and care else verdict)
    assert row["score_basis"] == "years in ten" and row["works_years_in_ten"] == works
    assert (row["sowable_ha"] > 0) == (verdict != "leave out")


def test_ratings_come_from_their_own_years(judged):
    row = told(judged, best(F1=(6.0, 0.5, 3.0, 0.5))).loc["F1"]
    classes = [row[f"{q}_class"] for q in ("germination", "waterlogging", "season")]
    assert classes == ["S1", "S3", "S1"]
    assert row["waterlogging"] == "high" and row["season_length"] == "long enough"
    assert row["limiting"] == "waterlogging" and row["waterlogging_value"] == 3.0
    assert row["conditions"].split() == ["watch_wet"]
    assert row["verdict"] == "sow with care"


def test_a_field_left_out_gets_no_advice_on_sowing_it(judged):
    said = judged.verdicts.assign(conditions="herbicide leave_wet_ground test_soil soil_cover_low")
    given = replace(judged, verdicts=said)
    row = told(given, best(F1=(0.0, 0.0, 0.0, 10.0), F2=(6.0, 0.0, 0.0, 4.0)))
    assert row.loc["F1", ["verdict", "conditions"]].tolist() == ["leave out", "soil_cover_low"]
    assert {"season_tight", "herbicide", "leave_wet_ground"} <= set(
        row.loc["F2", "conditions"].split()
    )
    # By survey rule such fields are told no more.
    out = judged.verdicts[judged.verdicts["verdict"] == "leave out"]
    codes = {code for text in out["conditions"].dropna() for code in text.split()}
    assert len(out) == 1 and codes <= set(OF_LEFT_OUT)


def test_the_reason_is_what_fails_most_years(judged):
    row = told(judged, best(F1=(4.0, 1.0, 2.0, 3.0))).loc["F1"]
    assert row["limiting"] == "season" and row["verdict"] == "leave out"
    assert told(judged, best(F1=(9.5, 0.5, 0.0, 0.0))).loc["F1", "limiting"] is None


def test_inoculation_worse_than_the_years_governs_and_an_even_one_does_not(judged):
    worse = judged.verdicts.assign(inoculation_class="S3")
    given = replace(judged, verdicts=worse)
    row = told(given, best(F1=(9.0, 1.0, 0.0, 0.0), F2=(6.0, 4.0, 0.0, 0.0)))
    assert row.loc["F1", ["suitability_class", "limiting"]].tolist() == ["S3", "inoculation"]
    assert row.loc["F2", ["suitability_class", "limiting"]].tolist() == ["S3", "germination"]


def test_inoculation_not_known_leaves_the_class_open(judged):
    unknown = judged.verdicts.assign(inoculation_class=None, conditions="inoculation_not_known")
    given = replace(judged, verdicts=unknown)
    row = told(given, best(F1=(9.0, 1.0, 0.0, 0.0))).loc["F1"]
    assert row["suitability_class"] is None and row["at_best"] == "S1"
    assert row["verdict"] == "sow with care"


def test_a_verdict_flips_where_either_end_leads_to_another(judged):
    even = dict.fromkeys(("F1", "F2", "F3"), (8.5, 0.5, 0.5, 0.5))
    table = best(**even)
    found = told(
        judged,
        table,
        low={"F1": 8.2, "F2": 4.0, "F3": 8.5},
        high={"F1": 9.9, "F2": 9.0, "F3": 8.5},
    )
    assert found.loc[["F1", "F2", "F3"], "verdict_flips"].tolist() == [False, True, False]
    assert found.loc["F2", "works_low_years_in_ten"] == 4.0
    out = told(judged, best(F1=(4.5, 5.5, 0.0, 0.0)), low={"F1": 4.0}, high={"F1": 5.0})
    assert out.loc["F1", "verdict_flips"]


def test_fields_too_wet_and_fields_without_odds_stay_as_they_are(judged):
    table = best(F1=(9.0, 1.0, 0.0, 0.0), F5=(9.0, 1.0, 0.0, 0.0))
    found = told(judged, table)
    before = judged.verdicts.set_index("field_id")
    assert before.loc["F5", "verdict"] == "leave out", "mostly too wet by survey"
    for field_id in ("F2", "F3", "F4", "F5"):
        mine, theirs = found.loc[field_id], before.loc[field_id]
        same = (mine == theirs) | (mine.isna() & theirs.isna())
        assert same.drop("conditions").all(), mine[~same]
    assert found.loc["F1", "score_basis"] == "years in ten"


@pytest.mark.parametrize(("works", "klass"), [(9.0, "S1"), (7.0, "S2"), (6.9, None)])
def test_ground_left_out_as_too_wet_that_works_by_years_is_told(judged, works, klass):
    given = years(best(F5=(works, 10.0 - works, 0.0, 0.0)))
    row = by_years(judged, given, CROP).set_index("field_id").loc["F5"]
    notes = left_out_against_years(judged, given, CROP)
    assert (row["verdict"], row["score_basis"]) == ("leave out", "survey rule")
    assert ("years_disagree" in (row["conditions"] or "").split()) == (klass is not None)
    if klass is None:  # S3 and N are one class apart
        assert notes == ()
    else:
        assert notes[0].field_ids == ("F5",) and notes[0].level == "caution"
        assert f"F5 (N by survey rule, {klass} by years)" in notes[0].text


@pytest.mark.parametrize(
    ("works", "by_survey", "verdict", "doubts"),
    [
        (9.0, "S3", "sow with care", True),
        (9.0, "S2", "sow", False),
        (7.5, "N", "sow with care", True),
    ],
)
def test_ground_that_the_survey_rates_far_worse_is_sown_with_care(
    judged, works, by_survey, verdict, doubts
):
    given = judged.verdicts.copy()
    given.loc[given["field_id"] == "F1", ["suitability_class", "conditions"]] = [by_survey, None]
    table = best(F1=(works, 10.0 - works, 0.0, 0.0))
    row = told(replace(judged, verdicts=given), table).loc["F1"]
    assert row["verdict"] == verdict
    assert ("survey_doubts" in (row["conditions"] or "").split()) == doubts


def test_no_odds_at_all_changes_nothing(judged):
    found = by_years(judged, years(best(F1=(9.0, 1.0, 0.0, 0.0)).iloc[:0]), CROP)
    assert (found["score_basis"].dropna() == "survey rule").all()
    assert found["verdict"].tolist() == judged.verdicts["verdict"].tolist()


def test_survey_and_years_two_classes_apart_are_named(judged):
    found = told(
        judged,
        best(
            F1=(9.0, 1.0, 0.0, 0.0),
            F2=(7.5, 2.5, 0.0, 0.0),
            F3=(6.0, 4.0, 0.0, 0.0),
            F4=(0.0, 10.0, 0.0, 0.0),
        ),
    ).reset_index()
    assert found["survey_class"].tolist()[:4] == ["S1"] * 4 and found["survey_class"][4] is None
    (note,) = two_classes_apart(found)
    assert note.field_ids == ("F3", "F4") and note.level == "caution"
    assert "F3 (S1 by survey rule, S3 by years)" in note.text
    assert "F4 (S1 by survey rule, N by years)" in note.text
    assert two_classes_apart(found[found["field_id"] == "F2"]) == ()
