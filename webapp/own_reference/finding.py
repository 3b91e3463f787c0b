"""Exams that may be marked as of a healthy animal: finished at the table, newest first, found by the animal's name."""

import json
from typing import Any

from sqlite_utils import Database

from webapp.own_reference.group import FINISHED
from webapp.review import words
from webapp.store import animals, healthy

MOST = 30


def exams(db: Database, text: str) -> list[dict[str, Any]]:
    """The newest finished exams of animals whose name holds the text, whatever its case and accents; those marked
    say so."""
    marks = healthy.marks(db)
    wanted = animals.folded(text)
    states = ",".join("?" * len(FINISHED))
    query = (
        f"select exam, date, state, animal from exams where state in ({states}) "
        "order by date desc, started_at desc, exam desc"
    )
    made: list[dict[str, Any]] = []
    for row in db.query(query, list(FINISHED)):
        animal = json.loads(row["animal"])
        if wanted not in animals.folded(animal.get("name") or ""):
            continue
        mark = marks.get(row["exam"])
        made.append({
            "exam": row["exam"],
            "name": animal.get("name") or "no name",
            "facts": " · ".join(str(animal[name]) for name in ("species", "breed") if animal.get(name)),
            "date": words.day(row["date"]),
            "state": row["state"],
            "healthy": mark is not None and mark.value.get("healthy") is True,
        })
        if len(made) == MOST:
            break
    return made
