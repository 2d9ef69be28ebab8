"""The PDF report, read back by another library than wrote it."""

from dataclasses import replace

import pytest
from farm_with_soils import farm_with_soils
from pypdf import PdfReader
from small_farm import HOSTILE, small_farm

from maps.report_pages import report_pages
from maps.report_pdf import write_pdf
from suitability.notes import Note


def _read(assessment, tmp_path):
    write_pdf(report_pages(assessment), tmp_path / "report.pdf")
    return PdfReader(tmp_path / "report.pdf")


def _text(page):
    return " ".join(page.extract_text().split())


@pytest.fixture
def pages(tmp_path):
    return [_text(page) for page in _read(farm_with_soils(), tmp_path).pages]


def test_farm_page_first_then_a_page_for_each_field_then_the_end(pages):
    assert "1 of 4 fields can be sown" in pages[0]
    starts = [page.split(":")[0] for page in pages if page.startswith("Field ")]
    assert list(dict.fromkeys(starts)) == ["Field 1", "Field 2", "Field 3", "Field 4"]
    assert any(page.startswith("Before you act on this") for page in pages)


def test_the_hostile_name_is_there_letter_for_letter(pages):
    page = next(page for page in pages if page.startswith("Field 2:"))
    assert "".join(HOSTILE.split()) in "".join(page.split())


def test_numbers_and_symbols_of_the_drawings_are_text(pages):
    assert "500 ft" in pages[0]
    page = next(page for page in pages if page.startswith("Field 2:"))
    assert "UpA" in page
    assert "BtA" in page


def test_the_same_sentences_as_in_the_html(pages):
    text = " ".join(pages)
    assert "S1 from 39, S2 from 20, S3 from 10 inches; below: N" in text
    assert "not a wetland determination" in text
    assert "Caution: No survey covers field D. (fields: 4)" in text
    assert "nan" not in text.split()


def test_names_beyond_latin_letters(tmp_path):
    farm = small_farm()
    names = ["Łąka Świętego Ducha", "Поле за рекой", "Ruộng lúa", "田地 one"]
    fields = farm.fields.assign(name=names, owner="Ω & <b>")
    text = " ".join(_text(page) for page in _read(replace(farm, fields=fields), tmp_path).pages)
    for name in names[:3]:
        assert name in text
    # The font has no Chinese: a mark stands for each letter, and nothing is dropped in silence.
    assert "\ufffd\ufffd one" in text
    assert "Ω & <b>" in text


def test_symbols_beyond_the_font_do_not_stop_a_drawing(tmp_path):
    farm = small_farm()
    soils = farm.soil_parts.assign(musym="田<&", muname="\u202e{{x}}")
    text = " ".join(_text(page) for page in _read(replace(farm, soil_parts=soils), tmp_path).pages)
    assert "\ufffd<&: \ufffd{{x}}" in text


def test_letter_paper_for_us_units_and_a4_for_metric(tmp_path):
    # 8.5 x 11 inches and 210 x 297 mm, in points of 1/72 inch
    for units, size in (("us", (612, 792)), ("metric", (595.28, 841.89))):
        box = _read(small_farm(units), tmp_path).pages[0].mediabox
        assert (float(box.width), float(box.height)) == pytest.approx(size, abs=0.1)


@pytest.mark.parametrize("n", [10, 14, 18, 22])
def test_a_few_lines_that_ran_over_do_not_stand_on_a_page_alone(tmp_path, n):
    farm = farm_with_soils()
    notes = tuple(Note("fields", "info", f"Remark {i}.", ("B",)) for i in range(n))
    pages = [page.extract_text() for page in _read(replace(farm, notes=notes), tmp_path).pages]
    first = next(i for i, page in enumerate(pages) if page.startswith("Field 2:"))
    after = next(i for i, page in enumerate(pages) if page.startswith("Field 3:"))
    assert any("Field 2: The soils" in page for page in pages[first:after])
    assert after - first <= 3
    for page in pages[first : after - 1]:
        assert len(page.splitlines()) > 12


def test_nothing_in_it_runs_or_leads_out(tmp_path):
    write_pdf(report_pages(farm_with_soils()), tmp_path / "report.pdf")
    raw = (tmp_path / "report.pdf").read_bytes()
    for word in (b"/JavaScript", b"/JS", b"/Launch", b"/URI", b"/EmbeddedFile"):
        assert word not in raw


def test_language_title_and_bookmarks(tmp_path):
    reader = _read(farm_with_soils(), tmp_path)
    assert reader.metadata.title == "Four Corners: Where sunn hemp can go this summer"
    assert reader.trailer["/Root"]["/Lang"] == "en"
    assert reader.outline[0].title == "1 Home field"
    assert len(reader.outline) == 4
