"""A journal whose PIN is forgotten: the phone cannot open it, the practice can, and nothing is lost."""

import json
from typing import Any

import pytest
from flask.testing import FlaskClient
from sqlite_utils import Database

from tests.builders import Phone, push, whole_exam
from tests.conftest import BEARER
from tests.sync.sealing import seal
from webapp.store import phones
from webapp.store.db import open_database
from webapp.sync import sealed


def send(client: FlaskClient, phone: Phone, wrapped: str, closed: list[dict[str, str]]) -> Any:
    asked = {"protocol": 1, "device": phone.device, "wrapped_key": wrapped, "sealed": closed}
    return client.post("/api/journal/sealed", json=asked, headers=BEARER)


def rows(db: Database) -> int:
    return int(next(db.query("select count(*) as n from entries"))["n"])


def test_a_sealed_push_is_answered_like_an_open_one(client: FlaskClient, db: Database) -> None:
    phone = whole_exam()
    key = client.get("/api/practice", headers=BEARER).json["server_key"]
    assert (key["kty"], key["alg"]) == ("RSA", "RSA-OAEP-256")
    answer = send(client, phone, *seal(key, phone.written)).json
    assert [result["status"] for result in answer["results"]] == ["stored"] * 9
    assert (answer["through"], answer["held"], answer["revoked"]) == (9, 9, False)
    again = client.post("/api/journal", data=push(phone), headers=BEARER).json
    assert {result["status"] for result in again["results"]} == {"duplicate"}
    assert [result["id"] for result in again["results"]] == [result["id"] for result in answer["results"]]


def test_a_revoked_phone_hands_over_its_sealed_journal(client: FlaskClient, db: Database) -> None:
    phone = whole_exam()
    phones.revoke(db, phones.everyone(db)[0]["id"])
    assert send(client, phone, *seal(sealed.public_key(db), phone.written)).json["revoked"] is True
    assert rows(db) == 9


def test_one_entry_that_cannot_be_opened_is_not_acknowledged_and_hinders_no_other(
    client: FlaskClient, db: Database
) -> None:
    phone = whole_exam()
    wrapped, closed = seal(sealed.public_key(db), phone.written)
    closed[2]["data"] = closed[3]["data"]  # another entry's text under this id
    answer = send(client, phone, wrapped, closed).json
    assert [result["id"] for result in answer["results"] if result["status"] == "not_opened"] == [closed[2]["id"]]
    assert (answer["through"], answer["held"], rows(db)) == (2, 8, 8)


def test_a_text_sealed_under_another_id_is_not_taken(client: FlaskClient, db: Database) -> None:
    phone = whole_exam()
    key = b"k" * 32
    wrapped, closed = seal(sealed.public_key(db), phone.written[:1], key)
    other = seal(sealed.public_key(db), phone.written[1:2], key)[1][0]
    answer = send(client, phone, wrapped, [closed[0] | {"id": other["id"]}]).json
    assert [result["status"] for result in answer["results"]] == ["not_opened"]
    assert rows(db) == 0


def test_a_key_wrapped_for_another_practice_stores_nothing(client: FlaskClient, db: Database, tmp_path: Any) -> None:
    other = open_database(tmp_path / "other.sqlite3")
    phone = whole_exam()
    answer = send(client, phone, *seal(sealed.public_key(other), phone.written))
    assert (answer.status_code, answer.json["error"]["code"]) == (422, "not_opened")
    assert rows(db) == 0
    other.close()


@pytest.mark.parametrize(
    "change",
    [
        {"sealed": None},
        {"sealed": [{"id": "x"}]},
        {"sealed": ["x"]},
        {"wrapped_key": 5},
        {"device": "x"},
        {"protocol": 7},
    ],
)
def test_a_malformed_sealed_push_is_400(client: FlaskClient, db: Database, change: dict[str, object]) -> None:
    asked = {"protocol": 1, "device": "a1" * 16, "wrapped_key": "AAAA", "sealed": []} | change
    answer = client.post("/api/journal/sealed", data=json.dumps(asked), headers=BEARER)
    assert (answer.status_code, answer.json["error"]["code"]) == (400, "malformed")


@pytest.mark.parametrize("wrapped", ["", "AAAA", "!!!", "A" * 342, "ü" * 10])
def test_a_wrapped_key_that_is_none_is_422(client: FlaskClient, wrapped: str) -> None:
    assert send(client, whole_exam(), wrapped, []).status_code == 422


def test_too_many_sealed_entries_are_413(client: FlaskClient, db: Database) -> None:
    wrapped, closed = seal(sealed.public_key(db), whole_exam().written[:1])
    assert send(client, whole_exam(), wrapped, closed * 1001).status_code == 413


def test_the_private_key_is_made_once(db: Database) -> None:
    assert sealed.public_key(db) == sealed.public_key(db)
    assert next(db.query("select count(*) as n from sealing_keys"))["n"] == 1


def test_the_practices_key_is_read_once_and_not_at_every_pull(
    client: FlaskClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    reads: list[bytes] = []
    load = sealed.serialization.load_pem_private_key

    def counted(pem: bytes, *how: Any) -> Any:
        reads.append(pem)
        return load(pem, *how)

    monkeypatch.setattr(sealed.serialization, "load_pem_private_key", counted)
    sealed._private.cache_clear()
    for _ in range(3):
        assert client.get("/api/journal?since=0", headers=BEARER).json["practice"]
    assert len(reads) == 1
