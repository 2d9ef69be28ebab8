"""The first page of report.pdf in an owner's version."""

from maps.owner_letter import OwnerLetter
from maps.pdf_paper import Paper
from maps.report_pages import Report


def owner_to_pdf(paper: Paper, report: Report, letter: OwnerLetter) -> None:
    """Set the letter on a page of its own."""
    paper.add_page()
    above = f"{report.farm} · {report.made}" if report.farm else report.made
    paper.text_block(above, 9, quiet=True)
    paper.ln(4)
    paper.text_block(letter.heading, 20, bold=True)
    paper.ln(2)
    for line in letter.lines:
        paper.text_block(line, 12)
        paper.ln(2)
    paper.grid(letter.table)
    paper.ln(3)
    paper.text_block(letter.only, 9, quiet=True)
