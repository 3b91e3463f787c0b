"""The forms of a visit. Each carries `seen`: how far its page had seen the journal."""

from typing import Any

from flask_wtf import FlaskForm
from wtforms import RadioField, SelectField, SelectMultipleField, StringField, SubmitField, TextAreaField
from wtforms.fields.choices import SelectChoice
from wtforms.validators import InputRequired, Length, Optional, Regexp, ValidationError

from webapp import dates
from webapp.review import words
from webapp.review.forms import SeenField
from webapp.visits.rechecks import Asked

LINE, TEXT = 200, 20_000
URGENCY = ("routine", "urgent", "emergency")
TRILOSTANE = "trilostane"


class VisitForm(FlaskForm):
    """A request and its visit: who asks what of which animal, and when, where and by whom it is examined."""

    seen = SeenField(validators=[Optional()])
    date = StringField("Day", [Length(max=40)])
    time = StringField("Time", [Optional(), Regexp(r"^([01]?\d|2[0-3])[:.][0-5]\d$", message="Write 9:30 or 14:05.")])
    place = StringField("Place", [Length(max=LINE)])
    sonographer = SelectField("Examined by")
    urgency = SelectField("Urgency", choices=[SelectChoice(one) for one in URGENCY])
    requested_by = StringField("Who asks", [Length(max=LINE)])
    text = TextAreaField("The question, in words", [Length(max=TEXT)])
    structures = SelectMultipleField("Structures that it names")
    history = TextAreaField("History", [Length(max=TEXT)])
    medication = TextAreaField("Medication", [Length(max=TEXT)])
    steroids = RadioField(
        "Steroids in the last year",
        [Optional()],
        choices=[SelectChoice("unknown", "not known"), SelectChoice("no"), SelectChoice("yes")],
        default="unknown",
    )
    trilostane = RadioField(
        "Trilostane now",
        [Optional()],
        choices=[SelectChoice("", "not known"), SelectChoice("no"), SelectChoice("yes")],
        default="",
    )
    pending = TextAreaField("Tests whose results are awaited", [Length(max=TEXT)])
    submit = SubmitField("Save")

    def __init__(self, people: list[dict[str, Any]], *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.sonographer.choices = [SelectChoice("", "nobody yet")]
        self.sonographer.choices += [SelectChoice(row["id"], f"{row['name']} ({row['id']})") for row in people]
        self.structures.choices = [
            SelectChoice(name, str(row["label"]))
            for name, row in sorted(words.structures().items(), key=lambda one: _as_sought(str(one[1]["label"])))
        ]

    def validate_date(self, field: StringField) -> None:
        if _text(field):
            try:
                dates.typed_day(_text(field))
            except ValueError as error:
                raise ValidationError(str(error)) from error

    def validate_text(self, field: TextAreaField) -> None:
        if not (field.data or "").strip() and not self.structures.data:
            raise ValidationError("Write the question, or choose the structures it is about.")

    def facts(self, context: dict[str, Any] | None = None) -> dict[str, Any]:
        """What was typed, as a visit keeps it; `context` = the visit's own, of which only what is asked changes."""
        known = dict(context or {})
        if self.steroids.data in ("yes", "no") or known.get("steroids"):
            known["steroids"] = self.steroids.data or "unknown"
        treatments = [one for one in known.get("treatments") or [] if one != TRILOSTANE]
        if self.trilostane.data == "yes":
            treatments.append(TRILOSTANE)
        if treatments or known.get("treatments"):
            known["treatments"] = treatments
        if self.trilostane.data == "no":
            known["trilostane"] = "no"
        else:
            known.pop("trilostane", None)
        text = _lines(self.text)
        return {
            "date": dates.typed_day(_text(self.date)) if _text(self.date) else "",
            "time": _time(_text(self.time)) or None,
            "place": _text(self.place) or None,
            "sonographer": self.sonographer.data or None,
            "urgency": self.urgency.data,
            "requested_by": _text(self.requested_by) or None,
            "question": {"text": text, "structures": self.structures.data or []},
            "history": _lines(self.history) or None,
            "medication": _lines(self.medication) or None,
            "pending": _lines(self.pending) or None,
            "context": known or None,
        }

    def keep_choices(self, visit: dict[str, Any]) -> None:
        """What stands already can be chosen again, even where the form would not offer it."""
        for field in ("urgency", "sonographer"):
            self._offer(field, visit.get(field))
        self._offer("steroids", (visit.get("context") or {}).get("steroids"))

    def _offer(self, field: str, value: object) -> None:
        if value and value not in [one.value for one in self[field].choices]:
            self[field].choices = [*self[field].choices, SelectChoice(value, value)]

    def ask(self, recheck: Asked | None) -> None:
        """Put what a report recommends into a form that was not posted, to be changed at will."""
        if recheck is not None:
            self.text.data = f"Re-check: {recheck.text}"
            self.structures.data, self.requested_by.data = recheck.structures, recheck.requested_by

    def fill(self, visit: dict[str, Any]) -> None:
        """Put what is planned into a form that was not posted."""
        self.keep_choices(visit)
        for field in ("time", "place", "requested_by", "history", "medication", "pending"):
            self[field].data = visit.get(field) or ""
        self.date.data = words.day(visit.get("date"))
        question, context = visit.get("question") or {}, visit.get("context") or {}
        self.text.data = question.get("text") or ""
        self.structures.data = question.get("structures") or []
        self.urgency.data = visit.get("urgency") or URGENCY[0]
        self.sonographer.data = visit.get("sonographer") or ""
        self.steroids.data = context.get("steroids") or "unknown"
        given = TRILOSTANE in (context.get("treatments") or [])
        self.trilostane.data = "yes" if given else context.get("trilostane") or ""


class DoForm(FlaskForm):
    """One step in the list of a day: `what` says which, `visit` of which visit."""

    visit = StringField(validators=[Length(max=64)])
    what = StringField(validators=[InputRequired(), Length(max=40)])
    sonographer = StringField(validators=[Length(max=40)])
    why = StringField(validators=[Length(max=500)])
    ids = StringField(validators=[Length(max=40_000)])


class SettleForm(FlaskForm):
    """Which side of a fork holds."""

    chosen = StringField(validators=[InputRequired("Choose the one that holds.")])


def _as_sought(label: str) -> tuple[str, str]:
    """By name, LEFT beside RIGHT."""
    side, _, rest = label.partition(" ")
    return (rest.casefold(), side) if side in ("LEFT", "RIGHT") else (label.casefold(), "")


def _text(field: StringField) -> str:
    return " ".join((field.data or "").split())


def _lines(field: TextAreaField) -> str:
    return (field.data or "").replace("\r\n", "\n").replace("\r", "\n").strip()


def _time(text: str) -> str:
    hours, _, minutes = text.replace(".", ":").partition(":")
    return f"{int(hours):02d}:{minutes}" if minutes else ""
