"""Signing in and out at the desk."""

from urllib.parse import urlsplit

from flask import Blueprint, Flask, redirect, render_template, request, session, url_for
from flask_wtf import FlaskForm
from flask_wtf.csrf import CSRFError
from werkzeug.wrappers import Response
from wtforms import PasswordField, StringField, SubmitField
from wtforms.validators import InputRequired, Length

from webapp.accounts.signed_in import person_here, signed_in, typed_again
from webapp.store import people
from webapp.store.db import get_db

blueprint = Blueprint("accounts", __name__, template_folder="templates")


class SignInForm(FlaskForm):
    """Who you are, and the proof."""

    person = StringField("Your id", [InputRequired("Write your id, such as VS."), Length(max=40)])
    password = PasswordField("Password", [InputRequired("Write your password."), Length(max=1000)])
    submit = SubmitField("Sign in")


def init_app(app: Flask) -> None:
    """Add the addresses and the answer to a form without a good token."""
    app.register_blueprint(blueprint)
    app.context_processor(lambda: {"person_here": person_here})

    @app.errorhandler(CSRFError)
    def token_missing(error: CSRFError) -> tuple[str, int]:
        reason = "This form was not sent from a page of your present session, so nothing was saved."
        return typed_again(reason), error.code or 400


@blueprint.route("/sign-in", methods=["GET", "POST"])
def sign_in() -> Response | str | tuple[str, int]:
    """Ask for id and password; go on to where the person wanted to go."""
    form = SignInForm()
    going_to = local_path(request.args.get("next"))
    if not form.validate_on_submit():
        return render_template("accounts/sign_in.html", form=form, going_to=going_to)
    person = people.with_password(get_db(), form.person.data.strip(), form.password.data)
    if person is None:
        form.password.errors = ["Id and password do not fit together."]
        return render_template("accounts/sign_in.html", form=form, going_to=going_to), 401
    session.clear()
    session.permanent = True
    session["person"] = person["id"]
    return redirect(going_to or url_for("review.queue_page"))


@blueprint.post("/sign-out")
@signed_in
def sign_out() -> Response:
    """Forget the session."""
    session.clear()
    return redirect(url_for("accounts.sign_in"))


def local_path(wanted: str | None) -> str | None:
    """`wanted` when it is a plain path of this site, else None: no link may lead on to another site."""
    if not wanted or not wanted.startswith("/") or wanted.startswith(("//", "/\\")):
        return None
    if any(ord(character) < 32 for character in wanted):
        return None
    parts = urlsplit(wanted)
    return wanted if not parts.scheme and not parts.netloc else None
