"""The odds of a field by sowing week, as a table of the report."""

from maps.assessment import Assessment
from maps.of_field import rows_of
from maps.page_weeks import weeks_in_order
from maps.report_table import Table
from maps.sentences import Teller, years_text
from maps.told_weeks import told_weeks

_ODDS = ("works", "germination_risk", "waterlogging", "season_short")


def weeks_table(assessment: Assessment, teller: Teller, field_id: str) -> Table | None:
    """Every sowing week up to the first after which it never works; None where there are no odds.

    The last line says so where weeks have been left off.
    """
    words, legend = teller.words, teller.legend
    mine = rows_of(told_weeks(assessment), field_id)
    if mine.empty:
        return None
    mine = mine.set_index("sow_date").loc[weeks_in_order(set(mine["sow_date"]))].reset_index()
    worked = (mine["works_years_in_ten"] > 0).to_numpy().nonzero()[0]
    last = int(worked[-1]) + 1 if len(worked) else 0
    rows = []
    for _, row in mine.iloc[: last + 1].iterrows():
        grown = [legend.dry_matter(row[f"dry_matter_60d_kg_ha_p{p}"]) for p in (10, 50, 90)]
        rows.append(
            (
                legend.day(row["sow_date"]),
                *(years_text(row[f"{name}_years_in_ten"]) for name in _ODDS),
                *grown,
                legend.dry_matter(row["dry_matter_end_kg_ha_p50"]),
            )
        )
    heads = ("week", "works", "no_stand", "too_wet", "too_short", "low", "mid", "high", "grown_end")
    return Table(
        tuple(words(f"report.head.{head}") for head in heads),
        tuple(rows),
        (2, 1, 1.1, 1.1, 1.5, 1.5, 1.2, 1.2, 1.3),
        numbers=tuple(range(1, 9)),
    )
