"""/animals: search, one record, its form, two records made one and two again."""

import json
from typing import Any

from flask import Blueprint, abort, flash, redirect, render_template, request, url_for
from werkzeug.wrappers import Response

from webapp.accounts import person_here
from webapp.animals import find, forms, merging, record, typed, words
from webapp.core import typed as core_typed
from webapp.review import words as review_words
from webapp.store import animals
from webapp.store.db import get_db, read

blueprint = Blueprint("animals", __name__, url_prefix="/animals", template_folder="templates", static_folder="static")

Page = str | Response | tuple[str, int]


@blueprint.after_request
def not_kept(response: Response) -> Response:
    if request.endpoint != "animals.static":
        response.headers["Cache-Control"] = "no-store"
    return response


def author() -> str:
    """The id of the person at the desk."""
    person = person_here()
    if person is None:
        abort(401)
    return str(person["id"])


@blueprint.get("")
def list_page() -> str:
    """The records that hold every word asked for; walk-ins without a record first."""
    asked = request.args.get("q", "")[:200]
    db = get_db()
    with read(db):
        found = find.search(db, asked)
        waiting = [] if asked else find.walk_ins(db)
    return render_template("animals/list.html", asked=asked, found=found, walk_ins=waiting, most=find.MOST)


@blueprint.route("/new", methods=["GET", "POST"])
def new_page() -> Page:
    """A record more. Animals much like it are shown once before it is made."""
    form = forms.RecordForm()
    db = get_db()
    if request.method == "GET":
        form.name.data = request.args.get("name", "")
        form.fill_numbers([])
        return _form_page(form, None)
    if not form.validate_on_submit():
        return _form_page(form, None)
    facts = form.facts()
    alike = find.candidates(db, facts)
    if alike and request.form.get("all_the_same") != "yes":
        return _form_page(form, None, alike=alike)
    patient = record.new_id()
    record.save(db, patient, facts, author(), None)
    _tell_saved(facts)
    return redirect(url_for("animals.animal_page", patient=patient))


@blueprint.get("/<patient>")
def animal_page(patient: str, told: list[str] | None = None) -> Page:
    """One record: its facts, forks, visits, exams, what it is made of."""
    db = get_db()
    with read(db):
        shown = _record(patient)
        standing = (animals.record(db, shown["merged_into"]) or {}) if shown["merged_into"] else {}
        rows = list(db.query("select id, facts from visits where patient = ? and removed = 0 order by date desc",
                             [patient]))
        return render_template(
            "animals/animal.html",
            patient=patient,
            record=shown,
            standing=standing,
            facts=[(label, words.fact(shown, field)) for field, label in words.FIELDS.items()],
            advice=typed.chip_advice(shown.get("microchip") or ""),
            visits=[visit_of(row) for row in rows],
            exams=find.exams_of(db, patient),
            alike=[] if shown["merged_into"] else find.alike_pairs(db, patient),
            history=[history_line(entry) for entry in record.history(db, patient)],
            part_form=forms.PartForm(formdata=None),
            told=told or [],
        )


@blueprint.route("/<patient>/edit", methods=["GET", "POST"])
def edit_page(patient: str) -> Page:
    """Change a record. What somebody else changed meanwhile stands beside it."""
    db = get_db()
    shown = _record(patient)
    form = forms.RecordForm()
    form.keep_choices(shown)
    if request.method == "GET":
        form.fill(shown)
        form.seen.data = record.newest(db)
        return _form_page(form, patient)
    if not form.validate_on_submit():
        return _form_page(form, patient)
    facts = form.facts()
    told = record.as_seen(db, patient, form.seen.data) or {}
    for field in form.as_it_stands(told):
        facts.pop(field)
    made = record.save(db, patient, facts, author(), form.seen.data)
    if made:
        _tell_saved(facts)
    else:
        flash("Nothing had changed.", "good")
    return redirect(url_for("animals.animal_page", patient=patient))


@blueprint.post("/<patient>/settle")
def settle(patient: str) -> Page:
    """Record which side of a fork holds."""
    form = forms.SettleForm()
    if not form.validate_on_submit():
        return animal_page(patient, told=["Choose the one that holds."])
    try:
        record.settle(get_db(), patient, form.chosen.data, author())
    except record.Unknown as error:
        return animal_page(patient, told=[str(error)])
    flash("Settled. Both versions stay readable below.", "good")
    return redirect(url_for("animals.animal_page", patient=patient))


@blueprint.route("/<patient>/merge/<other>", methods=["GET", "POST"])
def merge_page(patient: str, other: str) -> Page:
    """Two records side by side; which stands, and which facts hold."""
    db = get_db()
    form = forms.MergeForm()
    form.into.choices = [(patient, ""), (other, "")]
    try:
        one, two = merging.both(db, patient, other)
    except merging.CannotMerge as error:
        return animal_page(patient, told=[str(error)])
    told = []
    if form.validate_on_submit():
        into = form.into.data
        gone = other if into == patient else patient
        holds = _held(request.form, {patient: one, other: two}, into)
        try:
            merging.merge(db, gone, into, holds, form.why.data.strip(), author(), form.seen.data)
        except merging.CannotMerge as error:
            told = [str(error)]
        else:
            flash("The two records are one now. Each keeps its own entries; they can be made two again.", "good")
            return redirect(url_for("animals.animal_page", patient=into))
    if request.method == "GET":
        form.into.data = patient
        form.seen.data = record.newest(db)
    sides: list[dict[str, Any]] = [
        {"patient": name, "record": facts, "exams": len(find.exams_of(db, name))}
        for name, facts in ((patient, one), (other, two))
    ]
    rows = [
        {"field": field, "label": label, "values": [words.fact(side["record"], field) for side in sides]}
        for field, label in words.FIELDS.items()
    ]
    cannot = merging.unlike_species(one, two)
    return render_template("animals/merge.html", form=form, sides=sides, rows=rows, told=told, cannot=cannot,
                           chosen=request.form)


@blueprint.post("/<patient>/part")
def part(patient: str) -> Page:
    """Undo a merge."""
    form = forms.PartForm()
    if not form.validate_on_submit():
        return animal_page(patient, told=["Say why they are two animals."])
    try:
        merging.part(get_db(), patient, form.merge.data, form.why.data.strip(), author())
    except merging.CannotMerge as error:
        return animal_page(patient, told=[str(error)])
    flash("They are two records again.", "good")
    return redirect(url_for("animals.animal_page", patient=patient))


def _held(sent: Any, both: dict[str, dict[str, Any]], into: str) -> dict[str, Any]:
    """The facts chosen from the record that goes: they are set in the one that stands."""
    holds: dict[str, Any] = {}
    for field in words.FIELDS:
        chosen = sent.get(f"holds-{field}")
        if chosen in both and chosen != into and both[chosen].get(field) is not None:
            holds[field] = _with_told(both[chosen], field)
    return holds


def _with_told(told: dict[str, Any], field: str) -> Any:
    extra = {name: told.get(known) for name, known in record.TOLD_WITH.get(field, {}).items()}
    if field == "weight_kg" and told.get("weight_typed_unit"):
        extra |= {name: told.get(f"weight_{name}") for name in ("typed", "typed_unit")}
    return {"value": told[field], **extra} if extra else told[field]


def _record(patient: str) -> dict[str, Any]:
    found = animals.record(get_db(), patient)
    if found is None:
        abort(404, "There is no record of this animal here.")
    return found


def visit_of(row: dict[str, Any]) -> dict[str, Any]:
    """A visit from a row of the list."""
    told: dict[str, Any] = json.loads(row["facts"])
    return told


def history_line(entry: dict[str, Any]) -> dict[str, str]:
    """One entry of a record or a visit as a line."""
    body = entry["body"] or {}
    said = {
        "set": f"{words.slot(str(body.get('about', '')))}: {words.value(body.get('value'))}",
        "planned": f"a visit planned for {review_words.day(body.get('date')) or 'no day yet'}",
        "merged": f"merged: {(body.get('from') or {}).get('name')} into {(body.get('into') or {}).get('name')}"
        f" ({body.get('why')})",
        "struck": f"taken back ({body.get('why') or 'no reason given'})",
    }.get(entry["kind"], f"an entry of a kind not known here: {entry['kind']}")
    typed_as = f", typed {body['typed']} {body['typed_unit']}" if body.get("typed_unit") not in (None, "kg") else ""
    return {"text": said + typed_as, "who": entry["author"], "at": review_words.moment(entry["at"])}


def _form_page(form: forms.RecordForm, patient: str | None, alike: list[find.Candidate] | None = None) -> str:
    return render_template("animals/form.html", form=form, patient=patient, alike=alike or [],
                           breeds=words.breeds(), operations=words.OPERATIONS)


def _tell_saved(facts: dict[str, Any]) -> None:
    """What was kept is echoed where it was converted or looks unusual."""
    weight = facts.get("weight_kg") or {}
    echo = ""
    if weight.get("value") and weight["typed_unit"] != "kg":
        kept = core_typed.kilograms(weight["value"])
        echo = f" {weight['typed']} {weight['typed_unit']} are kept as {kept} kg."
    flash(f"Saved.{echo}", "good")
    advice = typed.chip_advice(facts.get("microchip") or "")
    if advice:
        flash(advice, "note")
