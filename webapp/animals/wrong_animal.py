"""An exam under the wrong animal, and walk-ins without a record: matched by a person, never by itself."""

from flask import Blueprint, abort, flash, redirect, render_template, request, url_for
from werkzeug.wrappers import Response

from webapp import rules
from webapp.animals import find, forms, moving, record
from webapp.animals.routes import Page, author
from webapp.review import words
from webapp.store import animals, exams, reports
from webapp.store.db import get_db

blueprint = Blueprint("wrong_animal", __name__, template_folder="templates")


@blueprint.after_request
def not_kept(response: Response) -> Response:
    response.headers["Cache-Control"] = "no-store"
    return response


@blueprint.route("/review/exam/<exam>/animal", methods=["GET", "POST"])
def exam_page(exam: str) -> Page:
    """Whose exam it is: likely records, a search, the move with both animals named."""
    db = get_db()
    form = forms.MoveForm()
    told: list[str] = []
    if form.validate_on_submit():
        try:
            moving.move(db, exam, form.patient.data, form.why.data.strip(), author(), form.seen.data)
        except moving.CannotMove as error:
            told = [str(error)]
        except LookupError as error:
            abort(404, str(error))
        else:
            flash("The exam is this animal's now. The record names both animals.", "good")
            if reports.versions(db, exam):
                flash("The signed report still names the other animal: sign a correction below.", "bad")
            return redirect(url_for("review.exam_page", exam=exam))
    elif request.method == "POST":
        told = [error for field in (form.patient, form.why) for error in field.errors]
    return _show(exam, form, told)


def _show(exam: str, form: forms.MoveForm, told: list[str]) -> str:
    db = get_db()
    try:
        folded = exams.fold(db, exam)
    except LookupError as error:
        abort(404, str(error))
    except rules.RulesError as error:
        abort(409, f"The rules could not read this exam: {error}")
    facts, patient = folded.exam["patient"], folded.exam["patient_id"]
    chosen = animals.record(db, form.patient.data) if form.patient.data else None
    asked = request.args.get("q", "")[:200]
    picked = request.args.get("patient")
    if picked:
        form.patient.data = picked
        chosen = animals.record(db, picked)
    form.seen.raw_data = None
    form.seen.data = folded.through
    known = animals.record(db, patient) if patient else None
    return render_template(
        "animals/exam_animal.html",
        exam=exam,
        patient=patient,
        name=facts.get("name") or "Animal without a name",
        facts=words.animal(facts),
        chip=facts.get("microchip"),
        date=words.day(folded.exam["date"]),
        has_record=known is not None,
        moved=[row | {"at": words.moment(row["at"])} for row in folded.exam["moved"]],
        candidates=find.candidates(db, facts, but=patient),
        asked=asked,
        found=find.search(db, asked).rows if asked else [],
        form=form,
        chosen=chosen,
        other_species=bool(chosen and chosen.get("species") != facts.get("species")),
        told=told,
    )


@blueprint.post("/review/exam/<exam>/record")
def make_record(exam: str) -> Page:
    """The walk-in is a new animal: its record is made from what the exam says."""
    db = get_db()
    try:
        patient = moving.new_record(db, exam, author())
    except (moving.CannotMove, rules.RulesError) as error:
        flash(str(error), "bad")
        return redirect(url_for("wrong_animal.exam_page", exam=exam))
    except LookupError as error:
        abort(404, str(error))
    shown = record.as_seen(db, patient) or {}
    flash(f"{shown.get('shown') or 'The animal'} has a record now.", "good")
    return redirect(url_for("animals.animal_page", patient=patient))
