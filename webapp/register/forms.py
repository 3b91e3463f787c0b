"""The forms of the limits pages. Each carries `seen`: the id of the change that the page showed as the last."""

from typing import Any

from flask_wtf import FlaskForm
from wtforms import HiddenField, RadioField, SelectField, StringField, SubmitField, TextAreaField
from wtforms.fields.choices import SelectChoice
from wtforms.validators import InputRequired, Length, NumberRange, Optional, ValidationError

from webapp import rules
from webapp.core import grades
from webapp.fields import WholeNumber
from webapp.review import words

LONGEST = 300
MM, CM = "mm", "cm"
VESSEL = "vessel:material"


def _choices(words: dict[str, str]) -> list[SelectChoice]:
    return [SelectChoice(value, label) for value, label in words.items()]


class StepForm(FlaskForm):
    """A button: `what` says which, as its value."""

    seen = HiddenField()
    what = StringField(validators=[InputRequired("Choose what is to be changed."), Length(max=LONGEST)])


class ThresholdForm(FlaskForm):
    """Another number for a threshold of ours; empty = as published with the program."""

    seen = HiddenField()
    path = HiddenField(validators=[InputRequired("Choose a threshold.")])
    number = StringField("Number", [Length(max=24, message="A number has 24 digits at most.")])
    submit = SubmitField("Save")


class GradeForm(FlaskForm):
    """Another grade for a kind of line."""

    seen = HiddenField()
    kind = HiddenField(validators=[InputRequired("Choose a kind of line.")])
    grade = SelectField("Grade", choices=[SelectChoice(name, grades.WORDS[name]) for name in grades.GRADES])
    why = StringField("Reason", [Length(max=LONGEST)])
    submit = SubmitField("Save")


class EntryForm(FlaskForm):
    """An own entry of the list of findings that someone is told, or that is told more quietly here."""

    seen = HiddenField()
    finding = SelectField("Finding", [InputRequired("Choose a finding.")])
    structure = SelectField("Where", default="")
    grade = SelectField("Grade", choices=[SelectChoice(name, grades.WORDS[name]) for name in grades.GRADES])
    why = StringField("Reason (needed where it becomes quieter)", [Length(max=LONGEST)])
    submit = SubmitField("Put before the list")

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        ids = [name for name in rules.tables()["descriptors"]["finding_ids"] if name != "none"]
        self.finding.choices = [
            SelectChoice("", "choose a finding"),
            *(SelectChoice(name, words.plain(name)) for name in ids),
            SelectChoice(VESSEL, "material in a vessel beside it"),
        ]
        self.structure.choices = [
            SelectChoice("", "any structure"),
            *(SelectChoice(name, str(row["label"])) for name, row in words.structures().items()),
        ]

    def entry(self) -> dict[str, Any]:
        """The entry as the rules take it."""
        what = {"vessel_state_begins": "material"} if self.finding.data == VESSEL else {"finding": self.finding.data}
        where = {"structures": [self.structure.data]} if self.structure.data else {}
        why = " ".join((self.why.data or "").split())
        return what | where | {"grade": self.grade.data} | ({"why": why} if why else {})


def quantity_choices() -> list[SelectChoice]:
    """The catalogue's quantities; of a pair first both sides together."""
    choices = [SelectChoice("", "choose a quantity")]
    for name, row in words.quantities().items():
        if ".left." in name:
            both = name.replace(".left.", ".*.")
            choices.append(SelectChoice(both, f"{row['label'].replace('LEFT', 'LEFT or RIGHT')} ({_unit(row)})"))
        choices.append(SelectChoice(name, f"{row['label']} ({_unit(row)})"))
    return choices


def _unit(row: dict[str, Any]) -> str:
    return "ratio" if row["unit"] == "1" else "score" if row["unit"] == "{score}" else str(row["unit"])


class RowForm(FlaskForm):
    """An own row: a bound, for whom, from where."""

    seen = HiddenField()
    quantity = SelectField("Quantity", [InputRequired("Choose a quantity.")])
    species = RadioField("Species", [InputRequired("Dog or cat?")], choices=_choices({"dog": "dog", "cat": "cat"}))
    breed = StringField("Breed, or none", [Length(max=60)])
    sex = SelectField("Sex", choices=_choices({"any": "any", "male": "male", "female": "female"}))
    neutered = SelectField(
        "Neutered",
        choices=_choices({"any": "any", "intact": "entire", "neutered": "neutered"}),
    )
    weights = RadioField(
        "Weights",
        [InputRequired("All weights, or one class?")],
        choices=_choices({"all": "all weights", "class": "one class"}),
    )
    from_included = SelectField("Lower end", choices=_choices({"yes": "from", "no": "over"}))
    from_kg = StringField("kg", [Length(max=12)])
    to_included = SelectField("Upper end", choices=_choices({"yes": "up to", "no": "under"}))
    to_kg = StringField("kg", [Length(max=12)])
    from_months = WholeNumber("From the age of, months", [InputRequired("From which age?"), NumberRange(0, 400)])
    lower = StringField("Lower bound", [Length(max=20)])
    upper = StringField("Upper bound", [Length(max=20)])
    unit = SelectField("Unit", choices=_choices({"": "its own", MM: MM, CM: CM}))
    plane = SelectField(
        "Plane",
        choices=_choices({"long_axis": "long axis", "short_axis": "short axis", "unspecified": "not stated"}),
    )
    use = SelectField(
        "Use",
        choices=_choices(
            {
                "limit": "limit: judges",
                "criterion": "cut-off: stands beside a value, never judges",
                "reference": "values seen: stand beside a value, never judge",
                "unverified": "unverified: never flags",
            }
        ),
    )
    population = StringField(
        "Which animals it is from", [InputRequired("Write which animals it is from."), Length(max=LONGEST)]
    )
    n = WholeNumber(
        "How many animals", [Optional(), NumberRange(1, 10**6, "From 1 on; or tick that it is not known.")]
    )
    n_not_known = RadioField(
        "The number of animals is",
        choices=_choices({"no": "known, as written", "yes": "not known"}),
        default="no",
    )
    source = TextAreaField(
        "Where the figure is from", [InputRequired("Write where the figure is from."), Length(max=LONGEST)]
    )
    note = TextAreaField("Note", [Length(max=1000)])
    submit = SubmitField("Add the row")

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.quantity.choices = quantity_choices()
        self.neutered.choices = [SelectChoice(one.value, rules.say(one.label)) for one in self.neutered.choices]

    def validate_n_not_known(self, field: RadioField) -> None:
        """A number of animals, or the statement that it is not known; never silently neither."""
        if field.data == "no" and self.n.data is None and not self.n.errors:
            raise ValidationError("Write how many animals it is from, or say that it is not known.")

    def validate_weights(self, field: RadioField) -> None:
        if field.data == "all" and ((self.from_kg.data or "").strip() or (self.to_kg.data or "").strip()):
            raise ValidationError("All weights, or the class that is written?")

    def row(self) -> dict[str, Any]:
        """The row as the rules take it: numbers as typed, empty fields left out."""
        low, high = (_number(field.data) for field in (self.from_kg, self.to_kg))
        edges = {
            "min": low,
            "min_included": self.from_included.data == "yes" if low else False,
            "max": high,
            "max_included": self.to_included.data == "yes" if high else False,
        }
        return {
            "quantity": self.quantity.data,
            "species": self.species.data,
            "breed": " ".join((self.breed.data or "").split()) or None,
            "sex": self.sex.data,
            "neutered": self.neutered.data,
            "weight_kg": edges if self.weights.data == "class" else None,
            "age_months": {"min": self.from_months.data, "max": None},
            "lower": (self.lower.data or "").strip() or None,
            "upper": (self.upper.data or "").strip() or None,
            "unit": self.unit.data or None,
            "plane": self.plane.data,
            "use": self.use.data,
            "population": self.population.data.strip(),
            "n": "not known" if self.n_not_known.data == "yes" else self.n.data,
            "source": " ".join(self.source.data.split()),
            "note": (self.note.data or "").strip(),
        }


def _number(text: str | None) -> str | None:
    return (text or "").strip().replace(",", ".") or None
