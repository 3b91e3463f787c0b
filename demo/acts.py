"""The invented exams of patients.json as acts: what was tapped at the table, in order, entry by entry."""

import hashlib
from collections.abc import Iterator
from datetime import date, datetime, timedelta
from typing import Any

from webapp.store import reasons, told
from webapp.store.entries import Act
from webapp.store.exams import Folded

OFFSET = "+00:00"
SIGNALMENT = ("name", "species", "breed", "sex", "neutered", "birth_date")
READING_EXTRAS = ("plane", "recumbency", "lesion", "note", "image")

Row = dict[str, Any]


def lasting_id(name: str, day: str) -> str:
    """A UUIDv7 that is the same at every seeding: its time from a day, its random part from a name."""
    milliseconds = int(datetime.fromisoformat(f"{day}T00:00:00{OFFSET}").timestamp() * 1000)
    digits = hashlib.sha256(f"gelside demo {name}".encode()).hexdigest()
    text = f"{milliseconds:012x}7{digits[:3]}{'89ab'[int(digits[3], 16) % 4]}{digits[4:19]}"
    return f"{text[:8]}-{text[8:12]}-{text[12:16]}-{text[16:20]}-{text[20:]}"


def patient_id(patient: Row) -> str:
    return lasting_id(patient["id"], patient["birth_date"])


def exam_id(exam: Row) -> str:
    return lasting_id(exam["id"], exam["date"])


def months_between(birth: str, day: str) -> int:
    """Whole months of age."""
    born, now = date.fromisoformat(birth), date.fromisoformat(day)
    return (now.year - born.year) * 12 + now.month - born.month - (now.day < born.day)


def signalment(patient: Row, day: str) -> Row:
    known = {field: patient[field] for field in SIGNALMENT}
    return {**known, "age_months": months_between(patient["birth_date"], day)}


def question(asked: Row) -> Row:
    """The question of a request, or of an earlier exam that had its own."""
    return {"text": asked["text"], "structures": asked["structures"]}


def known_before(asked: Row, patient: Row) -> Row:
    """What the request tells of the context, before anyone looks."""
    return {"signs": asked["signs"], "steroids": patient["request"]["steroids"]}


def visit(patient: Row, day: str, order: int) -> Row:
    """The body of a planned visit: the desk puts the animal on the list of a day."""
    request = patient["request"]
    newest = patient["exams"][-1]
    start = datetime(2000, 1, 1, 9) + timedelta(minutes=30 * (order - 1))
    return {
        "about": "visit",
        "date": day,
        "time": f"{start:%H:%M}",
        "order": order,
        "patient": {
            **signalment(patient, day),
            "weight_kg": newest["weight_kg"],
            "weight_source": f"scales on {newest['date']}",
            "ideal_weight_kg": newest["ideal_weight_kg"],
            "body_condition": newest["body_condition"],
        },
        "question": question(request),
        "history": f"{request['history']} Laboratory: {request['laboratory']}.",
        "medication": request["medication"],
        "urgency": request["urgency"],
        "requested_by": request["by"],
        "sonographer": newest["sonographer"],
        "context": known_before(request, patient),
    }


def of_exam(patient: Row, exam: Row) -> list[Act]:
    """All acts of one exam, from the opening to the closing, spread over its minutes."""
    steps = list(_steps(patient, exam))
    start = datetime.fromisoformat(f"{exam['date']}T{exam['start']}:00")
    length = datetime.fromisoformat(f"{exam['date']}T{exam['end']}:00") - start
    holder = exam["assistant"] or exam["sonographer"]
    return [
        Act(
            kind=kind,
            body=body,
            author=holder,
            at=(start + length * place / (len(steps) - 1)).isoformat(timespec="seconds") + OFFSET,
            exam=exam_id(exam),
            patient=patient_id(patient),
            behalf=exam["sonographer"] if holder != exam["sonographer"] else None,
        )
        for place, (kind, body) in enumerate(steps)
    ]


def told_at(exam: Row) -> str:
    """When somebody was told, ISO 8601."""
    return f"{exam['date']}T{exam['told']['at']}:00{OFFSET}"


def telling(exam: Row, folded: Folded) -> told.Telling:
    """Who was told what of an exam as it stood, with the records behind what asks to be told."""
    asked = reasons.to_tell(folded.judgement)
    behind = [name for flag in asked for name in reasons.records_behind(flag, folded.exam)]
    said = {name: exam["told"][name] for name in ("to", "how", "read_back", "text")}
    return told.Telling(told.URGENT, when=told_at(exam), of=tuple(dict.fromkeys(behind)), **said)


Step = tuple[str, Row]


def _steps(patient: Row, exam: Row) -> Iterator[Step]:
    asked: Row = exam.get("question") or patient["request"]
    yield "opened", {
        "about": "exam",
        "date": exam["date"],
        "visit": None,
        "patient": signalment(patient, exam["date"]),
        "question": question(asked),
        "context": known_before(asked, patient),
    }
    yield from _animal_of_the_day(exam)
    for structure in exam["structures"]:
        yield from _structure(structure)
    for row in exam.get("procedures", []):
        yield "procedure", _procedure(row, exam["date"])
    for text in exam["notes"]:
        yield "noted", {"about": "exam", "text": text}
    yield "set", {"about": "question.answered", "value": exam["answered"]}
    yield "set", {"about": "impression", "value": exam["impression"]}
    if exam["recommendations"]:
        yield "set", {"about": "recommendations", "value": exam["recommendations"]}
    yield "closed", {"about": "exam"}


def _animal_of_the_day(exam: Row) -> Iterator[Step]:
    weight = exam["weight_kg"]
    yield "set", {"about": "patient.weight_kg", "value": weight, "typed": weight, "typed_unit": "kg",
                  "source": exam["weight_source"]}
    if exam["ideal_weight_kg"]:
        ideal = exam["ideal_weight_kg"]
        yield "set", {"about": "patient.ideal_weight_kg", "value": ideal, "typed": ideal, "typed_unit": "kg",
                      "source": "estimated from weight and body condition"}
    if exam["body_condition"]:
        yield "set", {"about": "patient.body_condition", "value": exam["body_condition"]}
    for field, value in exam["context"].items():
        yield "set", {"about": f"context.{field}", "value": value}


def _structure(row: Row) -> Iterator[Step]:
    about = row["about"]
    normal = row.get("normal", False)
    state: Row = {"about": about, "seen": row["seen"], "why": row.get("why", []), "normal": normal}
    yield "seen", state
    for part, seen in row.get("parts", {}).items():
        why = row.get("why", []) if seen != "whole" else []
        yield "seen", {"about": f"{about}.{part}", "seen": seen, "why": why, "normal": False}
    for reading in row.get("readings", []):
        yield from _readings(reading)
    if "windows_tried" in row:
        yield "set", {"about": f"{about}.windows_tried", "value": row["windows_tried"]}
    for descriptor, words in row.get("described", {}).items():
        yield "set", {"about": f"{about}.{descriptor}", "value": words}
    for finding in row.get("findings", []):
        yield "found", {"about": _whole(about), **finding}
    if row.get("note"):
        yield "noted", {"about": about, "text": row["note"]}


def _procedure(row: Row, day: str) -> Row:
    """A procedure's body; when consent was given stands in patients.json as the clock showed it."""
    consent = dict(row.get("consent") or {})
    clock = consent.pop("at", None)
    if clock:
        consent["when"] = f"{day}T{clock}:00{OFFSET}"
    return row | ({"consent": consent} if consent else {})


def _readings(reading: Row) -> Iterator[Step]:
    extras = {name: reading[name] for name in READING_EXTRAS if name in reading}
    for value in reading["values"]:
        yield "read", {"about": reading["quantity"], "value": value, "unit": "mm", "typed": value,
                       "typed_unit": "mm", **extras}


def _whole(about: str) -> str:
    """The structure of a part that has a row of its own (a node, a lobe, a pole)."""
    names = about.split(".")
    return "pancreas" if names[0] == "pancreas" else ".".join(names[:2])
