"""/exchange/dicom: a DICOM file for an exam, looked at, compared with the animal, its numbers or its picture taken."""

from typing import Any

from flask import Blueprint, Flask, Response, abort, current_app, flash, redirect, render_template, request, url_for
from flask.typing import ResponseReturnValue
from flask_wtf import FlaskForm
from flask_wtf.file import FileField, FileRequired
from wtforms import BooleanField

from webapp import rules
from webapp.animals.routes import author
from webapp.exchange import dicom_taking, waiting
from webapp.photos import files
from webapp.review import words
from webapp.store import animals, exams, reports
from webapp.store.db import get_db, read

blueprint = Blueprint("dicom", __name__, url_prefix="/exchange/dicom", template_folder="templates",
                      static_folder="static", static_url_path="/static")
FORM_BYTES = 64 * 1024  # of a request besides the file
# What waits of a file: its hash, the comparison with the animal, its numbers or its picture. The file itself is not
# kept: its header may name owners.
KIND, PICTURE = "dicom", "picture.png"


class SendForm(FlaskForm):
    """A DICOM file."""

    file = FileField("DICOM file: one still of the scanner, or a structured report", [FileRequired("Choose a file.")])


class KeepForm(FlaskForm):
    """That the picture is this animal's, asked where the file says otherwise."""

    sure = BooleanField("It is this animal's all the same")


class TokenForm(FlaskForm):
    """The token alone: what is chosen comes beside it."""


@blueprint.url_value_preprocessor
def allow_a_file(endpoint: str | None, values: dict[str, Any] | None) -> None:
    """Before the form's token is looked for, which reads the form."""
    if endpoint == "dicom.send_page":
        request.max_content_length = current_app.config["PHOTO_LARGEST_BYTES"] + FORM_BYTES


@blueprint.after_request
def not_kept(response: Response) -> Response:
    if request.endpoint != "dicom.static":
        response.headers["Cache-Control"] = "no-store"
    return response


@blueprint.route("/<exam>", methods=["GET", "POST"])
def send_page(exam: str) -> ResponseReturnValue:
    """Send a file. Nothing of it is taken in yet."""
    folded = folded_exam(exam)
    form = SendForm()
    if form.validate_on_submit():
        from webapp.exchange import dicom_in  # brings numpy: only where a file is looked at

        try:
            name = _looked_at(exam, folded, form.file.data.read())
            return redirect(url_for("dicom.file_page", exam=exam, name=name))
        except dicom_in.Unusable as error:
            form.file.errors = [str(error)]
    status = 422 if form.errors or form.file.errors else 200
    return render_template("exchange/dicom_send.html", form=form, **of_exam(exam, folded)), status


def _looked_at(exam: str, folded: exams.Folded, data: bytes) -> str:
    """Look at a file; the name under which what it offers waits. Raises dicom_in.Unusable."""
    from webapp.exchange import dicom_in, dicom_measures, dicom_still

    opened = dicom_in.opened(data)
    patient = folded.exam["patient"]
    compared = dicom_in.compared(opened, patient, _numbers(folded.exam["patient_id"]))
    told: dict[str, Any] = {"exam": exam, "hash": dicom_in.sha256(data)}
    told["compared"] = [row._asdict() for row in compared]
    if dicom_measures.is_report(opened):
        found = dicom_measures.proposals(opened, words.quantities())
        return _kept(told | {"kind": "report", "proposals": [row._asdict() for row in found]})
    if not dicom_still.looks_like(opened):
        raise dicom_in.Unusable("The file holds neither a picture nor a structured report.")
    regions = dicom_still.regions(opened)
    picture = dicom_still.png(opened)
    told |= {"kind": "still", "picture_hash": dicom_in.sha256(picture), "regions": dicom_taking.written(regions)}
    told |= {"width": int(opened.Columns), "height": int(opened.Rows)}
    return _kept(told, picture)


def _kept(told: dict[str, Any], picture: bytes | None = None) -> str:
    begun = waiting.begin(_app(), KIND)
    if picture is not None:
        begun.keep(PICTURE, picture)
    begun.tell(**told)
    return begun.name


def _numbers(patient: str | None) -> tuple[str, ...]:
    record = animals.record(get_db(), patient) if patient else None
    return tuple(str(row["value"]) for row in (record or {}).get("numbers") or []) + ((patient,) if patient else ())


@blueprint.get("/<exam>/<name>")
def file_page(exam: str, name: str) -> ResponseReturnValue:
    """What the file says of the animal, and what it offers."""
    told, folded = _waiting(exam, name).told, folded_exam(exam)
    taken = dicom_taking.taken(get_db(), exam, told["hash"]) if told["kind"] == "report" else {}
    return render_template(
        "exchange/dicom_file.html", told=told, name=name, form=KeepForm(formdata=None), taken=taken,
        differs=_differs(told), measures=measures(), **of_exam(exam, folded))


@blueprint.get("/<exam>/<name>/picture.png")
def picture(exam: str, name: str) -> Response:
    """The picture of a file that waits."""
    found = _waiting(exam, name)
    if found.told["kind"] != "still":
        abort(404)
    return Response(found.kept(PICTURE), content_type=dicom_taking.PNG)


@blueprint.post("/<exam>/<name>/keep")
def keep(exam: str, name: str) -> ResponseReturnValue:
    """Keep the picture with its scale."""
    found = _waiting(exam, name)
    told = found.told
    form = KeepForm()
    if told["kind"] != "still" or not form.validate_on_submit():
        abort(400, "This form does not fit the file.")
    if _differs(told) and not form.sure.data:
        flash("Nothing was kept: the file names another animal. Tick that it is this one's, or leave it.", "bad")
        return redirect(url_for("dicom.file_page", exam=exam, name=name))
    folder = files.folder_of(current_app.config["DATABASE"])
    try:
        entry = dicom_taking.keep_still(get_db(), folder, exam, author(), found.kept(PICTURE), told)
    except (dicom_taking.CannotTake, files.PhotoError) as error:
        flash(str(error), "bad")
        return redirect(url_for("dicom.file_page", exam=exam, name=name))
    found.done()
    flash("The still is kept with its scale.", "good")
    return redirect(url_for("stills.still_page", exam=exam, entry=entry))


@blueprint.post("/<exam>/<name>/take")
def take(exam: str, name: str) -> ResponseReturnValue:
    """Take one number as a reading."""
    told = _waiting(exam, name).told
    form = KeepForm()
    if told["kind"] != "report" or not form.validate_on_submit():
        abort(400, "This form does not fit the file.")
    here = url_for("dicom.file_page", exam=exam, name=name)
    row = next((one for one in told["proposals"] if str(one["place"]) == request.form.get("place")), None)
    quantity = request.form.get("quantity", "")
    if row is None:
        abort(400, "There is no such number in the report.")
    if _differs(told) and not form.sure.data:
        flash("Nothing was taken: the file names another animal. Tick that it is this one's, or leave it.", "bad")
    elif (words.quantities().get(quantity) or {}).get("unit") != row["unit"]:
        flash(f"Choose what {row['typed']} {row['typed_unit']} measures, in the same kind of unit.", "bad")
    else:
        try:
            dicom_taking.keep_number(get_db(), exam, told["hash"], row, quantity, author())
            flash(f"{words.label(quantity)}: {row['value']} {row['unit']} is kept under your name.{late(exam)}", "good")
        except dicom_taking.CannotTake as error:
            flash(str(error), "bad")
    return redirect(f"{here}#number-{row['place']}")


def late(exam: str) -> str:
    """What stands behind "kept" where the exam is signed already."""
    if not reports.versions(get_db(), exam):
        return ""
    return " The exam is signed: it is in no report until an addendum is signed."


def measures() -> list[dict[str, Any]]:
    """What can be read, by structure: `[{label, rows: [{id, label, unit}]}]`; ratios are computed, lesions are measured
    at the table with their number."""
    made: dict[str, dict[str, Any]] = {}
    for name, row in words.quantities().items():
        derived = (row.get("derived") or {}).get("rule") not in (None, "larger_pole")
        if row["structure"] and not derived:
            group = made.setdefault(row["structure"], {"label": words.label(row["structure"]), "rows": []})
            group["rows"].append({"id": name, "label": row["label"], "unit": row["unit"]})
    return list(made.values())


def of_exam(exam: str, folded: exams.Folded) -> dict[str, Any]:
    """What the head of each page says of the exam."""
    facts = folded.exam
    return {"exam": exam, "animal": facts["patient"].get("name") or "Animal without a name",
            "animal_line": words.animal(facts["patient"]), "date": words.day(facts["date"])}


def folded_exam(exam: str) -> exams.Folded:
    """The exam, or 404 with the reason."""
    with read(get_db()) as db:
        try:
            return exams.fold(db, exam)
        except (LookupError, rules.RulesError) as error:
            abort(404, str(error))


def _differs(told: dict[str, Any]) -> bool:
    return any(row["fits"] is False for row in told["compared"])


def _waiting(exam: str, name: str) -> waiting.Waiting:
    found = waiting.find(_app(), KIND, name)
    if found is None or found.told["exam"] != exam:
        abort(404, "This file is not here any more: send it again.")
    return found


def _app() -> Flask:
    return current_app._get_current_object()  # type: ignore[attr-defined,no-any-return]
