"""Erasing a body: logged, seen by everyone, and all else as sure as before."""

import hashlib
import json
import sqlite3
from datetime import UTC, date, datetime
from pathlib import Path

import pytest
from flask.testing import FlaskClient, FlaskCliRunner
from sqlite_utils import Database

from tests.builders import EXAM, PATIENT, Phone, push, whole_exam
from tests.conftest import BEARER
from webapp.keeping import erasing, importing
from webapp.photos import files, register
from webapp.review import preliminary
from webapp.store import chain, erasures, exams, heads, journal, kept
from webapp.store.db import write

WHY = "The owner asked for it in writing."
NOW = "2026-11-25T09:00:00+00:00"
SECRET = "Owner's divorce: do not write this down."


def with_a_note(phone: Phone | None = None) -> tuple[Phone, str]:
    phone = phone or whole_exam()
    return phone, phone.act("noted", {"about": "exam", "text": SECRET})


def erase(db: Database, *ids: str) -> erasures.Erased:
    return erasures.erase(db, ids, "RD", WHY, NOW)


def test_only_the_body_goes_and_everybody_sees_it(db: Database) -> None:
    phone, note = with_a_note()
    journal.append(db, phone.written, "phone")
    head = heads.now(db)
    done = erase(db, note)
    assert done == erasures.Erased([note], [], [])
    assert heads.now(db) == head and chain.verify(db, printed_head=head.text) == [
        chain.Fault(False, f"entry {len(phone.written)} ({note[:12]}): its body was erased on 2026-11-25 by RD: {WHY}")
    ]
    exam = exams.fold(db, EXAM).exam
    assert SECRET not in json.dumps(exam)
    assert [(row["id"], row["why"]) for row in exam["unread"]] == [(note, "what stood here was erased by the practice")]
    assert len(exam["readings"]) == 4
    assert exams.differences(db) == []


def test_erasing_again_changes_nothing(db: Database) -> None:
    phone, note = with_a_note()
    journal.append(db, phone.written, "phone")
    erase(db, note)
    assert erase(db, note).ids == []
    assert erasures.all_of(db)[note]["at"] == NOW


@pytest.mark.parametrize("way", ["push", "file"])
def test_what_was_erased_does_not_come_back(client: FlaskClient, db: Database, way: str) -> None:
    """The phone still has it, and a copy that it gave out may lie somewhere."""
    phone, note = with_a_note()
    journal.append(db, phone.written, "phone")
    erase(db, note)
    if way == "push":
        answer = client.post("/api/journal", data=push(phone), headers=BEARER, content_type="application/json")
        assert {row["status"] for row in answer.json["results"]} == {"duplicate"} and answer.status_code == 200
    else:
        file = {"gelside": "journal"} | json.loads(push(phone))
        importing.take(db, json.dumps(file).encode())
    held = list(db.query("select body, why from entries where id = ?", [note]))
    assert held == [{"body": "", "why": "erased"}]
    assert db.execute("select count(*) from other_bodies").fetchone() == (0,)


def test_nothing_else_can_be_changed_by_the_same_door(db: Database) -> None:
    phone, note = with_a_note()
    journal.append(db, phone.written, "phone")
    for change in ("body = ''", "body = '', why = 'erased'"):
        with pytest.raises(sqlite3.IntegrityError, match="never changed"):
            db.execute(f"update entries set {change} where id = ?", [note])
    with write(db):
        db.table("erasures").insert({"id": note, "at": NOW, "who": "RD", "why": WHY, "photo": None})
        for change in ("body = 'x', why = 'erased'", "body = '', why = 'erased', header = ''", "body = ''"):
            with pytest.raises(sqlite3.IntegrityError, match="never changed"):
                db.execute(f"update entries set {change} where id = ?", [note])
    for change in ("update erasures set why = 'no reason'", "delete from erasures"):
        with pytest.raises(sqlite3.IntegrityError, match="never"):
            db.execute(change)


def test_a_body_emptied_by_hand_is_still_named(db: Database) -> None:
    phone, note = with_a_note()
    journal.append(db, phone.written, "phone")
    db.execute("drop trigger entries_are_never_changed")
    db.execute("update entries set body = '', why = 'erased' where id = ?", [note])
    assert [fault.grave for fault in chain.verify(db)] == [True]


def test_a_photo_goes_with_the_last_entry_that_names_it_and_is_not_taken_again(
    client: FlaskClient, runner: FlaskCliRunner, db: Database, path: Path
) -> None:
    data = b"\xff\xd8\xff\xe0" + bytes(500)
    name = hashlib.sha256(data).hexdigest()
    phone = whole_exam()
    shown = {"about": "liver", "hash": name, "type": "image/jpeg"}
    one, two = phone.act("attached", shown), phone.act("attached", shown)
    journal.append(db, phone.written, "phone")
    assert client.put(f"/api/photo/{name}", data=data, headers=BEARER).status_code == 201
    file = files.path_of(files.folder_of(path), name)
    said = runner.invoke(args=["erase", one, "--by", "RD", "--why", WHY, "--yes"])
    assert said.exit_code == 0 and "1 bodies erased, 0 photos" in said.output and file.is_file()
    said = runner.invoke(args=["erase", two[:16], "--by", "RD", "--why", WHY, "--yes"])
    assert "1 bodies erased, 1 photos" in said.output and not file.exists()
    assert client.head(f"/api/photo/{name}", headers=BEARER).headers["X-Gelside-Complete"] == "yes"
    answer = client.put(f"/api/photo/{name}", data=data, headers=BEARER)
    assert (answer.status_code, answer.json["complete"]) == (200, True) and not file.exists()
    assert [grave for grave, _ in register.faults(db, files.folder_of(path))] == [False]
    assert register.unnamed(db) == [] and register.awaited(db) == []


def test_nothing_of_it_is_left_in_the_file(runner: FlaskCliRunner, db: Database, path: Path) -> None:
    phone, note = with_a_note()
    journal.append(db, phone.written, "phone")
    assert runner.invoke(args=["erase", note, "--by", "RD", "--why", WHY, "--yes"]).exit_code == 0
    for file in path.parent.glob(f"{path.name}*"):
        assert SECRET.encode() not in file.read_bytes(), file.name


def test_an_exam_and_an_animal_can_be_erased_whole(runner: FlaskCliRunner, db: Database) -> None:
    phone, _ = with_a_note()
    record = Phone("b2" * 16, exam=None)
    record.act("set", {"about": "patient.name", "value": "Pepper"})
    journal.append(db, [*phone.written, *record.written], "phone")
    said = runner.invoke(args=["erase", "--animal", PATIENT, "--by", "RD", "--why", WHY, "--yes"])
    assert said.exit_code == 0, said.output
    assert f"{len(phone.written) + 1} bodies erased" in said.output
    assert db.execute("select count(*) from entries where body != ''").fetchone() == (0,)
    assert {row.entry["body"] for row in kept.of_exam(db, EXAM)} == {None}
    assert [fault for fault in chain.verify(db) if fault.grave] == []
    assert exams.differences(db) == []


@pytest.mark.parametrize(
    ("more", "told"),
    [
        (["--by", "XX", "--why", WHY], "'XX' is nobody here"),
        (["--by", "RD", "--why", "  gone  "], "10 characters or more"),
        (["--by", "RD", "--why", WHY, "--exam", "nowhere"], "There is no exam nowhere here"),
    ],
)
def test_what_is_not_sure_is_refused_and_nothing_is_erased(
    runner: FlaskCliRunner, db: Database, more: list[str], told: str
) -> None:
    phone, note = with_a_note()
    journal.append(db, phone.written, "phone")
    said = runner.invoke(args=["erase", note, *more, "--yes"])
    assert said.exit_code != 0 and told in said.output
    assert erasures.all_of(db) == {}


def test_without_a_yes_it_asks(runner: FlaskCliRunner, db: Database) -> None:
    phone, note = with_a_note()
    journal.append(db, phone.written, "phone")
    said = runner.invoke(args=["erase", note, "--by", "RD", "--why", WHY], input="n\n")
    assert said.exit_code != 0 and "Erase the bodies of 1 entries for good?" in said.output
    assert erasures.all_of(db) == {}


def test_retention_lists_what_is_old_and_keeps_it(runner: FlaskCliRunner, db: Database) -> None:
    old, young = whole_exam(), whole_exam(Phone("b2" * 16, exam=EXAM[:-1] + "2"))
    journal.append(db, old.written, "phone", received_at="2015-03-01T08:00:00.000+00:00")
    journal.append(db, young.written, "phone", received_at="2026-03-01T08:00:00.000+00:00")
    assert [row["exam"] for row in erasing.older_than(db, 10, date(2026, 11, 25))] == [EXAM]
    assert erasing.older_than(db, 11, date(2026, 2, 28)) == []
    said = runner.invoke(args=["retention", "10"])
    assert said.exit_code == 0 and EXAM in said.output and "1 exams without an entry for 10 years." in said.output
    assert erasures.all_of(db) == {}
    said = runner.invoke(args=["retention", "10", "--erase", "--by", "RD", "--why", "Ten years, by law.", "--yes"])
    assert f"{len(old.written)} bodies erased" in said.output
    assert erasing.older_than(db, 10, datetime.now(UTC).date())[0]["standing"] == 0


def test_an_issued_report_that_shows_it_is_named(
    runner: FlaskCliRunner, db: Database, monkeypatch: pytest.MonkeyPatch
) -> None:
    phone, note = with_a_note()
    journal.append(db, phone.written, "phone")
    preliminary.issue(db, EXAM, {"id": "RD", "name": "R. Dale"})
    monkeypatch.setattr("webapp.store.reports.versions", lambda _db, exam: [{"version": 2}] if exam == EXAM else [])
    pages = [{"number": 1, "is_on": 1}, {"number": 2, "is_on": 0}]  # made, and switched off again
    monkeypatch.setattr("webapp.store.owner_pages.all_of", lambda _db, exam: pages if exam == EXAM else [])
    monkeypatch.setattr("webapp.store.exams.refresh", lambda _db, _exams: None)
    said = runner.invoke(args=["erase", note, "--by", "RD", "--why", WHY, "--yes"])
    assert f"still shown in preliminary report 1 of exam {EXAM}" in said.output
    assert f"still shown in the issued report of exam {EXAM}, version 2" in said.output
    assert f"in page 1 for the owner of exam {EXAM}" in said.output and "page 2" not in said.output
