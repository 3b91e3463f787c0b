"""The page of figures and their files. For learning: nobody is ranked, and names are for those whom they belong to."""

from typing import Any

from flask import Blueprint, Response, abort, render_template, request
from markupsafe import Markup
from sqlite_utils import Database

from webapp import clock
from webapp.accounts import person_here
from webapp.accounts.here import may
from webapp.exchange import csv_out
from webapp.learned import renewing as spread_renewing
from webapp.learning import bars, figures, files, gathering, renewing, span
from webapp.learning.span import Span
from webapp.store import roles
from webapp.store.db import get_db

blueprint = Blueprint(
    "learning", __name__, url_prefix="/learning", template_folder="templates", static_folder="static"
)

Json = dict[str, Any]
MONTHS = (1, 3, 12)
HOW = ("not_seen", "partly", "not_examined")  # solid, hatched, empty
TABLE = "the table below has the figures."


@blueprint.get("")
def page() -> tuple[str, int] | str:
    """All figures of a range of days."""
    asked = span.asked(request.args)
    today = clock.now().astimezone().date()
    common = {
        "asked": asked,
        "given": {name: text for name, text in asked.typed.items() if text},
        "ranges": [(f"{months} months" if months > 1 else "month", span.back(months, today)) for months in MONTHS],
    }
    if asked.errors:
        return render_template("learning/page.html", made=None, **common), 422
    made = gathered(get_db(), asked)
    return render_template("learning/page.html", made=made, pictures=_pictures(made), **common)


def gathered(db: Database, asked: Span) -> Json:
    """Everything that the page shows."""
    waiting = renewing.renew(db)
    spread_renewing.renew(db)
    person = person_here() or {"id": "", "role": ""}
    enough = gathering.least(db)
    listed = gathering.listed(db, asked)
    counted = listed["exams"]
    return {
        "waiting": waiting,
        "least": enough,
        "n": len(counted),
        "open": listed["open"],
        "not_read": listed["not_read"],
        "not_seen": gathering.not_seen(counted, enough),
        "spread": gathering.spread(db, asked, person["id"], roles.ADMIN in roles.held(person["role"])),
        "minutes": figures.minutes(counted),
        "flags": gathering.flags(counted, enough, may("review.exam_page")),
        "versions": gathering.versions(counted, enough),
        "rechecks": gathering.rechecks(db, asked, enough),
    }


def _pictures(made: Json) -> Json:
    """The SVG of each table that has one; every word of it is escaped where it is drawn."""
    not_seen = [
        bars.Bar(row["label"], [row[how] for how in HOW], f"{row['missed']} of {row['exams']}")
        for row in made["not_seen"]
    ]
    minutes = [bars.Bar(f"{words} min", (count,), str(count)) for words, count in made["minutes"]["classes"]]
    flags = [
        bars.Bar(_short(row["label"]), (row["left"], row["raised"] - row["left"]), f"{row['left']} of {row['raised']}")
        for row in made["flags"]
        if row["left"]
    ]
    drawn = {
        "not_seen": bars.lying(not_seen, "not-seen", f"Exams in which a structure was not seen in full; {TABLE}"),
        "minutes": bars.lying(minutes, "minutes", f"Exams by their length in minutes; {TABLE}"),
        "flags": bars.lying(flags, "flags", f"Flags left so, of those raised; {TABLE}"),
    }
    return {name: Markup(picture) for name, picture in drawn.items()}  # noqa: S704


def _short(label: Json) -> str:
    """What fits beside a bar."""
    text = f"{label['what'].split(':')[0]} {label['limit'].split(' (')[0]}".strip()
    return text if len(text) <= 44 else f"{text[:43]}…"


@blueprint.get("/<table>.csv")
def table_csv(table: str) -> Response:
    """One table of the page as a file."""
    asked = span.asked(request.args)
    if table not in files.TABLES or asked.errors:
        abort(404, "There is no such table.")
    columns, rows = files.TABLES[table]
    answer = Response(csv_out.written(columns, rows(gathered(get_db(), asked))), mimetype="text/csv")
    answer.headers["Content-Disposition"] = f'attachment; filename="learning-{table}.csv"'
    answer.headers["Cache-Control"] = "no-store"
    return answer
