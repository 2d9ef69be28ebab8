"""The plan and the order for the seed dealer, as pages of report.pdf."""

from maps.pdf_paper import Paper
from maps.plan_teller import Section
from maps.report_plan import PlanPages


def plan_to_pdf(paper: Paper, plan: PlanPages) -> None:
    """Set the plan from a new page on, and the order on one of its own."""
    paper.add_page()
    paper.start_section(paper.plain(plan.heading))
    paper.text_block(plan.heading, 16, bold=True)
    paper.ln(1)
    paper.text_block(plan.lead, 12)
    for section in plan.sections:
        paper.heading(section.heading, room_mm=40 if section.table else 22)
        _section(paper, section)
    if plan.order is None:
        return
    paper.add_page()
    paper.start_section(paper.plain(plan.order.heading))
    paper.text_block(plan.order.heading, 16, bold=True)
    paper.ln(1)
    _section(paper, plan.order)
    if plan.order_otherwise is not None:
        paper.heading(plan.order_otherwise.heading, room_mm=40)
        _section(paper, plan.order_otherwise)


def _section(paper: Paper, section: Section) -> None:
    for line in section.lines:
        paper.text_block(line)
    if section.hint:
        paper.text_block(section.hint, 9, quiet=True)
    if section.table is not None and section.table.rows:
        paper.ln(1)
        paper.grid(section.table)
