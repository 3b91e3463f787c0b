"""/exchange/exam: one issued report in the forms that other systems read."""

from flask import Blueprint, Response, abort, current_app, request

from webapp.exchange import codes, exam_bundle, fhir_json, fhir_pictures, issued_exam
from webapp.exchange.issued_exam import Issued
from webapp.photos import files
from webapp.store import meta
from webapp.store.db import get_db

blueprint = Blueprint("exam_files", __name__, url_prefix="/exchange/exam")


@blueprint.get("/<exam>/<int:version>/fhir.json")
def fhir(exam: str, version: int) -> Response:
    """A version of a report as a FHIR R4 document; with `pictures=no` without photos and stills."""
    issued = _issued(exam, version)
    wanted = request.args.get("pictures") != "no"
    pictures = fhir_pictures.of(issued, files.folder_of(current_app.config["DATABASE"]), wanted)
    made = exam_bundle.document(issued, meta.get(get_db(), "practice"), codes.snomed_wanted(), pictures)
    return given(fhir_json.written(made), fhir_json.MIME, f"{_stem(issued)}.fhir.json")


@blueprint.get("/<exam>/<int:version>/report.dcm")
def dicom(exam: str, version: int) -> Response:
    """A version of a report as a DICOM structured report."""
    from webapp.exchange import dicom_sr  # brings numpy: only where it is asked for

    issued = _issued(exam, version)
    made = dicom_sr.written(issued, meta.get(get_db(), "practice"), codes.snomed_wanted())
    return given(made, dicom_sr.MIME, f"{_stem(issued)}.dcm")


def _issued(exam: str, version: int) -> Issued:
    found = issued_exam.find(get_db(), exam, version)
    if found is None:
        abort(404, f"No version {version} of this report was issued.")
    return found


def _stem(issued: Issued) -> str:
    """What the file is called: no name of an animal or a person, for files lie about."""
    return f"report-{issued.id[:8]}-version-{issued.version}"


def given(data: str | bytes, kind: str, name: str) -> Response:
    """A file to be saved."""
    answer = Response(data, content_type=f"{kind}; charset=utf-8" if kind.startswith("text/") else kind)
    safe = "".join(one for one in name if one.isascii() and (one.isalnum() or one in "._-"))
    answer.headers["Content-Disposition"] = f'attachment; filename="{safe}"'
    return answer
