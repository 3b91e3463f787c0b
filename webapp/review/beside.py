"""The desk's page of two exams side by side."""

from flask import Blueprint, abort, render_template

from webapp import rules
from webapp.accounts import kept as typed
from webapp.review import side_by_side
from webapp.store.db import get_db, read

blueprint = Blueprint("beside", __name__, url_prefix="/review/exam", template_folder="templates")


@blueprint.get("/<exam>/beside/<other>")
def page(exam: str, other: str) -> str | tuple[str, int]:
    """Two exams of an animal, the earlier one left, whichever is named first."""
    db = get_db()
    with read(db):
        try:
            pair = side_by_side.compared(db, exam, other)
        except side_by_side.Apart as error:
            return typed.page(str(error)), 409
        except LookupError as error:
            abort(404, str(error))
        except rules.RulesError as error:
            return typed.page(f"These two cannot be compared: {error}"), 409
        more = [row for row in side_by_side.others(db, exam, pair.now) if row["exam"] not in (exam, other)]
    return render_template("review/beside.html", shown=side_by_side.content(pair), exam=exam, more=more)
