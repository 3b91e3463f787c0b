"""Signing in and out at the desk."""

from urllib.parse import urlsplit

from flask import Blueprint, Flask, flash, g, redirect, render_template, request, session, url_for
from flask_wtf.csrf import CSRFError
from werkzeug.wrappers import Response

from webapp import clock, dates
from webapp.accounts import kept, recording
from webapp.accounts.forms import SignInForm
from webapp.accounts.here import TOKEN, home, may, person_here
from webapp.store import audit, people, sessions
from webapp.store.db import get_db

blueprint = Blueprint("accounts", __name__, template_folder="templates")

Answer = Response | str | tuple[str, int]


def init_app(app: Flask) -> None:
    """Add the addresses and the answer to a form without a good token."""
    app.register_blueprint(blueprint)
    app.context_processor(lambda: {"person_here": person_here, "may": may, "home": home})

    @app.errorhandler(CSRFError)
    def token_missing(error: CSRFError) -> tuple[str, int]:
        reason = "This form was not sent from a page of your present session, so nothing was saved."
        return kept.page(reason), error.code or 400


@blueprint.route("/sign-in", methods=["GET", "POST"])
def sign_in() -> Answer:
    """Ask for id and password; go on to where the person wanted to go, or with what was typed before."""
    form = SignInForm()
    if not form.validate_on_submit():
        return _page(form)
    typed = form.person.data.strip()
    person = people.with_password(get_db(), typed, form.password.data)
    if person is None:
        recording.about(_known(typed), audit.REFUSED)
        form.password.errors = ["Id and password do not fit together."]
        return _page(form), 401
    carried = kept.carried()
    _begin(person)
    if carried is not None and carried.texts:
        recording.told("with a text typed before")
        return render_template("accounts/go_on.html", kept=carried)
    return redirect(local_path(request.args.get("next")) or home())


def with_words(words: str) -> str:
    """The sign-in as it was typed, with words under the password."""
    form = SignInForm()
    form.password.errors = [words]
    return _page(form)


def _page(form: SignInForm) -> str:
    carried = kept.carried()
    if carried is not None:
        reason = "Sign in to go on with what you had typed."
        return render_template("accounts/typed_again.html", reason=reason, kept=carried, form=form, carried=carried)
    return render_template("accounts/sign_in.html", form=form, going_to=local_path(request.args.get("next")))


def _begin(person: dict[str, str]) -> None:
    """A new session under a new token; whoever was signed in in this browser is out."""
    db = get_db()
    before_it = sessions.last_of(db, person["id"])
    refused = audit.refused_since(db, person["id"], before_it["started_at"] if before_it else "")
    browser = request.user_agent.string
    session.clear()
    # What this request knew of the session before: the person, and Flask-WTF's token for forms.
    for name in ("person", "csrf_token"):
        g.pop(name, None)
    session.permanent = True
    address = request.remote_addr or "unknown"
    session[TOKEN] = sessions.start(db, person["id"], clock.now(), address, browser, refused)
    recording.about(person["id"])
    if before_it is not None:
        told = f"You last signed in {dates.moment(before_it['started_at'])} from {before_it['address']}."
        again = f" Since then {refused} {'try was' if refused == 1 else 'tries were'} refused." if refused else ""
        flash(told + again, "")


def _known(typed: str) -> str:
    """The id when there is such a person; else nothing: a password typed in the wrong field must not be kept."""
    return typed if people.by_id(get_db(), typed) else ""


@blueprint.post("/sign-out")
def sign_out() -> Response:
    """End the session, here and in the browser."""
    person = person_here()
    if person is not None:
        sessions.end(get_db(), person["session"], clock.now(), "signed out")
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
