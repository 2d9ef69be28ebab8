"""What a field was not judged by is told, and what the years rated it by is not among it."""

from dataclasses import replace

import pandas as pd
from farm_with_years import farm_with_years

from maps.report_limits import found_on, not_judged
from maps.words import load_words

WORDS = load_words()
BY_YEARS = ("no_stand_years_in_ten", "drowned_years_in_ten", "short_years_in_ten")


def judged_by_slope():
    farm = farm_with_years()
    row = dict.fromkeys(farm.findings.columns) | {"field_id": "B", "factor": "slope_pct"}
    findings = pd.DataFrame([row | {"suitability_class": "S1"}])
    return replace(farm, findings=findings)


def told(farm, factor):
    return WORDS(f"factor_name.{factor}") in not_judged(farm, WORDS, "B", found_on(farm, "B"))


def test_what_gave_no_class_is_named_and_what_gave_one_is_not():
    farm = judged_by_slope()
    assert not told(farm, "slope_pct")
    assert all(told(farm, name) for name in ("ponding", "flooding", "compaction", *BY_YEARS))


def test_a_field_rated_by_its_years_was_judged_by_them():
    farm = judged_by_slope()
    verdicts = farm.verdicts.set_index("field_id").astype(object)
    for quality, factor in zip(("germination", "waterlogging", "season"), BY_YEARS, strict=True):
        verdicts.loc["B", f"{quality}_factor"] = factor
    farm = replace(farm, verdicts=verdicts.reset_index())
    assert not any(told(farm, factor) for factor in BY_YEARS)
    assert told(farm, "crust_index")


def test_a_field_without_any_finding_lists_nothing():
    farm = judged_by_slope()
    assert not_judged(farm, WORDS, "A/1", found_on(farm, "A/1")) == ""
