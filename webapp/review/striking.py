"""Taking back what was recorded beside an exam by mistake: a strike with its reason; what was struck stays readable."""

from flask import Blueprint, abort, flash, redirect, url_for
from flask_wtf import FlaskForm
from werkzeug.wrappers import Response
from wtforms import StringField
from wtforms.validators import InputRequired, Length

from webapp.review import at_desk, forms
from webapp.store import desk, folding
from webapp.store.db import get_db

blueprint = Blueprint("striking", __name__)

# The page on which each kind is listed.
PAGES = {"told": "telling.page", "second_reads": "second_reading.page", "procedures": "procedures.page"}


class StrikeForm(FlaskForm):
    """Why it is taken back."""

    why = StringField("Why it is taken back", [InputRequired("Say why."), Length(max=forms.LONGEST_LINE)])


@blueprint.post("/review/exam/<exam>/taken-back/<entry>")
def strike(exam: str, entry: str) -> Response:
    """Strike one hand-over, second read or procedure."""
    db, form = get_db(), StrikeForm()
    folded = folding.exam_of(db, exam)
    where, row = next(
        ((page, row) for name, page in PAGES.items() for row in folded[name] if row["id"] == entry), (None, None)
    )
    if where is None or row is None:
        abort(404, "There is no such record with this exam.")
    if where == "second_reading.page" and row["author"] != at_desk.author():
        abort(403, "A second read is its reader's own: ask them to take it back.")
    if row["struck"]:
        flash("It was taken back already.", "bad")
    elif not form.validate_on_submit():
        flash("Not taken back: say why.", "bad")
    else:
        body = {"about": row.get("structure") or row.get("about"), "why": form.why.data.strip()}
        made = {"author": at_desk.author(), "exam": exam, "patient": folded["patient_id"]}
        desk.act(db, "struck", body, of=[entry], **made)
        flash("Taken back. What was recorded stays readable.", "good")
    return redirect(url_for(where, exam=exam))
