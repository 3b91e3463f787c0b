"""The phones' page: what each last said, rename, revoke, and what a revoked phone may still do."""

import json
from collections.abc import Callable
from pathlib import Path

import pytest
from flask import Flask
from flask.testing import FlaskClient
from sqlite_utils import Database

from tests.builders import Phone, push, whole_exam
from tests.conftest import BEARER, TOKEN
from tests.pairing.wire import Clock, Desk
from webapp.store import entries, phones


@pytest.fixture
def desk(sign_in: Callable[..., FlaskClient], monkeypatch: pytest.MonkeyPatch) -> Desk:
    Clock(monkeypatch)
    return Desk(sign_in())


def phone_id(db: Database) -> str:
    phone = phones.by_token(db, TOKEN)
    assert phone is not None
    return str(phone["id"])


def report(client: FlaskClient, **said: object) -> None:
    header = {"X-Gelside-Report": json.dumps(said)}
    assert client.get("/api/practice", headers=BEARER | header).status_code == 200


@pytest.mark.parametrize(
    ("oldest", "words"),
    [
        ("2026-11-24T11:30:00+00:00", "12 entries, oldest 0 h"),
        ("2026-11-23T11:30:00+00:00", "◆</span> 12 entries, oldest 24 h"),
        ("2026-11-21T12:00:00+00:00", "▲</span> 12 entries, oldest 3 days: fetch this phone"),
        ("yesterday", "12 entries"),
    ],
)
def test_what_a_phone_last_said_is_shown_with_the_age_of_the_unsent(
    desk: Desk, client: FlaskClient, oldest: str, words: str
) -> None:
    report(client, unsent=12, oldest=oldest, app="1.4", rules="nonsense", store="s1")
    page = desk.browser.get("/phones").text
    assert words in page
    assert "1.4" in page
    assert "others than here (nonsense)" in page


def test_a_cleared_storage_is_noticed(desk: Desk, client: FlaskClient) -> None:
    report(client, unsent=3, store="s1")
    report(client, unsent=0, store="s1")
    assert "storage was cleared" not in desk.browser.get("/phones").text
    report(client, unsent=3, store="s1")
    for _ in range(2):
        report(client, unsent=0, store="s2")
        page = desk.browser.get("/phones").text
        assert "storage was cleared" in page and "3 entries were unsent" in page


def test_a_push_leaves_no_unsent_entry_behind_that_is_here(desk: Desk, client: FlaskClient) -> None:
    """The phone counted before it sent, and may not speak again for days: that must not read as unsent."""
    phone = whole_exam()
    said = BEARER | {"X-Gelside-Report": json.dumps({"unsent": 9, "oldest": "2026-11-20T08:00:00+00:00"})}
    client.post("/api/journal", data=push(phone, phone.written[:4]), headers=said)
    assert "5 entries, oldest" in desk.browser.get("/phones").text
    said["X-Gelside-Report"] = json.dumps({"unsent": 5, "oldest": None})
    client.post("/api/journal", data=push(phone, []), headers=said)
    assert "5 entries, oldest" in desk.browser.get("/phones").text, "a locked phone cannot tell the age: it holds"
    client.post("/api/journal", data=push(phone, phone.written[4:]), headers=said)
    page = desk.browser.get("/phones").text
    assert "5 entries" not in page and "</span> nothing" in page


def test_rules_are_as_here_when_they_are_those_that_this_server_serves(
    desk: Desk, client: FlaskClient, app: Flask, tmp_path: Path
) -> None:
    (tmp_path / "rules.json").write_text(json.dumps({"files": {}, "tables": {}, "hash": "ab" * 32}))
    app.config["PHONE_BUILD"] = str(tmp_path)
    report(client, rules="ab" * 32)
    assert "rules: as here" in desk.browser.get("/phones").text
    report(client, rules="cd" * 32)
    assert "others than here (cdcdcdcd)" in desk.browser.get("/phones").text


@pytest.mark.parametrize(
    "said", ["", "[]", "{", "x" * 5000, '{"unsent": -1}', '{"unsent": true, "oldest": 5}', "[" * 1500]
)
def test_an_unreadable_report_hinders_nothing(client: FlaskClient, db: Database, said: str) -> None:
    header = BEARER | {"X-Gelside-Report": said}
    assert client.post("/api/journal", data=push(whole_exam()), headers=header).status_code == 200
    assert client.get("/api/practice", headers=header).status_code == 200
    assert phones.everyone(db)[0]["report"] == {}


def test_a_phone_is_renamed(desk: Desk, db: Database) -> None:
    desk.press(f"/phones/{phone_id(db)}/rename", name="Blue <phone>", person="RD")
    row = phones.everyone(db)[0]
    assert (row["name"], row["person"]) == ("Blue <phone>", "RD")
    assert "Blue &lt;phone&gt;" in desk.browser.get("/phones").text
    desk.press(f"/phones/{phone_id(db)}/rename", name="", person="RD")
    desk.press(f"/phones/{phone_id(db)}/rename", name="X", person="nobody known")
    assert phones.everyone(db)[0]["name"] == "Blue <phone>"


@pytest.mark.catalogue(64)
def test_a_revoked_phone_hands_over_what_it_has_and_reads_nothing(
    desk: Desk, client: FlaskClient, db: Database
) -> None:
    phone = whole_exam()
    first = client.post("/api/journal", data=push(phone, phone.written[:4]), headers=BEARER)
    assert first.json["revoked"] is False
    desk.press(f"/phones/{phone_id(db)}/revoke")
    last = client.post("/api/journal", data=push(phone, phone.written[4:]), headers=BEARER)
    assert last.status_code == 200
    assert (last.json["revoked"], last.json["through"], last.json["held"]) == (True, 9, 9)
    for address in ("/api/journal", "/api/practice"):
        answer = client.get(address, headers=BEARER)
        assert (answer.status_code, answer.json["error"]["code"]) == (403, "revoked")
    assert "5 entries sent since" in desk.browser.get("/phones").text


def test_a_revoked_phone_is_not_approved_again(desk: Desk, client: FlaskClient, db: Database) -> None:
    desk.press(f"/phones/{phone_id(db)}/revoke")
    desk.press(f"/phones/{phone_id(db)}/approve")
    assert client.get("/api/practice", headers=BEARER).status_code == 403


@pytest.mark.catalogue(31)
def test_each_refusal_has_its_own_status_and_code_and_stores_nothing(
    desk: Desk, client: FlaskClient, app: Flask, db: Database
) -> None:
    """The server's side of the phone's table of states: 400, 401, 403, 413, 415 (429, 503, 507: their own tests)."""
    good = push(whole_exam())
    phones.revoke(db, phone_id(db))
    table = [
        (client.post("/api/journal", data="{", headers=BEARER), 400, "malformed"),
        (client.post("/api/journal", data=good, headers={"Authorization": "Bearer none"}), 401, "unknown_phone"),
        (client.get("/api/journal", headers=BEARER), 403, "revoked"),
        (client.post("/api/journal", data="x" * 3_000_000, headers=BEARER), 413, "too_large"),
        (client.post("/api/journal", data=good, headers=BEARER | {"Content-Encoding": "gzip"}), 415, "not_read"),
    ]
    for answer, status, code in table:
        assert (answer.status_code, answer.json["error"]["code"]) == (status, code)
        assert answer.headers["Cache-Control"] == "no-store"
    assert next(db.query("select count(*) as n from entries"))["n"] == 0


def test_settings_for_all_phones_reach_them(desk: Desk, client: FlaskClient) -> None:
    desk.press("/phones/settings", pin="no", keep_days="14")
    assert client.get("/api/practice", headers=BEARER).json["lock"] == {"pin": False, "keep_days": 14}
    refused = desk.press("/phones/settings", pin="no", keep_days="0")
    assert (refused.status_code, "Between 1 and 3650" in refused.text) == (422, True)
    assert client.get("/api/practice", headers=BEARER).json["lock"] == {"pin": False, "keep_days": 14}


@pytest.mark.catalogue(41)
def test_a_copied_phone_is_told_and_listed_under_a_new_device_name(
    desk: Desk, client: FlaskClient, db: Database
) -> None:
    phone = Phone()
    phone.opened()
    twin = phone.copied()
    for _ in range(2):
        phone.seen("liver", "whole")
        twin.seen("spleen", "whole")
    first = client.post("/api/journal", data=push(phone), headers=BEARER).json
    second = client.post("/api/journal", data=push(twin), headers=BEARER).json
    again = client.post("/api/journal", data=push(phone), headers=BEARER).json
    assert (first["clone"], second["clone"], again["clone"]) == (False, True, False)
    assert (first["through"], second["through"], again["through"]) == (3, 3, 3)
    assert second["branch"] == entries.entry_id(twin.written[0])[:32]
    page = desk.browser.get("/phones").text
    assert "This phone was copied: 2 entries from number 2 on" in page
    assert second["branch"][:8] in page

