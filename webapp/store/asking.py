"""Questions of the desk to the person at the table, and their answers: notes that say so in their body.

A question is a `noted` entry with `asks`: "sonographer"; an answer is one with `answers`: the question's id, which it
names in `of` as well. The rules keep both apart from the notes: they are talk about the record, not part of it.
"""

import json
from typing import Any

from sqlite_utils import Database

Json = dict[str, Any]

ASKED = "sonographer"
REASON = "asked"  # the kind of reason in the queue (store.reasons)


def questions(exam: Json) -> list[Json]:
    """The questions of a folded exam that nobody struck, each with its `replies`, in the exam's order."""
    rows = [row for row in exam.get("asked") or [] if not row["struck"]]
    return [
        row | {"replies": [one for one in rows if row["id"] in (one["answers"], *one["of"]) and not one["asks"]]}
        for row in rows
        if row["asks"]
    ]


def open_questions(view: Json) -> list[Json]:
    """The questions of a folded exam (`view`) that nobody has answered yet."""
    return [row for row in questions(view) if not row["replies"]]


def for_person(db: Database, device: str | None, person: str | None) -> list[str]:
    """Exams with an open question that this phone, or this person, wrote in: whom it is for."""
    query = "select exam, reasons from exams where reasons like ? order by exam"
    found = []
    for row in list(db.query(query, [f'%"{REASON}"%'])):
        if any(reason["kind"] == REASON for reason in json.loads(row["reasons"])) and _wrote(
            db, row["exam"], device, person
        ):
            found.append(row["exam"])
    return found


def _wrote(db: Database, exam: str, device: str | None, person: str | None) -> bool:
    """Whether anything in the exam is of the phone's device, or by the person or on their behalf."""
    query = (
        "select 1 from entries where exam = ? and (device = ? or json_extract(header, '$.author') = ? "
        "or json_extract(header, '$.behalf') = ?) and kind is not 'noted' limit 1"
    )
    return db.execute(query, [exam, device, person, person]).fetchone() is not None
