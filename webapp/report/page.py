"""The report as one HTML page: print-ready, readable on a phone, no script and no inline style."""

from pathlib import Path

from jinja2 import Environment, FileSystemLoader, StrictUndefined
from markupsafe import Markup

from .case import Json

# Kept pages point at the style they were issued with for as long as they exist: a file whose pages are out is never
# changed, another look is another file (tests/report/test_issued_stay.py holds the first, report.css, to its bytes).
STYLE_URL = "/report-static/report-2.css"

forms = Environment(
    loader=FileSystemLoader(Path(__file__).parent / "templates"),
    autoescape=True,
    undefined=StrictUndefined,
    trim_blocks=True,
    lstrip_blocks=True,
    keep_trailing_newline=True,
)


def page(report: Json) -> str:
    """The page as text; every word of the report is escaped by the template engine."""
    return forms.get_template("report.html").render(report=report, style_url=STYLE_URL, drawn=_drawn)


def _drawn(svg: str) -> Markup:
    """A picture of `plots`, which writes every word of it as XML text."""
    return Markup(svg)  # noqa: S704
