"""/board: one day by state, and the way to the next exam that waits."""

from datetime import datetime

from flask import Blueprint, flash, redirect, render_template, request, url_for
from werkzeug.wrappers import Response

from webapp import addresses, clock, dates
from webapp.dayboard import board
from webapp.review import queue, words
from webapp.store import people
from webapp.store.db import get_db, read

blueprint = Blueprint("board", __name__, url_prefix="/board", template_folder="templates")


@blueprint.get("")
def page() -> str:
    """The visits and exams of a day, of one person where asked."""
    told = request.args.get("day", "").strip()[:40]
    today, wrong = _here().date().isoformat(), ""
    try:
        day = dates.typed_day(told) if told else today
    except ValueError as error:
        day, wrong = today, str(error)
    db = get_db()
    with read(db):
        known = {row["id"]: row["name"] for row in people.everyone(db)}
        person = request.args.get("person", "")[:40]
        shown = board.of_day(db, day, _here(), person)
    around = [addresses.beside(day, by) for by in (-1, 1)]
    return render_template("dayboard/board.html", shown=shown, day=day, today=today, around=around, person=person,
                           people=known, typed=told if wrong else words.day(day), wrong=wrong)


@blueprint.get("/next")
def next_exam() -> Response:
    """Lead to the exam that waits after the one named: of the day where one is named and holds one, else in the order
    of the queue."""
    db, after, day = get_db(), request.args.get("after", "")[:80], request.args.get("day", "")[:10]
    with read(db):
        of_day = board.following(board.of_day(db, day, _here()), after) if day else None
        exam = of_day or queue.following(db, after)
    if exam is None:
        flash("No other exam waits.", "good")
        return redirect(url_for("board.page", day=day) if day else url_for("review.queue_page"))
    return redirect(url_for("review.exam_page", exam=exam, day=day if of_day else None))


def _here() -> datetime:
    """This moment where the server stands."""
    return clock.now().astimezone()
