"""What each role may do at the desk, and that nobody is locked out by the change from former roles."""

from collections.abc import Callable
from pathlib import Path

import pytest
from flask import Flask
from flask.testing import FlaskClient
from sqlite_utils import Database

from tests.accounts.desk import address, as_role
from tests.builders import EXAM
from tests.conftest import PASSWORD, form_token
from webapp.accounts import allowed
from webapp.store import people, roles, schema
from webapp.store.db import open_database

FORMER = [("RD", "vet", "hash"), ("OL", "vet", None), ("VS", "sonographer", "hash"), ("KM", "assistant", None)]
WITHOUT_VET = [("VS", "sonographer", "hash"), ("KM", "assistant", None)]


@pytest.mark.parametrize("role", list(roles.ROLES))
def test_each_role_opens_its_own_doors_and_no_other(
    app: Flask, db: Database, sign_in: Callable[..., FlaskClient], role: str
) -> None:
    browser = as_role(db, sign_in, role)
    tried = refused = 0
    for rule in app.url_map.iter_rules():
        door = allowed.DOORS.get(rule.endpoint)
        if door is None or door.to in (allowed.EVERYONE, allowed.PHONES) or rule.endpoint == "accounts.sign_out":
            continue
        for method in sorted((rule.methods or set()) & {"GET", "POST"}):
            tried += 1
            status = browser.open(address(rule), method=method, buffered=True).status_code
            assert (status == 403) is not (role in door.to), (rule.endpoint, method, status)
            refused += status == 403
    assert tried > 40
    assert refused > 5


@pytest.mark.parametrize("role", ["sonographer", "assistant", "admin", "reader"])
def test_only_a_reviewer_signs(db: Database, sign_in: Callable[..., FlaskClient], role: str) -> None:
    browser = as_role(db, sign_in, role)
    token = form_token(browser.get("/account/password").text)
    for way in ("sign", "addend"):
        data = {"csrf_token": token, "impression": "A text of mine.", "reason": "why", "text": "more"}
        answer = browser.post(f"/review/exam/{EXAM}/{way}", data=data)
        assert answer.status_code == 403
        assert "needs the role reviewer" in answer.text
    assert "A text of mine." in browser.post(f"/review/exam/{EXAM}/sign", data=data).text
    assert not list(db.query("select * from entries where kind in ('signed', 'amended', 'set')"))


def test_an_admin_sees_no_exam_and_is_told_who_may(db: Database, sign_in: Callable[..., FlaskClient]) -> None:
    browser = as_role(db, sign_in, "admin")
    answer = browser.get(f"/review/exam/{EXAM}")
    assert answer.status_code == 403
    assert "needs the role sonographer or assistant or reviewer or reader" in answer.text
    assert "R. Dale" in answer.text
    assert browser.get("/people").status_code == 200


def test_roles_taken_away_are_gone_at_the_next_page(db: Database, sign_in: Callable[..., FlaskClient]) -> None:
    browser = as_role(db, sign_in, "reviewer")
    assert browser.get("/review").status_code == 200
    people.change(db, "REVI", "Only reviewer", "admin")
    assert browser.get("/review").status_code == 403


def test_an_address_missing_in_the_list_is_open_to_nobody(
    monkeypatch: pytest.MonkeyPatch, sign_in: Callable[..., FlaskClient]
) -> None:
    browser = sign_in()
    monkeypatch.delitem(allowed.DOORS, "review.queue_page")
    answer = browser.get("/review")
    assert answer.status_code == 403


def test_the_first_who_can_sign_in_looks_after_people_and_vet_goes_on_as_reviewer(tmp_path: Path) -> None:
    db = open_database(tmp_path / "new.sqlite3")
    assert people.add(db, "VS", "V. Stone", "sonographer", None) == ("sonographer",)
    assert people.add(db, "RD", "R. Dale", "vet", PASSWORD) == ("reviewer", "admin")
    assert people.add(db, "KM", "K. Marsh", "vet", PASSWORD) == ("reviewer",)
    assert people.add(db, "OL", "O. Lane", "reviewer,reader", PASSWORD) == ("reviewer", "reader")
    db.close()


@pytest.mark.parametrize("named", ["", "surgeon", "reviewer,surgeon", ","])
def test_what_is_no_role_is_refused_with_the_roles_there_are(db: Database, named: str) -> None:
    with pytest.raises(people.PersonError, match="sonographer, assistant, reviewer, admin, reader"):
        people.add(db, "XX", "Somebody", named, PASSWORD)


@pytest.mark.parametrize(
    ("before", "after"),
    [
        (FORMER, {"RD": "reviewer, admin", "OL": "reviewer", "VS": "sonographer", "KM": "assistant"}),
        (WITHOUT_VET, {"VS": "sonographer, admin", "KM": "assistant"}),
        ([], {}),
    ],
)
def test_a_file_from_before_roles_keeps_every_door_open_that_was_open(
    tmp_path: Path, before: list[tuple[str, str, str | None]], after: dict[str, str]
) -> None:
    path = tmp_path / "old.sqlite3"
    db = Database(path)
    schema.migrations.apply(db, stop_before="m012_people")
    for person, role, kept in before:
        row = {"id": person, "name": person, "role": role, "password_hash": kept, "created_at": "2026-11-24"}
        db.table("people").insert(row)
    db.close()
    db = open_database(path)
    assert {row["id"]: row["role"] for row in people.everyone(db)} == after
    db.close()


def test_somebody_must_be_left_to_look_after_people(db: Database) -> None:
    for change in (lambda: people.stop(db, "RD"), lambda: people.change(db, "RD", "R. Dale", "reviewer")):
        with pytest.raises(people.PersonError, match="Nobody else looks after people"):
            change()
    people.add(db, "KM", "K. Marsh", "admin", PASSWORD)
    people.stop(db, "RD")
    assert people.admins(db) == ["K. Marsh"]
