"""The forms of the desk. Each carries `seen`: the arrival number of the newest entry the page showed."""

from datetime import datetime
from typing import Any

from flask_wtf import FlaskForm
from wtforms import (
    FieldList,
    Form,
    FormField,
    HiddenField,
    IntegerField,
    RadioField,
    SelectChoice,
    SelectField,
    StringField,
    SubmitField,
    TextAreaField,
)
from wtforms.validators import InputRequired, Length, Optional, ValidationError
from wtforms.widgets import HiddenInput

LONGEST_TEXT = 20_000
LONGEST_LINE = 500
ANSWERS = [
    SelectChoice("", "not answered yet"),
    SelectChoice("yes"),
    SelectChoice("partly"),
    SelectChoice("not possible"),
]
ACKNOWLEDGEMENTS = (
    "measured again, same",
    "explained by context (sedation, fluids, position)",
    "limit does not fit this animal (breed, body shape)",
    "poor view, repeat later",
)
STATUSES = [
    SelectChoice("amended", "amended: findings or words change"),
    SelectChoice("corrected", "corrected: an error is put right"),
    SelectChoice("appended", "appended: something is added, the text stands"),
]


def due_day(text: str) -> str:
    """A day as typed ("2026-12-01", "1.12.2026", "1 Dec 2026") as "2026-12-01". Raises ValueError with advice."""
    for form in ("%Y-%m-%d", "%d.%m.%Y", "%d %b %Y", "%d %B %Y"):
        try:
            return datetime.strptime(text.strip(), form).date().isoformat()
        except ValueError:
            continue
    raise ValueError("Write the day as 2026-12-01, 1.12.2026 or 1 Dec 2026.")


def _said(field: StringField) -> bool:
    return bool((field.data or "").strip())


def _is_a_day(form: Form, field: StringField) -> None:
    if (field.data or "").strip():
        try:
            due_day(field.data)
        except ValueError as error:
            raise ValidationError(str(error)) from error


class Recommendation(Form):
    """What to do, by when, by whom; an empty text is no recommendation."""

    text = TextAreaField("What to do", [Length(max=LONGEST_LINE)])
    # Not the browser's date field: that shows 12/01/2026 and leaves open which is the month.
    due = StringField("By (day)", [_is_a_day])
    who = StringField("By whom", [Length(max=LONGEST_LINE)])

    def validate_text(self, field: StringField) -> None:
        if not _said(field) and (_said(self.who) or _said(self.due)):
            raise ValidationError("Write what is to be done, or clear the date and the person.")


class Answer(Form):
    """Why a look-again flag may stand."""

    flag = HiddenField()
    reason = StringField("Reason", [Length(max=LONGEST_LINE)])


class SeenField(IntegerField):
    """Hidden: how far the page that was answered had seen the journal."""

    widget = HiddenInput()


class DraftForm(FlaskForm):
    """The vet's part of an exam. One form, so that signing cannot lose a text typed in another one."""

    seen = SeenField(validators=[InputRequired()])
    answered = RadioField("Is the question answered?", choices=ANSWERS, validators=[Optional()])
    impression = TextAreaField("Impression", [Length(max=LONGEST_TEXT)])
    recommendations = FieldList(FormField(Recommendation))
    answers = FieldList(FormField(Answer))
    save = SubmitField("Save")
    sign = SubmitField("Save and sign")


class SettleForm(FlaskForm):
    """Which of two versions holds."""

    seen = SeenField(validators=[InputRequired()])
    slot = HiddenField(validators=[InputRequired()])
    chosen = HiddenField(validators=[InputRequired("Choose the one that holds.")])


class AddendumForm(FlaskForm):
    """A new version of a signed report, and why."""

    seen = SeenField(validators=[InputRequired()])
    status = SelectField("Kind", choices=STATUSES)
    reason = StringField("Reason", [InputRequired("Say why."), Length(max=LONGEST_LINE)])
    text = TextAreaField("Addendum", [InputRequired("Write the addendum."), Length(max=LONGEST_TEXT)])
    submit = SubmitField("Sign the addendum")


def fill(form: DraftForm, shown: dict[str, Any], seen: int) -> None:
    """Put what is recorded into a form that was not posted: the vet goes on from there."""
    form.seen.data = seen
    form.answered.data = shown["question"]["answered"] or ""
    form.impression.data = shown["impression"]
    while len(form.recommendations):
        form.recommendations.pop_entry()
    for row in shown["recommendations"]:
        form.recommendations.append_entry({key: row.get(key) for key in ("text", "due", "who")})
    for _ in range(max(1, 2 - len(shown["recommendations"]))):
        form.recommendations.append_entry()
    while len(form.answers):
        form.answers.pop_entry()
    for asked in shown["to_answer"]:
        form.answers.append_entry({"flag": asked["key"]})
