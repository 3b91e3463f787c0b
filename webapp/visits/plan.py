"""Planning: visits made, changed and ordered as entries that name what their author saw."""

import json
from collections.abc import Mapping, Sequence
from typing import Any

from sqlite_utils import Database

from webapp import rules
from webapp.core import visits
from webapp.store import animals, desk, kept
from webapp.store.db import write
from webapp.store.entries import Act

SNAPSHOT = [field for field in visits.RECORD if field not in ("numbers", "owner.name", "owner.contact")]


class Unknown(LookupError):
    """There is no such animal or visit; the message says which."""


def snapshot(record: Mapping[str, Any], age_months: int | None) -> dict[str, Any]:
    """The animal as it is written into a visit, so that a list can be read without its record. No owner."""
    told = {field: record[field] for field in SNAPSHOT if record.get(field) is not None}
    if age_months is not None:
        told["age_months"] = age_months
    return told


def planned(patient: str, record: Mapping[str, Any], facts: Mapping[str, Any], author: str, at: str) -> Act:
    """The act that plans a visit of the animal."""
    age = visits.age_on(facts.get("date"), dict(record))
    body = {"about": "visit", **facts, "patient": snapshot(record, age)}
    return Act("planned", body, author, at, None, patient)


def add(db: Database, patient: str, facts: Mapping[str, Any], author: str) -> str:
    """Plan a visit, last on its day where no order is given; returns its id. Raises Unknown."""
    with write(db):
        record = animals.record(db, patient)
        if record is None:
            raise Unknown("Choose an animal that has a record.")
        last = max((visit["order"] or 0 for visit in of_day(db, facts["date"])), default=0)
        told = {"order": last + 1} | dict(facts)
        return desk.record(db, [planned(patient, record, told, author, desk.now())])[0]


def as_seen(db: Database, visit: str, seen: int | None = None) -> dict[str, Any]:
    """The visit as it stood when arrival `seen` was the newest (None: now). Raises Unknown."""
    row = next(db.query("select record from visits where id = ?", [visit]), None)
    if row is None:
        raise Unknown("There is no such visit here.")
    query = "select id, header, body, why from entries where patient = ? and exam is null and arrival <= ?"
    found = [kept.opened(db, one) for one in list(db.query(query, [row["record"], 2**62 if seen is None else seen]))]
    made = rules.call({"do": "day", "entries": found})["visits"]
    told: dict[str, Any] | None = next((one for one in made if one["id"] == visit), None)
    if told is None:
        raise Unknown("This visit was removed: it was planned by mistake.")
    return told


def change(db: Database, visit: str, facts: Mapping[str, Any], author: str, seen: int | None = None) -> list[str]:
    """Record what differs from the visit as its author saw it; returns the new entries' ids. Raises Unknown."""
    with write(db):
        return desk.record(db, acts(as_seen(db, visit, seen), facts, author, desk.now()))


def acts(told: Mapping[str, Any], facts: Mapping[str, Any], author: str, at: str) -> list[Act]:
    """The acts that turn a visit as it was seen into these facts."""
    forked = [fork["slot"] for fork in told["forks"]]
    made = []
    for field, value in facts.items():
        slot = f"visit.{field}"
        if (told.get(field) or None) != (value or None) and slot not in forked:
            body = {"about": slot, "value": value}
            after = tuple(told["heads"].get(slot, []))
            made.append(Act("set", body, author, at, None, told["record"], None, after, (told["id"],)))
    return made


def remove(db: Database, visit: str, why: str, author: str) -> None:
    """Take a visit off that was planned by mistake; it stays readable in the animal's record. Raises Unknown."""
    with write(db):
        told = as_seen(db, visit)
        body = {"about": "visit", "why": why}
        desk.record(db, [Act("struck", body, author, desk.now(), None, told["record"], None, (), (visit,))])


def of_day(db: Database, day: str) -> list[dict[str, Any]]:
    """The visits of a day in the order planned, cancelled ones too; "" = requests that wait for a day."""
    where = "dates = ''" if day == "" else "instr(' ' || dates || ' ', ?) > 0"
    rows = db.query(
        f"select visits.facts, animals.facts as animal from visits left join animals on animals.patient = "
        f"visits.patient where removed = 0 and {where}",
        [] if day == "" else [f" {day} "],
    )
    return sorted((_visit(row) for row in rows), key=_place)


def _visit(row: dict[str, Any]) -> dict[str, Any]:
    told: dict[str, Any] = json.loads(row["facts"])
    told["animal"] = json.loads(row["animal"] or "{}")
    return told


def _place(visit: dict[str, Any]) -> tuple[bool, int, str, str]:
    """As the rules order a day: what has no order comes after what has one."""
    return visit["order"] is None, visit["order"] or 0, visit["time"] or "~", visit["id"]


def reorder(db: Database, day: str, ids: Sequence[str], author: str) -> int:
    """Put the visits of a day in this order; returns how many moved. Visits not named keep their places after them."""
    with write(db):
        standing = {visit["id"]: visit for visit in of_day(db, day)}
        wanted = [name for name in dict.fromkeys(ids) if name in standing]
        wanted += [name for name in standing if name not in wanted]
        at = desk.now()
        made: list[Act] = []
        for place, name in enumerate(wanted, 1):
            made += acts(standing[name], {"order": place}, author, at)
        return len(desk.record(db, made)) if made else 0


def step(db: Database, day: str, visit: str, by: int, author: str) -> None:
    """Move one visit of a day up (-1) or down (1)."""
    ids = [one["id"] for one in of_day(db, day)]
    if visit in ids:
        here = ids.index(visit)
        there = min(max(here + by, 0), len(ids) - 1)
        ids.insert(there, ids.pop(here))
        reorder(db, day, ids, author)


def places(db: Database) -> list[str]:
    """Places that visits were ever planned for, for the choice in forms."""
    query = "select distinct json_extract(facts, '$.place') as place from visits order by 1"
    return [row["place"] for row in db.query(query) if row["place"]]
