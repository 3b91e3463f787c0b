"""Odd days, numbers and names in an address, in every place of every page: answered kindly, never with a fault (5xx).

Which words of a query a page reads is not listed here: the pages are watched while they read.
"""

import hashlib
import re
from collections.abc import Callable, Iterator
from typing import Any, NamedTuple
from urllib.parse import quote

import pytest
from flask import Flask, Request
from flask.testing import FlaskClient
from sqlite_utils import Database
from werkzeug.datastructures import ImmutableMultiDict
from werkzeug.routing import Rule

from tests.animals.desk import animal
from tests.builders import EXAM, Phone
from tests.conftest import PASSWORD, form_token
from tests.exchange.signed import signed
from tests.exchange.test_pages import TWO, send
from tests.visits.test_days import DAY, planned
from webapp import create_app
from webapp.photos import files, register
from webapp.store import exams, journal, people
from webapp.store.db import open_database

Enter = Callable[..., FlaskClient]
PICTURE = b"\x89PNG\r\n\x1a\n" + bytes(40)
PHOTO = hashlib.sha256(PICTURE).hexdigest()
BEYOND_STORE = str(2**63)  # one more than SQLite's largest whole number
ODD = {
    "the last day": "9999-12-31",
    "the first day": "0001-01-01",
    "a day after the last": "10000-01-01",
    "a day before the first": "0000-00-00",
    "no such day": "2026-02-30",
    "half a day": "2026-11",
    "a moment": "2026-11-24T25:61:00+99:00",
    "below zero": "-1",
    "zero": "0",
    "nine digits": "999999999",
    "too large for the store": BEYOND_STORE,
    "more digits than Python reads": "9" * 5000,
    "no whole number": "1e309",
    "not a number": "NaN",
    "digits of another script": "\u0663\u0662",
    "superscript digits": "\u00b2\u00b3",
    "a zero character": "a\x00b",
    "nothing": "",
    "blanks": " \t\n ",
    "a quotation": "\"'; drop table exams; --",
    "a pattern": "%_*?[a-",
    "a path": "..\\..%2f..%2fetc",
    "a template": "{{7*7}}${7*7}",
    "a word longer than any name": "a" * 3000,
    "letters beyond the first plane": "\U0001f415\u202e\ufeff",
}


class Watched(ImmutableMultiDict[str, str]):
    """The query of a request; remembers what was asked of it."""

    asked: set[str] = set()

    def get(self, key: str, *given: Any, **more: Any) -> Any:
        self.asked.add(key)
        return super().get(key, *given, **more)

    def getlist(self, key: str, *given: Any, **more: Any) -> Any:
        self.asked.add(key)
        return super().getlist(key, *given, **more)

    def __getitem__(self, key: str) -> str:
        self.asked.add(key)
        return super().__getitem__(key)

    def __contains__(self, key: object) -> bool:
        self.asked.add(str(key))
        return super().__contains__(key)


class WatchedRequest(Request):
    """A request whose query remembers what a page read of it."""

    parameter_storage_class = Watched  # type: ignore[assignment]


class Place(NamedTuple):
    """A practice with something behind every address: who may open all, and what the places of addresses hold."""

    app: Flask
    browser: FlaskClient
    filled: dict[str, Any]
    read: dict[str, list[str]]  # {address: words of its query that its page read}


@pytest.fixture(scope="module")
def place(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Place]:
    """Made once: nothing here changes it."""
    folder = tmp_path_factory.mktemp("addresses")
    with pytest.MonkeyPatch.context() as patched:
        patched.setenv("GELSIDE_INSTANCE", str(folder / "instance"))
        db = open_database(folder / "practice.sqlite3")
        people.add(db, "RD", "R. Dale", "vet", PASSWORD)
        app = create_app({"DATABASE": str(folder / "practice.sqlite3")})
        app.request_class = WatchedRequest
        browser = app.test_client()
        token = form_token(browser.get("/sign-in").text)
        told = {"person": "RD", "password": PASSWORD, "csrf_token": token}
        assert browser.post("/sign-in", data=told).status_code == 302
        made = Place(app, browser, _filled(app, db, browser), {})
        for rule in pages(app):
            Watched.asked.clear()
            where = address(rule, made.filled, {})
            assert opened(browser, where, {}) < 500, where
            made.read[rule.rule] = sorted(Watched.asked)
        yield made
        db.close()


def _filled(app: Flask, db: Database, browser: FlaskClient) -> dict[str, Any]:
    second = _second_exam()
    journal.append(db, second.written, "phone")
    signed(db, browser)
    patient = animal(browser, "Otto")
    folder = files.folder_of(app.config["DATABASE"])
    files.take_whole(folder, PHOTO, PICTURE)
    register.note(db, folder, PHOTO, "phone")
    return {
        "exam": EXAM, "patient": patient, "visit": planned(browser, patient), "version": 1, "number": 1,
        "person": "RD", "name": PHOTO, "form": "html", "table": "not_seen", "day": DAY,
        "job": send(browser, TWO).rsplit("/", 1)[1], "entry": exams.fold(db, EXAM).exam["readings"][0]["id"],
        "filename": "desk.css", "pairing": "0" * 32, "other": patient,
    }


def _second_exam() -> Phone:
    phone = Phone("c3" * 16, exam="01999999-0000-7000-8000-000000000002")
    phone.opened()
    phone.closed()
    return phone


def pages(app: Flask) -> Iterator[Rule]:
    """Every address that can be opened."""
    for rule in app.url_map.iter_rules():
        if "GET" in (rule.methods or set()):
            yield rule


def address(rule: Rule, filled: dict[str, Any], odd: dict[str, str]) -> str:
    """The address as a person could type it: what does not fit the place is typed all the same."""
    values = {name: filled[name] for name in rule.arguments} | odd
    return re.sub(r"<(?:[^<>]*:)?(\w+)>", lambda found: quote(str(values[found[1]]), safe=""), rule.rule)


def opened(browser: FlaskClient, where: str, query: dict[str, str]) -> int:
    """The answer's status; a file is read to its end, for its lines are made as they go."""
    answer = browser.get(where, query_string=query, buffered=True)
    assert answer.data is not None
    return answer.status_code


@pytest.mark.parametrize("what", ODD)
def test_nothing_odd_in_an_address_is_a_fault(place: Place, what: str) -> None:
    odd, faults = ODD[what], []
    for rule in pages(place.app):
        cases = [(address(rule, place.filled, {}), {name: odd}) for name in place.read[rule.rule]]
        cases += [(address(rule, place.filled, {name: odd}), {}) for name in rule.arguments if name != "filename"]
        for where, query in cases:
            status = opened(place.browser, where, query)
            if status >= 500:
                faults.append(f"{status} {rule.rule} {query or where}"[:200])
    assert faults == []


def test_the_watch_over_what_pages_read_is_not_blind(place: Place) -> None:
    read = {(rule, name) for rule, names in place.read.items() for name in names}
    for one in (("/visits", "day"), ("/board", "day"), ("/review", "page"), ("/audit", "before"), ("/review", "since"),
                ("/learning", "last"), ("/exchange/readings.csv", "day"), ("/animals", "q")):
        assert one in read
    assert len(read) > 40


@pytest.mark.parametrize("where, day, shown", [
    ("/visits", "9999-12-31", "31 Dec 9999"), ("/visits", "0001-01-01", "1 Jan 0001"),
    ("/board", "9999-12-31", "31 Dec 9999"), ("/board", "0001-01-01", "1 Jan 0001"),
])
def test_the_calendars_first_and_last_day_lead_no_further(
    sign_in: Enter, where: str, day: str, shown: str
) -> None:
    page = sign_in().get(f"{where}?day={day}")
    assert page.status_code == 200 and shown in page.text
    assert ("day after" in page.text) == day.startswith("0001")
    assert ("day before" in page.text) == day.startswith("9999")
