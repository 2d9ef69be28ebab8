"""Everything that people open, written into one folder."""

from collections.abc import Callable
from pathlib import Path

from maps.assessment import Assessment
from maps.calendar_ics import write_calendar
from maps.exports import write_fields_csv, write_zones
from maps.layers_read import Progress
from maps.phone_files import write_gpx, write_kml
from maps.reader import in_readers_language
from maps.report import write_report
from maps.report_pages import report_pages
from maps.report_pdf import write_pdf
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
    assessment: Assessment, out_dir: Path, *, tables: bool, progress: Progress
) -> list[Path]:
    """Write every output into an existing folder; returns the paths.

    Parameters
    ----------
    tables : write the tables behind the answer too: findings, weeks, years, wet ground by week.
    """
    assessment = in_readers_language(assessment)
    progress("Drawing the map")
    write_map(assessment, out_dir / "map.html")
    progress("Writing the report")
    report = report_pages(assessment)
    write_report(report, out_dir / "report.html")
    progress("Writing the report as PDF")
    write_pdf(report, out_dir / "report.pdf")
    written = [out_dir / name for name in ("map.html", "report.html", "report.pdf")]
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
    return written
