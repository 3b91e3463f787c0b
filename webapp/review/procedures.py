"""Needle procedures of an exam at the desk: what was done or not, with consent, checks before and watch afterwards."""

from typing import Any

from flask import Blueprint, abort, flash, redirect, render_template, request, url_for
from flask_wtf import FlaskForm
from sqlite_utils import Database
from werkzeug.wrappers import Response
from wtforms import (
    FieldList,
    Form,
    FormField,
    HiddenField,
    RadioField,
    SelectChoice,
    SelectField,
    StringField,
    TextAreaField,
)
from wtforms.validators import InputRequired, Length, NumberRange, Optional, ValidationError

from webapp import rules
from webapp.fields import WholeNumber
from webapp.report.procedures import procedures_of
from webapp.review import at_desk, forms, moments, striking, words
from webapp.store import desk, exams
from webapp.store.db import get_db

blueprint = Blueprint("procedures", __name__, template_folder="templates")

Page = str | Response | tuple[str, int]
Json = dict[str, Any]

MOST_ATTEMPTS = 99
MOST_NUMBER = 999


def _choices(name: str, empty: str) -> list[SelectChoice]:
    """A closed list of the table as a form offers it, nothing first."""
    rows = rules.procedures()[name]
    named = [(row["id"], row["label"]) if isinstance(row, dict) else (row, row) for row in rows]
    return [SelectChoice("", empty), *(SelectChoice(*one) for one in named)]


def _moment_or_none(text: str | None) -> str | None:
    return moments.typed(text, at_desk.now()) if text and text.strip() else None


def _is_a_moment(form: Form, field: StringField) -> None:
    try:
        _moment_or_none(field.data)
    except ValueError as error:
        raise ValidationError(str(error)) from error


class CheckForm(Form):
    """One thing asked before."""

    check = HiddenField()
    answer = SelectField("Answer", choices=lambda: _choices("answers", "not recorded"))


class ProcedureForm(FlaskForm):
    """One procedure, done or not done."""

    procedure = SelectField("What", choices=lambda: _choices("procedures", "choose"))
    part = StringField("Where", [InputRequired("Write where: a structure or a part of one.")])
    number = WholeNumber("Finding number", [Optional(), NumberRange(1, MOST_NUMBER)])
    done = RadioField("Was it done?", choices=[SelectChoice("yes", "done"), SelectChoice("no", "not done")],
                      validate_choice=False)
    why_not = StringField("Not done, because", [Length(max=forms.LONGEST_LINE)])
    when = StringField("When", [_is_a_moment])
    attempts = WholeNumber("Attempts", [Optional(), NumberRange(1, MOST_ATTEMPTS)])
    consent_by = StringField("Consent given by", [Length(max=forms.LONGEST_LINE)])
    consent_how = SelectField("How", choices=lambda: _choices("consent_how", "not recorded"))
    consent_when = StringField("When it was given", [_is_a_moment])
    checks = FieldList(FormField(CheckForm))
    got = StringField("What was got, and where it was sent", [Length(max=forms.LONGEST_LINE)])
    text = TextAreaField("In words", [Length(max=forms.LONGEST_TEXT)])

    def validate_procedure(self, field: SelectField) -> None:
        if not field.data:
            raise ValidationError("Choose what it was.")

    def validate_part(self, field: StringField) -> None:
        try:
            forms.part_named(field.data or "")
        except ValueError as error:
            raise ValidationError("No such part: choose one from the list.") from error

    def validate_done(self, field: RadioField) -> None:
        if field.data not in ("yes", "no"):
            raise ValidationError("Say whether it was done.")

    def validate_why_not(self, field: StringField) -> None:
        if self.done.data == "no" and not (field.data or "").strip():
            raise ValidationError("Say why it was not done.")
        if self.done.data == "yes" and (field.data or "").strip():
            raise ValidationError("It was done: clear this, or say that it was not.")


class WatchForm(FlaskForm):
    """What was seen of the animal afterwards."""

    of = HiddenField(validators=[InputRequired()])
    when = StringField("When", [InputRequired("Write when."), _is_a_moment])
    watched = StringField("What was seen", [InputRequired("Write what was seen."), Length(max=forms.LONGEST_LINE)])


@blueprint.after_request
def not_kept(response: Response) -> Response:
    response.headers["Cache-Control"] = "no-store"
    return response


@blueprint.route("/review/exam/<exam>/procedures", methods=["GET", "POST"])
def page(exam: str) -> Page:
    """The procedures recorded, and the form for another."""
    db = get_db()
    folded = at_desk.exam(db, exam)
    form = ProcedureForm()
    if form.validate_on_submit():
        _record(db, exam, folded, _body(form))
        flash("Kept with the exam.", "good")
        return redirect(url_for("procedures.page", exam=exam))
    if not form.is_submitted():
        form.when.data = moments.shown(at_desk.now())
        for check in rules.procedures()["checks"]:
            form.checks.append_entry({"check": check["id"]})
    return _page(exam, folded, form, WatchForm(formdata=None))


@blueprint.post("/review/exam/<exam>/procedures/watch")
def watch(exam: str) -> Page:
    """What was seen afterwards, for one of them."""
    db = get_db()
    folded = at_desk.exam(db, exam)
    form = WatchForm()
    row = next((one for one in folded.exam["procedures"] if one["id"] == form.of.data and not one["struck"]), None)
    if row is None:
        abort(404, "There is no such procedure with this exam.")
    if form.validate_on_submit():
        body = {"about": row["about"], "procedure": row["procedure"], "watched": form.watched.data.strip()}
        _record(db, exam, folded, body | {"when": _moment_or_none(form.when.data)}, of=row["id"])
        flash("Kept with the procedure.", "good")
        return redirect(url_for("procedures.page", exam=exam))
    return _page(exam, folded, _empty(), form)


def _empty() -> ProcedureForm:
    form = ProcedureForm(formdata=None)
    for check in rules.procedures()["checks"]:
        form.checks.append_entry({"check": check["id"]})
    return form


def _record(db: Database, exam: str, folded: exams.Folded, body: Json, of: str | None = None) -> None:
    patient = folded.exam["patient_id"]
    named = [of] if of else []
    desk.act(db, "procedure", body, author=at_desk.author(), exam=exam, patient=patient, of=named)


def _body(form: ProcedureForm) -> Json:
    """The entry's body: what was left open is left out."""
    done = form.done.data == "yes"
    known = {check["id"] for check in rules.procedures()["checks"]}
    checks = [
        {"id": row.form.check.data, "answer": row.form.answer.data}
        for row in form.checks
        if row.form.answer.data and row.form.check.data in known
    ]
    consent = {
        "by": (form.consent_by.data or "").strip(),
        "how": form.consent_how.data or "",
        "when": _moment_or_none(form.consent_when.data),
    }
    told = {
        "number": form.number.data,
        "why_not": (form.why_not.data or "").strip(),
        "when": _moment_or_none(form.when.data),
        "attempts": form.attempts.data if done else None,
        "consent": {name: value for name, value in consent.items() if value},
        "checks": checks,
        "got": (form.got.data or "").strip(),
        "text": forms.lines(form.text.data or "").strip(),
    }
    about = forms.part_named(form.part.data)
    return {"about": about, "procedure": form.procedure.data, "done": done} | {
        name: value for name, value in told.items() if value
    }


def _page(exam: str, folded: exams.Folded, form: ProcedureForm, watch_form: WatchForm) -> str:
    facts = folded.exam
    if not watch_form.is_submitted():
        watch_form.when.data = moments.shown(at_desk.now())
    return render_template(
        "review/procedures.html",
        exam=exam,
        form=form,
        watch_form=watch_form,
        strike_form=striking.StrikeForm(formdata=None),
        name=facts["patient"].get("name") or "Animal without a name",
        animal=words.animal(facts["patient"]),
        date=words.day(facts["date"]),
        why_nots=rules.procedures()["not_done"],
        check_labels={row["id"]: row["label"] for row in rules.procedures()["checks"]},
        refused=request.method == "POST",
        **shown(facts),
    )


def shown(exam: Json) -> Json:
    """For a page: the procedures in words, each with who recorded it, taken back ones too."""
    rows = {row["id"]: row for row in exam.get("procedures") or []}
    made = [
        one | {"who": rows[one["id"]]["author"], "at": words.moment(rows[one["id"]]["at"])}
        for one in procedures_of(exam, rules.procedures(), words.label, words.moment)
    ]
    taken_back = [
        {"title": f"{words.plain(row['procedure'])}, {words.label(row['about'])}", "why_struck": row["why_struck"]}
        | {"who": row["author"], "at": words.moment(row["at"])}
        for row in rows.values()
        if row["struck"]
    ]
    return {"procedures": made, "procedures_back": taken_back}
