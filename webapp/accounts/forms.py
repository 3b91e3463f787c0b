"""The forms about people and their sign-in."""

from flask_wtf import FlaskForm
from wtforms import PasswordField, SelectMultipleField, StringField, SubmitField
from wtforms.fields.choices import SelectChoice
from wtforms.validators import EqualTo, InputRequired, Length, StopValidation
from wtforms.widgets import CheckboxInput, ListWidget

from webapp import passwords
from webapp.store import people, roles

MOST = 1000  # characters of anything typed as a password: a longer one is refused with words, not cut
HAVE = [InputRequired("Write the password you have."), Length(max=MOST)]


class SignInForm(FlaskForm):
    """Who you are, and the proof."""

    person = StringField("Your id", [InputRequired("Write your id, such as VS."), Length(max=40)])
    password = PasswordField("Password", [InputRequired("Write your password."), Length(max=MOST)])
    submit = SubmitField("Sign in")


class PasswordForm(FlaskForm):
    """Another password for oneself."""

    old_password = PasswordField("Password until now", HAVE)
    new_password = PasswordField(
        f"New password, {passwords.SHORTEST} characters or more",
        [InputRequired("Write the new password."), Length(max=MOST)],
    )
    again_password = PasswordField(
        "New password once more", [EqualTo("new_password", "The two new passwords differ."), Length(max=MOST)]
    )
    submit = SubmitField("Change my password")


def _some(form: FlaskForm, field: SelectMultipleField) -> None:
    # No validator of the library's: theirs make the browser ask for every box to be ticked.
    if not field.data:
        raise StopValidation("Choose at least one role.")


class PersonForm(FlaskForm):
    """A person of the practice."""

    name = StringField("Name", [InputRequired("Write the name."), Length(max=people.LONGEST_NAME)])
    roles = SelectMultipleField(
        "Roles",
        [_some],
        choices=[SelectChoice(role, f"{role}: {words}") for role, words in roles.ROLES.items()],
        widget=ListWidget(prefix_label=False),
        option_widget=CheckboxInput(),
    )
    submit = SubmitField("Save")


class NewPersonForm(PersonForm):
    """A person who is not known yet."""

    person = StringField("Id, such as VS", [InputRequired("Write an id, such as VS."), Length(max=40)])
    submit = SubmitField("Add this person")
