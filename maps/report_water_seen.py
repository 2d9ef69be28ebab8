"""Water seen from above beside the answer, as a table of the report."""

from maps.assessment import Assessment
from maps.report_table import Table
from maps.sentences import Teller


def water_seen_table(assessment: Assessment, teller: Teller, field_id: str) -> Table | None:
    """One row a day on which a picture shows some of the field; None where none does."""
    seen = assessment.water_seen
    if seen is None or not (seen["field_id"] == field_id).any():
        return None
    words, legend = teller.words, teller.legend
    rows = tuple(
        (
            legend.full_day(row.date.date()),
            legend.pct(row.wet_seen_pct) or words("report.no_wet_ground"),
            legend.pct(row.dry_seen_pct) or words("report.no_other_ground"),
            legend.pct(row.agree_pct),
            f"{row.n_cells}",
        )
        for row in seen[seen["field_id"] == field_id].itertuples()
    )
    heads = ("seen_on", "seen_wet", "seen_dry", "seen_agrees", "seen_cells")
    return Table(
        tuple(words(f"report.head.{head}") for head in heads),
        rows,
        (2, 2, 2, 2, 1.4),
        numbers=(1, 2, 3, 4),
    )
