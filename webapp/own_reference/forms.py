"""The forms of the own reference. Each carries `seen`: the id of the newest word of its kind that the page showed."""

from flask_wtf import FlaskForm
from wtforms import HiddenField, RadioField, StringField, SubmitField, TextAreaField
from wtforms.fields.choices import SelectChoice
from wtforms.validators import InputRequired, Length, ValidationError

LONGEST = 1000


def _said(field: StringField, words: str) -> None:
    if not (field.data or "").strip():
        raise ValidationError(words)


class MarkForm(FlaskForm):
    """An exam is of a healthy animal: what was known."""

    seen = HiddenField()
    known = TextAreaField("What was known of the animal", [Length(max=LONGEST)])
    submit = SubmitField("Mark as a healthy animal")

    def validate_known(self, field: TextAreaField) -> None:
        """Health is a statement that says what it rests on."""
        _said(field, "Write what was known: history, examination, tests, follow-up.")


class UnmarkForm(FlaskForm):
    """The mark is taken back, and why."""

    seen = HiddenField()
    why = StringField("Why the mark is taken back", [Length(max=LONGEST)])
    submit = SubmitField("Take the mark back")

    def validate_why(self, field: StringField) -> None:
        """Nothing is taken back silently."""
        _said(field, "Write why.")


class CountForm(FlaskForm):
    """A value is left out, or counts again, and why."""

    seen = HiddenField()
    exam = HiddenField(validators=[InputRequired()])
    counted = HiddenField(validators=[InputRequired()])
    why = StringField("Reason", [Length(max=300)])
    submit = SubmitField("Keep")

    def validate_why(self, field: StringField) -> None:
        """A far value is left out for what is known of it, never for being far."""
        _said(field, "Write the reason: what is known of this value besides its size.")


class RowForm(FlaskForm):
    """The group's own limits become a row; `basis` is what the page showed."""

    seen = HiddenField()
    basis = HiddenField(validators=[InputRequired()])
    use = RadioField(
        "What the row may do",
        [InputRequired("Choose what the row may do.")],
        choices=[
            SelectChoice("limit", "limit: judges these animals from now on"),
            SelectChoice("reference", "values seen: stands beside a value, never judges"),
        ],
    )
    submit = SubmitField("Make it a row of the register")
