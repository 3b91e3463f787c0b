"""Phones and servers of different versions together: what one cannot read yet is kept to the byte, shown as unread, and
read once it can be. An older server here is this one with a part of its knowledge taken away."""

import json
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from flask import Flask
from flask.testing import FlaskClient
from sqlite_utils import Database

from tests.builders import DAY, EXAM, PATIENT, Phone, push
from tests.conftest import BEARER
from webapp import served
from webapp.core import entries as core_entries
from webapp.keeping import backup
from webapp.store import behind, chain, entries, exams, kept
from webapp.store.db import connections, open_database

HASH = "ab" * 32


@contextmanager
def older(monkeypatch: pytest.MonkeyPatch, lacks: str) -> Iterator[None]:
    """A program of before: it does not know the kind `lacks`, or, for "version", an older format is all it knows."""
    with monkeypatch.context() as patch:
        if lacks == "version":
            patch.setattr(entries, "VERSION", 0)
            patch.setattr(core_entries, "VERSION", 0)
        else:
            patch.setattr(entries, "KINDS", entries.KINDS - {lacks})
            patch.setattr(core_entries, "KINDS", tuple(kind for kind in core_entries.KINDS if kind != lacks))
        yield


def newer_phone() -> Phone:
    """An exam with a photo in the middle."""
    phone = Phone()
    phone.opened()
    phone.act("attached", {"about": "liver", "hash": HASH, "type": "image/jpeg"})
    phone.read("adrenal.left.caudal_pole_thickness", "6.2")
    phone.closed()
    return phone


def send(app: Flask, phone: Phone) -> Any:
    """Push by a server that was just started."""
    connections(app).close()
    answer = app.test_client().post("/api/journal", data=push(phone), headers=BEARER)
    assert answer.status_code == 200, answer.text
    return answer.json


def texts(db: Database) -> list[Any]:
    return list(db.execute("select arrival, id, header, body, received_at, status from entries order by arrival"))


def grave(db: Database) -> list[str]:
    return [fault.text for fault in chain.verify(db) if fault.grave]


def reasons(browser: FlaskClient, db: Database) -> set[str]:
    """Why the queue says to look at the exam."""
    assert browser.get("/review").status_code == 200
    return {one["kind"] for one in json.loads(next(db.query("select reasons from exams"))["reasons"])}


@pytest.mark.catalogue(52)
@pytest.mark.parametrize(("lacks", "unread"), [("attached", 1), ("version", 4)])
def test_an_older_server_keeps_what_it_cannot_read_and_the_next_version_reads_it(
    app: Flask,
    path: Path,
    sign_in: Callable[..., FlaskClient],
    monkeypatch: pytest.MonkeyPatch,
    lacks: str,
    unread: int,
) -> None:
    phone = newer_phone()
    with older(monkeypatch, lacks):
        answer = send(app, phone)
        statuses = [one["status"] for one in answer["results"]]
        assert (statuses.count("stored_unreadable"), answer["held"], answer["through"]) == (unread, 4, 4)
        db = open_database(path)
        was = texts(db)
        assert len(exams.fold(db, EXAM).exam["unread"]) == unread
        assert "unread" in reasons(sign_in(), db)
        assert grave(db) == []
        db.close()
    connections(app).close()
    browser = sign_in()
    db = open_database(path)
    folded = exams.fold(db, EXAM).exam
    assert (folded["unread"], folded["closed"], len(folded["readings"])) == ([], True, 1)
    assert [row["hash"] for row in folded["attachments"]] == [HASH]
    assert "unread" not in reasons(browser, db)
    assert texts(db) == was
    assert grave(db) == []
    assert exams.differences(db) == []
    db.close()


@pytest.mark.catalogue(52)
def test_a_record_that_an_older_server_could_not_read_stands_in_the_lists_of_the_next(
    app: Flask, path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    other = PATIENT[:-1] + "b"
    desk = Phone("de" * 16, exam=None)
    desk.act("set", {"about": "patient.name", "value": "Pepper"})
    desk.act("planned", {"date": DAY, "time": "09:00", "order": 1, "patient": {"name": "Pepper"}})
    desk.patient = other
    desk.act("set", {"about": "patient.name", "value": "Peper"})
    sides = {"from": {"id": other, "name": "Peper"}, "into": {"id": PATIENT, "name": "Pepper"}}
    desk.act("merged", {"about": "patient", **sides, "why": "same chip"})
    with older(monkeypatch, "planned"), older(monkeypatch, "merged"):
        send(app, desk)
        db = open_database(path)
        assert list(db.query("select id from visits where not removed")) == []
        roots = {row["patient"]: row["root"] for row in db.query("select * from animals")}
        assert roots == {PATIENT: PATIENT, other: other}
        db.close()
    db = open_database(path)
    assert [row["date"] for row in db.query("select date from visits where not removed")] == [DAY]
    assert {row["root"] for row in db.query("select * from animals")} == {PATIENT}
    assert exams.differences(db) == []
    db.close()


@pytest.mark.catalogue(52)
def test_after_a_step_back_the_older_server_shows_as_unread_what_the_newer_one_read(
    app: Flask, path: Path, sign_in: Callable[..., FlaskClient], monkeypatch: pytest.MonkeyPatch
) -> None:
    send(app, newer_phone())
    db = open_database(path)
    assert "unread" not in reasons(sign_in(), db)
    was = texts(db)
    db.close()
    with older(monkeypatch, "attached"):
        connections(app).close()
        browser = sign_in()
        db = open_database(path)
        assert "unread" in reasons(browser, db)
        assert texts(db) == was
        assert grave(db) == []
        assert [row.entry["kind"] for row in kept.of_exam(db, EXAM)] == ["opened", "attached", "read", "closed"]
        db.close()


@pytest.mark.catalogue(52)
def test_a_copy_made_by_an_older_server_is_whole_in_the_eyes_of_the_next(
    app: Flask, path: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    phone = newer_phone()
    with older(monkeypatch, "attached"):
        send(app, phone)
        db = open_database(path)
        made = backup.backup(db, tmp_path / "copies")
        db.close()
    _, faults = backup.check(made.path, made.path.name)
    assert [fault.text for fault in faults if fault.grave] == []


@pytest.mark.catalogue(52)
def test_a_phone_of_any_version_is_given_every_entry_to_the_byte(
    app: Flask, path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What the server itself cannot read goes out as it came: the phone may know more."""
    phone = newer_phone()
    desk = Phone("de" * 16, exam=None)
    desk.act("planned", {"date": date.today().isoformat(), "time": "09:00", "order": 1, "patient": {"name": "Pepper"}})
    with older(monkeypatch, "attached"):
        send(app, desk)
        send(app, phone)
        page = app.test_client().get("/api/journal?since=0", headers=BEARER).json
    given = [(one["header"], one["body"]) for one in page["entries"]]
    assert given == [(one["header"], one["body"]) for one in [*desk.written, *phone.written]]


@pytest.mark.catalogue(52)
def test_a_command_of_the_next_version_beside_an_older_server_leaves_nothing_unread_for_good(
    app: Flask, path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The program was updated on the disk, the nightly copy ran by it, and the server was started anew only later."""
    phone = newer_phone()
    with older(monkeypatch, "attached"):
        connections(app).close()
        assert app.test_client().get("/api/ping").status_code == 200
    open_database(path).close()
    with older(monkeypatch, "attached"):  # still the same process: its connections are open
        answer = app.test_client().post("/api/journal", data=push(phone), headers=BEARER).json
        assert [one["status"] for one in answer["results"]].count("stored_unreadable") == 1
    db = open_database(path)
    with older(monkeypatch, "attached"):
        behind.renew(db)  # and it judged them last
    served({"DATABASE": str(path)})
    behind.renew(db)
    assert exams.differences(db) == []
    assert exams.fold(db, EXAM).exam["unread"] == []
    assert [row["why"] for row in db.query("select why from entries")] == [None] * 4
    assert grave(db) == []
    db.close()
