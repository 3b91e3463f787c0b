"""Marking an exam as of a healthy animal, taking that back, and leaving a value out. All three stay on record."""

import json
from typing import Any

from flask import Blueprint, abort, flash, redirect, render_template, request, url_for
from flask_wtf import FlaskForm
from werkzeug.wrappers import Response

from webapp.accounts import person_here
from webapp.own_reference import forms, group, routes
from webapp.review import words
from webapp.store import healthy, people
from webapp.store.db import get_db

blueprint = Blueprint("healthy", __name__, url_prefix="/own-reference", template_folder="templates")

Page = str | Response | tuple[str, int]


@blueprint.get("/exam/<exam>")
def exam_page(exam: str) -> str:
    """Whether the exam is of a healthy animal, who said so, and the form to say so."""
    return _shown(exam)


@blueprint.post("/exam/<exam>/mark")
def mark(exam: str) -> Page:
    """It is, and what was known."""
    form = forms.MarkForm()
    if _exam(exam)["state"] not in group.FINISHED:
        return _shown(exam, form, ["Not marked: the exam is not finished at the table yet."]), 409
    if not form.validate_on_submit():
        return _shown(exam, form, ["Not marked yet: see what is marked below."]), 422
    # Of which animal it was said: an exam that is given to another one later is no healthy exam of that one.
    value = {"healthy": True, "known": form.known.data.strip(), "patient": _exam(exam)["patient"]}
    return _keep(exam, form, value, "Marked as of a healthy animal.")


@blueprint.post("/exam/<exam>/unmark")
def unmark(exam: str) -> Page:
    """It is not (any more), and why."""
    _exam(exam)
    form = forms.UnmarkForm()
    if not form.validate_on_submit():
        return _shown(exam, form, ["The mark stands: see what is marked below."]), 422
    value = {"healthy": False, "why": form.why.data.strip()}
    return _keep(exam, form, value, "The mark is taken back; both stay on record.")


def _keep(exam: str, form: FlaskForm, value: dict[str, Any], done: str) -> Page:
    try:
        healthy.say(get_db(), healthy.HEALTHY + exam, value, (person_here() or {})["id"], form.seen.data or "")
    except healthy.Meanwhile as error:
        return _shown(exam, form, [f"Nothing was kept: {error}"]), 409
    flash(done, "good")
    return redirect(url_for("healthy.exam_page", exam=exam))


def _exam(exam: str) -> dict[str, Any]:
    row = next(get_db().query("select exam, date, state, animal, patient from exams where exam = ?", [exam]), None)
    if row is None:
        abort(404, "There is no such exam of an animal here.")
    return row


def _shown(exam: str, form: FlaskForm | None = None, told: list[str] | None = None) -> str:
    """The page; a form that was not taken comes back as typed, and has then seen what the page shows now."""
    row = _exam(exam)
    said = healthy.history(get_db(), exam)
    newest = said[0] if said else None
    names = {person["id"]: person["name"] for person in people.everyone(get_db())}
    is_marked = newest is not None and newest.value.get("healthy") is True
    blank = forms.UnmarkForm(formdata=None) if is_marked else forms.MarkForm(formdata=None)
    form = form if form is not None and type(form) is type(blank) else blank
    form["seen"].data = newest.id if newest else ""
    animal = json.loads(row["animal"])
    return render_template(
        "own_reference/exam.html",
        exam=exam,
        name=animal.get("name") or "Animal without a name",
        animal=" · ".join(str(animal[one]) for one in ("species", "breed") if animal.get(one)),
        date=words.day(row["date"]),
        finished=row["state"] in group.FINISHED,
        state=row["state"],
        is_marked=is_marked,
        form=form,
        told=told or [],
        said=[
            {
                "what": "marked as of a healthy animal" if one.value.get("healthy") else "mark taken back",
                "words": one.value.get("known") or one.value.get("why") or "",
                "who": names.get(one.author, one.author),
                "at": words.moment(one.at),
            }
            for one in said
        ],
    )


@blueprint.post("/value")
def count() -> Page:
    """A value of the group is left out, or counts again."""
    asked = routes.wanted(request.args)
    form = forms.CountForm()
    if not form.validate_on_submit() or form.counted.data not in ("yes", "no"):
        return routes.shown(asked, ["Nothing was kept yet: a reason is needed."], typed=form), 422
    db = get_db()
    if not any(one.exam == form.exam.data and one.unused in ("", "left_out") for one in group.values(db, asked)):
        return routes.shown(asked, ["Nothing was kept: this value is not among those that count."], typed=form), 409
    value = {"counted": form.counted.data == "yes", "why": form.why.data.strip()}
    about = healthy.of_value(form.exam.data, asked.quantity)
    try:
        healthy.say(db, about, value, (person_here() or {})["id"], form.seen.data or "")
    except healthy.Meanwhile as error:
        return routes.shown(asked, [f"Nothing was kept: {error}"], typed=form), 409
    flash("Counts again." if value["counted"] else "Left out, and shown with its reason.", "good")
    return redirect(url_for("own_reference.group_page", **routes.address(asked)))
