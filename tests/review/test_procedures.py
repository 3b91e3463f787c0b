"""Needle procedures: target, consent, what was asked before, attempts, watch afterwards, or not done and why."""

from collections.abc import Callable
from typing import Any

import pytest
from flask.testing import FlaskClient
from sqlite_utils import Database

from tests.builders import EXAM, Phone, whole_exam
from tests.conftest import PASSWORD
from tests.review.desk import Vet
from webapp import rules
from webapp.report.procedures import procedures_of
from webapp.review import words
from webapp.store import exams, journal, people, reasons, reports

Enter = Callable[..., FlaskClient]
TAP = {
    "procedure": "fluid_tap", "part": "Free fluid", "done": "yes", "when": "24 Nov 2026 10:41", "attempts": "2",
    "consent_by": "the owner", "consent_how": "by word", "consent_when": "24 Nov 2026 10:30",
    "got": "4 ml, clear; sent for cells", "text": "From the right.",
}


@pytest.fixture
def phone(db: Database) -> Phone:
    phone = whole_exam()
    journal.append(db, phone.written, "phone")
    return phone


class Page(Vet):
    """The page of an exam's procedures."""

    def __init__(self, browser: FlaskClient):
        super().__init__(browser, page="/procedures")

    def keep(self, **typed: str) -> "Page":
        # What a browser sends of the lists in which nothing was chosen.
        lists = {name.replace("-check", "-answer"): "" for name in self.form if name.endswith("-check")}
        self.answer = self.browser.post(self.address, data=self.form | lists | {"consent_how": ""} | typed)
        return self


def recorded(db: Database) -> list[dict[str, Any]]:
    return procedures_of(exams.fold(db, EXAM).exam, rules.procedures(), words.label)


def test_a_tap_is_kept_with_all_that_was_said_of_it_and_stands_in_the_report(
    db: Database, phone: Phone, sign_in: Enter
) -> None:
    page = Page(sign_in())
    assert page.keep(**TAP, **{"checks-0-answer": "yes", "checks-1-answer": "not known"}).answer.status_code == 302
    (row,) = exams.fold(db, EXAM).exam["procedures"]
    assert (row["about"], row["procedure"], row["done"], row["attempts"]) == ("free_fluid", "fluid_tap", True, 2)
    assert row["consent"]["by"] == "the owner" and row["author"] == "RD"
    (told,) = recorded(db)
    assert told["title"] == "Fluid tap, Free fluid" and "clotting known" not in told["checks"]
    shown = " ".join(told["lines"])
    for said in ("2 attempts", "Consent: the owner, by word", "clotting known: not known", "Got: 4 ml, clear"):
        assert said in shown
    assert told["title"] in page.browser.get(f"/review/exam/{EXAM}").text
    (reason,) = [one for one in reasons.of(*exams.fold(db, EXAM)[:2]) if one["kind"] == "add_on"]
    assert reason["about"] == ["free_fluid"] and "add-on procedure" in page.browser.get("/review?reason=add_on").text
    Vet(page.browser).sign()
    plain = " ".join(str(reports.version(db, EXAM, 1)["plain"]).split())
    assert "Fluid tap, Free fluid: Done 24 November 2026, 10:41" in plain and "From the right." in plain


def test_what_nobody_answered_before_is_named_and_never_taken_for_yes(
    db: Database, phone: Phone, sign_in: Enter
) -> None:
    page = Page(sign_in()).keep(**TAP)
    assert recorded(db)[0]["checks"] == [row["label"] for row in rules.procedures()["checks"]]
    assert "Not recorded before: right animal, right place; clotting known" in page.look().page
    assert "Before:" not in " ".join(recorded(db)[0]["lines"])


def test_not_done_because_is_a_record_of_its_own(db: Database, phone: Phone, sign_in: Enter) -> None:
    page = Page(sign_in())
    asked = {"procedure": "needle_sample", "part": "LEFT adrenal", "done": "no", "number": "1"}
    assert "Say why it was not done." in page.keep(**asked).answer.text
    page.keep(**asked, why_not="no safe path")
    (told,) = recorded(db)
    assert (told["title"], told["done"]) == ("Needle sample, LEFT adrenal #1", False)
    assert told["lines"] == ["Not done, because: no safe path."]
    assert told["checks"] == []


@pytest.mark.parametrize(
    ("typed", "asked"),
    [
        ({"procedure": ""}, "Choose what it was."),
        ({"part": "somewhere"}, "No such part"),
        ({"part": ""}, "Write where"),
        ({"done": ""}, "Say whether it was done."),
        ({"attempts": "0"}, "between 1 and 99"),
        ({"when": "soon"}, "Write the time as 10:41"),
        ({"consent_when": "soon"}, "Write the time as 10:41"),
        ({"why_not": "no safe path"}, "It was done"),
    ],
)
def test_what_does_not_fit_is_said_and_what_was_typed_stays(
    db: Database, phone: Phone, sign_in: Enter, typed: dict[str, str], asked: str
) -> None:
    page = Page(sign_in()).keep(**TAP | typed)
    assert page.answer.status_code == 200 and asked in page.answer.text
    assert page.read(page.answer).form["got"] == TAP["got"]
    assert recorded(db) == []


def test_what_was_seen_afterwards_stands_with_its_procedure(db: Database, phone: Phone, sign_in: Enter) -> None:
    page = Page(sign_in()).keep(**TAP)
    (row,) = exams.fold(db, EXAM).exam["procedures"]
    address = f"{page.address}/watch"
    asked = {"of": row["id"], "when": "24 Nov 2026 11:10", "watched": "Quiet, gums pink"}
    assert "Write what was seen." in page.browser.post(address, data=page.form | asked | {"watched": ""}).text
    assert page.browser.post(address, data=page.form | asked).status_code == 302
    assert page.browser.post(address, data=page.form | asked | {"of": "f" * 64}).status_code == 404
    (told,) = recorded(db)
    assert len(told["watch"]) == 1 and told["watch"][0].endswith(": Quiet, gums pink.")
    assert "Quiet, gums pink" in page.look().page


def test_a_procedure_recorded_after_signing_arrived_late(db: Database, phone: Phone, sign_in: Enter) -> None:
    browser = sign_in()
    Vet(browser).sign()
    Page(browser).keep(**TAP)
    assert next(db.query("select state from exams"))["state"] == exams.SIGNED_LATER
    assert "procedure at Free fluid: fluid tap" in browser.get(f"/review/exam/{EXAM}").text
    assert "Fluid tap" not in str(reports.version(db, EXAM, 1)["plain"])


def test_one_taken_back_stays_readable_and_leaves_the_report(db: Database, phone: Phone, sign_in: Enter) -> None:
    page = Page(sign_in()).keep(**TAP)
    (row,) = exams.fold(db, EXAM).exam["procedures"]
    page.browser.post(f"/review/exam/{EXAM}/taken-back/{row['id']}", data=page.form | {"why": "other dog"})
    assert recorded(db) == []
    assert "other dog" in page.look().page


def test_who_only_reads_records_none(db: Database, phone: Phone, sign_in: Enter) -> None:
    people.add(db, "LL", "L. Lane", "reader", PASSWORD)
    assert sign_in("LL").get(f"/review/exam/{EXAM}/procedures").status_code == 403


def test_an_exam_from_before_there_were_procedures_has_none() -> None:
    assert procedures_of({}, rules.procedures(), words.label) == []
