"""Visits and requests from a file: rows to visits of animals that have a record with that number."""

import json
import re
from collections.abc import Mapping
from typing import Any

from sqlite_utils import Database

from webapp.exchange import animals_in, meanings
from webapp.exchange.ready import Cells, Change, Choices, Problem, Progress, Row, cells, once
from webapp.exchange.tables import Table
from webapp.review import words
from webapp.store import animals, people
from webapp.store.entries import Act
from webapp.visits import forms, plan

URGENCY = {"routine": "routine", "normal": "routine", "urgent": "urgent", "soon": "urgent",
           "emergency": "emergency", "stat": "emergency", "asap": "emergency"}


def rows(db: Database, table: Table, choices: Choices, mapping: Mapping[str, str], order: str,
         problems: list[Problem], progress: Progress) -> list[Row]:
    """The rows that can be taken in; what is wrong with the others goes to `problems`."""
    known = animals_in.numbered(db)
    staff = {str(row[key]).casefold(): row["id"] for row in people.everyone(db) for key in ("name", "id")}
    found = []
    for done, one in enumerate(cells(table, choices, mapping, problems), 1):
        facts = _facts(one, order, staff)
        number = one.text("animal")
        if number and (choices.label, number) not in known:
            one.fault("animal", f"no animal has the number {number} of {choices.label}: take the animals in first.")
        if one.sound:
            found.append(Row(one.line, one.text("number"), facts, number))
        if done % 500 == 0:
            progress("read", done, len(table.rows))
    return once(found, {field: name for name, field in mapping.items()}, problems)


def _facts(one: Cells, order: str, staff: Mapping[str, str]) -> dict[str, Any]:
    context: dict[str, Any] = {}
    if one.text("steroids"):
        context["steroids"] = one.text("steroids").casefold()
    given = one.read("trilostane", meanings.truth)
    if given is not None:
        context |= {"treatments": [forms.TRILOSTANE]} if given else {"trilostane": "no"}
    facts: dict[str, Any] = {
        "date": one.read("date", lambda text: meanings.day(text, order)),
        "time": one.read("time", _time),
        "sonographer": one.read("sonographer", lambda text: _person(text, staff)),
        "urgency": one.read("urgency", _urgency),
        "question": {
            "text": one.text("question"),
            "structures": one.read("structures", structures) or [],
        },
        "context": context or None,
        "cancelled": one.read("cancelled", meanings.truth),
    }
    for field in ("place", "requested_by", "history", "medication", "pending"):
        facts[field] = one.text(field) or None
    return {field: value for field, value in facts.items() if value is not None}


def _time(text: str) -> str:
    found = re.fullmatch(r"([01]?\d|2[0-3])[:.]([0-5]\d)(:[0-5]\d)?", text)
    if found is None:
        raise ValueError(f'"{text}": write the time as 9:30 or 14:05.')
    return f"{int(found[1]):02d}:{found[2]}"


def _person(text: str, staff: Mapping[str, str]) -> str:
    if text.casefold() not in staff:
        raise ValueError(f'"{text}" is nobody of this practice: write the id or the name as under People.')
    return staff[text.casefold()]


def _urgency(text: str) -> str:
    if text.casefold() not in URGENCY:
        raise ValueError(f'"{text}": write routine, urgent or emergency.')
    return URGENCY[text.casefold()]


def structures(text: str) -> list[str]:
    """Ids of structures named by their words or ids, apart by semicolons. Raises ValueError for an unknown one."""
    known = {str(row["label"]).casefold(): name for name, row in words.structures().items()}
    known |= {name: name for name in words.structures()}
    found = []
    for part in filter(None, (" ".join(piece.split()) for piece in text.split(";"))):
        if part.casefold() not in known:
            raise ValueError(f'"{part}" is no structure known here: write it as on the request form.')
        found.append(known[part.casefold()])
    return found


def outside(label: str, number: str) -> str:
    """A visit's number as it is kept with it."""
    return f"{label}: {number}"


def compared(db: Database, ready: list[Row], label: str) -> list[Change]:
    """What each row would change."""
    query = "select id, number, facts from visits where number is not null and removed = 0"
    known = {row["number"]: row for row in db.query(query)}
    own = {row["id"]: row for row in known.values()}
    changes = []
    for row in ready:
        held = known.get(outside(label, row.number)) or own.get(row.id)
        if held is None:
            changes.append(Change(row, "new", "", []))
            continue
        told = json.loads(held["facts"])
        made = plan.acts(told, _merged(row.facts, told), "", "")
        said = [f"{_field(act)}: {words.value(told.get(_key(act)))} → {words.value(act.body['value'])}" for act in made]
        changes.append(Change(row, "changed" if made else "same", held["id"], said))
    return changes


def _merged(facts: Mapping[str, Any], told: Mapping[str, Any]) -> dict[str, Any]:
    """The row's context over the visit's own: a file that says nothing of fasting clears nothing."""
    merged = dict(facts)
    if "context" in facts:
        merged["context"] = {**(told.get("context") or {}), **facts["context"]}
    return merged


def _key(act: Act) -> str:
    return str(act.body["about"]).removeprefix("visit.")


def _field(act: Act) -> str:
    return _key(act).replace("_", " ")


def acts(
    db: Database, change: Change, label: str, author: str, at: str, known: Mapping[tuple[str, str], str]
) -> list[Act]:
    """The acts that take one row in. A new visit's animal is found by its number in `known`, or named by the row."""
    row = change.row
    if change.target:
        told = plan.as_seen(db, change.target)
        return plan.acts(told, _merged(row.facts, told), author, at)
    patient = known.get((label, row.animal)) or row.animal
    record = animals.record(db, patient)
    if record is None:
        raise ValueError(f"Line {row.line}: the animal {row.animal} is gone.")
    return [plan.planned(patient, record, row.facts | {"number": outside(label, row.number)}, author, at)]
