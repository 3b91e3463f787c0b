"""Photos and clips of an exam as the desk shows them, and a clip's words kept by a person."""

from typing import Any

from flask import Blueprint, abort, flash, redirect, url_for
from flask_wtf import FlaskForm
from sqlite_utils import Database
from werkzeug.wrappers import Response
from wtforms import SubmitField, TextAreaField
from wtforms.validators import DataRequired, Length

from webapp.accounts import kept as typed
from webapp.accounts import person_here
from webapp.photos import register
from webapp.store import desk, heard, kept
from webapp.store.db import get_db, write

blueprint = Blueprint("clips", __name__, url_prefix="/photos", template_folder="templates")

LONGEST = 4000
_STILLS = """
select id from entries where exam = ? and kind = 'attached' and json_valid(body)
  and json_extract(body, '$.regions') is not null
"""


class WordsForm(FlaskForm):
    """What is said in a clip."""

    text = TextAreaField("What is said", [DataRequired("Write what is said in the clip."), Length(max=LONGEST)])
    submit = SubmitField("Keep as a note")


def attached(db: Database, exam: str, rows: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """The exam's attachments with `here` (the bytes have come), `is_photo`, `still` (with a scale, of a DICOM file),
    `heard` (machine text, not confirmed) and `form`, where nobody wrote down a clip's words yet."""
    written = heard.written(db, exam)
    stills = {row["id"] for row in db.query(_STILLS, [exam])}
    made = []
    for row in rows:
        is_photo = str(row.get("type") or "").startswith("image/")
        machine = None if is_photo or row["id"] in written else heard.text_of(db, str(row["hash"]))
        form = None
        if not is_photo and row["id"] not in written and not row["struck"]:
            form = WordsForm(formdata=None, data={"text": machine["text"] if machine else ""})
        here = register.known(db, str(row["hash"])) is not None
        told = {"is_photo": is_photo, "here": here, "heard": machine, "form": form, "still": row["id"] in stills}
        made.append(row | told)
    return made


@blueprint.post("/words/<exam>/<entry>")
def words(exam: str, entry: str) -> Response | tuple[str, int]:
    """Keep a clip's words as a note of the person signed in; it names the clip."""
    db = get_db()
    clip = next((row.entry for row in kept.of_exam(db, exam) if row.entry["id"] == entry), None)
    if clip is None or clip["kind"] != "attached" or clip["body"] is None:
        abort(404, "There is no such clip in this exam.")
    form = WordsForm()
    if not form.validate_on_submit():
        return typed.page(" ".join(error for errors in form.errors.values() for error in errors)), 422
    person = person_here()
    if person is None:
        abort(401)
    with write(db):
        if entry in heard.written(db, exam):
            return typed.page("Somebody wrote down this clip meanwhile: look at the exam again."), 409
        body = {"about": clip["body"]["about"], "text": form.text.data.replace("\r\n", "\n").strip()}
        desk.act(db, "noted", body, author=person["id"], exam=exam, patient=clip["patient"], of=[entry])
    flash("The clip's words are kept as a note under your name.", "good")
    return redirect(url_for("review.exam_page", exam=exam))
