"""The report as one HTML page: print-ready, readable on a phone, no script and no inline style."""

from pathlib import Path

from jinja2 import Environment, FileSystemLoader, StrictUndefined

from .case import Json

# Kept pages point here for as long as they exist: never rename the file, only add to it.
STYLE_URL = "/report-static/report.css"

_forms = Environment(
    loader=FileSystemLoader(Path(__file__).parent / "templates"),
    autoescape=True,
    undefined=StrictUndefined,
    trim_blocks=True,
    lstrip_blocks=True,
    keep_trailing_newline=True,
)


def page(report: Json) -> str:
    """The page as text; every word of the report is escaped by the template engine."""
    return _forms.get_template("report.html").render(report=report, style_url=STYLE_URL)
