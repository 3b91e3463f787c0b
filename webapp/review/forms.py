"""The forms of the desk. Each carries `seen`: the arrival number of the newest entry the page showed."""

from typing import Any

from flask_wtf import FlaskForm
from wtforms import (
    DateField,
    FieldList,
    Form,
    FormField,
    HiddenField,
    IntegerField,
    RadioField,
    SelectField,
    StringField,
    SubmitField,
    TextAreaField,
)
from wtforms.validators import InputRequired, Length, Optional, ValidationError
from wtforms.widgets import HiddenInput

LONGEST_TEXT = 20_000
LONGEST_LINE = 500
ANSWERS = [("", "not answered yet"), ("yes", "yes"), ("partly", "partly"), ("not possible", "not possible")]
ACKNOWLEDGEMENTS = (
    "measured again, same",
    "explained by context (sedation, fluids, position)",
    "limit does not fit this animal (breed, body shape)",
    "poor view, repeat later",
)
STATUSES = [
    ("amended", "amended: findings or words change"),
    ("corrected", "corrected: an error is put right"),
    ("appended", "appended: something is added, the text stands"),
]


class Recommendation(Form):
    """What to do, by when, by whom; an empty text is no recommendation."""

    text = StringField("What to do", [Length(max=LONGEST_LINE)])
    due = DateField("By", [Optional()])
    who = StringField("By whom", [Length(max=LONGEST_LINE)])

    def validate_text(self, field: StringField) -> None:
        if not (field.data or "").strip() and ((self.who.data or "").strip() or self.due.data):
            raise ValidationError("Write what is to be done, or clear the date and the person.")


class Answer(Form):
    """Why a look-again flag may stand."""

    flag = HiddenField()
    reason = StringField("Reason", [Length(max=LONGEST_LINE)])


class SeenField(IntegerField):
    """Hidden: how far the page that was answered had seen the journal."""

    widget = HiddenInput()


class DraftForm(FlaskForm):  # type: ignore[misc]
    """The vet's part of an exam. One form, so that signing cannot lose a text typed in another one."""

    seen = SeenField(validators=[InputRequired()])
    answered = RadioField("Is the question answered?", choices=ANSWERS, validators=[Optional()])
    impression = TextAreaField("Impression", [Length(max=LONGEST_TEXT)])
    recommendations = FieldList(FormField(Recommendation))
    answers = FieldList(FormField(Answer))
    save = SubmitField("Save")
    sign = SubmitField("Save and sign")


class SettleForm(FlaskForm):  # type: ignore[misc]
    """Which of two versions holds."""

    seen = SeenField(validators=[InputRequired()])
    slot = HiddenField(validators=[InputRequired()])
    chosen = HiddenField(validators=[InputRequired("Choose the one that holds.")])


class AddendumForm(FlaskForm):  # type: ignore[misc]
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
        form.recommendations.append_entry({"text": row.get("text"), "due": _date(row.get("due")), "who": row.get("who")})
    for _ in range(max(1, 2 - len(shown["recommendations"]))):
        form.recommendations.append_entry()
    while len(form.answers):
        form.answers.pop_entry()
    for flag in shown["flags"]:
        if flag["waiting"]:
            form.answers.append_entry({"flag": f"{flag['about']}|{flag['kind']}"})


def _date(text: object) -> Any:
    from datetime import date

    try:
        return date.fromisoformat(str(text)) if text else None
    except ValueError:
        return None
