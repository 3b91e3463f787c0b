"""What was asked before the exam: the planned visit behind it, with history and medication as the desk wrote them."""

import json
from collections.abc import Sequence
from typing import Any

from sqlite_utils import Database

from webapp.review import words

Json = dict[str, Any]

COLUMNS = "select id, removed, facts from visits"


def of_exam(db: Database, exam: Json, entries: Sequence[Json]) -> Json | None:
    """The visit that the exam was opened for; where it names none, the animal's only one on that day. None: there is
    none. `entries` = the exam's, opened; `exam` as folded."""
    named = [entry["body"].get("visit") for entry in entries if entry["kind"] == "opened" and entry["body"]]
    rows: list[Json] = []
    for visit in dict.fromkeys(name for name in named if isinstance(name, str)):
        rows += db.query(f"{COLUMNS} where id = ?", [visit])
    if not rows and exam["patient_id"]:
        day = f"% {exam['date']} %"
        query = f"{COLUMNS} where patient = ? and removed = 0 and cancelled = 0 and ' ' || dates || ' ' like ?"
        rows = list(db.query(query, [exam["patient_id"], day]))
        rows = rows if len(rows) == 1 else []
    return _told(rows[0]) if rows else None


def _told(row: Json) -> Json:
    visit = json.loads(row["facts"])
    question, context = visit.get("question") or {}, visit.get("context") or {}
    return {
        "id": row["id"],
        "removed": bool(row["removed"]),
        "text": question.get("text"),
        "structures": [words.label(name) for name in question.get("structures") or []],
        "by": visit.get("requested_by"),
        "urgency": visit.get("urgency"),
        "history": visit.get("history"),
        "medication": visit.get("medication"),
        "pending": visit.get("pending"),
        "steroids": context.get("steroids"),
        "who": visit.get("author"),
        "at": words.moment(visit.get("at")),
    }
