"""Everything that people open, written into one folder."""

from collections.abc import Callable
from pathlib import Path

from maps.assessment import Assessment, without_days
from maps.calendar_ics import write_calendar
from maps.exports import write_fields_csv, write_zones
from maps.layers_read import Progress
from maps.phone_files import write_gpx, write_kml
from maps.reader import in_readers_language
from maps.report_files import FILES, pages_of, write_reports
from maps.report_pages import report_pages
from maps.second_process import Beside, Here
from maps.web_map import write_map
from maps.wet_by_week import write_wet_weeks_csv
from maps.year_tables import write_weeks_csv, write_years_csv

_WRITERS: tuple[tuple[str, str, Callable[[Assessment, Path], None]], ...] = (
    ("fields.csv", "Writing the table of fields", write_fields_csv),
    ("zones.gpkg", "Writing the shapes", write_zones),
    ("zones.kml", "Writing the shapes for map apps", write_kml),
    ("zones.gpx", "Writing the wet ground to walk to", write_gpx),
)


def write_all(
    assessment: Assessment,
    out_dir: Path,
    *,
    tables: bool,
    progress: Progress,
    beside: Beside | None = None,
) -> list[Path]:
    """Write every output into an existing folder; returns the paths.

    Parameters
    ----------
    tables : write the tables behind the answer too: findings, weeks, years, wet ground by week.
    beside : where half of the report's pages, and then the report, can be made meanwhile.
    """
    beside = beside or Here()
    assessment = in_readers_language(assessment)
    progress("Writing the report")
    field_ids = [str(field_id) for field_id in assessment.verdicts.field_id]
    mine, others = field_ids[: len(field_ids) // 2], field_ids[len(field_ids) // 2 :]
    pages = beside.start(pages_of, without_days(assessment), others)
    report = report_pages(assessment, [*pages_of(assessment, mine), *pages()])
    reports = beside.start(write_reports, report, out_dir)
    progress("Drawing the map")
    write_map(assessment, out_dir / "map.html")
    written = [out_dir / name for name in ("map.html", *FILES)]
    for name, step, write in _WRITERS:
        progress(step)
        write(assessment, out_dir / name)
        written.append(out_dir / name)
    if assessment.plan is not None:
        progress("Writing the calendar")
        if write_calendar(assessment, out_dir / "calendar.ics"):
            written.append(out_dir / "calendar.ics")
    if tables:
        progress("Writing the tables behind the answer")
        assessment.findings.to_csv(out_dir / "findings.csv", index=False)
        write_weeks_csv(assessment, out_dir / "weeks.csv")
        write_years_csv(assessment, out_dir / "years.csv")
        write_wet_weeks_csv(assessment, out_dir / "wet_weeks.csv")
        names = ("findings.csv", "weeks.csv", "years.csv", "wet_weeks.csv")
        written += [out_dir / name for name in names]
    progress("Writing the report as PDF")
    reports()
    return written
