"""Markup typed or sent into every text field comes out as the same text everywhere: pages, report, PDF, plain text.

OWASP ASVS 5.0, 1.2.1, 1.3.7 (templates), 3.2.2. The browser's part is e2e/test_markup.py.
"""

import io
import re
from collections.abc import Callable
from typing import Any

import pytest
from flask import Flask
from flask.testing import FlaskClient
from pypdf import PdfReader
from sqlite_utils import Database

from tests.attacks.markup import EVERYTHING, MARKS, TEXTS, Look
from tests.builders import EXAM, PATIENT, Phone, foreign
from tests.conftest import BEARER
from tests.review.desk import Vet
from webapp.review import preliminary
from webapp.store import desk, journal, meta, overlays, people, phones
from webapp.store.entries import Act

pytestmark = pytest.mark.catalogue(69)
HASH = re.compile(r"[0-9a-f]{64}")


@pytest.fixture
def sent(db: Database) -> Phone:
    """An exam, an animal, a plan and people in which every text is markup."""
    phone = Phone()
    phone.opened(name=EVERYTHING, breed=EVERYTHING, sex="female", question_text=EVERYTHING)
    phone.act("set", {"about": "question.text", "value": EVERYTHING})
    phone.act("set", {"about": "patient.name", "value": EVERYTHING})
    phone.read("adrenal.left.caudal_pole_thickness", "6.4", typed=EVERYTHING[:60])
    phone.seen("adrenal.right.cranial_pole", "not_seen", [EVERYTHING])
    phone.act("noted", {"about": "spleen", "text": EVERYTHING})
    phone.act("noted", {"about": "exam", "text": EVERYTHING})
    phone.act("found", {"about": "spleen", "finding": "nodule", "number": 1, "text": EVERYTHING})
    struck = phone.act("noted", {"about": "liver", "text": EVERYTHING})
    phone.act("struck", {"why": EVERYTHING}, of=[struck])
    phone.act("attached", {"about": "exam", "hash": "ab" * 32, "type": "image/png", "text": EVERYTHING})
    phone.closed()
    unread = foreign(phone.written[-1], kind="<img src=x onerror=hit>", author=EVERYTHING[:40])
    journal.append(db, [*phone.written, unread], "phone")
    snapshot = {"id": PATIENT, "name": EVERYTHING, "species": "dog", "breed": EVERYTHING}
    body = {"date": "2026-11-24", "time": "10:00", "order": 1, "patient": snapshot, "context": {}}
    texts = dict.fromkeys(("history", "medication", "place"), EVERYTHING)
    question = {"text": EVERYTHING, "structures": []}
    plan = Act("planned", body | texts | {"question": question}, "RD", "2026-11-24T08:00:00+01:00", patient=PATIENT)
    desk.record(db, [plan])
    meta.put(db, "practice", EVERYTHING)
    people.add(db, "<b>KM", EVERYTHING[:80], "reader", None)
    phones.rename(db, db.execute("select id from phones").fetchone()[0], EVERYTHING[:60], "<b>KM")
    return phone


def ids(db: Database) -> dict[str, Any]:
    """What the places of addresses are filled with."""
    return {"exam": EXAM, "patient": PATIENT, "person": "<b>KM", "version": 1, "filename": "x", "name": "ab" * 32,
            "number": 1, "form": "html"}


def pages(app: Flask, browser: FlaskClient, db: Database) -> dict[str, str]:
    """Every page that opens, by its address, with markup in the query where one is read."""
    seen = {}
    for rule in app.url_map.iter_rules():
        if "GET" not in (rule.methods or set()) or rule.rule.startswith(("/api", "/build", "/sw.js")):
            continue
        values = {name: ids(db).get(name, EVERYTHING) for name in rule.arguments}
        built = rule.build(values, append_unknown=False)
        assert built is not None
        where = f"{built[1]}?text={MARKS[0]}&who=%22%3E%3Cimg%20src%3Dx%3E&about=%3Cscript%3E&next=/%3Cb%3E&q=%3Cb%3E"
        answer = browser.get(where, buffered=True)
        if answer.mimetype == "text/html":
            seen[rule.rule] = answer.text
    return seen


def test_no_page_of_the_desk_takes_a_text_for_markup(
    app: Flask, db: Database, sent: Phone, sign_in: Callable[..., FlaskClient]
) -> None:
    browser = sign_in()
    preliminary.issue(db, EXAM, {"id": "RD", "name": EVERYTHING})
    seen = pages(app, browser, db)
    assert len(seen) > 15
    assert "/report/<exam>/preliminary-<int:number>.<any(html, pdf, txt):form>" in seen
    for where, page in seen.items():
        assert Look(page).found == [], where
    for mark in MARKS:
        assert mark in Look(seen["/review/exam/<exam>"]).text
        assert mark in Look(seen["/review"]).text


def test_what_a_vet_writes_stays_text_in_page_report_pdf_and_plain(
    app: Flask, db: Database, sent: Phone, sign_in: Callable[..., FlaskClient]
) -> None:
    vet = Vet(sign_in())
    vet.ready().fill(impression=EVERYTHING, recommendations__0__text=EVERYTHING)
    vet.fill(recommendations__0__who=EVERYTHING[:60])
    answer = vet.post("sign")
    assert answer.status_code == 302, re.sub(r"<[^>]+>", " ", answer.text)
    page = vet.browser.get(f"{vet.address}").text
    assert Look(page).found == []
    shown = vet.browser.get(f"/report/{EXAM}/1").text
    assert Look(shown).found == []
    plain = vet.browser.get(f"/report/{EXAM}/1.txt").text
    pdf = PdfReader(io.BytesIO(vet.browser.get(f"/report/{EXAM}/1.pdf").data))
    printed = re.sub(r"\s|\u00ad|\u200b", "", "".join(one.extract_text() for one in pdf.pages))
    for mark in MARKS:
        assert mark in Look(shown).text
        assert mark in plain
        assert mark in printed
    assert '#read("/etc/passwd")' in printed
    assert "root:" not in printed
    assert "{{7*7}}" in printed
    assert not any("/A" in note.get_object() for one in pdf.pages for note in one.get("/Annots", []) or [])


def test_a_practices_own_limits_stay_text_and_no_formula(db: Database, sign_in: Callable[..., FlaskClient]) -> None:
    from tests.register.desk import Desk

    limits = Desk(sign_in())
    answer = limits.own(source=EVERYTHING[:300], population=EVERYTHING[:200], note=f"=HYPERLINK(1) {EVERYTHING}")
    assert answer.status_code == 302, answer.text
    assert overlays.newest(db) is not None
    for where in ("/limits/own", "/limits", "/limits/history", "/limits/sets"):
        page = limits.browser.get(where).text
        assert Look(page).found == [], where
    cells = limits.browser.get("/limits/register.csv").text
    assert ",=" not in cells
    assert ',"=' not in cells


def test_what_a_phone_is_told_is_json_and_never_html(client: FlaskClient, sent: Phone) -> None:
    for where in ("/api/practice", "/api/journal", "/api/<script>", "/api/photo/<script>alert(1)</script>"):
        answer = client.get(where, headers=BEARER)
        assert answer.mimetype == "application/json"
        assert answer.headers["X-Content-Type-Options"] == "nosniff"


@pytest.mark.parametrize("where", ["/<script>alert(1)</script>", "/review/exam/%22%3E%3Cimg%20src=x%20onerror=1%3E"])
def test_an_address_is_not_given_back_as_markup(sign_in: Callable[..., FlaskClient], where: str) -> None:
    answer = sign_in().get(where)
    assert answer.status_code == 404
    assert Look(answer.text).found == []


def test_the_look_itself_finds_what_would_run() -> None:
    found = [one for text in TEXTS for one in Look(f'<p title="{text}">{text}</p>').found]
    for one in ("script", "img", "img onerror", "svg onload", "iframe srcdoc", "a href=javascript:hit", "style"):
        assert one in found, one
    assert Look('<a href="//evil.example">x</a>').found == ["a href=//evil.example"]
