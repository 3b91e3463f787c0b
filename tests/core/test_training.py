"""A training exam is judged like any other, stands on no list, is compared with nothing, and teaches no spread."""

from typing import Any

from sqlite_utils import Database

from tests.builders import EXAM, PATIENT, Phone
from webapp import rules
from webapp.store import entries, exams, journal

LEFT = "adrenal.left.caudal_pole_thickness"


def training(phone: Phone | None = None) -> Phone:
    phone = phone or Phone()
    animal = {"name": "Training dog", "species": "dog", "age_months": 96, "weight_kg": "8.4"}
    opened = {"about": "exam", "date": "2026-11-24", "visit": None, "purpose": "training", "patient": animal}
    phone.act("opened", opened | {"question": {"text": "", "structures": []}, "context": {}})
    phone.read(LEFT, "6.9")
    phone.read(LEFT, "7.1")
    return phone


def opened_entries(phone: Phone) -> list[dict[str, Any]]:
    return [entries.open_entry(envelope) for envelope in phone.written]


def test_its_values_are_judged() -> None:
    asked = {"do": "open", "entries": opened_entries(training()), "earlier": [], "today": "2026-11-24"}
    answer = rules.call(asked)
    assert answer["exam"]["purpose"] == "training"
    assert "above_limit" in {flag["kind"] for flag in answer["judgement"]["flags"]}


def test_a_purpose_that_nobody_knows_is_judged_by_nothing() -> None:
    given = opened_entries(training())
    given[0]["body"]["purpose"] = "other"
    answer = rules.call({"do": "open", "entries": given, "earlier": [], "today": "2026-11-24"})
    assert answer["judgement"]["flags"] == []


def test_it_teaches_nothing_and_no_later_exam_is_compared_with_it() -> None:
    given = opened_entries(training())
    assert rules.call({"do": "learn", "exams": [given]})["sums"] == [{}]
    later = Phone("b2" * 16, exam=EXAM[:-1] + "2")
    later.opened()
    later.read(LEFT, "5.0")
    asked = {"do": "open", "entries": opened_entries(later), "earlier": [{"entries": given}], "today": "2026-11-25"}
    assert rules.call(asked)["earlier"] == []


def test_the_practice_keeps_its_entries_and_lists_it_nowhere(db: Database) -> None:
    phone = training()
    journal.append(db, phone.written, "phone")
    assert db.execute("select count(*) from entries").fetchone() == (3,)
    assert exams.projection(db, EXAM) is None
    assert db.execute("select count(*) from exams").fetchone() == (0,)
    assert db.execute("select count(*) from animals where patient = ?", [PATIENT]).fetchone() == (0,)
