"""Reports as issued: the very bytes that were kept when they were signed."""

from pathlib import Path

from flask import Blueprint, Response, abort

from webapp.store import reports
from webapp.store.db import get_db

# Kept pages name this address for their style, for as long as they exist.
blueprint = Blueprint(
    "issued",
    __name__,
    static_folder=Path(__file__).parent.parent / "report" / "static",
    static_url_path="/report-static",
)


@blueprint.get("/report/<exam>/<int:version>")
def page(exam: str, version: int) -> Response:
    return _kept(exam, version, "html", "text/html; charset=utf-8", "html")


@blueprint.get("/report/<exam>/<int:version>.pdf")
def pdf(exam: str, version: int) -> Response:
    return _kept(exam, version, "pdf", "application/pdf", "pdf")


@blueprint.get("/report/<exam>/<int:version>.txt")
def plain(exam: str, version: int) -> Response:
    return _kept(exam, version, "plain", "text/plain; charset=utf-8", "txt")


def _kept(exam: str, version: int, column: str, content_type: str, ending: str) -> Response:
    row = reports.version(get_db(), exam, version)
    if row is None:
        abort(404, f"No version {version} of this report was issued.")
    data = row[column] if isinstance(row[column], bytes) else row[column].encode()
    response = Response(data, content_type=content_type)
    response.headers["Content-Disposition"] = f'inline; filename="report-{exam[:8]}-version-{version}.{ending}"'
    return response
