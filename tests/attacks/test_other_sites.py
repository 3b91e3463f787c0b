"""What a page of another site can do in the browser of someone who is signed in: nothing.

OWASP ASVS 5.0, 3.5.1 to 3.5.3. A browser says in Sec-Fetch-Site (older ones: Origin) where a request comes from, and
no page can forge either.
"""

from collections.abc import Callable, Iterator

import pytest
from flask import Flask
from flask.testing import FlaskClient
from sqlite_utils import Database

from tests.accounts.desk import address
from tests.builders import push, whole_exam
from tests.conftest import BEARER, form_token
from webapp.accounts import allowed

UNSAFE = {"POST", "PUT", "PATCH", "DELETE"}
ELSEWHERE = (
    {"Sec-Fetch-Site": "cross-site"},
    {"Sec-Fetch-Site": "same-site"},
    {"Sec-Fetch-Site": "cross-site", "Origin": "http://localhost"},
    {"Origin": "https://evil.example"},
    {"Origin": "http://localhost.evil.example"},
    {"Origin": "http://localhost:81"},
    {"Origin": "null"},
)
# What a form or a fetch without asking first can send.
FORM_TYPES = ("application/x-www-form-urlencoded", "multipart/form-data; boundary=x", "text/plain", "text/plain;json")


def unsafe(app: Flask) -> Iterator[tuple[str, str, bool]]:
    """Every address that changes something: (method, address, whether phones use it)."""
    for rule in app.url_map.iter_rules():
        for method in sorted((rule.methods or set()) & UNSAFE):
            yield method, address(rule), allowed.DOORS[rule.endpoint].to == allowed.PHONES


def everything(db: Database) -> dict[str, list[tuple[object, ...]]]:
    """All rows of all tables but the audit and the sessions' last use."""
    names = [name for name in db.table_names() if name not in ("audit", "sessions", "sqlite_sequence")]
    return {name: sorted(db.execute(f'select * from "{name}"').fetchall(), key=str) for name in names}


@pytest.mark.catalogue(68)
@pytest.mark.parametrize("headers", ELSEWHERE)
def test_a_post_from_another_site_is_refused_at_every_address_and_changes_nothing(
    app: Flask, db: Database, sign_in: Callable[..., FlaskClient], headers: dict[str, str]
) -> None:
    """Even with the session, with a form's right token, and with a phone's own token."""
    browser = sign_in()
    token = form_token(browser.get("/account/password").text)
    before, tried = everything(db), 0
    for method, where, phones in unsafe(app):
        answer = browser.open(
            where,
            method=method,
            data=push(whole_exam()) if phones else {"csrf_token": token, "impression": "planted", "name": "planted"},
            headers=headers | (BEARER if phones else {}),
            content_type="application/json" if phones else None,
        )
        assert answer.status_code == 403, (method, where)
        assert "another site" in answer.text
        assert "planted" not in answer.text
        tried += 1
    assert tried >= 30
    assert everything(db) == before
    assert browser.get("/review").status_code == 200


@pytest.mark.catalogue(68)
def test_a_form_without_the_sessions_token_is_refused_at_every_address(
    app: Flask, db: Database, sign_in: Callable[..., FlaskClient]
) -> None:
    """For a browser that says nothing of where a request comes from."""
    browser, before = sign_in(), everything(db)
    for token in (None, "", "forged", form_token(app.test_client().get("/sign-in").text)):
        for method, where, phones in unsafe(app):
            if not phones:
                data = {"name": "planted"} | ({} if token is None else {"csrf_token": token})
                assert browser.open(where, method=method, data=data).status_code == 400, (method, where)
    assert everything(db) == before


@pytest.mark.catalogue(68)
@pytest.mark.parametrize("content_type", FORM_TYPES)
def test_what_a_form_can_send_is_no_json_for_a_phones_address(
    app: Flask, db: Database, client: FlaskClient, content_type: str
) -> None:
    before, tried = everything(db), 0
    for method, where, phones in unsafe(app):
        if phones and method == "POST":
            answer = client.post(where, data=push(whole_exam()), headers=BEARER, content_type=content_type)
            assert (answer.status_code, answer.json["error"]["code"]) == (415, "not_read"), where
            tried += 1
    assert tried >= 3
    assert everything(db) == before


def test_a_browser_must_say_that_it_sends_json(client: FlaskClient) -> None:
    body = push(whole_exam())
    own = BEARER | {"Sec-Fetch-Site": "same-origin"}
    assert client.post("/api/journal", data=body, headers=own).status_code == 415
    assert client.post("/api/journal", data=body, headers=own, content_type="application/json").status_code == 200


def test_a_session_of_the_desk_opens_no_phones_address(
    app: Flask, db: Database, sign_in: Callable[..., FlaskClient]
) -> None:
    """No cookie is looked at: what a browser sends along by itself proves nothing there."""
    browser, before, tried = sign_in(), everything(db), 0
    for rule in app.url_map.iter_rules():
        door = allowed.door(rule.endpoint)
        if door is None or door.to != allowed.PHONES or rule.endpoint.startswith("pairing_api"):
            continue
        for method in sorted((rule.methods or set()) - {"OPTIONS"}):
            assert browser.open(address(rule), method=method, json={}).status_code == 401, (method, rule.rule)
            tried += 1
    assert tried >= 6
    assert everything(db) == before


@pytest.mark.parametrize("headers", [{}, {"Sec-Fetch-Site": "same-origin"}, {"Origin": "http://localhost"}])
def test_the_same_from_a_page_of_this_site_goes_through(
    sign_in: Callable[..., FlaskClient], headers: dict[str, str]
) -> None:
    browser = sign_in()
    data = {"person": "KM", "name": "K. Marsh", "roles": "reader"}
    data["csrf_token"] = form_token(browser.get("/people").text)
    assert "first-password" in browser.post("/people", data=data, headers=headers).text


def test_nothing_is_changed_by_following_a_link(
    app: Flask, db: Database, sign_in: Callable[..., FlaskClient]
) -> None:
    """ASVS 3.5.3: no GET changes a record. Two lists that are made anew from the journal may be renewed by one."""
    browser = sign_in()
    browser.get("/spread")
    before = everything(db)
    for rule in app.url_map.iter_rules():
        if "GET" in (rule.methods or set()) and rule.endpoint != "pairing_api.wait":
            browser.get(address(rule), buffered=True)
    after = everything(db)
    assert [name for name in before if before[name] != after[name]] == []
