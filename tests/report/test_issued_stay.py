"""What was issued stays as it was handed out, whatever becomes of the code that makes reports."""

import hashlib
from collections.abc import Callable
from typing import Any

import pytest
from flask.testing import FlaskClient
from sqlite_utils import Database

from tests.builders import EXAM, whole_exam
from tests.review.desk import Vet
from webapp.report import content, issue, owner, page, pdf, text, wording
from webapp.report.fonts import FOLDER
from webapp.store import journal, reports

# The styles that issued pages name. A page already handed out names its own for ever, so another look is another file
# and another line here; a line is never changed.
STYLES = {
    "report.css": "192524d9df7d8db309c62e0b54853915b70e6797cf1b2d32907a7de89d73f10e",
    "report-2.css": "9454061cd3747c3d581a3557b8f7a1379b5ef707f2db2c95e5e7102c8150cf1d",
    "owner-1.css": "f06bb094559488ebd8df0b601a5ca61a31114007289ca134438fd1b6e296d044",
}


@pytest.fixture
def browser(db: Database, sign_in: Callable[..., FlaskClient]) -> FlaskClient:
    """A vet's browser in which version 1 of an exam was signed."""
    journal.append(db, whole_exam().written, "phone")
    browser = sign_in()
    Vet(browser).sign()
    return browser


def handed_out(browser: FlaskClient) -> list[bytes]:
    return [browser.get(f"/report/{EXAM}/1{ending}").data for ending in ("", ".pdf", ".txt")]


def change_the_code(monkeypatch: pytest.MonkeyPatch) -> None:
    """Everything that makes a report now makes another one."""
    other: Any = {"html": "<p>another page</p>", "pdf": b"%PDF-another", "text": "another text"}
    monkeypatch.setattr(issue, "build", lambda *_, **__: other)
    monkeypatch.setattr(content, "report", lambda *_: {})
    monkeypatch.setattr(page, "page", lambda *_: other["html"])
    monkeypatch.setattr(pdf, "pdf", lambda *_: other["pdf"])
    monkeypatch.setattr(text, "text", lambda *_: other["text"])
    monkeypatch.setattr(wording, "CAUTIONS", ("Another caution.",))


def test_changed_report_code_changes_no_issued_byte(
    db: Database, browser: FlaskClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    before, kept = handed_out(browser), reports.version(db, EXAM, 1)
    change_the_code(monkeypatch)
    assert handed_out(browser) == before
    assert reports.version(db, EXAM, 1) == kept
    assert reports.damaged(db) == []


def test_a_further_version_made_by_changed_code_leaves_the_first_as_it_was(
    db: Database, browser: FlaskClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    before = handed_out(browser)
    change_the_code(monkeypatch)
    vet = Vet(browser)
    vet.fill(status="appended", reason="The question came later.", text="One more sentence.")
    assert vet.post("addend").status_code == 302
    assert browser.get(f"/report/{EXAM}/2.pdf").data == b"%PDF-another"  # the changed code was really used
    assert handed_out(browser) == before
    assert reports.damaged(db) == []


@pytest.mark.parametrize("name", STYLES)
def test_a_style_that_issued_pages_name_stays_to_the_byte(name: str) -> None:
    style = FOLDER.parent / "static" / name
    assert hashlib.sha256(style.read_bytes()).hexdigest() == STYLES[name]


def test_new_pages_name_a_style_that_stays() -> None:
    for address in (page.STYLE_URL, owner.STYLE_URL):
        assert address.removeprefix("/report-static/") in STYLES
