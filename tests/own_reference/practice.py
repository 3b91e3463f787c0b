"""Healthy animals for tests: exams of one quantity each, marked by a reviewer, and the pages as a person uses them."""

import html
import itertools
import re
from typing import Any

from flask.testing import FlaskClient
from sqlite_utils import Database
from werkzeug.test import TestResponse

from tests.builders import Phone
from webapp.store import healthy, journal
from webapp.store.entries import Act, Place, entry_id, make

KIDNEY = "kidney.left.length"
CAT = {"species": "cat", "breed": "European Shorthair", "weight_kg": "4.4", "age_months": 60}
NUMBER = itertools.count(1)


def exam(
    *values: str, quantity: str = KIDNEY, patient: str | None = None, day: str = "2026-03-02", closed: bool = True,
    purpose: str | None = None, **facts: Any,
) -> Phone:  # fmt: skip
    """One phone's exam of an animal with these readings; every call makes a later exam, of another animal unless
    `patient` is given."""
    number = next(NUMBER)
    name = f"exam{number:05d}"
    phone = Phone(f"{number:032x}", "VS", name, patient or f"patient-{number}")
    body = {
        "about": "exam", "date": day, "visit": None, "patient": {"name": f"Animal {number}"} | CAT | facts,
        "question": {"text": "", "structures": []}, "context": {},
    }  # fmt: skip
    phone.act("opened", body | ({"purpose": purpose} if purpose else {}))
    for value in values:
        phone.read(quantity, value)
    if closed:
        phone.closed()
    return phone


def arrive(db: Database, *phones: Phone) -> None:
    """The phones send what they wrote."""
    for phone in phones:
        journal.append(db, phone.written, "phone")


def known_healthy(db: Database, *phones: Phone) -> None:
    """The exams arrive and a reviewer marks them."""
    arrive(db, *phones)
    for phone in phones:
        value = {"healthy": True, "known": "Well; blood and urine without findings."}
        healthy.say(db, f"{healthy.HEALTHY}{phone.exam}", value, "RD", "")


def merged(db: Database, gone: str, stays: str) -> None:
    """Two records are one animal."""
    device = Place("ee" * 16, 1, "0" * 64)
    sides = {name: {"id": one, "name": "Mia", "species": "cat"} for name, one in (("from", gone), ("into", stays))}
    body = {"about": "patient", "why": "one cat", **sides}
    envelope = make(Act("merged", body, "RD", "2026-11-24T10:00:00+01:00", patient=stays), device)
    assert entry_id(envelope)
    journal.append(db, [envelope], "desk")


class Desk:
    """A browser on the pages of the own reference; every form is sent with what its page held."""

    def __init__(self, browser: FlaskClient):
        self.browser = browser

    def page(self, address: str, code: int = 200) -> str:
        answer = self.browser.get(address)
        assert answer.status_code == code, answer.text
        return html.unescape(answer.text)

    def group(self, species: str = "cat", quantity: str = KIDNEY, weights: str = "") -> str:
        return self.page(self.address(species, quantity, weights))

    def address(self, species: str = "cat", quantity: str = KIDNEY, weights: str = "", what: str = "group") -> str:
        more = f"&weights={weights}" if weights else ""
        return f"/own-reference/{what}?species={species}&quantity={quantity}{more}"

    def send(self, page: str, address: str, **typed: str) -> TestResponse:
        """Post the hidden fields of the form of `page` that goes to `address`, with what was typed."""
        text = self.browser.get(page).text
        form = next(form for form in text.split("<form")[1:] if f'action="{html.escape(address)}"' in form)
        fields = {}
        for tag in re.findall(r"<input[^>]*>", form.split("</form>")[0]):
            name, value = (re.search(rf'\b{what}="([^"]*)"', tag) for what in ("name", "value"))
            if name and 'type="radio"' not in tag:
                fields[name[1]] = html.unescape(value[1]) if value else ""
        return self.browser.post(address, data=fields | typed)

    def mark(self, exam: str, known: str) -> TestResponse:
        where = f"/own-reference/exam/{exam}"
        return self.send(where, f"{where}/mark", known=known)

    def unmark(self, exam: str, why: str) -> TestResponse:
        where = f"/own-reference/exam/{exam}"
        return self.send(where, f"{where}/unmark", why=why)

    def leave_out(self, exam: str, why: str, seen: str = "", counted: str = "no") -> TestResponse:
        page = self.address()
        token = re.search(r'name="csrf_token" value="([^"]+)"', self.browser.get(page).text)
        assert token
        fields = {"csrf_token": token[1], "seen": seen, "exam": exam, "counted": counted, "why": why}
        return self.browser.post(self.address(what="value"), data=fields)
