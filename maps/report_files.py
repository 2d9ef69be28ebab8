"""The report in its two forms; what makes them is loaded where it is done."""

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from maps.assessment import Assessment
    from maps.report_field import FieldPage
    from maps.report_pages import Report

FILES = ("report.html", "report.pdf")
WRITERS = ("maps.report", "maps.report_pages", "maps.report_pdf")


def pages_of(assessment: "Assessment", field_ids: Sequence[str]) -> "list[FieldPage]":
    """Pages of some fields."""
    from maps.report_pages import field_pages

    return field_pages(assessment, field_ids)


def write_reports(report: "Report", folder: Path) -> None:
    """Write ``FILES`` into a folder."""
    from maps.report import write_report
    from maps.report_pdf import write_pdf

    write_report(report, folder / FILES[0])
    write_pdf(report, folder / FILES[1])
