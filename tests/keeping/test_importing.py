"""A journal that comes as a file gives what a push gives."""

import io
import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from flask import Flask
from flask.testing import FlaskClient, FlaskCliRunner
from sqlite_utils import Database

from tests.builders import Phone, push, whole_exam
from tests.conftest import BEARER, form_token
from tests.sync.sealing import seal
from webapp.keeping import importing
from webapp.store import behind
from webapp.store.db import open_database
from webapp.sync import sealed

COLUMNS = "id, device, seq, exam, patient, kind, header, body, status, why"


def file_of(phone: Phone, **changes: Any) -> bytes:
    given = {"gelside": "journal", "protocol": 1, "device": phone.device, "entries": phone.written} | changes
    return json.dumps(given).encode()


def rows(db: Database) -> list[dict[str, Any]]:
    return list(db.query(f"select {COLUMNS} from entries order by arrival"))


@pytest.mark.catalogue(74)
def test_an_imported_file_equals_a_push(client: FlaskClient, db: Database, tmp_path: Path) -> None:
    phone = whole_exam()
    pushed = client.post("/api/journal", data=push(phone), headers=BEARER).json
    other = open_database(tmp_path / "other.sqlite3")
    imported = importing.take(other, file_of(phone))
    assert rows(other) == rows(db)
    behind.renew(db)
    assert list(other.query("select * from exams")) == list(db.query("select * from exams"))
    for key in ("results", "through", "held", "device", "clone"):
        assert imported[key] == pushed[key]
    other.close()


@pytest.mark.catalogue(74)
def test_a_file_after_a_push_and_twice_changes_nothing(client: FlaskClient, db: Database) -> None:
    phone = whole_exam()
    client.post("/api/journal", data=push(phone, phone.written[:5]), headers=BEARER)
    assert importing.in_words(importing.take(db, file_of(phone))) == (
        "9 of 9 entries of device a1a1a1a1 are here, 4 of them new."
    )
    assert importing.take(db, file_of(phone))["held"] == 9
    assert len(rows(db)) == 9


def test_a_file_may_hold_more_than_a_push(db: Database) -> None:
    phone = Phone(exam=None, patient=None)
    for number in range(500):
        phone.act("noted", {"about": "exam", "text": f"{number}"})
    assert importing.take(db, file_of(phone))["through"] == 500


def test_a_sealed_file_is_opened(db: Database) -> None:
    phone = whole_exam()
    wrapped, closed = seal(sealed.public_key(db), phone.written)
    given = {"gelside": "journal", "protocol": 1, "device": phone.device, "wrapped_key": wrapped, "sealed": closed}
    assert importing.take(db, json.dumps(given).encode())["held"] == 9
    given["wrapped_key"] = wrapped[:-8] + "AAAAAAAA"
    with pytest.raises(importing.ImportProblem, match="not wrapped for this practice"):
        importing.take(db, json.dumps(given).encode())


@pytest.mark.parametrize(
    "raw",
    [
        b"",
        b"\xff\xfe",
        b"[]",
        b"{}",
        b"[" * 100_000,
        file_of(whole_exam())[:-40],
        file_of(whole_exam(), gelside="other"),
        file_of(whole_exam(), protocol=2),
        file_of(whole_exam(), device="x"),
        file_of(whole_exam(), entries="x"),
        file_of(whole_exam(), entries=[*whole_exam().written, {"header": 1}]),
    ],
)
def test_what_is_no_journal_file_is_refused_in_words_and_stores_nothing(db: Database, raw: bytes) -> None:
    with pytest.raises(importing.ImportProblem, match="[a-z]{3}"):
        importing.take(db, raw)
    assert rows(db) == []


def test_the_command_takes_a_file(runner: FlaskCliRunner, db: Database, tmp_path: Path) -> None:
    file = tmp_path / "gelside-journal-a1a1a1a1-2026-11-24.json"
    file.write_bytes(file_of(whole_exam()))
    answer = runner.invoke(args=["import", str(file)])
    assert (answer.exit_code, answer.output) == (0, "9 of 9 entries of device a1a1a1a1 are here, 9 of them new.\n")
    file.write_bytes(b"nonsense")
    answer = runner.invoke(args=["import", str(file)])
    assert (answer.exit_code, "Traceback" in answer.output) == (1, False)


def upload(browser: FlaskClient, content: bytes) -> Any:
    token = form_token(browser.get("/records").text)
    data = {"csrf_token": token, "journal": (io.BytesIO(content), "journal.json")}
    answer = browser.post("/records/import", data=data, content_type="multipart/form-data")
    answer.request.environ["wsgi.input"].close()  # the test client's own temporary file
    return answer


def test_the_desk_takes_a_file_larger_than_a_push(
    sign_in: Callable[..., FlaskClient], app: Flask, db: Database
) -> None:
    phone = Phone(exam=None, patient=None)
    for _ in range(40):
        phone.act("noted", {"about": "exam", "text": "n" * 100_000})
    browser = sign_in()
    assert upload(browser, file_of(phone)).status_code == 302
    assert "40 of 40 entries" in browser.get("/records").text
    assert len(rows(db)) == 40


def test_the_desk_says_what_is_wrong_with_a_file(sign_in: Callable[..., FlaskClient], db: Database) -> None:
    browser = sign_in()
    answer = upload(browser, b"nonsense")
    assert (answer.status_code, "This is no journal file" in answer.text) == (422, True)
    token = form_token(browser.get("/records").text)
    answer = browser.post("/records/import", data={"csrf_token": token})
    assert (answer.status_code, "Choose the file" in answer.text) == (422, True)
    assert rows(db) == []
