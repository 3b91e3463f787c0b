"""The page for the owner of one exam: off until the vet switches it on, made only of what the vet writes or ticks."""

import json
from typing import Any

from flask import Blueprint, Response, abort, flash, redirect, render_template, url_for
from flask_wtf import FlaskForm
from werkzeug.wrappers import Response as Answer
from wtforms import HiddenField, SelectMultipleField, StringField, TextAreaField
from wtforms.validators import InputRequired, Length
from wtforms.widgets import CheckboxInput, ListWidget

from webapp import dates, rules
from webapp.accounts import person_here
from webapp.review import forms, recommended, words
from webapp.store import desk, meta, owner_pages, people, reports
from webapp.store.db import get_db, read

blueprint = Blueprint("owner_page", __name__)

Row = dict[str, Any]


class OwnerForm(FlaskForm):
    """What stands on the page; nothing is filled in from findings or measurements."""

    plain = TextAreaField(
        "What you found, in plain words",
        [InputRequired("Write in plain words what the owner should know."), Length(max=forms.LONGEST_TEXT)],
    )
    ticked = SelectMultipleField(
        "What happens next: tick what the owner should read",
        widget=ListWidget(prefix_label=False),
        option_widget=CheckboxInput(),
        validate_choice=False,
    )
    more = TextAreaField("What happens next, in plain words, one line each", [Length(max=forms.LONGEST_TEXT)])
    ring = StringField(
        "Whom to ring, and when", [InputRequired("Say whom the owner can ring."), Length(max=forms.LONGEST_LINE)]
    )
    version = HiddenField(validators=[InputRequired()])


@blueprint.get("/review/exam/<exam>/owner")
def form_page(exam: str) -> str:
    """What the page says now, and the form to write it."""
    return _show(exam, None)


@blueprint.post("/review/exam/<exam>/owner")
def make(exam: str) -> str | Answer | tuple[str, int]:
    """Make the page and switch it on."""
    from webapp.report import owner  # loads fonts and the PDF engine: only where something is made

    form, db = OwnerForm(), get_db()
    issued = _issued(exam)
    offered = _offered(issued)
    if not form.validate_on_submit():
        return _show(exam, form, "Not made yet: see what is marked below.")
    if form.version.data != str(issued["version"]):
        form.version.raw_data, form.version.data = None, str(issued["version"])
        return _show(exam, form, f"Version {issued['version']} was signed meanwhile: look at it, then make the page.")
    person = person_here()
    if person is None:
        abort(401)
    told: dict[str, Any] = {
        "plain": (form.plain.data or "").strip(),
        "ticked": [text for text in offered if text in (form.ticked.data or [])],
        "more": _lines(form.more.data),
        "ring": (form.ring.data or "").strip(),
    }
    at = desk.now()
    last = owner_pages.newest(db, exam)
    facts = _facts(issued, at, person["name"]) | {"number": last["number"] + 1 if last else 1}
    made = owner.build({"plain": told["plain"], "next": told["ticked"] + told["more"], "ring": told["ring"]}, facts)
    owner_pages.keep(db, exam, issued["version"], person["id"], at, told, made)
    flash("The page for the owner is on. It is kept as it stands.", "good")
    return redirect(url_for("owner_page.form_page", exam=exam))


@blueprint.post("/review/exam/<exam>/owner/off")
def off(exam: str) -> Answer:
    """Switch the page off; what was made stays kept."""
    person = person_here()
    if person is None:
        abort(401)
    _issued(exam)
    owner_pages.switch_off(get_db(), exam, person["id"], desk.now())
    flash("The page for the owner is off. What was made stays kept.", "good")
    return redirect(url_for("owner_page.form_page", exam=exam))


@blueprint.get("/owner-page/<exam>/<int:number>")
def page(exam: str, number: int) -> Response:
    return _kept(exam, number, "html", "text/html; charset=utf-8", "html")


@blueprint.get("/owner-page/<exam>/<int:number>.pdf")
def pdf(exam: str, number: int) -> Response:
    return _kept(exam, number, "pdf", "application/pdf", "pdf")


@blueprint.get("/owner-page/<exam>/<int:number>.txt")
def plain(exam: str, number: int) -> Response:
    return _kept(exam, number, "plain", "text/plain; charset=utf-8", "txt")


@blueprint.app_template_global("owner_page_of")
def newest(exam: str) -> Row | None:
    """For the signed page: the newest page for the owner, on or off."""
    return owner_pages.newest(get_db(), exam)


def _show(exam: str, form: OwnerForm | None, told: str = "") -> str:
    db = get_db()
    with read(db):
        issued = _issued(exam)
        rows = [row | {"at": words.moment(row["made_at"])} for row in owner_pages.all_of(db, exam)]
        before = owner_pages.words_of(db, exam)
        names = {row["id"]: row["name"] for row in people.everyone(db)}
    offered = _offered(issued)
    if form is None:
        form = OwnerForm(formdata=None)
        form.plain.data, form.ring.data = before.get("plain", ""), before.get("ring", "")
        form.more.data = "\n".join(before.get("more") or [])
        form.ticked.data = before.get("ticked") or []
        form.version.data = str(issued["version"])
    form.ticked.choices = [(text, text) for text in offered]
    animal = json.loads(issued["exam_json"])["patient"].get("name") or "Animal without a name"
    shown = {"rows": rows, "names": names, "issued": issued, "animal": animal, "told": told}
    return render_template("review/owner.html", form=form, exam=exam, on=bool(rows and rows[-1]["is_on"]), **shown)


def _issued(exam: str) -> Row:
    """The newest version issued of the exam; the page goes with a signed report only."""
    db = get_db()
    found = reports.versions(db, exam)
    if not found:
        abort(404, "Nothing is signed yet: a page for the owner goes with a signed report.")
    return reports.version(db, exam, found[-1]["version"]) or abort(404)


def _offered(issued: Row) -> list[str]:
    """What the signed report still recommends, in the vet's own words, with the day that the vet gave."""
    rows = json.loads(issued["exam_json"])["fields"].get("recommendations") or []
    return [
        str(row["text"]) + (f" (by {dates.day(row['due'], dates.LONG)})" if row.get("due") else "")
        for row in recommended.standing(rows)
        if row.get("text")
    ]


def _facts(issued: Row, at: str, signer: str) -> Row:
    exam = json.loads(issued["exam_json"])
    return {
        "animal": exam["patient"].get("name"),
        "practice": meta.get(get_db(), "practice"),
        "examined": exam.get("date"),
        "signer": signer,
        "made_at": at,
        "version": issued["version"],
        "language": "en-US" if rules.spelling_here() == "american" else "en-GB",
    }


def _lines(text: str | None) -> list[str]:
    return [one.strip() for one in (text or "").splitlines() if one.strip()]


def _kept(exam: str, number: int, column: str, content_type: str, ending: str) -> Response:
    row = owner_pages.page(get_db(), exam, number)
    if row is None:
        abort(404, f"There is no page {number} for the owner of this animal.")
    data = row[column] if isinstance(row[column], bytes) else row[column].encode()
    response = Response(data, content_type=content_type)
    response.headers["Content-Disposition"] = f'inline; filename="page-{exam[:8]}-{number}.{ending}"'
    return response
