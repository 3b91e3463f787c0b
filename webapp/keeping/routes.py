"""The desk's page about the records as a whole: a journal file in, and what is known to be missing."""

from typing import Any

from flask import Blueprint, flash, redirect, render_template, request, url_for
from flask_wtf import FlaskForm
from flask_wtf.file import FileField, FileRequired
from werkzeug.wrappers import Response as AnyResponse
from wtforms import SubmitField

from webapp import dates
from webapp.keeping import importing, lost
from webapp.photos import register
from webapp.store import erasures, heads, meta
from webapp.store.db import get_db

LARGEST_FILE = 64 * 1024 * 1024  # bytes: some hundred thousand entries

blueprint = Blueprint("keeping", __name__, url_prefix="/records", template_folder="templates")


class ImportForm(FlaskForm):
    """A journal file from a phone."""

    journal = FileField("Journal file", [FileRequired("Choose the file that the phone gave out.")])
    submit = SubmitField("Take it in")


@blueprint.url_value_preprocessor
def allow_a_file(endpoint: str | None, values: dict[str, Any] | None) -> None:
    """Before the form's token is looked for, which reads the form."""
    if endpoint == "keeping.take":
        request.max_content_length = LARGEST_FILE


@blueprint.get("")
def page() -> str:
    """What is held, what is missing, and the form for a file."""
    return _page(ImportForm())


@blueprint.post("/import")
def take() -> AnyResponse | tuple[str, int]:
    """Take in a journal file."""
    form = ImportForm()
    if not form.validate_on_submit():
        return _page(form), 422
    try:
        with form.journal.data.stream as file:
            answer = importing.take(get_db(), file.read())
    except importing.ImportProblem as error:
        form.journal.errors = [str(error)]
        return _page(form), 422
    flash(importing.in_words(answer), "good")
    return redirect(url_for("keeping.page"))


def _page(form: ImportForm) -> str:
    db = get_db()
    return render_template(
        "keeping/records.html",
        form=form,
        head=heads.now(db),
        restored_at=dates.moment(meta.find(db, "restored_at")),
        restored_from=meta.find(db, "restored_from"),
        missing=lost.missing(db),
        awaited=len(register.awaited(db)),
        erased=[row | {"at": dates.moment(row["at"])} for row in erasures.all_of(db).values()],
        second_bodies=db.execute("select count(*) from other_bodies").fetchone()[0],
    )
