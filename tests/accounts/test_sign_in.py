"""Signing in, staying in, and what a stranger or another site can do."""

from collections.abc import Callable
from typing import Any

import pytest
from flask import Flask
from flask.testing import FlaskClient

from tests.accounts.desk import address
from tests.builders import EXAM
from tests.conftest import PASSWORD, form_token
from webapp.accounts import allowed
from webapp.accounts.routes import local_path
from webapp.store import people
from webapp.store.db import Database


def post(browser: FlaskClient, person: str, password: str, address: str = "/sign-in") -> Any:
    token = form_token(browser.get("/sign-in").text)
    return browser.post(address, data={"person": person, "password": password, "csrf_token": token})


@pytest.mark.parametrize(
    ("person", "password"),
    [("RD", "wrong"), ("rd", PASSWORD), ("nobody", PASSWORD), ("VS", PASSWORD), ("VS", ""), ("", PASSWORD)],
)
def test_only_the_right_password_of_a_known_person_signs_in(client: FlaskClient, person: str, password: str) -> None:
    answer = post(client, person, password)
    assert answer.status_code in (200, 401)
    assert client.get("/review").status_code == 302


def test_what_was_typed_as_id_stays_and_the_password_does_not(client: FlaskClient) -> None:
    answer = post(client, "RD", "a wrong password")
    assert 'value="RD"' in answer.text
    assert "a wrong password" not in answer.text


def test_the_session_is_kept_from_scripts_and_other_sites(client: FlaskClient) -> None:
    cookie = post(client, "RD", PASSWORD).headers["Set-Cookie"]
    assert "HttpOnly" in cookie
    assert "SameSite=Lax" in cookie
    assert "Secure" not in cookie


def test_over_https_the_session_travels_over_https_only(client: FlaskClient) -> None:
    address = "https://localhost"
    token = form_token(client.get("/sign-in", base_url=address).text)
    data = {"person": "RD", "password": PASSWORD, "csrf_token": token}
    answer = client.post("/sign-in", base_url=address, data=data, headers={"Referer": f"{address}/sign-in"})
    assert "Secure" in answer.headers["Set-Cookie"]


def test_signing_out_ends_the_session(sign_in: Callable[..., FlaskClient]) -> None:
    browser = sign_in()
    token = form_token(browser.get("/review").text)
    assert browser.post("/sign-out", data={"csrf_token": token}).status_code == 302
    assert browser.get("/review").status_code == 302


def test_a_person_removed_is_out_at_the_next_page(sign_in: Callable[..., FlaskClient], db: Database) -> None:
    browser = sign_in()
    assert browser.get("/review").status_code == 200
    db.execute("delete from people where id = 'RD'")
    assert browser.get("/review").status_code == 302


def test_every_page_of_the_desk_asks_who_is_there(app: Flask) -> None:
    """Walks over all addresses: what is not meant for all must send a stranger away."""
    seen = 0
    for rule in app.url_map.iter_rules():
        door = allowed.door(rule.endpoint)
        assert door is not None
        if door.to in (allowed.EVERYONE, allowed.PHONES):
            continue
        seen += 1
        if "GET" in (rule.methods or set()):
            answer = app.test_client().get(address(rule))
            assert (answer.status_code, answer.location.split("?")[0]) == (302, "/sign-in"), rule.rule
        if "POST" in (rule.methods or set()):
            answer = app.test_client().post(address(rule), data={"impression": "A long text."})
            assert (answer.status_code, "A long text." in answer.text) == (401, True), rule.rule
    assert seen >= 40


def test_every_form_is_refused_without_its_token(app: Flask, sign_in: Callable[..., FlaskClient]) -> None:
    browser = sign_in()
    posts = [rule for rule in app.url_map.iter_rules() if "POST" in (rule.methods or set())]
    assert len(posts) >= 7
    for rule in posts:
        if not rule.rule.startswith("/api/"):
            answer = browser.post(address(rule), data={"impression": "typed <b>here</b>"})
            assert answer.status_code == 400, rule.rule
            assert "nothing was saved" in answer.text
            assert "typed &lt;b&gt;here&lt;/b&gt;" in answer.text


def test_text_typed_into_a_form_of_an_ended_session_is_given_back(app: Flask) -> None:
    answer = app.test_client().post(f"/review/exam/{EXAM}/draft", data={"impression": "A long text."})
    assert answer.status_code == 401
    assert "A long text." in answer.text


@pytest.mark.parametrize("wanted", ["/review", "/review/exam/x?a=b", "/"])
def test_one_comes_back_to_where_one_wanted_to_go(client: FlaskClient, wanted: str) -> None:
    assert local_path(wanted) == wanted
    token = form_token(client.get("/sign-in").text)
    answer = client.post(
        "/sign-in",
        query_string={"next": wanted},
        data={"person": "RD", "password": PASSWORD, "csrf_token": token},
    )
    assert answer.location == wanted


@pytest.mark.parametrize(
    "wanted",
    [
        "//evil.example",
        "https://evil.example",
        "/\\evil.example",
        "javascript:alert(1)",
        "review",
        "",
        None,
        "/\t/evil.example",
        "\\\\evil.example",
        "/\n//evil.example",
    ],
)
def test_no_link_leads_on_to_another_site(wanted: str | None) -> None:
    assert local_path(wanted) is None


def test_a_short_password_is_refused(db: Database) -> None:
    with pytest.raises(people.PersonError, match="15 characters"):
        people.add(db, "XX", "Short", "vet", "four words one")


def test_passwords_are_not_kept_in_the_open(db: Database) -> None:
    assert PASSWORD not in str(list(db.query("select * from people")))
