"""Who sits at the desk, when, and the exam they ask for."""

from datetime import datetime
from typing import Any

from flask import abort
from sqlite_utils import Database

from webapp import rules
from webapp.accounts import person_here
from webapp.store import desk, exams


def person() -> dict[str, Any]:
    """Whoever is signed in."""
    known = person_here()
    if known is None:
        abort(401)
    return known


def author() -> str:
    """The id of whoever is signed in."""
    return str(person()["id"])


def now() -> datetime:
    """The desk's wall clock, with its offset."""
    return datetime.fromisoformat(desk.now())


def exam(db: Database, exam_id: str) -> exams.Folded:
    """The exam, or the answer that there is none (404) or that the rules cannot read it (409)."""
    try:
        return exams.fold(db, exam_id)
    except LookupError as error:
        abort(404, str(error))
    except rules.RulesError as error:
        abort(409, f"The rules could not read this exam: {error}")
