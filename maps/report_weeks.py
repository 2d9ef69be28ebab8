"""The odds of a field by sowing week, as a table of the report."""

from maps.assessment import Assessment
from maps.of_field import records_of
from maps.page_weeks import weeks_in_order
from maps.report_table import Table
from maps.sentences import Teller, years_text
from maps.told_weeks import told_weeks

_ODDS = tuple(
    f"{name}_years_in_ten" for name in ("works", "germination_risk", "waterlogging", "season_short")
)
_GROWN = (*(f"dry_matter_60d_kg_ha_p{p}" for p in (10, 50, 90)), "dry_matter_end_kg_ha_p50")


def weeks_table(assessment: Assessment, teller: Teller, field_id: str) -> Table | None:
    """Every sowing week up to the first after which it never works; None where there are no odds.

    The last line says so where weeks have been left off.
    """
    words, legend = teller.words, teller.legend
    by_day = {row["sow_date"]: row for row in records_of(told_weeks(assessment), field_id)}
    if not by_day:
        return None
    days = weeks_in_order(set(by_day))
    worked = [n for n, day in enumerate(days) if by_day[day][_ODDS[0]] > 0]
    last = worked[-1] + 1 if worked else 0
    told = [
        (
            legend.day(day),
            *(years_text(by_day[day][name]) for name in _ODDS),
            *(legend.dry_matter(by_day[day][name]) for name in _GROWN),
        )
        for day in days[: last + 1]
    ]
    heads = ("week", "works", "no_stand", "too_wet", "too_short", "low", "mid", "high", "grown_end")
    return Table(
        tuple(words(f"report.head.{head}") for head in heads),
        tuple(told),
        (2, 1, 1.1, 1.1, 1.5, 1.5, 1.2, 1.2, 1.3),
        numbers=tuple(range(1, 9)),
    )
