"""The table of fields that leaves the program: fixed names, acres, every number from verdicts."""

import pandas as pd

from maps.assessment import Assessment
from maps.drawing import field_numbers
from maps.legend import ACRES_PER_HA
from maps.page_plan import plan_of_fields
from maps.reader import teller_of, words_of
from maps.remembered import remembered
from suitability.columns import FREEZE_COLUMNS

# These names and their order stay: other people's sheets rest on them.
COLUMNS = (
    "field_id",
    "name",
    "owner",
    "area_acres",
    "sowable_acres",
    "verdict",
    "suitability_class",
    "at_best",
    "limiting",
    "works_years_in_ten",
    "germination_risk",
    "waterlogging",
    "inoculation_need",
    "season_length",
    "germination_score",
    "waterlogging_score",
    "inoculation_score",
    "season_score",
    "score_basis",
    "sow_date",
    "soil_cover_pct",
    *FREEZE_COLUMNS,
    "soil_65f_held_p50",
    "soil_65f_held_p80",
)
PLANNED = ("plan", "plan_sow_date")  # stand last, and only where there is a plan
EXTRA = ("number", "wet_unplaced_pct", "why", "mind", "caution", "made_with")
_PLAN_WORD = {"sown": "sow", "held": "held back", "not_asked": "not asked"}
_DECIMALS = {
    "area_acres": 2,
    "sowable_acres": 2,
    "works_years_in_ten": 1,
    "germination_score": 1,
    "waterlogging_score": 1,
    "inoculation_score": 1,
    "season_score": 1,
    "soil_cover_pct": 1,
    "freeze_years_in_ten": 1,
    "wet_unplaced_pct": 1,
}


@remembered
def field_table(assessment: Assessment) -> pd.DataFrame:
    """One row a field in the order of its number: COLUMNS, EXTRA, and with a plan PLANNED.

    Areas are in acres whatever units people are shown; days are MM-DD; a missing number is NaN and
    a missing text None. ``works_years_in_ten`` and scores have one decimal. The table is made once
    for an assessment: whoever takes it changes a copy.
    """
    verdicts = assessment.verdicts.reset_index(drop=True)
    who = assessment.fields.set_index("field_id")[["name", "owner"]].reindex(verdicts.field_id)
    teller = teller_of(assessment)
    rows = [row for _, row in verdicts.iterrows()]
    table = verdicts.assign(
        name=who.name.to_numpy(),
        owner=who.owner.to_numpy(),
        area_acres=verdicts.area_ha.astype(float) * ACRES_PER_HA,
        sowable_acres=verdicts.sowable_ha.astype(float) * ACRES_PER_HA,
        number=list(field_numbers(assessment).values()),
        why=[teller.reason(row) for row in rows],
        mind=[" ".join(teller.conditions(row)) for row in rows],
        caution=teller.words("caution.wetland"),
        made_with=made_with(assessment),
    )
    planned = plan_of_fields(assessment, teller.words, teller.legend)
    if planned:
        own = [planned[i] for i in table["field_id"]]
        table = table.assign(
            plan=[_PLAN_WORD[p.state] for p in own], plan_sow_date=[p.week_mmdd for p in own]
        )
    table = table[[*COLUMNS, *EXTRA, *(PLANNED if planned else ())]].copy()
    for column in table.columns:
        if column in _DECIMALS:
            table[column] = table[column].astype(float).round(_DECIMALS[column])
        elif column != "number":
            text = table[column].astype(object)
            table[column] = text.where(text.notna() & (text != ""), None)
    return table


def made_with(assessment: Assessment) -> str:
    """Program version, day and crop file in one line, for tables that travel alone."""
    made = assessment.provenance
    return words_of(assessment)(
        "made_with.line", version=made.version, day=made.made_on, crop=assessment.crop.key
    )
