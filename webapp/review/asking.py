"""Asking the person at the table about an exam: a question goes to the phone at its next sync, its answer back."""

from typing import Any

from flask import Blueprint, abort, flash, redirect, url_for
from flask_wtf import FlaskForm
from werkzeug.wrappers import Response
from wtforms import StringField, TextAreaField
from wtforms.validators import DataRequired, Length

from webapp.accounts import kept as typed
from webapp.accounts import person_here
from webapp.review import drafting, words
from webapp.store import asking, desk, exams
from webapp.store.db import get_db, write

Json = dict[str, Any]

blueprint = Blueprint("asking", __name__, url_prefix="/review/exam", template_folder="templates")

WHOLE = "the whole exam"
LONGEST = 500


class AskForm(FlaskForm):
    """A question about a structure, a part or the whole exam."""

    about = StringField("About", [Length(max=120)])
    text = TextAreaField("Question", [DataRequired("Write the question."), Length(max=LONGEST)])


def shown(exam: Json) -> list[Json]:
    """The exam's questions with their answers, for the page."""
    return [_line(row) | {"replies": [_line(one) for one in row["replies"]]} for row in asking.questions(exam)]


def _line(row: Json) -> Json:
    said = {"id": row["id"], "text": row["text"], "who": words.who(row), "at": words.moment(row["at"])}
    return said | {"label": WHOLE if row["about"] == "exam" else words.label(row["about"])}


@blueprint.post("/<exam>/ask")
def ask(exam: str) -> Response | tuple[str, int]:
    """Record a question; the phone that recorded the exam shows it after its next sync."""
    form = AskForm()
    if not form.validate_on_submit():
        return typed.page(" ".join(error for errors in form.errors.values() for error in errors)), 422
    about = _about(form.about.data or "")
    if about is None:
        return typed.page(f"“{form.about.data}” is no structure here: choose one of the list, or leave it empty."), 422
    db = get_db()
    try:
        with write(db):
            drafting.refuse_if_signed(db, exam)
            patient = exams.fold(db, exam).exam["patient_id"]
            body = {"about": about, "text": form.text.data.replace("\r\n", "\n").strip(), "asks": asking.ASKED}
            desk.act(db, "noted", body, author=_person(), exam=exam, patient=patient)
    except drafting.Signed as error:
        return typed.page(str(error)), 409
    except LookupError as error:
        abort(404, str(error))
    flash("Asked. It stands on the phone that recorded the exam after its next contact.", "good")
    return redirect(url_for("review.exam_page", exam=exam) + "#asked")


@blueprint.post("/<exam>/ask/<entry>/withdraw")
def withdraw(exam: str, entry: str) -> Response | tuple[str, int]:
    """Strike a question that needs no answer any more; it stays readable in the journal."""
    db = get_db()
    try:
        with write(db):
            folded = exams.fold(db, exam).exam
            row = next((one for one in asking.open_questions(folded) if one["id"] == entry), None)
            if row is None:
                return typed.page("This question was answered or withdrawn meanwhile."), 409
            body = {"about": row["about"], "why": "needs no answer any more"}
            desk.act(db, "struck", body, author=_person(), exam=exam, patient=folded["patient_id"], of=[entry])
    except LookupError as error:
        abort(404, str(error))
    flash("Withdrawn.", "good")
    return redirect(url_for("review.exam_page", exam=exam) + "#asked")


def _about(text: str) -> str | None:
    """The id of a structure or part named by its words; "exam" for none, None for a name nobody knows."""
    if text.strip() in ("", WHOLE):
        return "exam"
    return next((name for name, label in words.parts().items() if label == text.strip()), None)


def _person() -> str:
    person = person_here()
    if person is None:
        abort(401)
    return str(person["id"])
