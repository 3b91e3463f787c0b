"""What most tests of the server start from: a database, an app over it, a paired phone, a vet."""

from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from flask import Flask
from flask.testing import FlaskClient
from sqlite_utils import Database

from webapp import create_app
from webapp.store import people, phones
from webapp.store.db import open_database

TOKEN = "a-token-for-tests"
PASSWORD = "correct horse battery"
BEARER = {"Authorization": f"Bearer {TOKEN}"}


@pytest.fixture
def path(tmp_path: Path) -> Path:
    """Where the practice's file lies; made with one reviewer (and admin) and one phone in it."""
    path = tmp_path / "practice.sqlite3"
    db = open_database(path)
    people.add(db, "RD", "R. Dale", "vet", PASSWORD)
    people.add(db, "VS", "V. Stone", "sonographer", None)
    phones.add(db, "Test phone", TOKEN, "VS")
    db.close()
    return path


@pytest.fixture
def db(path: Path) -> Iterator[Database]:
    """A connection of the test's own."""
    db = open_database(path)
    yield db
    db.close()


@pytest.fixture
def app(path: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Flask:
    """The application over that file, as in production but for its settings' folder."""
    monkeypatch.setenv("GELSIDE_INSTANCE", str(tmp_path / "instance"))
    return create_app({"DATABASE": str(path)})


@pytest.fixture
def client(app: Flask) -> FlaskClient:
    """A browser or a phone that has not signed in."""
    return app.test_client()


@pytest.fixture
def sign_in(app: Flask) -> Callable[..., FlaskClient]:
    """Gives a browser in which a person has signed in, through the form as a person would."""

    def enter(person: str = "RD", password: str = PASSWORD) -> FlaskClient:
        browser = app.test_client()
        token = form_token(browser.get("/sign-in").text)
        answer = browser.post("/sign-in", data={"person": person, "password": password, "csrf_token": token})
        assert answer.status_code == 302, answer.text
        return browser

    return enter


def form_token(page: str) -> str:
    """The CSRF token in a page's form."""
    return page.split('name="csrf_token"', 1)[1].split('value="', 1)[1].split('"', 1)[0]
