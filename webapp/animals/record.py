"""Writing a record: what a person changed becomes entries that name what that person saw."""

import json
import time
from collections.abc import Mapping
from typing import Any

from sqlite_utils import Database

from webapp import rules
from webapp.store import animals, desk, entries, kept
from webapp.store.db import read, write
from webapp.store.entries import Act

Facts = Mapping[str, Any]  # field -> value; a weight as {"value", "typed", "typed_unit", "source", "date"}
TOLD_WITH = {"weight_kg": {"source": "weight_source", "date": "weight_date"}, "age_months": {"date": "age_date"}}


class Unknown(LookupError):
    """There is no such animal, or nothing of it to settle; the message says what."""


def new_id() -> str:
    """The id of a new animal."""
    return entries.new_id(int(time.time() * 1000))


def newest(db: Database) -> int:
    """The newest arrival: how far a page made now has seen the journal."""
    return int(next(db.query("select coalesce(max(arrival), 0) as arrival from entries"))["arrival"])


def as_seen(db: Database, patient: str, seen: int | None = None) -> dict[str, Any] | None:
    """The record as it stood when arrival `seen` was the newest (None: now), or None where there is none."""
    if seen is None:
        return animals.record(db, patient)
    found = []
    query = "select arrival, id, header, body, why from entries where patient = ? and exam is null and arrival <= ?"
    for row in list(db.query(query, [patient, seen])):
        found.append(kept.opened(db, row))
    if not found:
        return None
    record: dict[str, Any] | None = rules.call({"do": "day", "entries": found})["animals"].get(patient)
    return record


def save(db: Database, patient: str, facts: Facts, author: str, seen: int | None) -> list[str]:
    """Record what differs from the record as its author saw it; returns the new entries' ids.

    What somebody else changed meanwhile stays beside it as a fork. `seen` None: the author looks at it now.
    """
    with write(db):
        record = as_seen(db, patient, seen) or {}
        return desk.record(db, acts(patient, facts, author, record))


def acts(patient: str, facts: Facts, author: str, record: dict[str, Any], at: str | None = None) -> list[Act]:
    """The acts that turn a record into these facts; a fact that stands already makes none."""
    heads = record.get("heads") or {}
    made = []
    for field, value in facts.items():
        body = value if isinstance(value, dict) else {"value": value}
        if _differs(record, field, body):
            slot = f"patient.{field}"
            told = {"about": slot, **{name: one for name, one in body.items() if one is not None or name == "value"}}
            after = tuple(heads.get(slot, []))
            made.append(Act("set", told, author, at or desk.now(), None, patient, None, after))
    return made


def _differs(record: dict[str, Any], field: str, body: Mapping[str, Any]) -> bool:
    if f"patient.{field}" in [fork["slot"] for fork in record.get("forks", [])]:
        # An empty field of a form is no statement about what two people disagree on.
        return body["value"] not in (None, "", [])
    if (record.get(field) or None) != (body["value"] or None) and body["value"] != record.get(field):
        return True
    if body["value"] is None:
        return False
    told = TOLD_WITH.get(field, {})
    return any(name in body and (body[name] or None) != (record.get(known) or None) for name, known in told.items())


def settle(db: Database, patient: str, chosen: str, author: str) -> str:
    """Say the chosen side of a fork again after all sides: it stands. Raises Unknown when there is none (any more).

    Serves a fact of the record and a fact of a visit alike.
    """
    with write(db):
        row = next(db.query("select id, header, body, why from entries where id = ?", [chosen]), None)
        entry = kept.opened(db, row) if row else None
        sides = _fork_with(db, patient, chosen)
        if entry is None or not sides:
            raise Unknown("There are no two versions of this to settle any more.")
        act = Act("set", entry["body"], author, desk.now(), None, entry["patient"], None, tuple(sides),
                  tuple(entry["of"]))
        return desk.record(db, [act])[0]


def _fork_with(db: Database, patient: str, chosen: str) -> list[str]:
    """The ids of all sides of the fork that has this side."""
    rows = list(db.query("select facts from animals where patient = ?", [patient]))
    rows += db.query("select facts from visits where record = ? or patient = ?", [patient, patient])
    for row in rows:
        for fork in json.loads(row["facts"]).get("forks", []):
            ids = [side["id"] for side in fork["values"]]
            if chosen in ids:
                return ids
    return []


def history(db: Database, patient: str) -> list[dict[str, Any]]:
    """Every entry of the record, newest first: who set what and when, what was replaced stays readable."""
    with read(db):
        query = "select id, header, body, why from entries where patient = ? and exam is null order by arrival desc"
        return [kept.opened(db, row) for row in list(db.query(query, [patient]))]
