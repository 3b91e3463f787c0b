"""Which passwords are taken, how they are kept, and how often they may be tried.

The rules: NIST SP 800-63B-4 (2025), 3.1.1.2; the setting of Argon2id: OWASP ASVS 5.0, appendix C.
"""

import re
from collections.abc import Callable

import pytest
from flask.testing import FlaskClient
from hypothesis import given, settings
from hypothesis import strategies as st
from sqlite_utils import Database
from werkzeug.security import generate_password_hash
from zxcvbn.frequency_lists import FREQUENCY_LISTS

from tests.conftest import PASSWORD, form_token
from tests.pairing.wire import Clock
from webapp import passwords
from webapp.store import people

NEW = "quiet lamp over seven hills"
# Straight from the published list of common passwords, those that are long enough to come into question.
COMMON_LONG = [word for word in FREQUENCY_LISTS["passwords"] if len(word) >= passwords.SHORTEST]


def change(browser: FlaskClient, old: str, new: str, again: str | None = None) -> tuple[int, str]:
    page = browser.get("/account/password")
    data = {"csrf_token": form_token(page.text), "old_password": old, "new_password": new}
    answer = browser.post("/account/password", data=data | {"again_password": new if again is None else again})
    return answer.status_code, answer.text


@pytest.mark.parametrize(
    "password",
    ["", "short", "fourteen chars", "123456789012345", "qwertyuiopasdfgh", "aaaaaaaaaaaaaaaaaaaa", "passwordpassword"]
    + ["iloveyouiloveyou", "letmeinletmein123", "gelside gelside gelside", "R. Dale R. Dale 1", "x" * 201]
    + COMMON_LONG,
)
def test_what_is_short_or_tried_first_is_refused_with_advice(password: str) -> None:
    with pytest.raises(passwords.PasswordProblem) as problem:
        passwords.check(password, ("RD", "R. Dale", "Practice of Hill Street"))
    assert re.search("four words|200 characters", str(problem.value), re.IGNORECASE)


@pytest.mark.parametrize(
    "password",
    ["correct horse battery staple", "only lower case letters count", "größer als fünf Häuser"]
    + ["🐕🐈🐎 sixteen moons apart", "no1 needs-a SYMBOL", "x" * 3 + "quiet lamp over seven hills" + "y" * 160],
)
def test_no_rule_of_composition_stands_in_the_way_of_a_long_one(password: str) -> None:
    passwords.check(password, ("RD", "R. Dale"))
    assert passwords.fits(passwords.made(password), password)


@settings(max_examples=15, deadline=None)
@given(st.text(min_size=1, max_size=40), st.text(min_size=1, max_size=40))
def test_only_the_same_password_fits(one: str, other: str) -> None:
    kept = passwords.made(one)
    assert kept.startswith("$argon2id$v=19$m=19456,t=2,p=1$")
    assert passwords.fits(kept, one)
    assert passwords.fits(kept, other) is (passwords._form(one) == passwords._form(other))


def test_an_accent_typed_in_either_way_is_the_same_password() -> None:
    assert passwords.fits(passwords.made("grüne Häuser am Fluss"), "grüne Häuser am Fluss".replace("ü", "u\u0308"))


def test_a_password_kept_in_the_former_way_still_fits_and_is_kept_anew(db: Database) -> None:
    kept = generate_password_hash("was eight")
    db.execute("update people set password_hash = ? where id = 'RD'", [kept])
    assert people.with_password(db, "RD", "was nine!") is None
    assert people.with_password(db, "RD", "was eight") is not None
    row = next(db.query("select password_hash from people where id = 'RD'"))
    assert row["password_hash"].startswith("$argon2id$")
    assert people.with_password(db, "RD", "was eight") is not None


def test_first_passwords_are_taken_and_never_the_same() -> None:
    made = {passwords.first() for _ in range(200)}
    assert len(made) == 200
    for password in made:
        passwords.check(password)


def test_one_changes_ones_own_password_and_is_out_everywhere_else(sign_in: Callable[..., FlaskClient]) -> None:
    here, elsewhere = sign_in(), sign_in()
    assert change(here, PASSWORD, NEW)[0] == 302
    assert here.get("/review").status_code == 200
    assert elsewhere.get("/review").status_code == 302
    assert sign_in(password=NEW).get("/review").status_code == 200


@pytest.mark.parametrize(
    ("old", "new", "again", "words"),
    [
        ("not mine at all, no", NEW, None, "not the password you have"),
        (PASSWORD, "too short", None, "15 characters"),
        (PASSWORD, NEW, NEW + "!", "differ"),
        (PASSWORD, PASSWORD, None, "take another one"),
        (PASSWORD, "passwordpassword", None, "tried first"),
    ],
)
def test_a_change_that_is_not_taken_says_why_and_changes_nothing(
    sign_in: Callable[..., FlaskClient], old: str, new: str, again: str | None, words: str
) -> None:
    browser = sign_in()
    status, page = change(browser, old, new, again)
    assert status in (401, 422)
    assert words in page
    assert NEW not in page
    assert sign_in().get("/review").status_code == 200


def refused_tries(browser: FlaskClient, person: str, many: int) -> list[int]:
    token = form_token(browser.get("/sign-in").text)
    data = {"person": person, "password": "not this one, surely", "csrf_token": token}
    return [browser.post("/sign-in", data=data).status_code for _ in range(many)]


def test_five_wrong_passwords_a_minute_then_wait_even_with_the_right_one(client: FlaskClient) -> None:
    assert refused_tries(client, "RD", 7) == [401] * 5 + [429] * 2
    token = form_token(client.get("/sign-in").text)
    answer = client.post("/sign-in", data={"person": "rd ", "password": PASSWORD, "csrf_token": token})
    assert answer.status_code == 429
    assert "Wait a minute" in answer.text
    assert 'value="rd ' in answer.text
    assert refused_tries(client, "VS", 1) == [401]


def test_one_address_cannot_go_through_all_names(client: FlaskClient) -> None:
    statuses = [refused_tries(client, f"P{number}", 1)[0] for number in range(22)]
    assert statuses == [401] * 20 + [429] * 2


def test_signing_in_rightly_is_never_counted(client: FlaskClient) -> None:
    token = form_token(client.get("/sign-in").text)
    for _ in range(25):
        answer = client.post("/sign-in", data={"person": "RD", "password": PASSWORD, "csrf_token": token})
        assert answer.status_code == 302
        token = form_token(client.get("/sign-in").text)


def test_the_own_password_cannot_be_guessed_from_an_open_session(sign_in: Callable[..., FlaskClient]) -> None:
    browser = sign_in()
    statuses = [change(browser, "not this one, surely", NEW)[0] for _ in range(6)]
    assert statuses == [401] * 5 + [429]


def test_the_last_sign_in_and_refused_tries_are_told(
    client: FlaskClient, sign_in: Callable[..., FlaskClient], monkeypatch: pytest.MonkeyPatch
) -> None:
    clock = Clock(monkeypatch)
    assert "last signed in" not in sign_in().get("/review").text
    clock.later(hours=1)
    refused_tries(client, "RD", 2)
    clock.later(hours=1)
    page = sign_in().get("/review").text
    assert "You last signed in 24 Nov 2026" in page
    assert "2 tries were refused" in page
