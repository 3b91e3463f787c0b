"""The forms of a record and of what is done with two. Each carries `seen`: how far its page had seen the journal."""

from datetime import date
from typing import Any

from flask_wtf import FlaskForm
from wtforms import (
    FieldList,
    Form,
    FormField,
    HiddenField,
    RadioField,
    SelectField,
    StringField,
    SubmitField,
    TextAreaField,
)
from wtforms.fields.choices import SelectChoice
from wtforms.validators import DataRequired, InputRequired, Length, Optional, ValidationError

from webapp import dates, rules
from webapp.animals import typed, words
from webapp.review import words as in_words
from webapp.review.forms import SeenField

LINE = 120
YES, NO, UNKNOWN = "yes", "no", ""
SOURCES = [SelectChoice(name, name) for name in ("", *words.WEIGHT_SOURCES)]
CONDITIONS = [SelectChoice("", "not known")] + [SelectChoice(str(one), f"{one} of 9") for one in range(1, 10)]


class NumberRow(Form):
    """Another number of the animal: whose number it is, and the number."""

    label = StringField("Whose number", [Length(max=LINE)])
    value = StringField("Number", [Length(max=LINE)])

    def validate_value(self, field: StringField) -> None:
        if bool((field.data or "").strip()) != bool((self.label.data or "").strip()):
            raise ValidationError("A number needs its label, and a label its number; or clear both.")


class RecordForm(FlaskForm):
    """Everything about one animal that the desk keeps; only name and species are asked for."""

    seen = SeenField(validators=[Optional()])
    name = StringField("Name", [DataRequired("Write the animal's name."), Length(max=LINE)])
    species = RadioField(
        "Species", [DataRequired("Dog or cat?")], choices=[SelectChoice("dog"), SelectChoice("cat")]
    )
    breed = StringField("Breed", [Length(max=LINE)])
    sex = RadioField(
        "Sex",
        [Optional()],
        choices=[SelectChoice("", "not known"), SelectChoice("female"), SelectChoice("male")],
        default="",
    )
    neutered = RadioField(
        "Neutered",
        [Optional()],
        choices=[SelectChoice(UNKNOWN, "not known"), SelectChoice(YES), SelectChoice(NO)],
        default=UNKNOWN,
    )
    operation = StringField("Which operation", [Length(max=LINE)])
    birth_date = StringField("Born (day)", [Length(max=40)])
    age = StringField("or age", [Length(max=40)])
    weight = StringField("Weight", [Length(max=20)])
    weight_source = SelectField("from", choices=SOURCES)
    weight_date = StringField("on (day)", [Length(max=40)])
    ideal_weight = StringField("Ideal weight", [Length(max=20)])
    body_condition = SelectField("Body condition", choices=CONDITIONS)
    microchip = StringField("Microchip", [Length(max=40)])
    numbers = FieldList(FormField(NumberRow))
    owner_name = StringField("Owner's name", [Length(max=LINE)])
    owner_contact = StringField("Owner's contact", [Length(max=LINE)])
    submit = SubmitField("Save")

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.neutered.label.text = rules.say("Neutered")

    def validate_birth_date(self, field: StringField) -> None:
        if _text(field):
            _said(lambda: typed.born(_text(field), date.today()))

    def validate_age(self, field: StringField) -> None:
        if _text(field) and _text(self.birth_date):
            raise ValidationError("The day of birth or the age, not both.")
        if _text(field):
            _said(lambda: typed.age_months(_text(field)))

    def validate_weight(self, field: StringField) -> None:
        if _text(field):
            _said(lambda: typed.weight(_text(field), self.species.data))
        elif self.weight_source.data:
            raise ValidationError("Write the weight, or clear where it is from.")

    def validate_weight_source(self, field: SelectField) -> None:
        if _text(self.weight) and not field.data:
            raise ValidationError("Say where the weight is from: a weight from the scales is believed otherwise.")

    def validate_weight_date(self, field: StringField) -> None:
        if _text(field):
            found = _said(lambda: dates.typed_day(_text(field)))
            if found > date.today().isoformat():
                raise ValidationError(f"{found} is still to come.")

    def validate_ideal_weight(self, field: StringField) -> None:
        if _text(field):
            _said(lambda: typed.weight(_text(field), self.species.data))

    def facts(self) -> dict[str, Any]:
        """What was typed, as a record keeps it: None where a field was left empty."""
        species = self.species.data
        age = typed.age_months(_text(self.age)) if _text(self.age) else None
        ideal = typed.weight(_text(self.ideal_weight), species).kg if _text(self.ideal_weight) else None
        numbers = [{"label": _text(row.form.label), "value": _text(row.form.value)} for row in self.numbers]
        return {
            "name": _text(self.name),
            "species": species,
            "breed": _text(self.breed) or None,
            "sex": self.sex.data or None,
            "neutered": {YES: True, NO: False}.get(self.neutered.data),
            "operation": _text(self.operation) or None,
            "birth_date": typed.born(_text(self.birth_date), date.today()) if _text(self.birth_date) else None,
            "age_months": {"value": age, "date": date.today().isoformat() if age is not None else None},
            "weight_kg": self._weight(),
            "ideal_weight_kg": ideal,
            "body_condition": int(self.body_condition.data) if self.body_condition.data else None,
            "microchip": _text(self.microchip) or None,
            "numbers": [row for row in numbers if row["value"]] or None,
            "owner.name": _text(self.owner_name) or None,
            "owner.contact": _text(self.owner_contact) or None,
        }

    def _weight(self) -> dict[str, Any]:
        if not _text(self.weight):
            return {"value": None}
        day = dates.typed_day(_text(self.weight_date)) if _text(self.weight_date) else date.today().isoformat()
        body: dict[str, Any] = typed.weight(_text(self.weight), self.species.data).body
        return body | {"source": self.weight_source.data, "date": day}

    def keep_choices(self, record: dict[str, Any]) -> None:
        """A source of the weight that stands already can be chosen again."""
        source = record.get("weight_source")
        if source and source not in [one.value for one in self.weight_source.choices]:
            self.weight_source.choices = [*self.weight_source.choices, SelectChoice(source, in_words.dated(source))]

    def fill(self, record: dict[str, Any]) -> None:
        """Put what the record says into a form that was not posted."""
        for field in ("name", "species", "breed", "operation", "microchip"):
            self[field].data = record.get(field) or ""
        self.birth_date.data = in_words.day(record.get("birth_date"))
        self.sex.data = record.get("sex") or ""
        self.neutered.data = UNKNOWN if record.get("neutered") is None else YES if record["neutered"] else NO
        self.age.data = words.age(record["age_months"]) if self._age_alone(record) else ""
        self.weight.data = words.weight_typed(record)
        self.weight_source.data = record.get("weight_source") or ""
        self.weight_date.data = in_words.day(record.get("weight_date"))
        self.ideal_weight.data = words.ideal_typed(record)
        self.body_condition.data = str(record.get("body_condition") or "")
        self.owner_name.data = record.get("owner.name") or ""
        self.owner_contact.data = record.get("owner.contact") or ""
        self.fill_numbers(record.get("numbers") or [])

    @staticmethod
    def _age_alone(record: dict[str, Any]) -> bool:
        """Whether an age is known and no day of birth, which would say more."""
        return record.get("age_months") is not None and not record.get("birth_date")

    def as_it_stands(self, record: dict[str, Any]) -> list[str]:
        """Fields that were left as the page showed them: an age or a weight of another day is not one of today."""
        age = words.age(record["age_months"]) if self._age_alone(record) else ""
        same = ["age_months"] if _text(self.age) == age else []
        if _text(self.ideal_weight) == words.ideal_typed(record):
            same.append("ideal_weight_kg")
        on = in_words.day(record.get("weight_date"))
        shown = (words.weight_typed(record), record.get("weight_source") or "", on)
        if (_text(self.weight), self.weight_source.data or "", _text(self.weight_date)) == shown:
            same.append("weight_kg")
        return same

    def fill_numbers(self, rows: list[dict[str, str]]) -> None:
        """These numbers and one empty row."""
        while len(self.numbers):
            self.numbers.pop_entry()
        for row in [*rows, {"label": "", "value": ""}]:
            self.numbers.append_entry(row)


class MergeForm(FlaskForm):
    """Two records of one animal: which stands, why; which fact of each holds comes as `holds-<field>`."""

    seen = SeenField(validators=[InputRequired()])
    into = RadioField("The record that stands", [DataRequired("Choose the record that stands.")])
    why = StringField("Why they are one animal", [DataRequired("Say why."), Length(max=500)])
    submit = SubmitField("Make them one")


class PartForm(FlaskForm):
    """Un-merge."""

    merge = HiddenField(validators=[InputRequired()])
    why = StringField("Why they are two", [DataRequired("Say why."), Length(max=500)])
    submit = SubmitField("Make them two again")


class MoveForm(FlaskForm):
    """An exam given to another animal."""

    seen = SeenField(validators=[InputRequired()])
    patient = HiddenField(validators=[DataRequired("Choose the animal.")])
    why = TextAreaField("Why", [DataRequired("Say why."), Length(max=500)])
    submit = SubmitField("Give the exam to this animal")


class SettleForm(FlaskForm):
    """Which side of a fork holds."""

    chosen = HiddenField(validators=[DataRequired("Choose the one that holds.")])


def _text(field: StringField) -> str:
    return " ".join((field.data or "").split())


def _said(make: Any) -> Any:
    """A ValueError as the form's own."""
    try:
        return make()
    except ValueError as error:
        raise ValidationError(str(error)) from error
