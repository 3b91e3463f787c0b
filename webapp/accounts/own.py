"""The page of whoever is signed in: password, sign-ins, where else one is signed in."""

from typing import Any

from flask import Blueprint, Response, abort, flash, redirect, render_template, url_for
from flask_wtf import FlaskForm
from werkzeug.wrappers import Response as AnyResponse

from webapp import clock, dates
from webapp.accounts import forms
from webapp.accounts.here import home, person_here
from webapp.store import people, sessions
from webapp.store.db import get_db

blueprint = Blueprint("account", __name__, url_prefix="/account", template_folder="templates", static_folder="static")


@blueprint.get("")
def page() -> str:
    """Who I am here, and my sign-ins."""
    person = here()
    rows = sessions.open_of(get_db(), person["id"])
    before = [sessions.before(get_db(), row) for row in rows if row["id"] == person["session"]]
    return render_template(
        "accounts/own.html",
        person=people.full(get_db(), person["id"]),
        rows=[shown(row, person["session"]) for row in rows],
        before=[shown(row, "") for row in before if row],
        form=FlaskForm(),
    )


@blueprint.route("/password", methods=["GET", "POST"])
def password() -> AnyResponse | str | tuple[str, int]:
    """Change my own password; every other session of mine ends."""
    person, form = here(), forms.PasswordForm()
    if not form.validate_on_submit():
        return _password_page(form, person), 422 if form.is_submitted() else 200
    db = get_db()
    if people.with_password(db, person["id"], form.old_password.data) is None:
        form.old_password.errors = ["This is not the password you have."]
        return _password_page(form, person), 401
    try:
        if form.new_password.data == form.old_password.data:
            raise people.PersonError("This is the password you have: take another one.")
        people.set_password(db, person["id"], form.new_password.data)
    except people.PersonError as error:
        form.new_password.errors = [str(error)]
        return _password_page(form, person), 422
    ended = sessions.end_all(db, person["id"], clock.now(), "password changed", but=person["session"])
    also = f" {ended} other {'session' if ended == 1 else 'sessions'} of yours ended." if ended else ""
    flash(f"Your password is changed.{also}", "good")
    return redirect(home() if person["must_change"] else url_for("account.page"))


@blueprint.post("/sessions/<session>/end")
def end(session: str) -> AnyResponse:
    """Sign out somewhere else."""
    if session not in [row["id"] for row in sessions.open_of(get_db(), here()["id"])]:
        abort(404)
    sessions.end(get_db(), session, clock.now(), "ended from another session")
    flash("That session has ended.", "good")
    return redirect(url_for("account.page"))


@blueprint.get("/still-here")
def still_here() -> Response:
    """For a page in which someone is writing: the session goes on. (Who is not signed in is sent to sign in.)"""
    here()
    return Response(status=204)


def with_words(words: str) -> str:
    """The page for a new password with words under the one until now."""
    form = forms.PasswordForm(formdata=None)
    form.old_password.errors = [words]
    return _password_page(form, here())


def here() -> dict[str, Any]:
    """The person of this session; the guard let nobody else through."""
    return person_here() or abort(401)


def shown(row: dict[str, Any], own: str) -> dict[str, Any]:
    """A session as the pages show it."""
    times = {name: dates.moment(row[name]) for name in ("started_at", "seen_at", "ended_at")}
    return row | times | {"own": row["id"] == own}


def _password_page(form: forms.PasswordForm, person: dict[str, Any]) -> str:
    return render_template("accounts/password.html", form=form, must=person["must_change"])
