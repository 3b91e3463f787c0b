"""Two practices are two files: what one has, the other never shows, and no key of one opens the other."""

import hashlib
from collections.abc import Iterator
from pathlib import Path

import pytest
from flask import Flask
from flask.testing import FlaskClient

from tests.builders import EXAM, Phone, push, whole_exam
from tests.conftest import PASSWORD, form_token
from tests.sync.sealing import seal
from webapp import create_app
from webapp.pairing import codes
from webapp.store import desk, meta, people, phones
from webapp.store.db import open_database

PHOTO = b"\xff\xd8\xff" + b"photo" * 50
NAME = hashlib.sha256(PHOTO).hexdigest()
SECRET = "Only the first practice knows this"


def practice(folder: Path, monkeypatch: pytest.MonkeyPatch) -> Flask:
    """One practice in a folder of its own, in the same process as the other."""
    monkeypatch.setenv("GELSIDE_INSTANCE", str(folder))
    app = create_app()
    db = open_database(app.config["DATABASE"])
    people.add(db, "RD", "R. Dale", "vet", PASSWORD)
    phones.add(db, "Phone", f"token of {folder.name}")
    meta.put(db, "practice", folder.name)
    db.close()
    return app


@pytest.fixture
def two(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[tuple[Flask, Flask]]:
    """The first one has an exam, a plan, a photo; the second has nothing."""
    first, second = practice(tmp_path / "first", monkeypatch), practice(tmp_path / "second", monkeypatch)
    phone = whole_exam()
    phone.act("noted", {"about": "exam", "text": SECRET})
    client = first.test_client()
    assert client.post("/api/journal", data=push(phone), headers=bearer("first")).status_code == 200
    assert client.put(f"/api/photo/{NAME}", data=PHOTO, headers=bearer("first")).status_code == 201
    db = open_database(first.config["DATABASE"])
    visit = {"about": "visit", "date": desk.now()[:10], "patient": {"name": SECRET}, "question": {"text": SECRET}}
    desk.act(db, "planned", visit, author="RD", patient=phone.patient)
    db.close()
    yield first, second


def bearer(name: str) -> dict[str, str]:
    return {"Authorization": f"Bearer token of {name}"}


def signed_in(app: Flask) -> FlaskClient:
    browser = app.test_client()
    token = form_token(browser.get("/sign-in").text)
    browser.post("/sign-in", data={"person": "RD", "password": PASSWORD, "csrf_token": token})
    return browser


ADDRESSES = ("/review", f"/review/exam/{EXAM}", "/phones", "/records", f"/photos/{NAME}")


def test_every_page_and_answer_of_the_second_is_without_the_firsts(two: tuple[Flask, Flask]) -> None:
    first, second = two
    assert SECRET in signed_in(first).get(f"/review/exam/{EXAM}").text
    assert SECRET in first.test_client().get("/api/journal", headers=bearer("first")).text
    browser = signed_in(second)
    for address in ADDRESSES:
        page = browser.get(address).text
        assert SECRET not in page
        assert "Pepper" not in page
    assert second.test_client().get("/api/journal", headers=bearer("second")).json["entries"] == []
    head = second.test_client().head(f"/api/photo/{NAME}", headers=bearer("second"))
    assert head.headers["X-Gelside-Complete"] == "no"


def test_a_token_of_one_is_unknown_to_the_other(two: tuple[Flask, Flask]) -> None:
    for app, name in zip(two, ("second", "first"), strict=True):
        for answer in (
            app.test_client().get("/api/journal", headers=bearer(name)),
            app.test_client().post("/api/journal", data=push(Phone()), headers=bearer(name)),
            app.test_client().head(f"/api/photo/{NAME}", headers=bearer(name)),
        ):
            assert answer.status_code == 401


def test_a_session_of_one_is_no_session_of_the_other(two: tuple[Flask, Flask]) -> None:
    cookie = signed_in(two[0]).get_cookie("gelside")
    assert cookie is not None
    browser = two[1].test_client()
    browser.set_cookie("gelside", cookie.value)
    for address in ADDRESSES:
        assert browser.get(address).status_code == 302


def test_nothing_secret_or_identifying_is_shared(two: tuple[Flask, Flask]) -> None:
    assert two[0].config["SECRET_KEY"] != two[1].config["SECRET_KEY"]
    assert codes.secret(two[0].config["SECRET_KEY"], "1") != codes.secret(two[1].config["SECRET_KEY"], "1")
    stores = [open_database(app.config["DATABASE"]) for app in two]
    for key in ("store_id", "desk_device"):
        assert meta.get(stores[0], key) != meta.get(stores[1], key)
    for db in stores:
        db.close()


def test_a_journal_sealed_for_one_stays_shut_at_the_other(two: tuple[Flask, Flask]) -> None:
    first, second = two
    phone = whole_exam()
    key = first.test_client().get("/api/practice", headers=bearer("first")).json["server_key"]
    wrapped, closed = seal(key, phone.written)
    asked = {"protocol": 1, "device": phone.device, "wrapped_key": wrapped, "sealed": closed}
    answer = second.test_client().post("/api/journal/sealed", json=asked, headers=bearer("second"))
    assert answer.status_code == 422
    assert first.test_client().post("/api/journal/sealed", json=asked, headers=bearer("first")).status_code == 200


def test_the_files_of_one_hold_nothing_of_the_other(two: tuple[Flask, Flask], tmp_path: Path) -> None:
    second = [path for path in (tmp_path / "second").rglob("*") if path.is_file()]
    assert len(second) >= 2
    for path in second:
        assert SECRET.encode() not in path.read_bytes()
        assert path.name != NAME
