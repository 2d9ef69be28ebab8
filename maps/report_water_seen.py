"""Water seen from above beside the answer, as a table of the report."""

import math

from maps.assessment import Assessment
from maps.of_field import has_rows, rows_of
from maps.report_table import Table
from maps.sentences import Teller


def water_seen_table(assessment: Assessment, teller: Teller, field_id: str) -> Table | None:
    """One row a day on which a picture shows some of the field; None where none does."""
    seen = assessment.water_seen
    if seen is None or not has_rows(seen, field_id):
        return None
    words, legend = teller.words, teller.legend
    rows = tuple(
        (
            legend.full_day(row.date.date()),
            legend.pct(row.wet_seen_pct) or words("report.no_wet_ground"),
            legend.pct(100 - row.dry_seen_pct) or words("report.no_other_ground"),
            legend.pct(row.agree_pct),
            _beyond_chance(row.kappa, teller),
            f"{row.n_cells}",
        )
        for row in rows_of(seen, field_id).itertuples()
    )
    heads = ("seen_on", "seen_wet", "seen_dry", "seen_agrees", "seen_kappa", "seen_cells")
    return Table(
        tuple(words(f"report.head.{head}") for head in heads),
        rows,
        (2, 2, 2, 2, 2, 1.4),
        numbers=(1, 2, 3, 4, 5),
    )


def _beyond_chance(kappa: float, teller: Teller) -> str:
    """Agreement beyond chance as a share; in words where it cannot be told or is below chance."""
    if math.isnan(kappa):
        return teller.words("report.seen_kappa_none")
    if kappa < 0:
        return teller.words("report.seen_kappa_less")
    return teller.legend.pct(100 * kappa)
