"""Fill a store with the invented practice: people, one demo phone, sixteen exams, today's list.

The exams travel as a phone's entries through the function that takes a phone's push. Ids are made from
the demo's own names, so seeding again adds nothing. For the demo on this machine only: the password and
the phone's token stand here in the open.
"""

import hashlib
import json
from functools import cache
from pathlib import Path
from typing import Any, NamedTuple

from flask import Flask
from sqlite_utils import Database

from demo import acts
from webapp.review import signing
from webapp.store import desk, devices, entries, journal, meta, people, phones, planned, reports, told
from webapp.store import exams as kept_exams
from webapp.store.db import get_db, write
from webapp.store.entries import Act, Envelope, Place

SIGN_IN = ("IF", "only-for-the-demo")
PHONE_NAME = "Demo phone"
PHONE_TOKEN = "demo-phone-on-this-machine-only"
BATCH = 200


@cache
def practice() -> dict[str, Any]:
    """The invented practice as written in patients.json."""
    written: dict[str, Any] = json.loads((Path(__file__).parent / "patients.json").read_text(encoding="utf-8"))
    return written


def exams() -> list[tuple[dict[str, Any], dict[str, Any]]]:
    """(patient, exam) pairs in the order in which they took place."""
    pairs = [(patient, exam) for patient in practice()["patients"] for exam in patient["exams"]]
    return sorted(pairs, key=lambda pair: (pair[1]["date"], pair[1]["start"], pair[1]["id"]))


def device() -> str:
    """The demo phone's device id."""
    return hashlib.sha256(b"gelside demo phone").hexdigest()[:32]


@cache
def envelopes() -> list[Envelope]:
    """Everything the demo phone ever recorded, chained: the same bytes at every call."""
    place = Place(device(), 1, entries.NO_PREVIOUS)
    made: list[Envelope] = []
    for patient, exam in exams():
        for act in acts.of_exam(patient, exam):
            made.append(entries.make(act, place))
            place = Place(place.device, place.seq + 1, entries.entry_id(made[-1]))
    return made


def push(db: Database) -> int:
    """Send the demo phone's entries in batches, as a phone does; the number newly stored."""
    phone = phones.add(db, PHONE_NAME, PHONE_TOKEN)
    everything = envelopes()
    if devices.holding(db, device()).held >= len(everything):
        return 0
    results = []
    for start in range(0, len(everything), BATCH):
        results += journal.append(db, everything[start:start + BATCH], phone)
    return sum(result.status == journal.STORED for result in results)


def tell(db: Database) -> int:
    """Record who was told an urgent finding, as whoever scanned would at the desk; how many hand-overs were new."""
    new = 0
    for _, exam in exams():
        name = acts.exam_id(exam)
        if exam.get("told") and not told.told(db, name):
            folded = kept_exams.fold(db, name)
            told.record(db, name, acts.telling(exam, folded), exam["sonographer"], acts.told_at(exam))
            new += 1
    return new


def sign_earlier(db: Database) -> int:
    """Sign the exams of earlier months, as the vet of the demo would; how many were signed now."""
    person = people.by_id(db, SIGN_IN[0])
    assert person is not None
    signer = {"id": person["id"], "name": person["name"]}
    names = [acts.exam_id(exam) for patient, exam in exams() if exam is not patient["exams"][-1]]
    unsigned = [name for name in names if not reports.versions(db, name)]
    for name in unsigned:
        signing.sign(db, name, signer)
    return len(unsigned)


def plan(db: Database, today: str) -> int:
    """Put every animal that is not there yet on today's list, as acts of the desk; how many were."""
    there = set(planned.of_day(db, today).patients)
    author = SIGN_IN[0]
    at = f"{today}T08:00:00{acts.OFFSET}"
    missing = [
        Act("planned", acts.visit(patient, today, order), author, at, patient=acts.patient_id(patient))
        for order, patient in enumerate(practice()["patients"], start=1)
        if acts.patient_id(patient) not in there
    ]
    desk.record(db, missing)
    return len(missing)


class Seeded(NamedTuple):
    """What a seeding added."""

    entries: int
    planned: int

    def __str__(self) -> str:
        if not self.entries and not self.planned:
            return "The invented practice stands already: nothing added."
        return f"Invented practice: {self.entries} entries added, {self.planned} animals put on today's list."


def seed(app: Flask, today: str) -> Seeded:
    """Seed what is missing in the app's store. `today` is an ISO date."""
    with app.app_context():
        db = get_db()
        with write(db):
            _people(db)
        added = push(db)
        tell(db)
        sign_earlier(db)
        return Seeded(added, plan(db, today))


def _people(db: Database) -> None:
    meta.put(db, "practice", practice()["practice"])
    known = {person["id"] for person in people.everyone(db)}
    for person in practice()["people"]:
        if person["id"] not in known:
            password = SIGN_IN[1] if person["id"] == SIGN_IN[0] else None
            people.add(db, person["id"], person["name"], person["role"], password)
