"""The HTML report: it says what the tables say, hides nothing it does not know, runs nothing."""

import base64
import hashlib
import html
import re
from dataclasses import replace
from html.parser import HTMLParser

import pandas as pd
import pytest
from farm_with_soils import farm_with_soils
from farm_with_years import farm_with_years
from small_farm import HOSTILE, small_farm

from maps.report import write_report
from maps.report_pages import report_pages
from maps.shown_names import shown


class _Seen(HTMLParser):
    """Collects tags, and text as a browser would show it."""

    def __init__(self):
        super().__init__()
        self.tags, self.attributes, self.texts = [], [], []
        self._style = False

    def handle_starttag(self, tag, attrs):
        self.tags.append(tag)
        self.attributes.extend(name for name, _ in attrs)
        self._style = tag == "style"

    def handle_endtag(self, tag):
        self._style = False

    def handle_data(self, data):
        if not self._style:
            self.texts.append(data)

    @property
    def text(self):
        return re.sub(r"\s+", " ", "".join(self.texts))


def _page(assessment, tmp_path):
    write_report(report_pages(assessment), tmp_path / "report.html")
    page = (tmp_path / "report.html").read_text("utf-8")
    seen = _Seen()
    seen.feed(page)
    return page, seen


@pytest.fixture
def rich(tmp_path):
    return _page(farm_with_soils(), tmp_path)


def _field(text, number):
    after = text.split(f"Field {number}:", 1)[1]
    return re.split(rf"Field (?!{number}:)\d+:|Before you act", after)[0]


def test_it_leads_with_the_sentence(rich):
    # 4 + 3.72 ha of 16 ha: 19.1 of 39.5 acres.
    assert "1 of 4 fields can be sown, 1 more with care: 19.1 acres of 39.5 acres." in rich[1].text


def test_a_section_for_each_field_in_the_order_of_its_number(rich):
    numbers = re.findall(r'<section class="field" id="field-(\d+)"', rich[0])
    assert numbers == ["1", "2", "3", "4"]


def test_each_drawing_is_there(rich):
    assert rich[0].count('role="img"') == 5


def test_hostile_names_come_out_letter_for_letter_and_run_nothing(rich):
    page, seen = rich
    assert f"Field 2: {HOSTILE}" in seen.text
    assert "script" not in seen.tags
    assert "img" not in seen.tags
    assert not [a for a in seen.attributes if a.startswith("on")]
    assert html.escape(HOSTILE, quote=False).split("onerror")[0][:20] in page.replace("&#39;", "'")


def test_no_part_of_the_report_is_evaluated(rich):
    assert "{{ 7*7 }}" in rich[1].text
    assert "O'Brien 49" not in rich[1].text


def test_a_name_of_ten_thousand_letters_is_cut_with_a_mark(tmp_path):
    farm = small_farm()
    fields = farm.fields.assign(name="x" * 10_000, owner="a\u202eb\x00c")
    page, seen = _page(replace(farm, fields=fields), tmp_path)
    assert "x" * 79 + "…" in seen.text
    assert "x" * 81 not in page
    assert "\u202e" not in page
    assert "a\ufffdb\ufffdc" in seen.text


def test_the_policy_allows_this_style_sheet_and_pictures_inside_and_nothing_else(rich):
    page = rich[0]
    style = re.search(r"<style>(.*?)</style>", page, re.S).group(1)
    digest = base64.b64encode(hashlib.sha256(style.encode()).digest()).decode()
    policy = html.unescape(re.search(r'Security-Policy" content="([^"]*)"', page).group(1))
    assert policy == (
        f"default-src 'none'; style-src 'sha256-{digest}'; img-src data:; base-uri 'none'; "
        "form-action 'none'"
    )
    assert "style" not in rich[1].attributes  # an inline style would be refused


def test_nothing_is_loaded_from_outside(rich):
    assert not re.search(r"(src|href)=[\"'](?!#)", rich[0])
    assert not re.search(r"url\(|@import", rich[0])


def test_language_title_and_print_rules(rich):
    page = rich[0]
    assert '<html lang="en">' in page
    assert "<title>Four Corners: Where sunn hemp can go this summer</title>" in page
    assert "@page" in page
    assert "break-before: page" in page
    assert "maximum-scale" not in page


def test_unknown_is_said_and_never_blank_or_nan(rich):
    text = rich[1].text
    assert not re.search(r"\bnan\b|\bNone\b|NaT|<NA>", text)
    unknown = _field(text, 4)
    assert "Waterlogging is not known" in unknown
    assert "Suitability class (FAO)not known" in unknown
    assert "No soil survey covers this field" in unknown
    assert "Freeze dates are not known" in unknown
    cells = re.findall(r"<td[^>]*>(.*?)</td>", rich[0], re.S)
    assert all(re.sub(r"<[^>]*>", "", cell).strip() for cell in cells)


def test_limits_are_shown_with_value_class_basis_and_source(rich):
    text = _field(rich[1].text, 2)
    # 100, 50 and 25 cm; judged at 0 cm on 0.4 of 4.0 ha and 120 cm on the rest.
    assert "N: 0 inches on 10 % S1: 47 inches on 90 %" in text
    assert "S1 from 39, S2 from 20, S3 from 10 inches; below: N" in text
    of_limits = re.search(r"S3 from 10 inches; below: N\s*judgement \[(\d+), (\d+)\]", text)
    sources = dict(re.findall(r'<li value="(\d+)">(.*?)</li>', rich[0]))
    told = [sources[number] for number in of_limits.groups()]
    assert told[0].startswith("USDA Soil Survey Manual")
    assert told[1] == "Our judgement; no source"
    assert "Judgement means that a limit is ours" in rich[1].text
    # The soil test is the grower's, and says so.
    assert "S2: 5.2 on 90 % (from you)" in text


def test_soils_of_a_field_with_share_and_acres(rich):
    text = _field(rich[1].text, 2)
    assert "UpA: Upland loamy sand, 0 to 2 percent slopes (9.2 acres)" in text
    assert re.search(r"UpA\s*Fairhope\s*90 %\s*8\.9\s*well", text)
    assert re.search(r"UpA\s*Cypress Sink\s*not known\s*0\.99\s*not known\s*N:", text)


def test_unsurveyed_ground_is_named_but_not_a_sliver_of_it(tmp_path):
    farm = farm_with_soils()
    gap = farm.parts.iloc[[1]].assign(mukey="unsurveyed", cokey="unsurveyed")
    for area_ha, said in ((0.4, True), (0.0001, False)):
        parts = pd.concat([farm.parts, gap.assign(area_ha=area_ha)])
        text = _field(_page(replace(farm, parts=parts), tmp_path)[1].text, 2)
        assert ("not surveyed" in text) == said


def test_dates_that_are_half_known_say_which_half_is_missing(rich):
    text = _field(rich[1].text, 2)
    assert (
        "Last spring freeze (32 °F): later than March 10 in 5 years of 10,"
        " the date for 1 year of 10 is not known." in text
    )
    assert "before November 20 in 5 years of 10, before November 2 in 1 year of 10." in text


def test_what_the_grower_told_is_shown_as_theirs(rich):
    text = _field(rich[1].text, 2)
    assert "The gap opensJune 1" in text
    assert "Day of the soil testFebruary 3, 2026" in text
    assert "Irrigation1.0 inches a week" in text
    assert "What you told us" not in _field(rich[1].text, 1)


def test_units_of_a_metric_farm(tmp_path):
    text = _page(farm_with_soils("metric"), tmp_path)[1].text
    assert "7.7 ha of 16.0 ha" in text
    assert "S1 from 100, S2 from 50, S3 from 25 cm; below: N" in text
    assert "First fall freeze (0 °C): before 20 November" in text
    assert "acres" not in text.split("Before you act")[0]


def test_cautions_notes_and_files_are_listed(rich):
    text = rich[1].text
    assert "It is not a wetland determination and not a boundary survey." in text
    assert "Caution: No survey covers field D. (fields: 4)" in text
    assert "No elevation was given." in text
    assert re.search(r"weather\s*daily\.csv\s*2\.4 MB\s*March 1, 2026\s*30 years, 12 km away", text)
    assert "Made with suitability 0.1.0" in text


def test_a_note_of_a_field_stands_on_its_page_too(rich):
    assert "No survey covers field D." in _field(rich[1].text, 4)
    assert "No survey covers field D." not in _field(rich[1].text, 1)


@pytest.mark.parametrize(
    ("text", "seen"),
    [
        ("a\nb\tc", "a b c"),
        ("\u202eevil", "\ufffdevil"),
        ("x" * 80, "x" * 80),
        ("x" * 81, "x" * 79 + "…"),
        (None, ""),
        (float("nan"), ""),
        (12, "12"),
    ],
)
def test_names_as_shown(text, seen):
    assert shown(text) == seen


def test_a_field_left_out_whole_has_no_more_wet_ground_than_is_drawn():
    farm = farm_with_years()

    def told(farm, number):
        return dict(next(f for f in report_pages(farm).fields if f.number == number).facts)

    assert "Water and wet ground in it" not in told(farm, 3)  # C is left out, and dry
    assert "Water and wet ground left out" not in told(farm, 3)
    season = {field.number: " ".join(field.season) for field in report_pages(farm).fields}
    assert "First pods" in season[2] and "First pods" not in season[3]
    moved = farm.wet_ground.assign(field_id="C", area_ha=0.5)
    verdicts = farm.verdicts.assign(water_ha=0.31)
    wet = told(replace(farm, wet_ground=moved, verdicts=verdicts), 3)
    assert wet["Water and wet ground in it"] == "2.0 acres"  # 0.81 ha
    assert told(farm, 2)["Water and wet ground left out"] == "0.69 acres"


def test_the_list_of_fields_tells_week_and_odds_once_and_what_to_mind():
    report = report_pages(farm_with_years())
    heads, rows = report.table.heads, {row[0]: row for row in report.table.rows}
    assert heads == (
        *("No.", "Field", "Answer", "Sow, week of", "Works, of 10", "To sow, acres"),
        *("Size, acres", "Why"),
    )
    # 9 of 10 years in the best week; 4.0 ha are 9.9 acres; one year of ten had a dry seed bed.
    assert rows["1"][2:] == (
        *("sow", "May 21", "9", "9.9", "9.9"),
        "What fails it: a dry seed bed (1 year).",
    )
    assert rows["2"][6] == "9.9" and rows["2"][7].startswith("Leave out 0.69 acres of wet ground")
    assert rows["4"][3:5] == ("not known", "not known")
    farm = farm_with_years()
    left_out = farm.verdicts["verdict"].eq("leave out")
    by_rule = farm.verdicts.assign(
        score_basis=farm.verdicts["score_basis"].mask(left_out, "survey rule")
    )
    told = report_pages(replace(farm, verdicts=by_rule)).table.rows
    assert [row[3:5] for row in told if row[2] == "leave out"] == [("-", "-")]
    plain = report_pages(farm_with_soils()).table
    assert "Works, of 10" not in plain.heads and len(plain.widths) == len(plain.heads) == 6
