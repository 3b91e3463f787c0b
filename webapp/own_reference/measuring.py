"""What the exams of healthy animals measured: made from the journal once, anew where more arrived or rules changed."""

import json
from collections.abc import Iterable
from typing import Any

from sqlite_utils import Database

from webapp import rules
from webapp.store import kept
from webapp.store.db import write

Json = dict[str, Any]


def of_exams(db: Database, exams: Iterable[str]) -> dict[str, Json]:
    """{exam: what it measured (core.measured)} of these exams."""
    wanted = json.dumps(sorted(exams))
    # The practice's own limits change no value, so that a change of them makes nothing anew.
    made_by = f"{rules.core_version()} {rules.tables_hash()}"
    newest = {
        row["exam"]: row["through"]
        for row in db.query(
            "select exam, max(arrival) as through from entries where exam in (select value from json_each(?)) "
            "group by exam",
            [wanted],
        )
    }
    held = {
        row["exam"]: row
        for row in db.query("select * from measured_exams where exam in (select value from json_each(?))", [wanted])
    }
    made = {}
    for exam, through in newest.items():
        row = held.get(exam)
        if row is None or (row["through"], row["made_by"]) != (through, made_by):
            row = {"exam": exam, "through": through, "made_by": made_by, "measured": _measured(db, exam)}
            with write(db):
                db.table("measured_exams").upsert(row, pk="exam")
        made[exam] = json.loads(row["measured"])
    return made


def _measured(db: Database, exam: str) -> str:
    rows = [row.entry for row in kept.of_exam(db, exam)]
    made = rules.call({"do": "measured", "exams": [rows]})["measured"][0]
    return json.dumps(made, ensure_ascii=False, sort_keys=True)
