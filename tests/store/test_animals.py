"""The lists of animals and visits equal the journal; a merge changes what exams are compared with."""

from typing import Any

import pytest
from sqlite_utils import Database

from tests.builders import PATIENT, Phone
from webapp.store import animals, desk, exams, journal

OTHER = PATIENT[:-1] + "b"


def fact(db: Database, field: str, value: Any, patient: str = PATIENT) -> str:
    return desk.act(db, "set", {"about": f"patient.{field}", "value": value}, author="RD", patient=patient)


def merge(db: Database, gone: str = OTHER, kept: str = PATIENT) -> str:
    body = {"about": "patient", "from": {"id": gone}, "into": {"id": kept}, "why": "one dog"}
    return desk.act(db, "merged", body, author="RD", patient=kept)


def exam(db: Database, name: str, patient: str, day: str, value: str) -> None:
    phone = Phone(name[:2] * 16, exam=name, patient=patient)
    animal = {"species": "dog", "weight_kg": "7.2", "age_months": 100}
    phone.act("opened", {"about": "exam", "date": day, "patient": animal, "question": {}, "context": {}})
    for once in (value, value):
        phone.read("adrenal.left.caudal_pole_thickness", once)
    journal.append(db, phone.written, "phone")


def test_a_record_is_found_by_every_part_of_it(db: Database) -> None:
    fact(db, "name", "Größe Bäckchen")
    fact(db, "microchip", "276 09-8106123456")
    row = next(db.query("select * from animals"))
    assert (row["name"], row["microchip"], row["root"]) == ("Größe Bäckchen", "276098106123456", PATIENT)
    assert row["search"].splitlines() == ["grosse backchen", "276098106123456"]


def test_merged_records_are_compared_with_each_others_exams_until_it_is_undone(db: Database) -> None:
    exam(db, "aa-first", OTHER, "2026-10-01", "3.0")
    exam(db, "bb-second", PATIENT, "2026-11-24", "6.2")
    assert exams.fold(db, "bb-second").earlier == []
    undo = merge(db)
    assert [row["date"] for row in exams.fold(db, "bb-second").earlier] == ["2026-10-01"]
    reasons = next(db.query("select reasons from exams where exam = 'bb-second'"))["reasons"]
    assert "changed" in reasons, "the list says so at once: 3.0 to 6.2 mm is a change"
    assert exams.differences(db) == []
    desk.act(db, "struck", {"about": "patient", "why": "two dogs"}, author="RD", patient=PATIENT, of=[undo])
    assert exams.fold(db, "bb-second").earlier == [] and exams.differences(db) == []


def test_the_lists_are_made_anew_as_they_were(db: Database) -> None:
    fact(db, "name", "Pepper")
    fact(db, "name", "Bela", OTHER)
    planned = desk.act(db, "planned", {"about": "visit", "date": "2026-11-25"}, author="RD", patient=OTHER)
    desk.act(db, "set", {"about": "visit.order", "value": 4}, author="RD", patient=OTHER, of=[planned])
    merge(db)
    before = [list(db.query(f"select * from {table} order by 1")) for table in ("animals", "visits")]
    assert before[1][0]["patient"] == PATIENT and before[1][0]["record"] == OTHER
    exams.rebuild(db)
    assert [list(db.query(f"select * from {table} order by 1")) for table in ("animals", "visits")] == before
    db.execute("update animals set name = 'Peter' where patient = ?", [PATIENT])
    assert exams.differences(db) == [f"animal {PATIENT}: the kept row is not what the journal gives"]


@pytest.mark.parametrize("body", [{}, {"from": 5, "into": []}, {"from": {"id": 3}, "into": {"id": PATIENT}}])
def test_a_merge_that_names_no_records_is_kept_and_ties_nothing(db: Database, body: dict[str, Any]) -> None:
    fact(db, "name", "Pepper")
    desk.act(db, "merged", {"about": "patient"} | body, author="RD", patient=PATIENT)
    assert animals.connected(db, [PATIENT]) == [PATIENT] and exams.differences(db) == []
