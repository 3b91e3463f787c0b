"""Lists as CSV: UTF-8 with a mark, one heading, no cell that a spreadsheet would run as a formula."""

import csv
import io
import json
import re
from collections.abc import Iterable, Iterator, Sequence
from typing import Any

from sqlite_utils import Database

from webapp.animals import find
from webapp.core import typed
from webapp.review import words as review_words

# What a spreadsheet takes for the beginning of a formula, with the apostrophes that it had already.
FORMULA = re.compile(r"'* *[=+\-@\t\r]")
ANIMALS = ("name", "species", "breed", "sex", "neutered", "operation", "born", "age_months", "weight_kg",
           "weight_source", "weight_date", "ideal_weight_kg", "body_condition", "microchip", "numbers", "owner",
           "owner_contact", "id")
VISITS = ("day", "time", "order", "place", "animal", "species", "examined_by", "urgency", "asked_by", "question",
          "structures", "history", "medication", "steroids", "trilostane", "results_awaited", "cancelled", "number",
          "animal_id", "id")
EXAMS = ("date", "animal", "species", "breed", "weight_kg", "question", "state", "reasons", "entries", "animal_id",
         "id")


def harmless(text: str) -> str:
    """The text as a cell that no spreadsheet runs: an apostrophe before what would begin a formula."""
    return f"'{text}" if FORMULA.match(text) else text


def plain(text: str) -> str:
    """A cell as it was before it was made harmless; what a file from here says comes back the same."""
    return text[1:] if text[:1] == "'" and FORMULA.match(text[1:]) else text


def written(columns: Sequence[str], rows: Iterable[dict[str, Any]]) -> str:
    """The file's text; a column that a row lacks is empty."""
    return "".join(lines(columns, rows))


def lines(columns: Sequence[str], rows: Iterable[dict[str, Any]]) -> Iterator[str]:
    """The same row by row, for what is too long to be held at once."""
    # The mark at the beginning tells spreadsheets that the file is UTF-8.
    yield "\ufeff" + _line(columns)
    for row in rows:
        yield _line([harmless(_text(row.get(name))) for name in columns])


def _line(cells: Sequence[str]) -> str:
    file = io.StringIO()
    csv.writer(file).writerow(cells)
    return file.getvalue()


def _text(value: Any) -> str:
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    return str(value)


def animals(db: Database) -> str:
    """All records that stand."""
    rows = []
    for one in find.everything(db):
        record = one["record"]
        rows.append({
            **{name: record.get(name) for name in ANIMALS},
            **{name: _kilograms(record.get(name)) for name in ("weight_kg", "ideal_weight_kg")},
            "born": record.get("birth_date"),
            "numbers": "; ".join(f"{row['label']}: {row['value']}" for row in record.get("numbers") or []),
            "owner": record.get("owner.name"),
            "owner_contact": record.get("owner.contact"),
            "id": one["patient"],
        })
    return written(ANIMALS, rows)


def _kilograms(weight: str | None) -> str | None:
    return typed.kilograms(weight) if weight else None


def visits(listed: Iterable[dict[str, Any]]) -> str:
    """These visits (plan.of_day)."""
    rows = []
    for visit in listed:
        question, context = visit.get("question") or {}, visit.get("context") or {}
        given = "trilostane" in (context.get("treatments") or [])
        rows.append({
            **{name: visit.get(name) for name in VISITS},
            "day": visit["date"],
            "animal": visit["animal"].get("shown"),
            "species": visit["animal"].get("species"),
            "examined_by": visit["sonographer"],
            "asked_by": visit["requested_by"],
            "question": question.get("text"),
            "structures": "; ".join(review_words.label(one) for one in question.get("structures") or []),
            "steroids": context.get("steroids"),
            "trilostane": "yes" if given else context.get("trilostane"),
            "results_awaited": visit["pending"],
            "animal_id": visit["patient"],
        })
    return written(VISITS, rows)


def exams(db: Database) -> str:
    """The queue: every exam with its state and the reasons to look."""
    rows = []
    for row in db.query("select * from exams order by date desc, started_at desc, exam desc"):
        animal = json.loads(row["animal"])
        reasons = [f"{review_words.REASONS[one['kind']][1]} {one['count']}" for one in json.loads(row["reasons"])]
        rows.append({
            **{name: row.get(name) for name in EXAMS},
            "animal": animal.get("name"),
            **{name: animal.get(name) for name in ("species", "breed", "weight_kg")},
            "reasons": "; ".join(reasons),
            "animal_id": row["patient"],
            "id": row["exam"],
        })
    return written(EXAMS, rows)
