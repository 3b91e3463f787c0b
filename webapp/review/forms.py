"""The forms of the desk. Each carries `seen`: the arrival number of the newest entry the page showed."""

from typing import Any

from flask_wtf import FlaskForm
from wtforms import (
    BooleanField,
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

from webapp import dates
from webapp.review import words
from webapp.review.recommended import STATES

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


def lines(text: str) -> str:
    """A form's text with the line ends that entries use."""
    return text.replace("\r\n", "\n").replace("\r", "\n")


def part_named(text: str) -> str | None:
    """The id of the structure or part that these words name ("LEFT adrenal, cranial pole"), None where nothing is
    written. Raises ValueError with advice."""
    wanted = " ".join(text.casefold().replace(",", " , ").split())
    if not wanted:
        return None
    for name, label in words.parts().items():
        if wanted in (name, " ".join(label.casefold().replace(",", " , ").split())):
            return name
    raise ValueError("No such part: choose one from the list, or leave this empty and name it in the words above.")


def _said(field: StringField) -> bool:
    return bool((field.data or "").strip())


def _is_a_day(form: Form, field: StringField) -> None:
    if (field.data or "").strip():
        try:
            dates.typed_day(field.data)
        except ValueError as error:
            raise ValidationError(str(error)) from error


def _is_a_part(form: Form, field: StringField) -> None:
    try:
        part_named(field.data or "")
    except ValueError as error:
        raise ValidationError(str(error)) from error


def plane_choices() -> list[SelectChoice]:
    """The planes as a form offers them, none first."""
    return [SelectChoice("", "not named"), *(SelectChoice(*named) for named in words.planes().items())]


class Recommendation(Form):
    """What to do, at which part, in which plane, by when, by whom; an empty text is no recommendation."""

    text = TextAreaField("What to do", [Length(max=LONGEST_LINE)])
    # Not the browser's date field: that shows 12/01/2026 and leaves open which is the month.
    due = StringField("By (day)", [_is_a_day])
    who = StringField("By whom", [Length(max=LONGEST_LINE)])
    part = StringField("Which part", [_is_a_part])
    # Checked below: a page from before planes were asked for sends none.
    plane = SelectField("Plane", choices=plane_choices, validate_choice=False)

    def validate_plane(self, field: SelectField) -> None:
        if field.data and field.data not in words.planes():
            raise ValidationError("Choose a plane from the list.")

    def validate_text(self, field: StringField) -> None:
        if not _said(field) and any(_said(one) for one in (self.who, self.due, self.part, self.plane)):
            raise ValidationError("Write what is to be done, or clear the rest of this row.")


def fates() -> list[SelectChoice]:
    """What can have become of a recommendation, that it stands first."""
    return [SelectChoice(*one) for one in STATES.items()]


class Fate(Form):
    """What has become of a recommendation of the signed report."""

    number = HiddenField()
    # Checked below: a page from before this was asked sends none.
    state = SelectField("Does it stand?", choices=fates, validate_choice=False)
    why = StringField("Why, or by what it was settled", [Length(max=LONGEST_LINE)])

    def validate_state(self, field: SelectField) -> None:
        if (field.data or "") not in STATES:
            raise ValidationError("Choose from the list.")

    def validate_why(self, field: StringField) -> None:
        if self.state.data and not _said(field):
            raise ValidationError("Say why, or by what it was settled.")
        if _said(field) and not self.state.data:
            raise ValidationError("Choose settled or dropped, or clear this.")


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
    judged_by = HiddenField()
    answered = RadioField("Is the question answered?", choices=ANSWERS, validators=[Optional()])
    impression = TextAreaField("Impression", [Length(max=LONGEST_TEXT)])
    recommendations = FieldList(FormField(Recommendation))
    answers = FieldList(FormField(Answer))
    second_read = BooleanField("The second reader's words go into the report")
    save = SubmitField("Save")
    sign = SubmitField("Save and sign")


class SettleForm(FlaskForm):
    """Which of two versions holds: the `chosen` entry's, or a third one in words (and a state of what was seen)."""

    seen = SeenField(validators=[InputRequired()])
    slot = HiddenField(validators=[InputRequired()])
    chosen = HiddenField()
    state = StringField("How it was seen")
    text = TextAreaField("Something else", [Length(max=LONGEST_TEXT)])


class AddendumForm(FlaskForm):
    """A new version of a signed report, and why."""

    seen = SeenField(validators=[InputRequired()])
    status = SelectField("Kind", choices=STATUSES)
    reason = StringField("Reason", [InputRequired("Say why."), Length(max=LONGEST_LINE)])
    text = TextAreaField("Addendum", [InputRequired("Write the addendum."), Length(max=LONGEST_TEXT)])
    fates = FieldList(FormField(Fate))
    recommendations = FieldList(FormField(Recommendation))
    stands = StringField("Why it stands as written", [Length(max=LONGEST_LINE)])
    submit = SubmitField("Sign the addendum")


def fill(form: DraftForm, shown: dict[str, Any], seen: int) -> None:
    """Put what is recorded into a form that was not posted: the vet goes on from there."""
    form.seen.data = seen
    form.answered.data = shown["question"]["answered"] or ""
    form.impression.data = shown["impression"]
    form.second_read.data = shown["second_read_in_report"]
    while len(form.recommendations):
        form.recommendations.pop_entry()
    for row in shown["recommendations"]:
        form.recommendations.append_entry(_as_typed(row))
    for _ in range(max(1, 2 - len(shown["recommendations"]))):
        form.recommendations.append_entry()
    while len(form.answers):
        form.answers.pop_entry()
    for asked in shown["to_answer"]:
        form.answers.append_entry({"flag": asked["key"]})


def recommended(form: DraftForm | AddendumForm) -> list[dict[str, Any]]:
    """The recommendations that were typed, as they are recorded; a row without words is none."""
    return [
        {
            "text": row.text.data.strip(),
            "due": dates.typed_day(row.due.data) if (row.due.data or "").strip() else None,
            "who": (row.who.data or "").strip(),
            "part": part_named(row.part.data or ""),
            "plane": row.plane.data or None,
        }
        for row in (one.form for one in form.recommendations)
        if (row.text.data or "").strip()
    ]


def ended(form: AddendumForm) -> dict[int, tuple[str, str]]:
    """The recommendations that were settled or dropped: {place: (which, why)}."""
    rows = [row.form for row in form.fates if row.form.state.data]
    return {_place(row.number.data): (row.state.data, row.why.data.strip()) for row in rows}


def _place(typed: str | None) -> int:
    return int(typed) if typed and typed.isascii() and typed.isdecimal() and len(typed) < 6 else 0


def offer(form: AddendumForm, rows: list[dict[str, Any]]) -> None:
    """A choice for each recommendation that stands (`rows` as shown, each with its number), and room for a new one;
    what was typed stays."""
    asked = {row.form.number.data for row in form.fates}
    for row in rows:
        if not row["state"] and str(row["number"]) not in asked:
            form.fates.append_entry({"number": str(row["number"])})
    if not len(form.recommendations):
        form.recommendations.append_entry()


def _as_typed(row: dict[str, Any]) -> dict[str, Any]:
    """A recommendation as the form shows it."""
    shown = {key: row.get(key) for key in ("text", "who", "plane")}
    return shown | {"due": words.day(row.get("due")), "part": words.label(row["part"]) if row.get("part") else None}
