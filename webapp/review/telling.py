"""Who was told or given what of an exam: the desk's page for it, and preliminary reports."""

from typing import Any

from flask import Blueprint, abort, flash, redirect, render_template, request, url_for
from flask_wtf import FlaskForm
from sqlite_utils import Database
from werkzeug.wrappers import Response
from wtforms import RadioField, SelectChoice, SelectField, SelectMultipleField, StringField, TextAreaField
from wtforms.validators import InputRequired, Length, ValidationError
from wtforms.widgets import CheckboxInput, ListWidget

from webapp import rules
from webapp.report.wording import ALERT_ENDING
from webapp.review import at_desk, forms, moments, preliminary, striking, words
from webapp.store import exams, preliminaries, reasons, reports
from webapp.store import told as tellings
from webapp.store.db import get_db

blueprint = Blueprint("telling", __name__, template_folder="templates")

Page = str | Response | tuple[str, int]
Json = dict[str, Any]

HOW = ("in person", "by phone", "by message", "by e-mail", "on paper", "as a file")


class TellForm(FlaskForm):
    """Who was told or given what."""

    seen = forms.SeenField(validators=[InputRequired()])
    flags = SelectMultipleField("What was told", widget=ListWidget(prefix_label=False), option_widget=CheckboxInput())
    handed = SelectField("Report handed over")
    to = StringField("Who was told, or given it", [InputRequired("Write who."), Length(max=forms.LONGEST_LINE)])
    how = SelectField("How", choices=[SelectChoice(one) for one in HOW])
    when = StringField("When", [InputRequired("Write when.")])
    read_back = RadioField(
        "Did they read it back?", choices=[SelectChoice("yes"), SelectChoice("no")], validate_choice=False
    )
    text = TextAreaField("In which words", [Length(max=forms.LONGEST_TEXT)])

    def validate_when(self, field: StringField) -> None:
        try:
            moments.typed(field.data, at_desk.now())
        except ValueError as error:
            raise ValidationError(str(error)) from error

    def validate_text(self, field: TextAreaField) -> None:
        if not (self.flags.data or self.handed.data or (field.data or "").strip()):
            raise ValidationError("Say what was told: choose it above, or write it here.")

    def validate_read_back(self, field: RadioField) -> None:
        if field.data not in ("yes", "no", None, "") or (self.flags.data and not field.data):
            raise ValidationError("Say whether they read it back to you.")


@blueprint.after_request
def not_kept(response: Response) -> Response:
    response.headers["Cache-Control"] = "no-store"
    return response


@blueprint.route("/review/exam/<exam>/told", methods=["GET", "POST"])
def page(exam: str) -> Page:
    """What is to be told, the form for who was told, and everything recorded of it."""
    db = get_db()
    folded = at_desk.exam(db, exam)
    form = TellForm()
    flags = {_key(flag): _words(flag) for flag in reasons.to_tell(folded.judgement)}
    form.flags.choices = [SelectChoice(*named) for named in flags.items()]
    form.handed.choices = [SelectChoice("", "none: told by word only"), *_reports(db, exam)]
    if form.validate_on_submit():
        tellings.record(db, exam, _telling(db, exam, form), at_desk.author())
        flash("Recorded. It stands with the exam.", "good")
        return redirect(url_for("review.exam_page", exam=exam))
    if request.method == "GET":
        _offer(form, folded)
    form.seen.raw_data = None
    form.seen.data = folded.through
    return render_template("review/told_page.html", exam=exam, form=form, **_page(db, exam, folded))


@blueprint.post("/review/exam/<exam>/preliminary")
def make(exam: str) -> Page:
    """Make a preliminary report of the exam as it stands."""
    try:
        number = preliminary.issue(get_db(), exam, at_desk.person())
    except (preliminary.Signed, rules.RulesError) as error:
        flash(str(error), "bad")
    except LookupError as error:
        abort(404, str(error))
    else:
        flash(f"Preliminary report {number} is made and kept. Record whom you gave it.", "good")
        return redirect(url_for("telling.page", exam=exam, handed=f"preliminary-{number}"))
    return redirect(url_for("telling.page", exam=exam))


def _telling(db: Database, exam: str, form: TellForm) -> tellings.Telling:
    # Told was what stood on the page: a record that came meanwhile is not covered.
    seen = exams.fold(db, exam, through=form.seen.data)
    chosen = [flag for flag in reasons.to_tell(seen.judgement) if _key(flag) in (form.flags.data or [])]
    behind = [name for flag in chosen for name in reasons.records_behind(flag, seen.exam)]
    kind, _, number = (form.handed.data or "").partition("-")
    texts = [_words(flag) for flag in chosen] + [forms.lines(form.text.data or "").strip()]
    return tellings.Telling(
        about=tellings.URGENT if chosen or not kind else tellings.REPORT,
        to=form.to.data.strip(),
        how=form.how.data,
        when=moments.typed(form.when.data, at_desk.now()),
        read_back={"yes": True, "no": False}.get(form.read_back.data or ""),
        text="\n".join(text for text in texts if text),
        version=int(number) if kind == "version" else None,
        number=int(number) if kind == "preliminary" else None,
        of=tuple(dict.fromkeys(behind)),
    )


def _key(flag: Json) -> str:
    return f"{flag['about']}|{flag['kind']}"


def _words(flag: Json) -> str:
    """What is to be told, without the word to the person with the probe."""
    return str(flag["text"]).removesuffix(ALERT_ENDING)


def _reports(db: Database, exam: str) -> list[SelectChoice]:
    """What can be handed over, newest first; before a signature the preliminary ones."""
    issued = [SelectChoice(f"version-{one['version']}", report_name(one)) for one in reports.versions(db, exam)]
    made = [SelectChoice(f"preliminary-{one['number']}", report_name(one)) for one in preliminaries.of(db, exam)]
    return [*reversed(issued), *reversed(made)]


def report_name(row: Json) -> str:
    """ "version 2", or "preliminary report 1"."""
    return f"version {row['version']}" if row.get("version") else f"preliminary report {row['number']}"


def _offer(form: TellForm, folded: exams.Folded) -> None:
    """What the form offers before anything is typed: what nobody was told yet, now."""
    form.flags.data = [_key(flag) for flag in reasons.untold(folded.exam, folded.judgement)]
    form.when.data = moments.shown(at_desk.now())
    form.to.data = request.args.get("to", "")[: forms.LONGEST_LINE]
    offered = request.args.get("handed", "")
    form.handed.data = offered if offered in [choice.value for choice in form.handed.choices] else ""


def _page(db: Database, exam: str, folded: exams.Folded) -> Json:
    made = [row | {"at": words.moment(row["issued_at"])} for row in preliminaries.of(db, exam)]
    issued = reports.versions(db, exam)
    name = folded.exam["patient"].get("name") or "Animal without a name"
    top = {"name": name, "animal": words.animal(folded.exam["patient"]), "date": words.day(folded.exam["date"])}
    strike_form = striking.StrikeForm(formdata=None)
    return top | {"made": made, "issued": issued, "strike_form": strike_form} | shown(db, exam, folded)


def shown(db: Database, exam: str, folded: exams.Folded) -> Json:
    """For the exam's own page: what nobody was told yet, who was told and given what, who has an older report."""
    issued = reports.versions(db, exam)
    return {
        "untold": [
            {"mark": words.MARKS["tell_someone"], "text": _words(flag)}
            for flag in reasons.untold(folded.exam, folded.judgement)
        ],
        "tellings": [telling(row) for row in folded.exam["told"]],
        "older": [
            row | {"report": report_name(row), "on": words.moment(row["when"])} for row in tellings.behind(db, exam)
        ],
        "newest": issued[-1]["version"] if issued else None,
    }


def telling(row: Json) -> Json:
    """One hand-over in words."""
    read_back = {True: ", read back", False: ", not read back"}.get(row["read_back"], "")
    given = f", {report_name(row)}" if row["version"] is not None or row["number"] is not None else ""
    line = f"{row['to']}, {row['how']}, {words.moment(row['when'])}{read_back}{given}"
    return {"line": line, "text": row["text"], "who": row["author"], "at": words.moment(row["at"])} | {
        name: row[name] for name in ("id", "about", "struck", "why_struck")
    }
