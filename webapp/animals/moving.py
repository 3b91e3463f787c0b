"""An exam under the wrong animal, or of a walk-in: given to the right record by an entry that names both."""

from typing import Any

from sqlite_utils import Database

from webapp.animals import merging, record
from webapp.core import visits
from webapp.store import animals, desk, exams, kept
from webapp.store.db import write
from webapp.store.entries import Act

SLOT = "exam.patient"
MEASURED_TODAY = ("scales today", "measured today")
WEIGHT = ("weight_kg", "weight_source", "weight_typed", "weight_typed_unit")
OF_THE_TABLE = ("body_condition",)
NOT_OF_AN_EXAM = ("numbers", "owner.name", "owner.contact")


class CannotMove(ValueError):
    """The exam cannot be given to that animal; the message says why."""


def move(db: Database, exam_id: str, patient: str, why: str, author: str, seen: int | None = None) -> str:
    """Give the exam to the animal `patient`; returns the entry's id.

    Its facts become those of the record, but for what was measured on the animal on the table. `seen`: the newest
    arrival its author looked at; another move since then stays beside this one as a fork. A signed exam can be moved
    too: the signed report stays as it is and needs a correction. Raises CannotMove, LookupError.
    """
    with write(db):
        folded = exams.fold(db, exam_id, through=seen)
        exam = folded.exam
        right = animals.record(db, patient)
        if right is None:
            raise CannotMove("Choose an animal that has a record.")
        if patient == exam["patient_id"]:
            raise CannotMove("The exam is this animal's already.")
        body = {
            "about": SLOT,
            "value": _facts(patient, right, exam),
            "from": merging.named(exam["patient_id"], exam["patient"]),
            "why": why,
        }
        after = _heads(db, exam_id, folded.ids)
        return desk.record(db, [Act("set", body, author, desk.now(), exam_id, patient, None, tuple(after))])[0]


def _facts(patient: str, right: dict[str, Any], exam: dict[str, Any]) -> dict[str, Any]:
    """The right animal as the exam takes it: the record, with what was measured at the table."""
    wanted = [field for field in visits.RECORD if field not in NOT_OF_AN_EXAM]
    value = {field: right[field] for field in wanted if right.get(field) is not None}
    value["age_months"] = visits.age_on(exam["date"], right)
    table = exam["patient"]
    if table.get("weight_source") in MEASURED_TODAY and table.get("weight_kg"):
        value |= {name: table.get(name) for name in WEIGHT}
    for field in OF_THE_TABLE:
        if table.get(field) is not None:
            value[field] = table[field]
    return {"id": patient} | {name: one for name, one in value.items() if one is not None}


def _heads(db: Database, exam_id: str, seen: list[str]) -> list[str]:
    """What gives way: the animal's facts set in the exam and earlier moves, as far as the author saw them."""
    known = set(seen)
    return [
        row.entry["id"]
        for row in kept.of_exam(db, exam_id)
        if row.entry["id"] in known and row.entry["kind"] == "set" and _gives_way(row.entry["body"] or {})
    ]


def _gives_way(body: dict[str, Any]) -> bool:
    about = str(body.get("about"))
    return about == SLOT or about.startswith("patient.")


def new_record(db: Database, exam_id: str, author: str) -> str:
    """Make the record of a walk-in from what its exam says of the animal; returns the animal's id.

    Raises CannotMove when it has one already.
    """
    with write(db):
        exam = exams.fold(db, exam_id).exam
        patient = exam["patient_id"]
        if patient is None or animals.record(db, patient) is not None:
            raise CannotMove("This animal has a record already.")
        told = exam["patient"]
        facts: dict[str, Any] = {
            field: told[field]
            for field in visits.RECORD
            if told.get(field) is not None and field not in (*WEIGHT, "age_months")
        }
        if told.get("weight_kg"):
            source = str(told.get("weight_source") or "record").replace("scales today", "scales")
            as_typed = {"typed": told.get("weight_typed"), "typed_unit": told.get("weight_typed_unit")}
            as_typed = as_typed if all(as_typed.values()) else {}
            facts["weight_kg"] = {"value": told["weight_kg"], "source": source, "date": exam["date"], **as_typed}
        if told.get("age_months") is not None and not told.get("birth_date"):
            facts["age_months"] = {"value": told["age_months"], "date": exam["date"]}
        desk.record(db, record.acts(patient, facts, author, {}))
        return str(patient)
