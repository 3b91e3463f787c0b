"""The course of every quantity over an animal's exams, as webapp/report/plots.py draws it."""

from collections.abc import Container
from typing import Any

from sqlite_utils import Database

from webapp import rules
from webapp.review import words
from webapp.store import exams, kept, learned, overlays, reports

Json = dict[str, Any]


def of(db: Database, exam_id: str, folded: exams.Folded, without: Container[str] = ()) -> dict[str, Json]:
    """{quantity, or "quantity|lesion": series} over this exam and the earlier ones of its animal, in the catalogue's
    order; only those that this exam has. All limits are those that this exam is judged by. `without` = ids of entries
    that are left out: what came after its signature.
    """
    rows = [row for row in kept.of_exam(db, exam_id) if row.arrival <= folded.through]
    entries = [row.entry for row in rows if row.entry["id"] not in without]
    groups = [[row.entry for row in kept.of_exam(db, earlier["id"])] for earlier in folded.earlier]
    overlay = overlays.in_force(db, reports.first_signed(db, exam_id))
    answer = rules.call({"do": "series", "exams": [*groups, entries], "learned": learned.in_use(db)}, overlay)
    return {
        _key(row): _series(row) for row in answer["series"] if any(point["exam"] == exam_id for point in row["points"])
    }


def several(series: dict[str, Json]) -> dict[str, Json]:
    """Those with more than one exam: a single point is no course."""
    return {key: row for key, row in series.items() if len(row["points"]) > 1}


def _key(row: Json) -> str:
    return f"{row['quantity']}|{row['lesion']}" if row["lesion"] else str(row["quantity"])


def _series(row: Json) -> Json:
    lesion = f" ({row['lesion']})" if row["lesion"] else ""
    points = [point | {"notes": _notes(point)} for point in row["points"]]
    title = words.label(row["quantity"]) + lesion
    return {"id": _key(row), "title": title, "unit": row["unit"], "points": points}


def _notes(point: Json) -> list[str]:
    notes = {"at least": point["at_least"], "partly seen": point["view"] == "partly"}
    return [note for note, holds in notes.items() if holds]
