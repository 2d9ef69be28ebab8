"""The report as PDF: the same pages, sentences and drawings as report.html."""

from pathlib import Path

from maps.colours import PAPER, VERDICT
from maps.pdf_paper import Paper
from maps.report_field import FieldPage, field_heading
from maps.report_owner_pdf import owner_to_pdf
from maps.report_pages import Report
from maps.report_plan_pdf import plan_to_pdf

_BAR_MM = 2.5


def write_pdf(report: Report, path: Path) -> None:
    """Write the report on US Letter, or on A4 for a farm in metric units."""
    paper = Paper(
        "letter" if report.units == "us" else "a4",
        report.words.language,
        report.title,
        report.words.sentences["report.page"],
    )
    # A link needs a page before the field's own page is known.
    links = [paper.add_link(page=1) for _ in report.fields]
    if report.owner is not None:
        owner_to_pdf(paper, report, report.owner)
    _farm(paper, report, links)
    if report.plan is not None:
        plan_to_pdf(paper, report.plan)
    for field, link in zip(report.fields, links, strict=True):
        paper.add_page()
        paper.set_link(link, page=paper.page_no())
        paper.start_section(paper.plain(f"{field.number} {field.name}"))
        _field(paper, report, field)
    paper.add_page()
    _end(paper, report)
    path.write_bytes(bytes(paper.output()))


def _farm(paper: Paper, report: Report, links: list[int]) -> None:
    paper.add_page()
    above = f"{report.farm} · {report.made}" if report.farm else report.made
    paper.text_block(above, 9, quiet=True)
    paper.ln(4)
    paper.text_block(report.heading, 20, bold=True)
    paper.ln(2)
    paper.text_block(report.lead, 13)
    paper.ln(4)
    if report.weeks:
        paper.text_block(report.words("map.weeks_heading"), 12, bold=True)
        paper.ln(paper.drawing(report.weeks, paper.epw, 30) + 1)
        hint = f"{report.words('map.weeks_still')} {report.weeks_meaning}"
        paper.text_block(hint, 9, quiet=True)
        paper.ln(3)
    paper.ln(paper.drawing(report.drawing, paper.epw, 115 if report.weeks else 125) + 1)
    paper.key(report.key)
    # Room for its hint, its heads and rows of three lines, lest it stand without its table.
    paper.heading(report.say("fields_heading"), room_mm=min(60, 24 + 12 * len(report.table.rows)))
    paper.text_block(report.say("fields_hint"), 9, quiet=True)
    paper.ln(1)
    paper.grid(report.table, links)


def _field(paper: Paper, report: Report, field: FieldPage) -> None:
    paper.text_block(field_heading(field, report.words), 16, bold=True)
    if field.owner:
        paper.text_block(report.say("of_owner", owner=field.owner), 9, quiet=True)
    paper.ln(2)
    _verdict(paper, field)
    if field.plan:
        paper.text_block(field.plan, 10.5)
    if field.mind:
        paper.heading(report.say("mind_heading"))
        paper.bullets(field.mind)
    if field.doubts:
        paper.heading(report.say("doubts_heading"))
        paper.bullets(field.doubts)
    _drawing_and_facts(paper, report, field)
    _calendar_and_years(paper, report, field)
    paper.heading(report.say("ratings_heading"), room_mm=34)
    paper.text_block(report.say("ratings_hint"), 9, quiet=True)
    paper.grid(field.rating_table)
    _sowing_weeks(paper, report, field)
    if field.water_seen:
        paper.heading(report.say("water_seen_heading"), room_mm=36)
        paper.text_block(report.say("water_seen_hint"), 9, quiet=True)
        paper.grid(field.water_seen)
    paper.heading(report.say("inoculant_heading"))
    paper.text_block(field.inoculant)
    paper.heading(report.say("freezes_heading"))
    paper.bullets(field.freezes)
    if field.told:
        paper.heading(report.told[0])
        paper.text_block(report.told[1], 9, quiet=True)
        paper.pairs(field.told)
    if field.seen:
        paper.heading(report.words("seen.heading"), room_mm=36)
        paper.text_block(report.words("seen.hint"), 9, quiet=True)
        paper.grid(field.seen)
    if field.notes:
        paper.heading(report.say("notes_heading"))
        paper.bullets(field.notes)
    _soils(paper, report, field)


def _verdict(paper: Paper, field: FieldPage) -> None:
    left, top = paper.l_margin, paper.get_y()
    paper.set_left_margin(left + _BAR_MM + 3)
    paper.text_block(field.verdict, 14, bold=True)
    paper.text_block(field.why, 10.5)
    paper.set_left_margin(left)
    paper.set_x(left)
    swatch = VERDICT[field.verdict_key]
    paper.set_fill_color(swatch.fill)
    paper.rect(left, top, _BAR_MM, paper.get_y() - top, style="DF")
    paper.set_fill_color(PAPER)
    paper.ln(1)


def _drawing_and_facts(paper: Paper, report: Report, field: FieldPage) -> None:
    if paper.will_page_break(80):
        paper.add_page()
    paper.ln(3)
    left, top, page = paper.l_margin, paper.get_y(), paper.page_no()
    height = paper.drawing(field.drawing, paper.epw * 0.56, 50)
    beside = left + paper.epw * 0.6
    paper.set_left_margin(beside)
    paper.set_xy(beside, top)
    for name, value in field.facts:
        paper.text_block(name, 8, quiet=True)
        paper.text_block(value, 9, bold=True)
        paper.ln(0.2)
    facts_end = paper.get_y() if paper.page_no() == page else top
    paper.set_left_margin(left)
    paper.set_xy(left, max(top + height + 2, facts_end + 1))
    paper.key(field.key)


def _calendar_and_years(paper: Paper, report: Report, field: FieldPage) -> None:
    """Set the two side by side."""
    pairs = [
        ("calendar_heading", field.calendar, ""),
        ("years_heading", field.years, field.years_hint),
    ]
    pairs = [(name, drawing, hint) for name, drawing, hint in pairs if drawing]
    if not pairs:
        return
    if paper.will_page_break(62):
        paper.add_page()
    paper.ln(3)
    left, top, half = paper.l_margin, paper.get_y(), paper.epw / 2
    lowest = top
    for column, (name, drawing, hint) in enumerate(pairs):
        x = left + column * half
        paper.set_left_margin(x)
        paper.set_xy(x, top)
        paper.text_block(report.say(name), 12, bold=True)
        paper.ln(1)
        height = paper.drawing(drawing, half - 6, 80, x)
        paper.set_xy(x, paper.get_y() + height + 1)
        if hint:
            paper.narrow_block(hint, half - 6, 8)
        lowest = max(lowest, paper.get_y())
    paper.set_left_margin(left)
    paper.set_xy(left, lowest + 1)


def _sowing_weeks(paper: Paper, report: Report, field: FieldPage) -> None:
    if not field.weeks:
        return
    paper.heading(report.say("weeks_heading"), room_mm=60)
    paper.text_block(field.weeks_hint, 9, quiet=True)
    paper.grid(field.weeks)
    paper.ln(2)
    paper.bullets(field.season)


def _soils(paper: Paper, report: Report, field: FieldPage) -> None:
    title = report.say("field_title", n=field.number)
    room_mm = 26 if field.soils or field.limits else 16
    paper.heading(f"{title}: {report.say('soils_heading')}", room_mm=room_mm)
    if field.map_units:
        paper.bullets(field.map_units)
    else:
        paper.text_block(report.say("soils_none"))
    if field.soils:
        paper.text_block(report.say("soils_hint"), 9, quiet=True)
        paper.grid(field.soils)
    paper.heading(report.say("limits_heading"), room_mm=35 if field.limits else 16)
    if field.limits:
        paper.grid(field.limits)
        paper.ln(1)
        below = f"{field.not_judged} {report.say('limits_hint')}".strip()
        paper.text_block(below, 8, quiet=True)
    else:
        paper.text_block(report.say("limits_none"))


def _end(paper: Paper, report: Report) -> None:
    paper.text_block(report.say("cautions_heading"), 16, bold=True)
    paper.ln(1)
    paper.bullets(report.cautions)
    paper.heading(report.say("run_heading"))
    for layer, notes in report.notes:
        paper.text_block(layer, 10, bold=True)
        paper.bullets(notes)
    if not report.notes:
        paper.text_block(report.say("run_none"))
    paper.heading(report.say("files_heading"))
    if report.files.rows:
        paper.grid(report.files)
    else:
        paper.text_block(report.say("files_none"))
    if report.options:
        paper.heading(report.say("options_heading"))
        paper.pairs(report.options)
    paper.heading(report.say("classes_heading"))
    paper.text_block(report.classes)
    paper.heading(report.say("sources_heading"))
    paper.text_block(report.say("sources_hint"), 9, quiet=True)
    for number, text in report.sources:
        paper.text_block(f"[{number}] {text}", 9)
    paper.ln(2)
    paper.text_block(report.program, 9, quiet=True)
