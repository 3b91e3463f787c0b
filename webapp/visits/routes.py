"""/visits: the list of a day, one visit, and the form of a request."""

from datetime import date
from typing import Any

from flask import Blueprint, abort, flash, redirect, render_template, request, url_for
from werkzeug.wrappers import Response

from webapp import addresses, dates
from webapp.animals import record
from webapp.animals.routes import Page, author, history_line
from webapp.review import words
from webapp.store import animals, people, ways
from webapp.store.db import get_db, read
from webapp.visits import forms, plan, rechecks, sheet

blueprint = Blueprint("visits", __name__, url_prefix="/visits", template_folder="templates", static_folder="static")


@blueprint.after_request
def not_kept(response: Response) -> Response:
    if request.endpoint != "visits.static":
        response.headers["Cache-Control"] = "no-store"
    return response


@blueprint.get("")
def day_page(told: list[str] | None = None) -> str:
    """The visits of a day, of one person or place where asked; requests without a day and open re-checks below."""
    asked = request.args.get("day", "").strip()[:40]
    today, told = date.today().isoformat(), list(told or [])
    try:
        day = dates.typed_day(asked) if asked else today
        asked = words.day(day)
    except ValueError as error:
        told.append(str(error))
        day = today
    db = get_db()
    person, place = request.args.get("person", ""), request.args.get("place", "")
    with read(db):
        everything = plan.of_day(db, day)
        waiting = plan.of_day(db, "")
        known = people.everyone(db)
        places = plan.places(db)
        due = rechecks.around(db, day)
    rows = [
        visit
        for visit in everything
        if (not person or visit["sonographer"] == person) and (not place or visit["place"] == place)
    ]
    around = {"before": addresses.beside(day, -1), "after": addresses.beside(day, 1)}
    return render_template("visits/day.html", day=day, rows=rows, total=len(everything), waiting=waiting, people=known,
                           person=person, place=place, places=places, around=around, told=told, rechecks=due,
                           at=request.args.get("at", ""), typed=asked, today=today)


@blueprint.post("/day/<day>")
def do(day: str) -> Page:
    """One step in the list of a day: up, down, order, assign, cancel, back."""
    form = forms.DoForm()
    if not form.validate_on_submit():
        abort(400, "That step is not known.")
    db, what, visit = get_db(), form.what.data, form.visit.data or ""
    try:
        if what in ("up", "down"):
            plan.step(db, day, visit, -1 if what == "up" else 1, author())
        elif what == "order":
            plan.reorder(db, day, (form.ids.data or "").split(), author())
        elif what == "assign":
            plan.change(db, visit, {"sonographer": form.sonographer.data or None}, author())
        elif what in ("cancel", "back"):
            plan.change(db, visit, {"cancelled": what == "cancel"}, author())
        else:
            abort(400, "That step is not known.")
    except plan.Unknown as error:
        flash(str(error), "bad")
    filters: dict[str, Any] = {name: request.args[name] for name in ("person", "place") if request.args.get(name)}
    return redirect(url_for("visits.day_page", day=day, at=visit[:12] or None, **filters))


@blueprint.route("/new", methods=["GET", "POST"])
def new_page() -> Page:
    """A request and its visit, for the animal named in the address."""
    db = get_db()
    patient = request.args.get("patient", "")
    told = animals.record(db, patient)
    if told is None:
        flash("Choose the animal first, or make its record.", "note")
        return redirect(url_for("animals.list_page"))
    form = forms.VisitForm(people.everyone(db))
    if request.method == "GET":
        form.date.data = words.day(request.args.get("day", "")[:40] or date.today().isoformat())
        form.urgency.data = "routine"
        number = addresses.whole(request.args.get("number", ""))
        form.ask(rechecks.asked(db, patient, request.args.get("exam", ""), number))
    elif form.validate_on_submit():
        visit = plan.add(db, told["merged_into"] or patient, form.facts(), author())
        flash("Planned.", "good")
        day = plan.as_seen(db, visit)["date"]
        return redirect(url_for("visits.day_page", day=day or None, at=visit[:12]))
    return _form_page(form, told, None)


@blueprint.get("/<visit>")
def visit_page(visit: str, told: list[str] | None = None) -> Page:
    """One visit as planned, with its forks and its history."""
    db = get_db()
    with read(db):
        shown = _visit(visit)
        animal = animals.record(db, shown["patient"]) or {}
        lines = [
            history_line(entry)
            for entry in record.history(db, shown["record"])
            if entry["id"] == visit or visit in entry["of"]
        ]
    return render_template("visits/visit.html", visit=shown, animal=animal, history=lines, told=told or [],
                           person=(people.by_id(db, shown["sonographer"] or "") or {}).get("name"))


@blueprint.get("/<visit>/sheet")
def sheet_page(visit: str) -> str:
    """A sheet of paper for the visit, in the order of whoever examines."""
    db = get_db()
    with read(db):
        shown = _visit(visit)
        animal = animals.record(db, shown["patient"]) or {}
        own = ways.of(db, shown["sonographer"] or author())
    asked = (shown["question"] or {}).get("structures") or []
    return render_template("visits/sheet.html", visit=shown, animal=animal, rows=sheet.rows(animal, asked, own))


@blueprint.route("/<visit>/edit", methods=["GET", "POST"])
def edit_page(visit: str) -> Page:
    """Change a visit. What somebody else changed meanwhile stands beside it."""
    db = get_db()
    shown = _visit(visit)
    form = forms.VisitForm(people.everyone(db))
    if request.method == "GET":
        form.fill(shown)
        form.seen.data = record.newest(db)
    else:
        form.keep_choices(shown)
        if form.validate_on_submit():
            told = plan.as_seen(db, visit, form.seen.data)
            made = plan.change(db, visit, form.facts(told.get("context")), author(), form.seen.data)
            flash("Saved." if made else "Nothing had changed.", "good")
            return redirect(url_for("visits.visit_page", visit=visit))
    return _form_page(form, animals.record(db, shown["patient"]) or {}, visit)


@blueprint.post("/<visit>/settle")
def settle(visit: str) -> Page:
    """Record which side of a fork holds."""
    form = forms.SettleForm()
    if not form.validate_on_submit():
        return visit_page(visit, told=["Choose the one that holds."])
    try:
        record.settle(get_db(), _visit(visit)["record"], form.chosen.data, author())
    except record.Unknown as error:
        return visit_page(visit, told=[str(error)])
    flash("Settled. Both versions stay readable below.", "good")
    return redirect(url_for("visits.visit_page", visit=visit))


@blueprint.post("/<visit>/remove")
def remove(visit: str) -> Page:
    """Take off a visit that was planned by mistake."""
    form = forms.DoForm()
    if not form.validate_on_submit() or not (form.why.data or "").strip():
        return visit_page(visit, told=["Say why it was planned by mistake."])
    day = _visit(visit)["date"]
    plan.remove(get_db(), visit, form.why.data.strip(), author())
    flash("Taken off the list. It stays readable in the animal's record.", "good")
    return redirect(url_for("visits.day_page", day=day or None))


def _visit(visit: str) -> dict[str, Any]:
    try:
        return plan.as_seen(get_db(), visit)
    except plan.Unknown as error:
        abort(404, str(error))


def _form_page(form: forms.VisitForm, animal: dict[str, Any], visit: str | None) -> str:
    db = get_db()
    askers = [row["name"] for row in people.everyone(db)]
    return render_template("visits/form.html", form=form, animal=animal, visit=visit, places=plan.places(db),
                           askers=askers)
