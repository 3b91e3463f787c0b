"""The thread beside the requests takes waiting away from them; nothing depends on it."""

import os
import threading
import time
from collections.abc import Callable
from pathlib import Path

import pytest
from flask import Flask
from sqlite_utils import Database

from tests.builders import EXAM, Phone, push, whole_exam
from tests.conftest import BEARER
from webapp.store import afterwards, behind, chain, exams, journal
from webapp.store.db import alone, open_database, write

PATIENCE_S = 30


def until(holds: Callable[[], bool]) -> None:
    end = time.monotonic() + PATIENCE_S
    while not holds():
        assert time.monotonic() < end, "it never came about"
        time.sleep(0.01)


def long_exam(entries: int) -> Phone:
    phone = Phone()
    phone.opened()
    for _ in range(entries - 1):
        phone.act("noted", {"about": "liver", "text": "Even. " * 60})
    return phone


def test_exams_are_judged_soon_after_the_last_push_without_anyone_asking(
    app: Flask, db: Database, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(afterwards, "QUIET_S", 0.01)
    afterwards.start(app)
    app.test_client().post("/api/journal", data=push(whole_exam()), headers=BEARER)
    until(lambda: bool(list(db.query("select exam from exams where exam = ?", [EXAM]))))
    until(lambda: behind.first(db) is None)
    assert exams.differences(db) == []


def test_what_was_left_behind_before_the_start_is_judged_without_anyone_asking(
    app: Flask, db: Database, monkeypatch: pytest.MonkeyPatch
) -> None:
    """As an upgrade leaves it, which notes every exam."""
    monkeypatch.setattr(afterwards, "QUIET_S", 0.01)
    journal.append(db, whole_exam().written, "phone", lists_later=True)
    assert behind.first(db) == EXAM
    afterwards.start(app)
    until(lambda: behind.first(db) is None)
    assert exams.differences(db) == []


def test_a_long_log_is_begun_anew_and_every_entry_is_there(
    app: Flask, path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(afterwards, "MOVE_AT_ENTRIES", 100)
    monkeypatch.setattr(afterwards, "LONG_LOG_PAGES", 50)
    afterwards.start(app)
    phone = long_exam(2000)
    for start in range(0, 2000, 100):
        answer = app.test_client().post(
            "/api/journal", data=push(phone, phone.written[start : start + 100]), headers=BEARER
        )
        assert answer.json["held"] == start + 100
    db = open_database(path)
    # All the pushes wrote far more than this; what is left of the log is what came since it was last begun anew.
    until(lambda: os.stat(f"{path}-wal").st_size < 2_000_000)
    assert db.execute("select count(*) from entries").fetchone() == (2000,)
    assert chain.verify(db) == []
    db.close()


def test_a_failure_beside_the_requests_is_told_in_the_log_and_refuses_nothing(
    app: Flask, path: Path, caplog: pytest.LogCaptureFixture, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(afterwards, "QUIET_S", 0.01)
    app.config["BUSY_TIMEOUT_MS"] = 50
    afterwards.start(app)
    client = app.test_client()
    assert client.post("/api/journal", data=push(whole_exam()), headers=BEARER).status_code == 200
    holder = open_database(path)
    with write(holder):
        afterwards.note(app, 1)
        until(lambda: "was left undone" in caplog.text)
    holder.close()
    assert client.post("/api/journal", data=push(whole_exam()), headers=BEARER).json["held"] == 9


def test_writers_of_one_process_wait_for_each_other_and_then_go_on_at_once(path: Path) -> None:
    first, second = open_database(path), open_database(path)
    order: list[str] = []

    def later() -> None:
        with write(second):
            order.append("second")

    with alone(first):
        thread = threading.Thread(target=later)
        thread.start()
        thread.join(0.2)
        assert order == []
        order.append("first")
    thread.join()
    assert order == ["first", "second"]
    first.close()
    second.close()
