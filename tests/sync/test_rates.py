"""A phone that asks without end is told when to come again; others, and its entries, are not touched by it."""

from pathlib import Path

import pytest
from flask import Flask
from flask.testing import FlaskClient
from sqlite_utils import Database

from tests.builders import push, whole_exam
from tests.conftest import BEARER
from webapp import create_app
from webapp.store import phones

MOST = 60


@pytest.fixture
def app(path: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Flask:
    monkeypatch.setenv("GELSIDE_INSTANCE", str(tmp_path / "instance"))
    return create_app({"DATABASE": str(path), "REQUESTS_PER_MINUTE": MOST})


def test_beyond_the_limit_it_is_429_with_a_time_and_nothing_is_stored(client: FlaskClient, db: Database) -> None:
    for _ in range(MOST):
        assert client.head(f"/api/photo/{'ab' * 32}", headers=BEARER).status_code == 200
    assert client.get("/api/practice", headers=BEARER).status_code == 200, "each kind of request has its own count"
    assert client.head(f"/api/photo/{'ab' * 32}", headers=BEARER).status_code == 429
    text = push(whole_exam())
    answers = [client.post("/api/journal", data=text, headers=BEARER) for _ in range(MOST + 1)]
    assert {answer.status_code for answer in answers[:-1]} == {200}
    last = answers[-1]
    assert (last.status_code, last.json["error"]["code"]) == (429, "too_many")
    assert 0 < int(last.headers["Retry-After"]) <= 60
    assert db.execute("select count(*) from entries").fetchone()[0] == len(whole_exam().written)


def test_another_phone_goes_on(client: FlaskClient, db: Database) -> None:
    phones.add(db, "Other phone", "another-token", "VS")
    name = f"/api/photo/{'ab' * 32}"
    while client.head(name, headers=BEARER).status_code == 200:
        pass
    assert client.head(name, headers={"Authorization": "Bearer another-token"}).status_code == 200


def test_the_count_holds_no_token(client: FlaskClient, app: Flask, caplog: pytest.LogCaptureFixture) -> None:
    while client.head(f"/api/photo/{'ab' * 32}", headers=BEARER).status_code == 200:
        pass
    assert "too many requests of one phone" in caplog.text
    assert BEARER["Authorization"].split()[1] not in caplog.text
