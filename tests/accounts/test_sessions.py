"""A session begins with a new token, ends when it should, at the server, and loses nobody's text."""

import re
from collections.abc import Callable
from html import unescape

import pytest
from flask import Flask
from flask.testing import FlaskClient
from sqlite_utils import Database

from tests.builders import EXAM
from tests.conftest import PASSWORD, form_token
from tests.pairing.wire import Clock
from webapp.store import people

OWN = {"Sec-Fetch-Site": "same-origin"}
TEXT = 'Both glands 6.4 mm; "wider" than in May <b>\nsecond line'


@pytest.fixture
def clock(monkeypatch: pytest.MonkeyPatch) -> Clock:
    return Clock(monkeypatch)


def cookie(browser: FlaskClient) -> str:
    kept = browser.get_cookie("gelside")
    assert kept is not None
    return str(kept.value)


def test_a_session_that_nobody_uses_ends_after_half_an_hour(sign_in: Callable[..., FlaskClient], clock: Clock) -> None:
    browser = sign_in()
    for _ in range(3):
        clock.later(minutes=29)
        assert browser.get("/review").status_code == 200
    clock.later(minutes=31)
    assert browser.get("/review").status_code == 302
    clock.later(minutes=-31)
    assert browser.get("/review").status_code == 302


def test_no_session_lasts_longer_than_a_working_day(sign_in: Callable[..., FlaskClient], clock: Clock) -> None:
    browser = sign_in()
    for _ in range(19):
        clock.later(minutes=25)
        assert browser.get("/account/still-here").status_code == 204
    clock.later(minutes=25)
    assert browser.get("/account/still-here").status_code == 302


def test_the_practice_sets_both_ends(app: Flask, sign_in: Callable[..., FlaskClient], clock: Clock) -> None:
    assert (app.config["SESSION_IDLE_MINUTES"], app.config["SESSION_HOURS"]) == (30, 8)
    assert app.config["SESSION_IDLE"].total_seconds() == 1800


def test_a_cookie_kept_from_before_signing_out_opens_nothing(app: Flask, sign_in: Callable[..., FlaskClient]) -> None:
    browser = sign_in()
    stolen = cookie(browser)
    browser.post("/sign-out", data={"csrf_token": form_token(browser.get("/review").text)})
    thief = app.test_client()
    thief.set_cookie("gelside", stolen)
    assert thief.get("/review").status_code == 302


def test_signing_in_gives_a_new_token_each_time_and_the_file_holds_none(
    db: Database, sign_in: Callable[..., FlaskClient]
) -> None:
    first, second = sign_in(), sign_in()
    assert cookie(first) != cookie(second)
    hashes = [row["token_hash"] for row in db.query("select token_hash from sessions")]
    assert len(set(hashes)) == 2
    for browser in (first, second):
        with browser.session_transaction() as kept:
            token = kept["session"]
        assert len(token) >= 43  # 256 bits
        assert token not in str(list(db.query("select * from sessions")))


def test_over_https_the_cookie_is_bound_to_this_host_and_to_https(client: FlaskClient) -> None:
    address = "https://practice.example"
    token = form_token(client.get("/sign-in", base_url=address).text)
    data = {"person": "RD", "password": PASSWORD, "csrf_token": token}
    answer = client.post("/sign-in", base_url=address, data=data, headers={"Referer": f"{address}/sign-in"})
    kept = answer.headers["Set-Cookie"]
    assert kept.startswith("__Host-gelside=")
    for part in ("Secure", "HttpOnly", "Path=/", "SameSite=Lax"):
        assert part in kept
    assert "Domain" not in kept
    assert client.get("/review", base_url=address).status_code == 200


def test_one_ends_a_session_elsewhere_and_no_one_elses(db: Database, sign_in: Callable[..., FlaskClient]) -> None:
    people.add(db, "KM", "K. Marsh", "reader", PASSWORD)
    here, elsewhere, other = sign_in(), sign_in(), sign_in("KM")
    page = here.get("/account").text
    assert page.count("End it") == 1
    token, address = form_token(page), re.search(r"/account/sessions/\w+/end", page)
    assert address
    assert other.post(address[0], data={"csrf_token": form_token(other.get("/account").text)}).status_code == 404
    assert here.post(address[0], data={"csrf_token": token}).status_code == 302
    assert (here.get("/review").status_code, elsewhere.get("/review").status_code) == (200, 302)


def hidden(page: str) -> dict[str, str]:
    """The fields of the last form of a page that a browser would send along."""
    form = page.rsplit("<form", 1)[1]
    pairs = re.findall(r'<input[^>]*name="([^"]+)"[^>]*type="hidden"[^>]*value="([^"]*)"', form)
    pairs += re.findall(r'<input[^>]*type="hidden"[^>]*name="([^"]+)"[^>]*value="([^"]*)"', form)
    return {name: unescape(value) for name, value in pairs}


@pytest.mark.catalogue(67)
@pytest.mark.parametrize("how", ["idle", "cookie gone", "ended by an admin"])
def test_a_session_that_ends_in_the_middle_of_a_text_loses_none_of_it(
    app: Flask, db: Database, sign_in: Callable[..., FlaskClient], clock: Clock, how: str
) -> None:
    """The text comes back, goes along through the sign-in, and on to where it was meant for, to the letter."""
    browser = sign_in()
    token = form_token(browser.get("/account/password").text)
    if how == "idle":
        clock.later(hours=3)
    elif how == "cookie gone":
        browser.delete_cookie("gelside")
    else:
        db.execute("update sessions set ended_at = '2026-11-24', why_ended = 'ended by an admin'")
    address = f"/review/exam/{EXAM}/draft"
    data = {"csrf_token": token, "seen": "7", "impression": TEXT, "recommendations-0-text": "Again in 3 months"}
    answer = browser.post(address, data=data, headers=OWN)
    assert answer.status_code == 401
    carried = hidden(answer.text)
    assert carried["typed_for"] == address
    wrong = browser.post("/sign-in", data=carried | {"person": "RD", "password": "not this one"}, headers=OWN)
    assert wrong.status_code == 401
    carried = hidden(wrong.text)
    signed_in = browser.post("/sign-in", data=carried | {"person": "RD", "password": PASSWORD}, headers=OWN)
    assert signed_in.status_code == 200
    assert "Go on with it as R. Dale" in signed_in.text
    sent_on = hidden(signed_in.text)
    assert {name: text for name, text in sent_on.items() if name != "csrf_token"} == {
        name: text for name, text in data.items() if name != "csrf_token"
    }
    assert sent_on["csrf_token"] not in ("", token)
    assert browser.post(address, data=sent_on, headers=OWN).status_code == 404  # this exam is not held here


def test_who_must_first_choose_a_password_does_not_lose_the_text_over_it(
    db: Database, sign_in: Callable[..., FlaskClient]
) -> None:
    browser = sign_in()
    token = form_token(browser.get("/account/password").text)
    db.execute("update people set must_change = 1")
    answer = browser.post(f"/review/exam/{EXAM}/draft", data={"csrf_token": token, "impression": TEXT}, headers=OWN)
    assert answer.status_code == 403
    assert "Choose a password of your own first" in answer.text
    assert "wider" in answer.text
    assert browser.get("/review").location == "/account/password"


@pytest.mark.parametrize("site", ["cross-site", "same-site"])
def test_another_sites_words_are_never_carried_through_a_sign_in(client: FlaskClient, site: str) -> None:
    headers = {"Sec-Fetch-Site": site}
    answer = client.post(f"/review/exam/{EXAM}/draft", data={"impression": "planted"}, headers=headers)
    assert answer.status_code == 403
    assert "planted" not in answer.text
    unknown = client.post(f"/review/exam/{EXAM}/draft", data={"impression": "planted"})
    assert unknown.status_code == 401
    assert "typed_for" not in unknown.text


@pytest.mark.parametrize(
    "wanted", ["https://evil.example/x", "//evil.example", "/sign-in", "/review", "/nothing", "/\\x"]
)
def test_what_was_typed_goes_to_a_form_of_this_site_only(client: FlaskClient, wanted: str) -> None:
    token = form_token(client.get("/sign-in").text)
    data = {"person": "RD", "password": PASSWORD, "csrf_token": token, "typed_for": wanted, "typed.impression": "x"}
    assert client.post("/sign-in", data=data, headers=OWN).status_code == 302


def test_no_password_travels_along_with_what_was_typed(sign_in: Callable[..., FlaskClient], clock: Clock) -> None:
    browser = sign_in()
    token = form_token(browser.get("/account/password").text)
    clock.later(hours=3)
    data = {"csrf_token": token, "old_password": PASSWORD, "new_password": "quiet lamp over seven hills"}
    answer = browser.post("/account/password", data=data, headers=OWN)
    assert answer.status_code == 401
    assert PASSWORD not in answer.text
    assert "quiet lamp" not in answer.text
