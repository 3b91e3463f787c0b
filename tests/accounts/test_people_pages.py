"""The admin's pages: people, first passwords, sign-ins stopped and ended, and the audit of it all."""

import re
import sqlite3
from collections.abc import Callable

import pytest
from flask import Flask
from flask.testing import FlaskClient
from sqlite_utils import Database

from tests.accounts.desk import as_role
from tests.builders import EXAM, whole_exam
from tests.conftest import BEARER, PASSWORD, form_token
from webapp.store import audit, journal, people

NEW = "quiet lamp over seven hills"


def send(browser: FlaskClient, address: str, page: str = "/people", **data: object) -> object:
    return browser.post(address, data={"csrf_token": form_token(browser.get(page).text)} | data)


def first_password(text: str) -> str:
    found = re.search(r'class="first-password">([^<]+)<', text)
    assert found, text
    return found[1]


def test_a_person_is_added_and_changes_the_first_password_before_anything_else(
    app: Flask, sign_in: Callable[..., FlaskClient]
) -> None:
    answer = send(sign_in(), "/people", person="KM", name="K. Marsh", roles=["assistant", "sonographer"])
    password = first_password(answer.text)
    browser = sign_in("KM", password)
    for address in ("/review", "/account", "/limits"):
        went = browser.get(address)
        assert (went.status_code, went.location) == (302, "/account/password")
    data = {"old_password": password, "new_password": NEW, "again_password": NEW}
    assert send(browser, "/account/password", "/account/password", **data).location == "/review"
    assert browser.get("/review").status_code == 200
    assert "sonographer, assistant" in browser.get("/account").text


def test_no_browser_is_told_to_ask_for_every_role(sign_in: Callable[..., FlaskClient]) -> None:
    boxes = re.findall(r"<input[^>]*checkbox[^>]*>", sign_in().get("/people").text)
    assert len(boxes) == 5
    assert not any("required" in box for box in boxes)


@pytest.mark.parametrize(
    ("data", "words"),
    [
        ({"person": "RD", "name": "Another", "roles": ["reader"]}, "There is a person RD already"),
        ({"person": "", "name": "Another", "roles": ["reader"]}, "Write an id"),
        ({"person": "XX", "name": "", "roles": ["reader"]}, "Write the name"),
        ({"person": "XX", "name": "Another", "roles": []}, "Choose at least one role"),
        ({"person": "XX", "name": "Another", "roles": ["surgeon"]}, "surgeon"),
        ({"person": "X\u202eX", "name": "Another", "roles": ["reader"]}, "short text"),
    ],
)
def test_a_person_not_taken_is_told_why_and_what_was_typed_stays(
    db: Database, sign_in: Callable[..., FlaskClient], data: dict[str, object], words: str
) -> None:
    answer = send(sign_in(), "/people", **data)
    assert answer.status_code == 422
    assert words in answer.text
    assert len(people.everyone(db)) == 2


def test_an_admin_resets_a_password_and_every_session_of_it_ends(
    db: Database, sign_in: Callable[..., FlaskClient]
) -> None:
    other = as_role(db, sign_in, "reader")
    password = first_password(send(sign_in(), "/people/READ/password").text)
    assert other.get("/review").status_code == 302
    assert people.with_password(db, "READ", PASSWORD) is None
    assert sign_in("READ", password).get("/review").location == "/account/password"


def test_a_stopped_person_is_out_at_once_and_stays_in_the_records(
    db: Database, sign_in: Callable[..., FlaskClient]
) -> None:
    other = as_role(db, sign_in, "reviewer")
    assert send(sign_in(), "/people/REVI/stop").status_code == 302
    assert other.get("/review").status_code == 302
    assert people.with_password(db, "REVI", PASSWORD) is None
    assert {"id": "REVI", "name": "Only reviewer", "role": "reviewer"} in people.everyone(db)


def test_the_last_admin_cannot_stop_or_undo_themselves(db: Database, sign_in: Callable[..., FlaskClient]) -> None:
    browser = sign_in()
    assert send(browser, "/people/RD/stop").status_code == 409
    answer = send(browser, "/people/RD", name="R. Dale", roles=["reviewer"])
    assert (answer.status_code, "Nobody else looks after people" in answer.text) == (422, True)
    assert browser.get("/people").status_code == 200


def test_an_admin_signs_a_person_out_everywhere(db: Database, sign_in: Callable[..., FlaskClient]) -> None:
    one = as_role(db, sign_in, "reader")
    two = sign_in("READ")
    answer = send(sign_in(), "/people/READ/end-sessions")
    assert answer.status_code == 302
    assert (one.get("/review").status_code, two.get("/review").status_code) == (302, 302)


def test_every_read_and_change_is_kept_with_who_and_which_and_nothing_of_what(
    client: FlaskClient, db: Database, sign_in: Callable[..., FlaskClient]
) -> None:
    browser = sign_in()
    browser.get(f"/review/exam/{EXAM}")
    send(browser, f"/review/exam/{EXAM}/draft", impression="An enlarged spleen")
    client.post("/sign-in", data={"person": "my password here", "password": "x", "csrf_token": "none"})
    as_role(db, sign_in, "reader").get("/people")
    rows = [(row["who"], row["act"], row["subject"], row["status"]) for row in reversed(audit.page(db))]
    assert rows == [
        ("RD", "accounts.sign_in", "", 302),
        ("RD", "review.exam_page", f"exam {EXAM}", 404),
        ("RD", "people.page", "", 200),
        ("RD", "review.draft", f"exam {EXAM}", 404),
        ("READ", "accounts.sign_in", "", 302),
        ("READ", "people.page", "", 403),
    ]
    assert "spleen" not in str(audit.page(db))


def test_opening_a_form_is_told_apart_from_sending_it(db: Database, sign_in: Callable[..., FlaskClient]) -> None:
    browser = sign_in()
    browser.get("/account/password")
    send(browser, "/account/password", "/account/password", old_password=PASSWORD, new_password=NEW, again_password=NEW)
    rows = [(row["told"], row["status"]) for row in audit.page(db) if row["act"] == "account.password"]
    assert rows == [("", 302), ("the form only", 200), ("the form only", 200)]


def test_a_signature_that_was_not_given_is_not_told_as_one(db: Database, sign_in: Callable[..., FlaskClient]) -> None:
    journal.append(db, whole_exam().written, "phone")
    browser = sign_in()
    page = f"/review/exam/{EXAM}"
    send(browser, f"{page}/sign", page, seen="99")
    send(browser, "/people", person="KM", name="K. Marsh", roles=["reader"])
    told = {row["act"]: (row["status"], row["told"], row["subject"]) for row in audit.page(db)}
    assert told["review.sign"] == (200, "not taken", f"exam {EXAM}")
    assert told["people.add"] == (200, "with a first password", "person KM")


def test_a_refused_sign_in_keeps_a_known_id_and_never_what_was_typed_in_its_place(
    client: FlaskClient, db: Database
) -> None:
    token = form_token(client.get("/sign-in").text)
    for person in ("RD", "my secret password"):
        client.post("/sign-in", data={"person": person, "password": "wrong", "csrf_token": token})
    assert [(row["who"], row["told"]) for row in audit.page(db)] == [("", "refused"), ("RD", "refused")]
    assert "secret" not in str(audit.page(db))


def test_what_a_phone_reads_and_sends_is_kept_and_asking_in_vain_is_not(client: FlaskClient, db: Database) -> None:
    client.get("/api/journal", headers=BEARER)
    client.get("/api/practice", headers=BEARER)
    assert audit.page(db) == []


@pytest.mark.parametrize(
    "act", ["update audit set who = 'XX'", "delete from audit", "replace into audit select * from audit"]
)
def test_the_audit_is_only_ever_added_to(db: Database, sign_in: Callable[..., FlaskClient], act: str) -> None:
    sign_in()
    with pytest.raises(sqlite3.IntegrityError, match="never"):
        db.execute(act)


def test_the_page_of_the_audit_shows_whom_and_what_one_asks_for(
    db: Database, sign_in: Callable[..., FlaskClient]
) -> None:
    as_role(db, sign_in, "reader").get(f"/review/exam/{EXAM}")
    browser = sign_in()
    page = browser.get("/audit").text
    assert "read an exam" in page
    assert "Only reader (READ)" in page
    assert "read an exam" not in browser.get("/audit?who=RD").text
    assert "signed in" not in browser.get(f"/audit?about={EXAM}").text.split("<tbody>")[1]
    assert browser.get("/audit?before=x&who='&about=%25").status_code == 200


def test_a_long_audit_is_shown_a_page_at_a_time(db: Database, sign_in: Callable[..., FlaskClient]) -> None:
    for number in range(audit.PAGE + 5):
        note = audit.Note("2026-11-24T12:00:00+00:00", "RD", None, "::1", "review.exam_page", f"exam {number}", 200)
        audit.add(db, note)
    page = sign_in().get("/audit").text
    older = re.search(r'href="(/audit\?[^"]*before=\d+[^"]*)"', page)
    assert older
    assert "exam 0" not in page
