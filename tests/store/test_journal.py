"""Appending to the journal: nothing lost, nothing twice, nothing changed."""

import sqlite3
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from sqlite_utils import Database

from tests.builders import EXAM, PATIENT, Phone, foreign, whole_exam
from webapp.store import chain, devices, entries, exams, journal, kept
from webapp.store.db import open_database, write


def held(db: Database) -> list[tuple[object, ...]]:
    """What the journal holds, whatever the order in which it came."""
    query = "select id, device, seq, exam, patient, kind, header, body, why from entries order by id"
    return db.execute(query).fetchall()


def lists(db: Database) -> list[tuple[object, ...]]:
    query = "select * from exams order by exam"
    return db.execute(query).fetchall() + db.execute("select * from devices order by device").fetchall()


def test_entries_come_back_byte_for_byte(db: Database) -> None:
    phone = whole_exam()
    results = journal.append(db, phone.written, "phone")
    assert {result.status for result in results} == {"stored"}
    assert [row["header"] for row in db.query("select header from entries order by arrival")] == [
        envelope["header"] for envelope in phone.written
    ]


def test_sending_again_gives_duplicates_and_no_second_row(db: Database) -> None:
    phone = whole_exam()
    journal.append(db, phone.written, "phone")
    before = held(db)
    assert {result.status for result in journal.append(db, phone.written, "phone")} == {"duplicate"}
    assert held(db) == before


batches = st.lists(st.lists(st.integers(0, 8), max_size=9), max_size=8)


@settings(max_examples=25, deadline=None)
@given(batches)
def test_any_order_and_repetition_of_batches_gives_the_same_table(order: list[list[int]]) -> None:
    written = whole_exam().written
    straight, mixed = open_database(":memory:"), open_database(":memory:")
    journal.append(straight, written, "phone")
    for batch in order:
        journal.append(mixed, [written[i] for i in batch], "phone")
    journal.append(mixed, list(reversed(written)), "phone")
    assert held(mixed) == held(straight)
    assert lists(mixed) == lists(straight)
    straight.close()
    mixed.close()


def test_a_batch_that_breaks_half_way_leaves_nothing(db: Database) -> None:
    phone = whole_exam()
    with pytest.raises(RuntimeError, match="the plug was pulled"), write(db):
        journal.append(db, phone.written, "phone")
        raise RuntimeError("the plug was pulled")
    assert (held(db), lists(db)) == ([], [])
    assert {result.status for result in journal.append(db, phone.written, "phone")} == {"stored"}


def test_a_batch_that_fails_between_two_inserts_leaves_nothing(db: Database) -> None:
    db.execute(
        "create trigger broken before insert on entries when new.seq = 4 "
        "begin select raise(abort, 'the disk said no'); end"
    )
    with pytest.raises(sqlite3.IntegrityError, match="the disk said no"):
        journal.append(db, whole_exam().written, "phone")
    assert (held(db), lists(db)) == ([], [])


def test_unknown_kind_and_version_are_kept_and_shown_as_unread(db: Database) -> None:
    phone = Phone()
    phone.opened()
    phone.read("adrenal.left.caudal_pole_thickness", "4.4")
    strange = [foreign(phone.written[1], kind="dreamt"), foreign(phone.written[1], v=2, seq=3)]
    results = journal.append(db, [phone.written[0], *strange], "phone")
    assert [result.status for result in results] == ["stored", "stored_unreadable", "stored_unreadable"]
    assert {entry["id"] for entry in exams.fold(db, EXAM).exam["unread"]} == {results[1].id, results[2].id}


def test_a_header_nobody_can_read_is_kept_to_the_byte(db: Database) -> None:
    result = journal.append(db, [{"header": "scratched", "body": "\0 and ✂"}], "phone")[0]
    assert result == (entries.sha256("scratched"), "stored_unreadable")
    row = next(db.query("select header, body, device from entries"))
    assert row == {"header": "scratched", "body": "\0 and ✂", "device": None}


def test_the_body_that_fits_is_used_even_if_a_broken_one_came_first(db: Database) -> None:
    phone = whole_exam()
    broken: entries.Envelope = {"header": phone.written[1]["header"], "body": "{}"}
    assert journal.append(db, [broken], "phone")[0].status == "stored_unreadable"
    results = journal.append(db, phone.written, "phone")
    assert [result.status for result in results] == ["stored"] * len(phone.written)
    assert len(exams.fold(db, EXAM).exam["readings"]) == 4
    assert exams.fold(db, EXAM).exam["unread"] == []
    assert next(db.query("select body from entries where arrival = 1"))["body"] == "{}"


def test_an_entry_that_does_not_follow_the_one_before_is_kept_and_said_so(db: Database) -> None:
    phone = whole_exam()
    torn = foreign(phone.written[2], prev="f" * 64)
    results = journal.append(db, [*phone.written[:2], torn], "phone")
    assert [result.status for result in results] == ["stored", "stored", "stored_out_of_chain"]


def test_both_branches_of_a_copied_phone_are_kept_and_folded(db: Database) -> None:
    phone = Phone()
    phone.opened()
    twin = phone.copied()
    phone.read("adrenal.left.caudal_pole_thickness", "6.2")
    twin.read("adrenal.left.caudal_pole_thickness", "6.3")
    journal.append(db, phone.written, "phone")
    assert journal.append(db, twin.written, "phone")[0].status == "stored_out_of_chain"
    assert {reading["value"] for reading in exams.fold(db, EXAM).exam["readings"]} == {"6.2", "6.3"}
    assert devices.holding(db, phone.device) == (2, 3)


def test_through_is_the_unbroken_beginning_and_held_is_all(db: Database) -> None:
    written = whole_exam().written
    phone = Phone()
    journal.append(db, [written[0], written[1], written[4]], "phone")
    assert devices.holding(db, phone.device) == (2, 3)
    journal.append(db, written[2:4], "phone")
    assert devices.holding(db, phone.device) == (5, 5)


@pytest.mark.parametrize(
    "change",
    [
        "update entries set body = '{}'",
        "delete from entries",
        "replace into entries select * from entries",
        "insert or replace into entries select * from entries",
    ],
)
def test_entries_can_neither_be_changed_nor_deleted(db: Database, change: str) -> None:
    journal.append(db, whole_exam().written, "phone")
    before = held(db)
    with pytest.raises(sqlite3.IntegrityError, match="are never"):
        db.execute(change)
    assert held(db) == before


def test_the_disk_is_waited_for(db: Database) -> None:
    assert db.execute("pragma synchronous").fetchone()[0] == 2  # FULL
    assert db.execute("pragma journal_mode").fetchone()[0] == "wal"


def test_opening_the_same_file_again_changes_nothing(path: Path, db: Database) -> None:
    journal.append(db, whole_exam().written, "phone")
    meta = db.execute("select * from meta order by key").fetchall()
    again = open_database(path)
    assert again.execute("select * from meta order by key").fetchall() == meta
    assert held(again) == held(db)
    again.close()


def test_the_lists_equal_what_the_journal_gives(db: Database) -> None:
    journal.append(db, whole_exam().written, "phone")
    assert exams.differences(db) == []
    db.execute("update exams set state = 'signed'")
    assert exams.differences(db) == [f"exam {EXAM}: state differ"]
    assert exams.rebuild(db) == 1
    assert exams.differences(db) == []


def test_an_earlier_exam_that_arrives_late_changes_the_later_ones_row(db: Database) -> None:
    journal.append(db, whole_exam().written, "phone")
    before = Phone("b2" * 16, exam="exam-before")
    body = {"about": "exam", "date": "2026-05-02", "patient": {"species": "dog", "weight_kg": "7.0"}}
    before.act("opened", body)
    for value in ("3.0", "3.1"):
        before.read("adrenal.left.caudal_pole_thickness", value)
    assert "changed" not in next(db.query("select reasons from exams where exam = ?", [EXAM]))["reasons"]
    journal.append(db, before.written, "phone")
    assert "changed" in next(db.query("select reasons from exams where exam = ?", [EXAM]))["reasons"]
    assert exams.differences(db) == []


@pytest.mark.catalogue(70)
def test_an_exam_moved_to_another_animal_leaves_the_first_ones_comparison(db: Database) -> None:
    """The exam of May was written under the wrong name: Pepper's exam of today is no longer compared with it."""
    journal.append(db, whole_exam().written, "phone")
    before = Phone("b2" * 16, exam="exam-before")
    before.act("opened", {"about": "exam", "date": "2026-05-02", "patient": {"name": "Pepper", "species": "dog"}})
    for value in ("3.0", "3.1"):
        before.read("adrenal.left.caudal_pole_thickness", value)
    before.patient = "animal-max"
    max_, pepper = {"id": "animal-max", "name": "Max", "species": "dog"}, {"id": PATIENT, "name": "Pepper"}
    before.act("set", {"about": "exam.patient", "value": max_, "from": pepper, "why": "wrong dog"})
    journal.append(db, before.written[:-1], "phone")
    assert exams.fold(db, EXAM).earlier
    journal.append(db, before.written[-1:], "phone")
    assert not exams.fold(db, EXAM).earlier
    listed = {row["exam"]: row for row in db.query("select exam, patient, animal, reasons from exams")}
    assert listed["exam-before"]["patient"] == "animal-max" and "Max" in listed["exam-before"]["animal"]
    assert "changed" not in listed[EXAM]["reasons"]
    assert exams.differences(db) == []


def test_an_exam_the_rules_fail_on_is_kept_and_listed_with_its_trouble(
    db: Database, monkeypatch: pytest.MonkeyPatch
) -> None:
    def broken(*asked: object) -> dict[str, object]:
        raise exams.rules.RulesError("no rule for this")

    monkeypatch.setattr(exams.rules, "call", broken)
    phone = whole_exam()
    assert {result.status for result in journal.append(db, phone.written, "phone")} == {"stored"}
    row = next(db.query("select state, trouble from exams"))
    assert row == {"state": "could not be read", "trouble": "no rule for this"}
    assert len(kept.of_exam(db, EXAM)) == len(phone.written)


def test_verify_is_content_with_an_honest_journal(db: Database) -> None:
    journal.append(db, whole_exam().written, "phone")
    assert chain.verify(db) == []
