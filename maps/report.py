"""The report as one HTML file: nothing in it runs, and nothing is loaded."""

import base64
import hashlib
from functools import lru_cache
from pathlib import Path

from jinja2 import Environment, PackageLoader, StrictUndefined

from maps.report_pages import Report


def write_report(report: Report, path: Path) -> None:
    """Write the report: a page for the farm, one for each field, then cautions and sources.

    Every text passes the template's escaping; only our own drawings, which escape for themselves,
    do not. The page's security policy allows its one style sheet, pictures that stand in the page
    itself, and nothing else.
    """
    environment = _environment()
    style = environment.get_template("report.css").render()
    digest = base64.b64encode(hashlib.sha256(style.encode()).digest()).decode()
    policy = (
        f"default-src 'none'; style-src 'sha256-{digest}'; img-src data:; base-uri 'none'; "
        "form-action 'none'"
    )
    page = environment.get_template("report.html").render(report=report, style=style, policy=policy)
    path.write_text(page, encoding="utf-8", newline="\n")


@lru_cache
def _environment() -> Environment:
    # Always on: by default jinja2 escapes nothing.
    return Environment(
        loader=PackageLoader("maps", "templates"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
    )
