"""Reports as issued: the very bytes that were kept when they were signed."""

from pathlib import Path
from typing import Any

from flask import Blueprint, Response, abort

from webapp.store import preliminaries, reports
from webapp.store.db import get_db

# By the ending of the address: the column, and what it is sent as.
FORMS = {
    "html": ("html", "text/html; charset=utf-8"),
    "pdf": ("pdf", "application/pdf"),
    "txt": ("plain", "text/plain; charset=utf-8"),
}

# Kept pages name this address for their style, for as long as they exist.
blueprint = Blueprint(
    "issued",
    __name__,
    static_folder=Path(__file__).parent.parent / "report" / "static",
    static_url_path="/report-static",
)


@blueprint.get("/report/<exam>/<int:version>")
def page(exam: str, version: int) -> Response:
    return _kept(exam, version, "html")


@blueprint.get("/report/<exam>/<int:version>.pdf")
def pdf(exam: str, version: int) -> Response:
    return _kept(exam, version, "pdf")


@blueprint.get("/report/<exam>/<int:version>.txt")
def plain(exam: str, version: int) -> Response:
    return _kept(exam, version, "txt")


@blueprint.get("/report/<exam>/preliminary-<int:number>.<any(html, pdf, txt):form>")
def preliminary(exam: str, number: int, form: str) -> Response:
    row = preliminaries.one(get_db(), exam, number)
    if row is None:
        abort(404, f"No preliminary report {number} of this exam was made.")
    return _sent(row, form, f"report-{exam[:8]}-preliminary-{number}")


def _kept(exam: str, version: int, form: str) -> Response:
    row = reports.version(get_db(), exam, version)
    if row is None:
        abort(404, f"No version {version} of this report was issued.")
    return _sent(row, form, f"report-{exam[:8]}-version-{version}")


def _sent(row: dict[str, Any], form: str, name: str) -> Response:
    column, content_type = FORMS[form]
    data = row[column] if isinstance(row[column], bytes) else row[column].encode()
    response = Response(data, content_type=content_type)
    response.headers["Content-Disposition"] = f'inline; filename="{name}.{form}"'
    return response
