"""From parts to a verdict: the worst quality governs, shares decide, unknown is neither."""

import pandas as pd
import pytest
from farm_tables import NO_SURVEY, components, fields, horizons, months, parts

from suitability.columns import FINDINGS, VERDICTS
from suitability.contract import check
from suitability.counted import counted
from suitability.crop import load_crop
from suitability.findings import find
from suitability.ground import ground
from suitability.verdict import CONDITIONS, judge

CROP = load_crop("sunn_hemp")


def _judge(the_fields, the_parts, the_horizons=None, the_months=None):
    soils = horizons() if the_horizons is None else the_horizons
    wet = months() if the_months is None else the_months
    grounds = ground(the_fields, the_parts, components(), soils, wet)
    findings = check(find(grounds, CROP), FINDINGS, "findings")
    judged = judge(the_fields, counted(grounds, findings, CROP), findings, CROP, 2026)
    check(judged.verdicts, VERDICTS, "verdicts")
    return judged


def _one(*rows, **columns):
    the_parts = parts(*(("A", *row) for row in rows))
    return _judge(fields("A", **columns), the_parts).verdicts.iloc[0]


def test_dry_ground_is_sown():
    row = _one(("1", "dry", 10.0))
    assert (row.verdict, row.suitability_class, row.limiting) == ("sow", "S1", None)
    assert row.waterlogging == "low" and row.season_length == "long enough"
    assert row.sowable_ha == 10.0
    assert row.score_basis == "survey rule"
    assert pd.isna(row.works_years_in_ten)


def test_the_worst_quality_governs():
    row = _one(("2", "damp", 10.0))
    assert (row.verdict, row.suitability_class) == ("sow with care", "S2")
    assert (row.limiting, row.waterlogging_factor, row.waterlogging_value) == (
        "waterlogging",
        "water_table_cm",
        70.0,
    )
    assert row.conditions == "watch_wet"


@pytest.mark.parametrize(("damp_ha", "klass"), [(1.0, "S1"), (1.01, "S2")])
def test_a_class_governs_when_more_than_a_tenth_of_the_ground_has_it(damp_ha, klass):
    row = _one(("1", "dry", 10.0 - damp_ha), ("2", "damp", damp_ha))
    assert row.suitability_class == klass


def test_a_map_unit_full_of_wet_soil_is_left_out_where_it_lies():
    judged = _judge(fields("A"), parts(("A", "1", "dry", 9.0), ("A", "3", "bog", 1.0)))
    row = judged.verdicts.iloc[0]
    assert row.sowable_ha == pytest.approx(9.0)
    assert (row.verdict, row.suitability_class) == ("sow with care", "S1")
    assert row.conditions == "leave_wet_ground"
    assert judged.wet_units.to_dict("records") == [
        {"field_id": "A", "mukey": "3", "cause": "ponded", "compname": "Bogside"}
    ]


def test_wet_soil_that_nothing_places_is_named_as_a_share():
    row = _one(("1", "dry", 9.0), ("1", "bog", 1.0))
    assert row.sowable_ha == pytest.approx(10.0)
    assert row.wet_unplaced_pct == pytest.approx(10.0)
    assert (row.verdict, row.conditions) == ("sow with care", "wet_unplaced")
    little = _one(("1", "dry", 9.5), ("1", "bog", 0.5))
    assert (little.verdict, little.wet_unplaced_pct) == ("sow", pytest.approx(5.0))


@pytest.mark.parametrize(("bog_ha", "verdict"), [(5.0, "sow with care"), (5.01, "leave out")])
def test_a_field_is_left_out_when_too_little_of_it_can_be_sown(bog_ha, verdict):
    row = _one(("1", "dry", 10 - bog_ha), ("3", "bog", bog_ha))
    assert row.verdict == verdict
    if verdict == "leave out":
        assert (row.suitability_class, row.limiting) == ("N", "waterlogging")


@pytest.mark.parametrize(("drained", "asked"), [(None, True), (True, False), (False, False)])
def test_ground_left_out_for_its_water_table_is_asked_about_drains(drained, asked):
    wet = months()
    wet["ponding_frequency"] = "none"
    the_parts = parts(("A", "3", "bog", 10.0))
    row = _judge(fields("A", drained=drained), the_parts, the_months=wet).verdicts.iloc[0]
    assert row.verdict == "leave out" and row.waterlogging_factor == "water_table_cm"
    assert ("drains_unknown" in (row.conditions or "").split()) == asked


def test_open_water_is_cut_and_does_not_count_against_the_ground():
    row = _one(("1", "dry", 3.0), ("4", "pond", 7.0))
    assert row.sowable_ha == pytest.approx(3.0)
    assert row.verdict == "sow with care"


def test_ground_that_no_survey_covers_is_not_judged_by_its_season():
    row = _one((*NO_SURVEY, 10.0), soil_cover_pct=0.0)
    assert (row.verdict, row.suitability_class, row.at_best) == ("not known", None, None)
    assert pd.isna(row.sowable_ha) and pd.isna(row.wet_unplaced_pct)
    assert row.germination_risk is None and row.waterlogging is None
    assert row.season_length == "long enough"
    assert row.inoculation_need == "double rate"
    for code in ("germination_not_known", "waterlogging_not_known", "inoculation_not_known"):
        assert code in row.conditions.split()


def test_a_gap_too_short_leaves_a_field_out_whatever_its_soil():
    row = _one((*NO_SURVEY, 10.0), gap_closes="06-01", soil_cover_pct=0.0)
    assert (row.verdict, row.sowable_ha) == ("leave out", 0.0)


def test_one_unknown_quality_allows_care_at_most():
    row = _one(("1", "dry", 10.0), gap_opens=None, gap_closes=None)
    assert (row.verdict, row.suitability_class, row.at_best) == ("sow with care", None, "S1")


def test_a_herbicide_with_residue_asks_for_care():
    row = _one(("1", "dry", 10.0), herbicide_product="fomesafen")
    assert (row.verdict, row.conditions) == ("sow with care", "herbicide")
    assert (row.herbicide_product, row.herbicide_on) == ("fomesafen", None)
    dated = _one(
        ("1", "dry", 10.0), herbicide_product="fomesafen", herbicide_date=pd.Timestamp("2026-04-02")
    )
    assert dated.herbicide_on == "2026-04-02"


@pytest.mark.parametrize("said", ["none", " None", "no"])
def test_a_grower_who_says_that_no_herbicide_was_put_on_may_sow(said):
    row = _one(("1", "dry", 10.0), herbicide_product=said)
    assert (row.verdict, row.conditions, row.herbicide_product) == ("sow", None, None)


@pytest.mark.parametrize("said", [None, "", " ", "unknown", "?"])
def test_silence_on_herbicide_is_no_answer_and_asks_for_care(said):
    row = _one(("1", "dry", 10.0), herbicide_product=said)
    assert (row.verdict, row.conditions) == ("sow with care", "herbicide_not_known")
    assert (row.suitability_class, row.herbicide_product) == ("S1", None)


def test_a_field_left_out_is_not_asked_about_its_herbicide():
    row = _one(("3", "bog", 10.0), herbicide_product=None)
    assert row.verdict == "leave out"
    assert "herbicide" not in (row.conditions or "")


def test_the_reason_knows_on_how_much_of_the_field_it_holds():
    row = _one(("1", "dry", 6.0), ("2", "damp", 4.0))
    assert row.waterlogging_share_pct == pytest.approx(40.0)


def test_nothing_known_is_not_known():
    row = _one((*NO_SURVEY, 10.0), gap_opens=None, gap_closes=None, soil_cover_pct=0.0)
    assert (row.verdict, row.suitability_class, row.at_best) == ("not known", None, None)
    assert row.score_basis is None


def test_a_soil_known_on_too_little_of_the_field_is_not_known():
    row = _one(("1", "dry", 7.9), (*NO_SURVEY, 2.1), soil_cover_pct=79.0)
    assert row.waterlogging is None and row.verdict == "not known"
    assert "soil_cover_low" in row.conditions.split()
    assert _one(("1", "dry", 8.0), (*NO_SURVEY, 2.0), soil_cover_pct=80.0).waterlogging == "low"


def test_unknown_months_fall_back_on_the_drainage_class():
    the_parts = parts(("A", "2", "damp", 10.0))
    row = _judge(fields("A"), the_parts, the_months=months().iloc[:0]).verdicts.iloc[0]
    assert (row.waterlogging_factor, row.waterlogging_value_text) == (
        "drainage_class",
        "moderately well",
    )


def test_a_drain_makes_ground_one_class_drier_and_sets_the_table_aside():
    wet = parts(("A", "3", "bog", 10.0))
    assert _judge(fields("A"), wet.assign(drained=False)).verdicts.iloc[0].verdict == "leave out"
    drained = fields("A", drained=True)
    judged = _judge(
        drained, wet.assign(drained=True), the_months=months().assign(pond_frequency="none")
    )
    row = judged.verdicts.iloc[0]
    assert row.waterlogging_value_text == "poorly"


@pytest.mark.parametrize(
    ("known", "need", "why"),
    [
        ({"legume_last_year": 2021.0}, "normal rate", "recent_legume"),
        ({"legume_last_year": 2020.0}, "double rate", "no_recent_legume"),
        ({}, "double rate", "unknown_history"),
        ({"legume_last_year": 2025.0, "soil_test_ph": 5.4}, "double rate", "ph"),
    ],
)
def test_the_inoculant_is_never_none_and_doubles_where_rhizobia_are_in_doubt(known, need, why):
    row = _one(("1", "dry", 10.0), **known)
    assert (row.inoculation_need, row.inoculant_reason) == (need, why)


def test_a_soil_test_overrides_the_survey_and_may_rate_worse():
    acid = horizons(ph=4.2)
    the_parts = parts(("A", "1", "dry", 10.0))
    by_survey = _judge(fields("A"), the_parts, acid).verdicts.iloc[0]
    assert by_survey.inoculation_class == "S2"  # an average over a county, limed ground not in it
    assert "test_soil" in by_survey.conditions
    tested = _judge(fields("A", soil_test_ph=4.2), the_parts, acid).verdicts.iloc[0]
    assert tested.inoculation_class == "S3"  # floor: inoculation alone never leaves a field out
    assert tested.verdict == "sow with care"
    limed = _judge(fields("A", soil_test_ph=6.4), the_parts, acid).verdicts.iloc[0]
    assert (limed.inoculation_class, limed.inoculation_value) == ("S1", 6.4)


@pytest.mark.parametrize(
    ("closes", "word", "verdict"),
    [
        ("08-13", "long enough", "sow"),
        ("08-12", "tight", "sow with care"),
        ("06-28", "too short", "leave out"),
    ],
)
def test_the_days_of_the_gap(closes, word, verdict):
    row = _one(("1", "dry", 10.0), gap_closes=closes)
    assert (row.season_length, row.verdict) == (word, verdict)


def test_shuffling_and_doubling_change_no_rating():
    the_fields = fields("A", "B", "C")
    the_parts = parts(
        ("A", "1", "dry", 9.0),
        ("A", "3", "bog", 1.0),
        ("B", "2", "damp", 10.0),
        ("C", "1", "dry", 4.0),
        ("C", "3", "bog", 6.0),
    )
    once = _judge(the_fields, the_parts).verdicts.set_index("field_id")
    shuffled = _judge(
        the_fields.sample(frac=1, random_state=1), the_parts.sample(frac=1, random_state=2)
    ).verdicts
    pd.testing.assert_frame_equal(shuffled.set_index("field_id").loc[once.index], once)
    double = _judge(
        the_fields.assign(area_ha=20.0), the_parts.assign(area_ha=the_parts.area_ha * 2)
    )
    ratings = ["verdict", "suitability_class", "waterlogging", "conditions"]
    pd.testing.assert_frame_equal(double.verdicts.set_index("field_id")[ratings], once[ratings])


def test_wetter_is_never_better():
    scores = [
        _one(("1", "dry", 10.0 - wet), ("2", "damp", wet)).waterlogging_score
        for wet in (0, 2, 5, 10)
    ]
    assert scores == sorted(scores)


def test_every_condition_has_a_place_in_the_list():
    assert len(CONDITIONS) == len(set(CONDITIONS))
