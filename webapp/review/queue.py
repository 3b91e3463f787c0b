"""The queue: all exams with the reasons to look at them."""

import json
from typing import Any

from sqlite_utils import Database

from webapp.core import typed
from webapp.review import words
from webapp.store import exams, reports

GROUPS = (
    (exams.NOT_READ, "Could not be read by the rules"),
    (exams.SIGNED_LATER, "Signed, and something arrived later"),
    (exams.TO_REVIEW, "To review"),
    (exams.OPEN, "Open at the table"),
    (exams.SIGNED, "Signed"),
)
MOST_SIGNED = 50
_NEWEST = "select * from exams where state = ? order by date desc, started_at desc, exam desc"
URGENT = ("trouble", "late", "tell_someone")


def groups(db: Database, everything: bool = False) -> list[dict[str, Any]]:
    """The exams by state: `[{title, rows, left_out}]`. Within a state the urgent ones first, then those
    with a reason, then the rest, each newest first. Of the signed ones only the latest unless asked."""
    made = []
    for state, title in GROUPS:
        most = MOST_SIGNED if state == exams.SIGNED and not everything else -1
        found = db.query(f"{_NEWEST} limit ?", [state, most])
        rows = sorted((_row(db, row) for row in found), key=lambda row: int(row["rank"]))
        left_out = 0
        if len(rows) == most:
            left_out = int(next(db.query("select count(*) as n from exams where state = ?", [state]))["n"]) - most
        if rows:
            made.append({"title": title, "rows": rows, "left_out": left_out})
    return made


def _row(db: Database, row: dict[str, Any]) -> dict[str, Any]:
    animal = json.loads(row["animal"])
    reasons = json.loads(row["reasons"])
    kinds = {reason["kind"] for reason in reasons}
    facts = [
        animal.get("species"),
        animal.get("breed"),
        f"{typed.kilograms(animal['weight_kg'])} kg" if animal.get("weight_kg") else None,
    ]
    issued = reports.versions(db, row["exam"])
    return {
        "exam": row["exam"],
        "name": animal.get("name") or "Animal without a name",
        "facts": " · ".join(str(fact) for fact in facts if fact),
        "date": words.day(row["date"]),
        "time": str(row["started_at"] or "")[11:16],
        "question": row["question"],
        "reasons": [_reason(reason) for reason in reasons],
        "rank": 0 if kinds & set(URGENT) else 1 if kinds else 2,
        "entries": row["entries"],
        "trouble": row["trouble"],
        "signed": f"version {issued[-1]['version']}, {issued[-1]['status']}" if issued else None,
    }


def _reason(reason: dict[str, Any]) -> dict[str, Any]:
    grade, text = words.REASONS[reason["kind"]]
    shown = [words.label(about) for about in reason["about"][:3]] if reason["kind"] not in ("late", "unread") else []
    more = f" and {len(reason['about']) - 3} more" if len(reason["about"]) > 3 and shown else ""
    return {
        "mark": words.MARKS[grade],
        "text": text,
        "count": reason["count"],
        "where": ", ".join(shown) + more,
    }
