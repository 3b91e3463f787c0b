"""The steps by which the practice changes its limits. Each records the whole overlay as one entry of the desk."""

from collections.abc import Callable
from typing import Any

from flask import Blueprint, flash, redirect, request, url_for
from flask_wtf import FlaskForm
from werkzeug.wrappers import Response as AnyResponse

from webapp.accounts import person_here
from webapp.register import changes, forms, listing, routes
from webapp.store import overlays
from webapp.store.db import get_db

blueprint = Blueprint("changing", __name__, url_prefix="/limits")

Json = dict[str, Any]
Page = AnyResponse | tuple[str, int]


@blueprint.post("/switch")
def switch() -> Page:
    """A set or a row off, or on again: `what` is "row|id|off" or "source|id|on"."""
    form = forms.StepForm()
    kind, _, rest = (form.what.data or "").partition("|")
    name, _, how = rest.rpartition("|")
    again = routes.sets_shown if kind == "source" else routes.rows_shown
    page = "register.sets_page" if kind == "source" else "register.rows_page"
    address = url_for(page, _external=False, **listing.wanted(request.args).asked)
    return _change(form, lambda now: changes.switched(now, kind, name, how == "off"), again, address)


@blueprint.post("/threshold")
def threshold() -> Page:
    """Another number for one of our thresholds, or back to the published one."""
    form = forms.ThresholdForm()
    path, number = form.path.data or "", form.number.data or ""
    return _change(
        form,
        lambda now: changes.with_threshold(now, path, number),
        lambda told: routes.thresholds_shown(told, (path, number)),
        url_for("register.thresholds_page"),
    )


@blueprint.post("/own")
def add() -> Page:
    """An own row more."""
    form = forms.RowForm()
    return _change(
        form,
        lambda now: changes.with_row(now, form.row()),
        lambda told: routes.own_shown(told, form),
        url_for("register.own_page"),
    )


@blueprint.post("/own/back")
def take_back() -> Page:
    """An own row less: `what` is its id."""
    form = forms.StepForm()
    name = form.what.data or ""
    return _change(form, lambda now: changes.without_row(now, name), routes.own_shown, url_for("register.own_page"))


@blueprint.post("/grades")
def grade() -> Page:
    """Another grade for a kind of line."""
    form = forms.GradeForm()
    kind, wanted, why = form.kind.data or "", form.grade.data or "", " ".join((form.why.data or "").split())
    return _change(
        form,
        lambda now: changes.with_grade(now, kind, wanted, why),
        lambda told: routes.grades_shown(told, None, (kind, wanted, why)),
        url_for("register.grades_page"),
    )


@blueprint.post("/grades/entry")
def add_entry() -> Page:
    """An own entry more of the list of whom to tell."""
    form = forms.EntryForm()
    return _change(
        form,
        lambda now: changes.with_entry(now, form.entry()),
        lambda told: routes.grades_shown(told, form),
        url_for("register.grades_page"),
    )


@blueprint.post("/grades/entry/back")
def entry_back() -> Page:
    """An own entry less: `what` is its place in the list."""
    form = forms.StepForm()
    place = form.what.data or ""
    return _change(
        form,
        lambda now: changes.without_entry(now, place),
        routes.grades_shown,
        url_for("register.grades_page"),
    )


@blueprint.post("/history/again")
def again() -> Page:
    """The limits as they were after an earlier change, or as published: a further change, nothing is taken out."""
    form = forms.StepForm()
    wanted = form.what.data or ""
    return _change(form, lambda now: _as_of(wanted), routes.history_shown, url_for("register.history_page"))


def _as_of(number: str) -> Json:
    if number == "0":
        return changes.NOTHING
    for change in overlays.history(get_db()):
        if str(change.overlay["change"]) == number:
            return changes.now(change)
    raise changes.Refused("there is no such change.")


def _change(form: FlaskForm, make: Callable[[Json], Json], shown: Callable[[list[str]], str], address: str) -> Page:
    """Make the change and go on to `address`; or show the page again with what was typed and why it was refused."""
    if not form.validate_on_submit():
        why = [str(error) for errors in form.errors.values() for error in errors]
        return shown(["Nothing was changed yet: see what is marked below.", *why]), 422
    db = get_db()
    try:
        overlay = make(changes.now(overlays.newest(db)))
        version = changes.record(db, overlay, (person_here() or {})["id"], form.seen.data or "")
    except changes.Refused as error:
        return shown([f"Nothing was changed: {error}"]), 409 if isinstance(error, changes.Meanwhile) else 422
    flash(f"Changed: the limits are {version} now. Exams that are signed keep theirs.", "good")
    return redirect(address)
