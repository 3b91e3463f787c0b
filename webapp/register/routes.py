"""The desk's pages of the limits: rows, sets, thresholds of ours, own rows, history; nothing is changed here."""

from typing import Any

from flask import Blueprint, Response, render_template, request

from webapp import rules
from webapp.core import grades
from webapp.register import changes, forms, listing, told
from webapp.review import words
from webapp.store import overlays, people
from webapp.store.db import get_db

blueprint = Blueprint("register", __name__, url_prefix="/limits", template_folder="templates", static_folder="static")


def show(template: str, told_: list[str] | None = None, **more: Any) -> str:
    """A page of the limits with what all of them show: the version, the last change, the empty step form."""
    last = overlays.newest(get_db())
    step = forms.StepForm(formdata=None, seen=last.id if last else "")
    return render_template(
        f"register/{template}",
        version=rules.limits_version(last.overlay if last else None),
        published=rules.limits_version(),
        last=last,
        last_at=words.moment(last.at) if last else None,
        last_who=_names().get(last.author, last.author) if last else None,
        step=step,
        told=told_ or [],
        **more,
    )


def _names() -> dict[str, str]:
    return {person["id"]: person["name"] for person in people.everyone(get_db())}


@blueprint.get("")
def rows_page() -> str:
    """Every row of the register, filtered."""
    return rows_shown()


def rows_shown(told_: list[str] | None = None) -> str:
    """The page of rows by the filter in the address."""
    made = listing.register(overlays.in_force(get_db()))
    filter = listing.wanted(request.args)
    chosen = listing.rows(made, filter)
    return show(
        "rows.html",
        told_,
        filter=filter,
        asked=filter.asked,
        units=made["units"],
        uses=listing.USES,
        species=listing.SPECIES,
        groups=listing.groups(chosen, made["differ"]),
        count=len(chosen),
        total=len(made["rows"]),
    )


@blueprint.get("/register.csv")
def csv_file() -> Response:
    """The rows that the filter lets through, as a file for a spreadsheet."""
    overlay = overlays.in_force(get_db())
    chosen = listing.rows(listing.register(overlay), listing.wanted(request.args))
    # The mark at the beginning tells spreadsheets that the file is UTF-8.
    answer = Response("\ufeff" + listing.as_csv(chosen), mimetype="text/csv")
    name = rules.limits_version(overlay).replace("+", "-")
    answer.headers["Content-Disposition"] = f'attachment; filename="gelside-{name}.csv"'
    return answer


@blueprint.get("/sets")
def sets_page() -> str:
    """The rows by source, each set with its switch."""
    return sets_shown()


def sets_shown(told_: list[str] | None = None) -> str:
    """The page of sets."""
    return show("sets.html", told_, sets=listing.register(overlays.in_force(get_db()))["sets"])


@blueprint.get("/thresholds")
def thresholds_page() -> str:
    """Our own choices, with rule and value."""
    return thresholds_shown()


def thresholds_shown(told_: list[str] | None = None, typed: tuple[str, str] | None = None) -> str:
    """The page of thresholds; `typed` = (path, text) of a number that was not taken, shown as typed."""
    rows = listing.thresholds(overlays.in_force(get_db()))
    return show("thresholds.html", told_, rows=rows, typed=typed or ("", ""))


@blueprint.get("/grades")
def grades_page() -> str:
    """How loud each kind of line is, and which findings someone is told."""
    return grades_shown()


def grades_shown(
    told_: list[str] | None = None, form: forms.EntryForm | None = None, typed: tuple[str, str, str] | None = None
) -> str:
    """The page of grades; a form that was not taken comes back as typed, `typed` = (kind, grade, reason)."""
    last = overlays.newest(get_db())
    form = form or forms.EntryForm(formdata=None)
    form.seen.data = last.id if last else ""
    made = listing.register(last.overlay if last else None)["grades"]
    return show(
        "grades.html",
        told_,
        kinds=[row | {"published": grades.WORDS[_published_grade(row["kind"])]} for row in made["grades"]],
        told_list=made["tell"],
        grades=grades.WORDS,
        form=form,
        typed=typed or ("", "", ""),
    )


def _published_grade(kind: str) -> str:
    return str(rules.tables()["thresholds"]["grades"][kind])


@blueprint.get("/own")
def own_page() -> str:
    """The practice's own rows, and the form for one more."""
    return own_shown()


def own_shown(told_: list[str] | None = None, form: forms.RowForm | None = None) -> str:
    """The page of own rows; a form that was not taken comes back as it was typed."""
    last = overlays.newest(get_db())
    made = listing.register(last.overlay if last else None)
    adult = next(row for row in made["thresholds"] if row["id"] == "adult_months")["values"][0]["value"]
    if form is None:
        form = forms.RowForm(formdata=None, from_months=int(adult))
    form.seen.data = last.id if last else ""
    return show("own.html", told_, form=form, rows=[row for row in made["rows"] if row["own"]])


@blueprint.get("/history")
def history_page() -> str:
    """All changes: who, when, what."""
    return history_shown()


def history_shown(told_: list[str] | None = None) -> str:
    """The page of changes."""
    rows = told.listed(overlays.history(get_db()), changes.NOTHING, _names())
    return show("history.html", told_, rows=[row | {"at": words.moment(row["at"])} for row in rows])
