"""The pages of the own reference: what there is, one group of healthy animals, its file, and its row."""

from collections import Counter
from collections.abc import Mapping
from typing import Any

from flask import Blueprint, Response, abort, flash, redirect, render_template, request, url_for
from markupsafe import Markup
from werkzeug.wrappers import Response as AnyResponse

from webapp import rules
from webapp.accounts import person_here
from webapp.exchange import csv_out
from webapp.own_reference import finding, forms, group, making, plot, told
from webapp.own_reference.group import Value, Wanted
from webapp.register import changes
from webapp.review import words
from webapp.store import overlays, people
from webapp.store.db import get_db

blueprint = Blueprint(
    "own_reference", __name__, url_prefix="/own-reference", template_folder="templates", static_folder="static"
)

Json = dict[str, Any]
Page = str | AnyResponse | tuple[str, int]
SPECIES = {"dog": "Dogs", "cat": "Cats"}
COLUMNS = ("animal", "exam", "date", "species", "breed", "weight_kg", "quantity", "value", "unit", "readings", "counts",
           "why_not", "tests", "marked_by", "known", "reason")  # fmt: skip


@blueprint.get("")
def page() -> str:
    """Every quantity of which healthy animals were measured, and the exams that may be marked."""
    db = get_db()
    known = group.everything(db)
    rows = []
    for species, title in SPECIES.items():
        for quantity in words.quantities():
            values = group.values(db, Wanted(species, quantity, None), known)
            if values:
                rows.append({"species": species, "title": title, "quantity": quantity, "label": words.label(quantity)}
                            | {"n": len(told.counted(values)), "listed": len(values)})
    text = request.args.get("text", "").strip()[:100]
    return render_template(
        "own_reference/page.html",
        rows=rows,
        rule=rules.tables()["thresholds"]["own_reference"],
        marked=Counter(one["patient"].get("species") for one in known.values()),
        animals=len({one["animal"] for one in known.values() if one["animal"]}),
        exams=finding.exams(db, text),
        text=text,
        most=finding.MOST,
        species=SPECIES,
        day=words.day,
    )


@blueprint.get("/group")
def group_page() -> str:
    """One species, quantity and weight class."""
    return shown(wanted(request.args))


def wanted(given: Mapping[str, str]) -> Wanted:
    """The group in an address; 404 for one that cannot be."""
    species, quantity, key = given.get("species", ""), given.get("quantity", ""), given.get("weights", "")
    if species not in SPECIES or quantity not in words.quantities():
        abort(404, "There is no such species or quantity.")
    weights = next((one for one in group.classes(get_db(), species, quantity) if one["key"] == key), None)
    if key and weights is None:
        abort(404, "The register has no such weight class for this quantity (any more).")
    return Wanted(species, quantity, weights)


def address(asked: Wanted) -> Json:
    """The group as fields of an address."""
    fields = {"species": asked.species, "quantity": asked.quantity}
    return fields | ({"weights": asked.weights["key"]} if asked.weights else {})


def shown(
    asked: Wanted,
    told_: list[str] | None = None,
    typed: forms.CountForm | None = None,
    row: forms.RowForm | None = None,
) -> str:
    """The group's page; `typed` and `row` are forms that were not taken."""
    db = get_db()
    values = group.values(db, asked)
    own = told.own(values)
    last = overlays.newest(db)
    seen = last.id if last else ""
    row = row or forms.RowForm(formdata=None)
    row.seen.data, row.basis.data = seen, making.basis(values)
    published = told.published(db, asked, values)
    names = {person["id"]: person["name"] for person in people.everyone(db)}
    return render_template(
        "own_reference/group.html",
        asked=asked,
        address=address(asked),
        title=f"{words.label(asked.quantity)}, {title_of(asked)}",
        classes=group.classes(db, asked.species, asked.quantity),
        own=own,
        lines=[_line(value, asked, own, names) for value in values],
        composition=making.composition(told.counted(values)) if own["n"] else "",
        picture=Markup(picture(asked, values, own, published)),  # noqa: S704  every word is escaped where it is drawn
        published=published,
        interval=_interval(own, asked),
        fences=[told.shown(own["fences"][end], asked.quantity) for end in ("low", "high")] if own["fences"] else None,
        rule=rules.tables()["thresholds"]["own_reference"],
        preview=making.own_row(db, asked, values, "limit"),
        row_form=row,
        typed=typed,
        told=told_ or [],
        amount=words.amount,
    )


def title_of(asked: Wanted) -> str:
    """The animals of a group in words."""
    return f"{SPECIES[asked.species].lower()}{' ' + asked.weights['words'] if asked.weights else ', all weights'}"


def _interval(own: Json, asked: Wanted) -> list[Json]:
    """The own limits, one line each."""
    if own["interval"] is None:
        return []
    return [
        {
            "side": side,
            "value": told.shown(own["interval"][side], asked.quantity),
            "exact": own["interval"][side],
            "between": [told.shown(edge, asked.quantity) for edge in own["interval"][f"{side}_between"]],
        }
        for side in told.SIDES
    ]


def _line(value: Value, asked: Wanted, own: Json, names: Json) -> Json:
    newest = value.said[0] if value.said else None
    patient = value.facts["patient"]
    return {
        "exam": value.exam,
        "name": value.name,
        "breed": patient.get("breed") or "breed not recorded",
        "date": words.day(value.date),
        "weight": f"{value.facts['weight_kg']} kg" if value.facts["weight_kg"] else "not known",
        "value": told.shown(value.value, asked.quantity),
        "n": value.n,
        "tests": own["outliers"].get(value.exam, []),
        "counts": not value.unused,
        "why": group.unused_words(value) if value.unused else "",
        "left_out": value.unused == "left_out",
        "seen": newest.id if newest else "",
        "said": [
            {"what": "left out" if one.value.get("counted") is False else "counts again", "why": one.value.get("why")}
            | {"who": names.get(one.author, one.author), "at": words.moment(one.at)}
            for one in value.said
        ],
        "known": value.mark.value.get("known"),
        "by": names.get(value.mark.author, value.mark.author),
    }


def picture(asked: Wanted, values: list[Value], own: Json, published: list[Json]) -> str:
    """The group's dots with the limits that were checked and its own."""
    dots = []
    for value in values:
        if value.unused in ("", "left_out"):
            kind = plot.LEFT_OUT if value.unused else plot.NAMED if value.exam in own["outliers"] else plot.COUNTS
            dots.append(plot.Dot(float(value.value), kind))
    limits = []
    for number, one in enumerate(published, 1):
        for side in told.SIDES:
            if one["row"].get(side) and not one["why_not"]:
                limits.append(plot.Limit(float(one["row"][side]), f"row {number}: {side} {one['row'][side]}"))
    for one in _interval(own, asked):
        edges = own["interval"][f"{one['side']}_between"]
        between = (float(edges[0]), float(edges[1]))
        limits.append(plot.Limit(float(one["exact"]), f"own {one['side']} {one['value']}", between))
    unit = words.quantities()[asked.quantity]["unit"]
    animals = f"{own['n']} healthy {title_of(asked)}"
    says = f"{words.label(asked.quantity)} in {animals}; every value stands in the table below."
    return plot.dots(dots, limits, "" if unit in ("1", "{score}") else unit, says)


@blueprint.get("/group.csv")
def group_csv() -> Response:
    """The group's values, those not used with their reason."""
    asked = wanted(request.args)
    values = group.values(get_db(), asked)
    own = told.own(values)
    names = {person["id"]: person["name"] for person in people.everyone(get_db())}
    rows = []
    for value in values:
        patient = value.facts["patient"]
        rows.append({
            "animal": value.name, "exam": value.exam, "date": value.date, "species": asked.species,
            "breed": patient.get("breed"), "weight_kg": value.facts["weight_kg"], "quantity": asked.quantity,
            "value": value.value, "unit": words.quantities()[asked.quantity]["unit"], "readings": value.n,
            "counts": not value.unused, "why_not": group.unused_words(value) if value.unused else "",
            "tests": "; ".join(own["outliers"].get(value.exam, [])),
            "marked_by": names.get(value.mark.author, value.mark.author), "known": value.mark.value.get("known"),
            "reason": value.said[0].value.get("why") if value.said else "",
        })  # fmt: skip
    answer = Response(csv_out.written(COLUMNS, rows), mimetype="text/csv")
    answer.headers["Content-Disposition"] = f'attachment; filename="healthy-{asked.species}-{asked.quantity}.csv"'
    answer.headers["Cache-Control"] = "no-store"
    return answer


@blueprint.post("/row")
def make_row() -> Page:
    """The group's own limits become a row of the register."""
    asked = wanted(request.args)
    form = forms.RowForm()
    if not form.validate_on_submit():
        return shown(asked, ["No row was made yet: see what is marked below."], row=form), 422
    db = get_db()
    values = group.values(db, asked)
    if form.basis.data != making.basis(values):
        told_ = ["No row was made: the values have changed since this page was opened. Look at them as they are now."]
        return shown(asked, told_, row=form), 409
    try:
        version = making.record(db, asked, values, form.use.data, (person_here() or {})["id"], form.seen.data or "")
    except changes.Refused as error:
        code = 409 if isinstance(error, changes.Meanwhile) else 422
        return shown(asked, [f"No row was made: {error}"], row=form), code
    flash(f"The row stands in the register: the limits are {version} now. Exams that are signed keep theirs.", "good")
    return redirect(url_for("register.own_page"))
