"""Pushing a journal: stored or not stored, never in between, always answered in JSON."""

import json
import sqlite3
import threading
from pathlib import Path
from typing import Any

import pytest
from flask import Flask
from flask.testing import FlaskClient
from sqlite_utils import Database

from tests.builders import EXAM, Phone, foreign, push, whole_exam
from tests.conftest import BEARER
from webapp.store.db import open_database, write


def rows(db: Database) -> int:
    return int(next(db.query("select count(*) as n from entries"))["n"])


def send(client: FlaskClient, text: str | bytes, **headers: str) -> Any:
    return client.post("/api/journal", data=text, headers=BEARER | headers, content_type="application/json")


def test_the_receipt_names_every_entry_and_proves_what_is_held(client: FlaskClient, db: Database) -> None:
    phone = whole_exam()
    answer = send(client, push(phone))
    assert answer.status_code == 200
    assert answer.json["protocol"] == 1
    assert answer.json["store_id"] == client.get("/api/ping").json["store_id"]
    assert [result["status"] for result in answer.json["results"]] == ["stored"] * 9
    assert (answer.json["device"], answer.json["through"], answer.json["held"]) == (phone.device, 9, 9)
    assert rows(db) == 9


def test_lost_answer_resend_gives_duplicates_and_no_second_row(client: FlaskClient, db: Database) -> None:
    text = push(whole_exam())
    first = send(client, text)
    second = send(client, text)
    assert [result["id"] for result in second.json["results"]] == [result["id"] for result in first.json["results"]]
    assert {result["status"] for result in second.json["results"]} == {"duplicate"}
    assert (second.json["through"], second.json["held"], rows(db)) == (9, 9, 9)


def test_an_entry_nobody_can_read_does_not_hold_up_the_others(client: FlaskClient, db: Database) -> None:
    phone = whole_exam()
    strange = foreign(phone.written[3], v=999)
    answer = send(client, push(phone, [*phone.written[:3], strange, *phone.written[4:]]))
    assert [result["status"] for result in answer.json["results"]].count("stored_unreadable") == 1
    assert rows(db) == 9


GOOD = whole_exam().written[0]


@pytest.mark.parametrize(
    "text",
    [
        "",
        "not json",
        "[]",
        "null",
        "[" * 100_000,
        "{}",
        json.dumps({"protocol": 2, "device": "a1" * 16, "entries": [GOOD]}),
        json.dumps({"protocol": 1, "device": "phone", "entries": [GOOD]}),
        json.dumps({"protocol": 1, "entries": [GOOD]}),
        json.dumps({"protocol": 1, "device": "a1" * 16}),
        json.dumps({"protocol": 1, "device": "a1" * 16, "entries": {"0": GOOD}}),
        json.dumps({"protocol": 1, "device": "a1" * 16, "entries": [GOOD, {"header": "x"}]}),
        json.dumps({"protocol": 1, "device": "a1" * 16, "entries": [GOOD, {"header": {}, "body": "{}"}]}),
        json.dumps({"protocol": 1, "device": "a1" * 16, "entries": [GOOD, "x"]}),
        b"\xff\xfe",
    ],
)
def test_a_malformed_request_stores_nothing_and_says_so(client: FlaskClient, db: Database, text: str | bytes) -> None:
    answer = send(client, text)
    assert answer.status_code == 400
    assert answer.json["error"]["code"] == "malformed"
    assert answer.json["error"]["message"]
    assert rows(db) == 0


@pytest.mark.parametrize(
    "header",
    [
        {},
        {"Authorization": "Bearer "},
        {"Authorization": "Bearer wrong"},
        {"Authorization": "Basic a-token-for-tests"},
        {"Authorization": "Bearer ü"},
    ],
)
def test_without_a_known_token_nothing_is_stored_or_shown(
    client: FlaskClient, db: Database, header: dict[str, str]
) -> None:
    for answer in (
        client.post("/api/journal", data=push(whole_exam()), headers=header),
        client.get("/api/journal", headers=header),
        client.get("/api/practice", headers=header),
    ):
        assert (answer.status_code, answer.json["error"]["code"]) == (401, "unknown_phone")
        assert answer.headers["WWW-Authenticate"] == "Bearer"
    assert rows(db) == 0


def test_a_desk_session_is_no_token(sign_in: Any) -> None:
    assert sign_in().get("/api/practice").status_code == 401


def test_too_many_or_too_large_is_413_and_stores_nothing(client: FlaskClient, db: Database) -> None:
    phone = Phone()
    for _ in range(1001):
        phone.seen("liver", "whole")
    long = Phone("b2" * 16)
    long.act("noted", {"about": "exam", "text": "ä" * 270_000})
    for text in (push(phone), push(long), "x" * 3_000_000):
        answer = send(client, text)
        assert (answer.status_code, answer.json["error"]["code"]) == (413, "too_large")
    assert rows(db) == 0
    assert send(client, push(phone, phone.written[:1000])).status_code == 200


@pytest.mark.parametrize(
    ("method", "address", "status"),
    [
        ("GET", "/api/nothing", 404),
        ("PUT", "/api/journal", 405),
        ("POST", "/api/ping", 405),
        ("GET", "/api/", 404),
    ],
)
def test_every_error_under_api_is_json_and_not_kept(
    client: FlaskClient, method: str, address: str, status: int
) -> None:
    answer = client.open(address, method=method)
    assert answer.status_code == status
    assert answer.is_json
    assert set(answer.json["error"]) == {"code", "message"}
    assert answer.headers["Cache-Control"] == "no-store"


def test_a_failing_server_answers_json_and_stores_nothing(
    app: Flask, db: Database, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fail(*args: object) -> None:
        raise ZeroDivisionError("on purpose")

    monkeypatch.setattr("webapp.sync.receive.phones.heard_from", fail)
    answer = send(app.test_client(), push(whole_exam()))
    assert (answer.status_code, answer.json["error"]["code"]) == (500, "server_failed")
    assert "on purpose" not in answer.text
    assert rows(db) == 0


def test_a_busy_database_is_503_with_retry_after_and_stores_nothing(app: Flask, db: Database) -> None:
    app.config["BUSY_TIMEOUT_MS"] = 50
    with write(db):
        answer = send(app.test_client(), push(whole_exam()))
    assert (answer.status_code, answer.json["error"]["code"]) == (503, "busy")
    assert answer.headers["Retry-After"] == "2"
    assert rows(db) == 0


def test_a_full_disk_is_507_and_stores_nothing(app: Flask, db: Database, monkeypatch: pytest.MonkeyPatch) -> None:
    def small(path: str, timeout: int) -> Database:
        opened = open_database(path, timeout)
        pages = opened.execute("pragma page_count").fetchone()[0]
        opened.execute(f"pragma max_page_count = {pages}")
        return opened

    monkeypatch.setattr("webapp.store.db.open_database", small)
    phone = Phone()
    for _ in range(100):
        phone.act("noted", {"about": "exam", "text": "n" * 1000})
    answer = send(app.test_client(), push(phone))
    assert (answer.status_code, answer.json["error"]["code"]) == (507, "disk_full")
    assert rows(db) == 0


def test_phones_pushing_at_once_lose_nothing_and_double_nothing(app: Flask, path: Path) -> None:
    phones = []
    for number in range(4):
        phone = Phone(f"{number:032x}", exam=f"{EXAM[:-1]}{number}")
        phone.opened()
        for _ in range(59):
            phone.seen("liver", "whole")
        phones.append(phone)
    statuses: list[str] = []

    def work(phone: Phone) -> None:
        browser = app.test_client()
        for start in range(0, 60, 15):
            for _ in range(2):  # every batch twice, as after a lost answer
                answer = send(browser, push(phone, phone.written[start : start + 15]))
                statuses.extend(result["status"] for result in answer.json["results"])

    threads = [threading.Thread(target=work, args=[phone]) for phone in phones]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    db = open_database(path)
    assert (rows(db), statuses.count("stored"), statuses.count("duplicate")) == (240, 240, 240)
    db.close()


def test_a_lone_surrogate_is_kept_as_a_browser_would_hash_it(client: FlaskClient) -> None:
    answer = send(client, '{"protocol":1,"device":"%s","entries":[{"header":"\\ud800","body":"{}"}]}' % ("a1" * 16))
    assert answer.status_code == 200
    assert answer.json["results"][0]["status"] == "stored_unreadable"


def test_contact_and_device_of_a_phone_are_remembered(client: FlaskClient, db: Database) -> None:
    send(client, push(whole_exam()))
    row = next(db.query("select last_contact, last_device, token_hash from phones"))
    assert row["last_device"] == "a1" * 16
    assert row["last_contact"]
    assert "a-token-for-tests" not in row["token_hash"]


def test_a_push_and_its_line_in_the_audit_are_one_transaction(client: FlaskClient, db: Database) -> None:
    before = db.execute("pragma data_version").fetchone()[0]
    send(client, push(whole_exam()))
    assert db.execute("pragma data_version").fetchone()[0] == before + 1
    assert [(row["act"], row["status"], row["told"]) for row in db.query("select * from audit")] == [
        ("sync.push", 200, "9 entries")
    ]


def test_a_push_that_fails_in_the_end_stands_in_the_audit_as_failed_once(
    app: Flask, client: FlaskClient, db: Database, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(*_given: Any) -> None:
        raise sqlite3.OperationalError("database or disk is full")

    monkeypatch.setattr("webapp.sync.receive.receipt", full)
    assert send(client, push(whole_exam())).status_code == 507
    assert rows(db) == 0
    assert [(row["act"], row["status"]) for row in db.query("select * from audit")] == [("sync.push", 507)]
