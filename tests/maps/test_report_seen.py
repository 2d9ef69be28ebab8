"""The report's table of the field log: words, units, an owner's files, nothing from nothing."""

from dataclasses import replace
from datetime import date

import numpy as np
import pandas as pd
import pytest
from owned_farm import owned_farm
from pypdf import PdfReader
from small_farm import small_farm

from maps.for_owner import of_owner
from maps.legend import Legend
from maps.report import write_report
from maps.report_pages import report_pages
from maps.report_pdf import write_pdf
from maps.report_seen import seen_table
from maps.sentences import Teller
from maps.words import load_words


def _line(what, seen, low=np.nan, mid=np.nan, high=np.nan, **more):
    return {
        "field_id": "B", "day": date(2026, 6, 20), "what": what, "seen": seen, "low": low,
        "mid": mid, "high": high, "n_years": 30, "of_year": False, "why_not": "", "note": "",
        "drawn": None, "years_in_ten": np.nan, **more,
    }  # fmt: skip


def _farm(*lines):
    return replace(small_farm(), seen=pd.DataFrame(lines))


def _row(units="us", language="en", **line):
    teller = Teller(load_words(language), Legend(units, language))
    table = seen_table(_farm(_line(**line)), teller, "B")
    assert table is not None
    return table.rows[0][1:]


@pytest.mark.parametrize(
    ("line", "told"),
    [
        (
            {"what": "height", "seen": 0.6096, "low": 0.9144, "mid": 1.2192, "high": 1.524},
            ("Height", "2.0 ft", "4.0 ft (3.0 ft to 5.0 ft) by past years",
             "shorter than in 9 years of 10."),
        ),
        (
            {"what": "height", "seen": 1.0, "low": 0.9144, "mid": 1.2192, "high": 1.524},
            ("Height", "3.3 ft", "4.0 ft (3.0 ft to 5.0 ft) by past years",
             "Within what past years span."),
        ),
        (
            {"what": "emerged", "seen": 6, "low": 4, "mid": 4, "high": 4, "of_year": True},
            ("Up", "6 days after sowing", "4 days after sowing, that year",
             "2 days later than simulated."),
        ),
        (
            {"what": "soil-temperature", "seen": 20.0, "low": 22, "mid": 22, "high": 22,
             "of_year": True},
            ("Soil temperature", "68 F", "72 F, that year", "4 F colder than simulated."),
        ),
        (
            {"what": "height", "seen": float("nan"), "why_not": "no_sowing"},
            ("Height", "", "not known: no sowing is logged before it", ""),
        ),
        (
            {"what": "stand", "seen": 86.1, "low": 9, "mid": 9, "high": 9},
            ("Stand", "8 plants/ft²", "a stand in 9 years of 10", ""),
        ),
        (
            {"what": "wet-spot", "seen": float("nan"), "drawn": True, "years_in_ten": 4.0},
            ("Wet spot", "", "drawn as wet ground: too wet in 4 years of 10",
             "It counts as your mark."),
        ),
        (
            {"what": "wet-spot", "seen": float("nan"), "drawn": False},
            ("Wet spot", "", "not drawn as wet ground", "It counts as your mark."),
        ),
        (
            {"what": "grazing-days", "seen": 1200.0, "why_not": "not_compared"},
            ("Grazed", "1,200 head-days", "nothing to set beside it", ""),
        ),
    ],
)  # fmt: skip
def test_a_line_is_told_with_what_was_simulated_and_how_far_it_is(line, told):
    assert _row(**line) == told


def test_other_units_and_language():
    line = {"what": "cut-weight", "seen": 3000.0, "low": 2500.0, "mid": 2500.0, "high": 2500.0}
    assert _row("metric", of_year=True, **line)[1:] == (
        "3,000 kg/ha", "2,500 kg/ha, that year", "500 kg/ha heavier than simulated.",
    )  # fmt: skip
    assert _row("metric", "es", of_year=True, **line)[3] == "500 kg/ha más pesado que lo simulado."


def test_without_a_log_nothing_is_shown(tmp_path):
    teller = Teller(load_words(), Legend("us"))
    assert seen_table(small_farm(), teller, "B") is None
    assert seen_table(_farm(_line("sown", np.nan)), teller, "C") is None
    write_report(report_pages(small_farm()), tmp_path / "r.html")
    assert "What you saw" not in (tmp_path / "r.html").read_text("utf-8")


def test_report_and_pdf_show_it_and_an_owner_is_not_shown_it(tmp_path):
    line = {**_line("height", 0.61, 0.9, 1.2, 1.5), "field_id": "QUA-02"}
    farm = replace(owned_farm(), seen=pd.DataFrame([line]))
    for write, name in ((write_report, "r.html"), (write_pdf, "r.pdf")):
        write(report_pages(farm), tmp_path / name)
        write(report_pages(of_owner(farm, "Marsh Hollow Land")), tmp_path / f"own_{name}")
    pages = (tmp_path / "r.html").read_text("utf-8")
    assert "What you saw" in pages and "shorter than in 9 years of 10." in pages
    assert "What you saw" not in (tmp_path / "own_r.html").read_text("utf-8")
    texts = [
        " ".join(" ".join(p.extract_text().split()) for p in PdfReader(tmp_path / n).pages)
        for n in ("r.pdf", "own_r.pdf")
    ]
    assert "What you saw" in texts[0] and "What you saw" not in texts[1]
