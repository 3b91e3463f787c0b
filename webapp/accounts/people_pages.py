"""The admin's pages about people: who is known, what each may do, first passwords, sessions."""

from typing import Any

from flask import Blueprint, abort, flash, redirect, render_template, url_for
from flask_wtf import FlaskForm
from werkzeug.wrappers import Response

from webapp import clock, dates, passwords
from webapp.accounts import forms, recording
from webapp.accounts.own import shown
from webapp.store import people, roles, sessions
from webapp.store.db import get_db

blueprint = Blueprint("people", __name__, url_prefix="/people", template_folder="templates")

Answer = Response | str | tuple[str, int]


@blueprint.get("")
def page() -> str:
    """Everyone, and the form for one more."""
    return _page(forms.NewPersonForm(formdata=None))


@blueprint.post("")
def add() -> Answer:
    """A person more, with a first password that is shown once."""
    form = forms.NewPersonForm()
    if not form.validate_on_submit():
        return _page(form), 422
    db, person = get_db(), form.person.data.strip()
    if people.by_id(db, person) is not None:
        form.person.errors = [f"There is a person {person} already."]
        return _page(form), 422
    try:
        people.add(db, person, form.name.data, roles.text(tuple(form.roles.data)), None)
    except people.PersonError as error:
        form.person.errors = [str(error)]
        return _page(form), 422
    recording.of(f"person {person}")
    return _with_first_password(person)


@blueprint.get("/<person>")
def person_page(person: str) -> str:
    """One person."""
    return _person(person)


@blueprint.post("/<person>")
def change(person: str) -> Answer:
    """Another name or other roles; they hold from the next page on."""
    form = forms.PersonForm()
    if not form.validate_on_submit():
        return _person(person, form), 422
    try:
        people.change(get_db(), _known(person)["id"], form.name.data, roles.text(tuple(form.roles.data)))
    except people.PersonError as error:
        form.roles.errors = [str(error)]
        return _person(person, form), 422
    flash(f"Saved. {form.name.data.strip()} is {roles.text(tuple(form.roles.data))}.", "good")
    return redirect(url_for("people.person_page", person=person))


@blueprint.post("/<person>/password")
def new_password(person: str) -> Answer:
    """A first password, shown once; all sessions of the person end."""
    _known(person)
    return _with_first_password(person)


@blueprint.post("/<person>/stop")
def stop(person: str) -> Answer:
    """No sign-in any more; what the person recorded stays, under the name."""
    row = _known(person)
    try:
        people.stop(get_db(), person)
    except people.PersonError as error:
        return _person(person, told=str(error)), 409
    sessions.end_all(get_db(), person, clock.now(), "ended by an admin")
    flash(f"{row['name']} cannot sign in any more. Entries go on naming {row['name']}.", "good")
    return redirect(url_for("people.person_page", person=person))


@blueprint.post("/<person>/end-sessions")
def end(person: str) -> Answer:
    """Sign a person out everywhere."""
    ended = sessions.end_all(get_db(), _known(person)["id"], clock.now(), "ended by an admin")
    flash(f"{ended} {'session' if ended == 1 else 'sessions'} ended.", "good")
    return redirect(url_for("people.person_page", person=person))


def _with_first_password(person: str) -> Answer:
    db, first = get_db(), passwords.first()
    people.set_password(db, person, first, must_change=True)
    sessions.end_all(db, person, clock.now(), "password changed by an admin")
    recording.told("with a first password")
    return _person(person, first=first)


def _page(form: forms.NewPersonForm) -> str:
    db = get_db()
    rows = [_row(row) | {"last": sessions.last_of(db, row["id"])} for row in people.listed(db)]
    for row in rows:
        row["last"] = dates.moment(row["last"]["started_at"]) if row["last"] else "never"
    return render_template("accounts/people.html", rows=rows, form=form, roles=roles.ROLES)


def _person(person: str, form: forms.PersonForm | None = None, first: str = "", told: str = "") -> str:
    row = _known(person)
    if form is None:
        form = forms.PersonForm(formdata=None, name=row["name"], roles=list(roles.held(row["role"])))
    return render_template(
        "accounts/person.html",
        row=_row(row),
        form=form,
        plain=FlaskForm(formdata=None),
        rows=[shown(one, "") for one in sessions.open_of(get_db(), person)],
        first=first,
        told=told,
    )


def _row(row: dict[str, Any]) -> dict[str, Any]:
    state = "can sign in" if row["can_sign_in"] else "stopped" if row["stopped_at"] else "no password"
    if row["can_sign_in"] and row["must_change"]:
        state = "first password, not changed yet"
    return row | {"state": state, "password_set": dates.moment(row["password_set_at"])}


def _known(person: str) -> dict[str, Any]:
    return people.full(get_db(), person) or abort(404)
