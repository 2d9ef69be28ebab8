"""Water seen from above in the report: a field's own days, in HTML and PDF, an owner's own rows."""

from dataclasses import replace
from pathlib import Path

import pandas as pd
from farm_with_years import farm_with_years
from pypdf import PdfReader

from maps.assessment import Assessment
from maps.for_owner import of_owner
from maps.reader import teller_of
from maps.report import write_report
from maps.report_pages import report_pages
from maps.report_pdf import write_pdf
from maps.report_water_seen import water_seen_table

NAN = float("nan")


def farm() -> Assessment:
    rows = [
        ("A/1", "2024-06-05", NAN, 10.0, 90.0, NAN, 440),
        ("B", "2024-06-05", 50.0, 16.7, 70.4, 0.348, 420),
        ("B", "2024-07-01", 0.0, 2.0, 92.6, -0.03, 421),
    ]
    names = ["field_id", "date", "wet_seen_pct", "dry_seen_pct", "agree_pct", "kappa", "n_cells"]
    table = pd.DataFrame(rows, columns=names)
    table["date"] = pd.to_datetime(table["date"])
    return replace(farm_with_years(), water_seen=table)


def test_a_field_has_a_row_for_each_day_it_was_seen() -> None:
    told = water_seen_table(farm(), teller_of(farm()), "B")
    assert told is not None
    assert told.heads[1:5] == (
        "Wet ground seen wet",
        "Other ground seen dry",
        "Both together",
        "Beyond chance",
    )
    assert told.rows == (
        ("June 5, 2024", "50 %", "83 %", "70 %", "35 %", "420"),
        ("July 1, 2024", "0 %", "98 %", "93 %", "less than chance", "421"),
    )
    dry = water_seen_table(farm(), teller_of(farm()), "A/1")
    assert dry is not None and dry.rows[0][1:5] == ("none drawn", "90 %", "90 %", "not known")
    assert water_seen_table(farm(), teller_of(farm()), "C") is None
    assert water_seen_table(farm_with_years(), teller_of(farm()), "B") is None


def test_report_and_pdf_have_it(tmp_path: Path) -> None:
    report = report_pages(farm())
    write_report(report, tmp_path / "report.html")
    write_pdf(report, tmp_path / "report.pdf")
    page = (tmp_path / "report.html").read_text("utf-8")
    assert page.count("<h3>Water seen from above</h3>") == 2
    paper = " ".join(
        " ".join(p.extract_text() for p in PdfReader(tmp_path / "report.pdf").pages).split()
    )
    assert (
        paper.count("Water seen from above") == 2
        and "June 5, 2024 50 % 83 % 70 % 35 % 420" in paper
    )


def test_an_owner_is_told_of_their_fields_only() -> None:
    mine = of_owner(replace(farm(), years=None), "Marsh Hollow Land").water_seen
    assert mine is not None and set(mine["field_id"]) == {"B"}
