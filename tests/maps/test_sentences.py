"""The sentences people read: one year, no year, nothing to leave out, and the doubts."""

import math
from dataclasses import replace

import pandas as pd
import pytest
from farm_with_years import farm_with_years
from small_farm import small_farm

from maps.farm_sentences import farm_lead
from maps.legend import Legend
from maps.sentences import Teller
from maps.words import load_words
from suitability.crop import load_crop
from suitability.verdict import CONDITIONS

CROP = load_crop("sunn_hemp")
TELLER = Teller(load_words(), Legend("us"))


def _lead(*verdicts: str) -> str:
    """The lead of a farm of fields of 4 ha (9.9 acres) with these verdicts."""
    farm = small_farm()
    row = farm.verdicts.iloc[0]
    rows = [{**row, "verdict": v, "sowable_ha": 4.0 if "sow" in v else 0.0} for v in verdicts]
    return farm_lead(replace(farm, verdicts=pd.DataFrame(rows)), TELLER)


@pytest.mark.parametrize(
    ("verdicts", "lead"),
    [
        (["sow", "sow"], "Each of the 2 fields can be sown: 19.8 acres of 19.8 acres."),
        (
            ["sow", "leave out"],
            "1 of 2 fields can be sown: 9.9 acres of 19.8 acres. Leave out 1 field.",
        ),
        (
            ["sow", "sow with care", "not known"],
            "1 of 3 fields can be sown, 1 more with care: "
            "19.8 acres of 29.7 acres. 1 field cannot be judged.",
        ),
        (
            ["sow with care"] * 3,
            "Each of the 3 fields can be sown with care: 29.7 acres of 29.7 acres.",
        ),
        (
            ["sow with care", "leave out", "leave out"],
            "1 of 3 fields can be sown with care: 9.9 acres of 29.7 acres. Leave out 2 fields.",
        ),
        (["leave out", "leave out"], "None of the 2 fields can be sown."),
        (["leave out", "not known"], "None of the 2 fields can be sown. 1 field cannot be judged."),
        (["leave out"], "Leave out: none of its 9.9 acres is to be sown."),
        (["sow"], "Sow: 9.9 acres of 9.9 acres can be sown."),
    ],
)
def test_the_lead_names_only_what_is_there(verdicts: list[str], lead: str) -> None:
    assert _lead(*verdicts) == lead


@pytest.mark.parametrize(
    ("years", "spoken"),
    [(0.0, "no year"), (0.04, "no year"), (1.0, "1 year"), (0.7, "0.7 years"), (10.0, "10 years")],
)
def test_years_are_counted_as_people_do(years: float, spoken: str) -> None:
    assert TELLER.spoken_years(years) == spoken


def _row(field_id: str) -> "pd.Series":
    return farm_with_years().verdicts.set_index("field_id", drop=False).loc[field_id]


def test_the_answer_names_the_week_and_what_fails_it() -> None:
    assert TELLER.reason(_row("A/1")) == (
        "Sown the week of May 21, it works in 9 years of 10; what fails it is a dry seed bed "
        "(1 year)."
    )


def test_doubts_tell_years_range_flip_and_the_survey() -> None:
    few, spread, flips = TELLER.doubts(_row("B"), CROP)
    assert (
        few.startswith("Only 10 years of weather")
        and "between 5 and 10 years of 10 in 19 cases of 20" in few
    )
    assert "it would be 6 to 8 years of 10" in spread
    assert flips == "Within that range the answer itself would change."
    _, same, apart = TELLER.doubts(_row("C"), CROP)
    assert "it stays 2 years of 10" in same
    assert "class S1; by the years on record it is N" in apart
    assert TELLER.doubts(small_farm().verdicts.iloc[0], CROP) == []


@pytest.mark.parametrize(
    ("water_ha", "what"),
    [
        (math.nan, "wet ground"),
        (0.0, "wet ground"),
        (0.28, "open water"),
        (0.1, "water and wet ground"),
    ],
)
def test_what_is_left_out_is_called_what_it_is(water_ha: float, what: str) -> None:
    row = small_farm().verdicts.iloc[1].copy()  # 4 ha, of them 0.28 left out
    row["water_ha"] = water_ha
    assert TELLER.conditions(row)[0] == f"Leave out 0.69 acres of {what}; sow 9.2 acres."


def test_a_flood_class_is_told_with_what_it_spans() -> None:
    row = _row("A/1").copy()
    row["works_years_in_ten"], row["waterlogging_years_in_ten"] = 7.3, 2.7
    _, told, *_ = TELLER.doubts(row, CROP)
    assert told == (
        "Floods fail 2.7 years of 10. That is no count but the middle of what the survey's "
        "flood class occasional spans, 0.5 to 5 years of 10: with the fewest of these floods it "
        "works in 9.5 years of 10, with the most in 5 years."  # works wherever it does not flood
    )
    row["waterlogging_years_in_ten"] = 0.0
    assert len(TELLER.doubts(row, CROP)) == 2


def test_water_at_the_surface_is_called_so() -> None:
    told = [TELLER.factor("water_table_cm", cm, None, good=False) for cm in (0.0, 1.0, 25.4)]
    at_surface = "in the gap the water table comes up to the surface"
    assert told == [
        *(at_surface, at_surface),  # 1 cm is 0 inches to the inch
        "in the gap the water table comes within 10 inches of the surface",
    ]


def _with_care(row: "pd.Series", conditions: str) -> "pd.Series":
    told = {"verdict": "sow with care", "conditions": conditions, "herbicide_product": "atrazine"}
    return pd.Series({**row, **told, "herbicide_on": None})


@pytest.mark.parametrize("basis", ["years in ten", "survey rule"])
@pytest.mark.parametrize("code", ["herbicide", "herbicide_not_known"])
def test_wet_ground_does_not_hide_a_herbicide_from_the_reason(basis: str, code: str) -> None:
    row = _with_care(
        _row("A/1") if basis == "years in ten" else small_farm().verdicts.iloc[1], code
    )
    row["conditions"] = " ".join(c for c in CONDITIONS if c in (code, "leave_wet_ground"))
    row["limiting"] = None
    why = TELLER.reason(row)
    assert "of wet ground; sow" in why
    assert ("(atrazine)" in why) == (code == "herbicide")
    assert ("Not known is whether a herbicide stays" in why) == (code == "herbicide_not_known")
    assert TELLER.mind(row) == []


def test_a_rating_that_governs_does_not_hide_a_herbicide_either() -> None:
    row = _with_care(small_farm().verdicts.iloc[0], "herbicide_not_known watch_wet test_soil")
    row["limiting"], row["waterlogging_class"], row["waterlogging"] = (
        "waterlogging",
        "S2",
        "moderate",
    )
    why = TELLER.reason(row)
    assert why.startswith("Waterlogging is moderate") and "herbicide stays in this soil" in why
    assert [text[:13] for text in TELLER.mind(row)] == ["Expect wet gr", "Test the soil"]


def test_nothing_is_said_twice_of_a_field() -> None:
    for row in (r for _, r in farm_with_years().verdicts.iterrows()):
        why = TELLER.reason(row)
        assert all(text not in why for text in TELLER.mind(row))
        assert {*TELLER.mind(row)} <= {*TELLER.conditions(row)}
        assert all(text in why for text in {*TELLER.conditions(row)} - {*TELLER.mind(row)} if text)


def test_flowers_and_pods_are_told_with_the_seed_they_are_of() -> None:
    told = dict(TELLER.flowers(_row("A/1")))
    assert told["first_flower"].startswith("July 25 to September 21, roughly (type of seed not")
    assert told["first_pods"] == "about August 22: graze or cut before"
    late = _row("A/1").copy()
    late["seed_type"], late["first_pods_mmdd"] = "tropical", "12-10"  # half freeze by 8 December
    told = dict(TELLER.flowers(late))
    assert told["first_flower"].endswith("(tropical type)")
    assert told["first_pods"] == "about December 10, after the first killing freeze of most years"
    assert TELLER.flowers(small_farm().verdicts.iloc[0]) == []
