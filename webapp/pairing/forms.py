"""The forms of the phones' pages."""

from flask_wtf import FlaskForm
from wtforms import SelectField, StringField, SubmitField
from wtforms.fields.choices import SelectChoice
from wtforms.validators import InputRequired, Length, NumberRange

from webapp.fields import WholeNumber

NAME = [InputRequired("Give the phone a name."), Length(max=60, message="A name has 60 characters at most.")]

PIN = [SelectChoice("yes", "Phones ask for a PIN"), SelectChoice("no", "Phones open without a PIN")]


class PhoneForm(FlaskForm):
    """What a phone is called, and whose it is."""

    name = StringField("Name", NAME)
    person = SelectField("Person", validate_choice=True)
    submit = SubmitField("Save")


class SettingsForm(FlaskForm):
    """What holds for all phones of the practice."""

    pin = SelectField("PIN", choices=PIN)
    keep_days = WholeNumber(
        "Days that sent exams stay on a phone",
        [InputRequired("Write a number of days."), NumberRange(1, 3650, "Between 1 and 3650 days.")],
    )
    submit = SubmitField("Save for all phones")
