"""Urgent findings are told before anything is signed; who was told, and who has an older report, is recorded."""

import json
from collections.abc import Callable
from datetime import datetime

import pytest
from flask.testing import FlaskClient
from sqlite_utils import Database

from tests.builders import EXAM, Phone, whole_exam
from tests.conftest import PASSWORD
from tests.review.desk import Vet
from webapp.review import moments
from webapp.store import chain, exams, journal, people, preliminaries, reports, told

Enter = Callable[..., FlaskClient]
ADDRESS = f"/review/exam/{EXAM}/told"


@pytest.fixture
def phone(db: Database) -> Phone:
    """A phone whose exam, with something to tell someone, has arrived."""
    phone = whole_exam()
    phone.act("found", {"about": "vena_cava", "finding": "material"})
    journal.append(db, phone.written, "phone")
    return phone


class Telling(Vet):
    """The page of who was told."""

    def __init__(self, browser: FlaskClient):
        super().__init__(browser, page="/told")

    def tell(self, **typed: str) -> "Telling":
        """Fill in what every hand-over asks for, and `typed`; the flags as the page ticked them."""
        boxes = [box for box in self.page.split("<input") if 'name="flags"' in box and " checked" in box]
        ticked = [box.split('value="', 1)[1].split('"', 1)[0] for box in boxes]
        self.form.pop("flags", None)
        asked = {"handed": "", "to": "M. Hale", "how": "by phone", "when": "24 Nov 2026 10:41", "read_back": "yes"}
        self.answer = self.browser.post(self.address, data=self.form | {"flags": ticked} | asked | typed)
        return self


def kinds(db: Database) -> dict[str, int]:
    row = next(db.query("select reasons from exams where exam = ?", [EXAM]))
    return {reason["kind"]: reason["count"] for reason in json.loads(row["reasons"])}


def test_what_someone_is_to_be_told_stays_a_reason_until_a_hand_over_is_recorded(
    db: Database, phone: Phone, sign_in: Enter
) -> None:
    browser = sign_in()
    assert kinds(db)["tell_someone"] == 1 and told.told(db, EXAM) == []
    assert "Nobody is recorded as told" in browser.get(f"/review/exam/{EXAM}").text
    assert Telling(browser).tell().answer.status_code == 302
    (row,) = told.told(db, EXAM)
    assert (row["to"], row["how"], row["read_back"], row["author"]) == ("M. Hale", "by phone", True, "RD")
    assert row["when"].startswith("2026-11-24T10:41")
    assert "tell_someone" not in kinds(db) and kinds(db)["told"] == 1
    page = browser.get(f"/review/exam/{EXAM}").text
    assert "M. Hale, by phone, 24 Nov 2026 10:41, read back" in page
    assert "Nobody is recorded as told" not in page
    assert "someone was told" in browser.get("/review").text


def test_a_finding_that_came_after_the_hand_over_asks_again(db: Database, phone: Phone, sign_in: Enter) -> None:
    telling = Telling(sign_in())
    phone.act("found", {"about": "vena_cava", "finding": "material", "text": "longer now"})
    journal.append(db, phone.written[-1:], "phone")
    telling.tell()
    assert kinds(db)["tell_someone"] >= 1, "the page that was answered did not show it"


def test_a_hand_over_taken_back_asks_again_and_stays_readable(db: Database, phone: Phone, sign_in: Enter) -> None:
    telling = Telling(sign_in()).tell()
    (row,) = told.told(db, EXAM)
    address = f"/review/exam/{EXAM}/taken-back/{row['id']}"
    assert "say why" in telling.browser.post(address, data=telling.form, follow_redirects=True).text
    assert told.told(db, EXAM), "not without a reason"
    telling.browser.post(address, data=telling.form | {"why": "another dog's vet"})
    assert told.told(db, EXAM) == [] and kinds(db)["tell_someone"] == 1
    assert "taken back: another dog&#39;s vet" in telling.look().page


@pytest.mark.parametrize(
    ("typed", "asked"),
    [
        ({"to": ""}, "Write who."),
        ({"when": "soon"}, "Write the time as 10:41"),
        ({"when": "1 Jan 2099 10:00"}, "is still to come"),
        ({"read_back": ""}, "Say whether they read it back"),
    ],
)
def test_what_is_missing_is_asked_for_and_what_was_typed_stays(
    db: Database, phone: Phone, sign_in: Enter, typed: dict[str, str], asked: str
) -> None:
    telling = Telling(sign_in()).tell(text="Said: lump in the vein.", **typed)
    assert telling.answer.status_code == 200 and asked in telling.answer.text
    assert "Said: lump in the vein." in telling.read(telling.answer).form["text"]
    assert told.told(db, EXAM) == []


def test_a_hand_over_signs_nothing_and_is_never_late(db: Database, phone: Phone, sign_in: Enter) -> None:
    browser = sign_in()
    Telling(browser).tell()
    assert reports.versions(db, EXAM) == []
    Vet(browser).sign()
    plain = browser.get(f"/report/{EXAM}/1.txt").text
    assert "Told: M. Hale, by phone, 24 November 2026, 10:41" in plain.replace("\n", " ")
    Telling(browser).tell(handed="version-1")
    assert reports.arrived_after(db, EXAM) == [] and exams.fold(db, EXAM).exam["late"] == []
    assert next(db.query("select state from exams"))["state"] == exams.SIGNED


def test_a_preliminary_report_is_no_signature_and_is_kept_to_the_byte(
    db: Database, phone: Phone, sign_in: Enter
) -> None:
    browser = sign_in()
    telling = Telling(browser)
    answer = browser.post(f"/review/exam/{EXAM}/preliminary", data=telling.form)
    assert answer.status_code == 302 and reports.versions(db, EXAM) == []
    assert next(db.query("select state from exams"))["state"] == exams.TO_REVIEW
    row = preliminaries.one(db, EXAM, 1)
    assert row is not None and "PRELIMINARY" in row["plain"] and "Nobody yet" in row["plain"]
    assert browser.get(f"/report/{EXAM}/preliminary-1.pdf").data == row["pdf"]
    assert browser.get(f"/report/{EXAM}/preliminary-1.html").data == row["html"].encode()
    assert browser.get(f"/report/{EXAM}/preliminary-2.html").status_code == 404
    Vet(browser).sign()
    assert preliminaries.one(db, EXAM, 1) == row
    again = browser.post(f"/review/exam/{EXAM}/preliminary", data=telling.form, follow_redirects=True)
    assert "This exam is signed" in again.text and len(preliminaries.of(db, EXAM)) == 1
    db.execute("drop trigger preliminary_reports_are_never_changed")
    db.execute("update preliminary_reports set plain = 'x', html = 'x'")
    assert [fault.text for fault in chain.verify(db)] == [
        f"preliminary report 1 of {EXAM}: html_hash changed by hand"]


def test_whoever_has_an_older_report_is_named_until_told(db: Database, phone: Phone, sign_in: Enter) -> None:
    browser = sign_in()
    browser.post(f"/review/exam/{EXAM}/preliminary", data=Telling(browser).form)
    Telling(browser).tell(handed="preliminary-1")
    Telling(browser).tell(handed="preliminary-1", to="The owner", how="on paper")
    assert told.behind(db, EXAM) == [], "nothing newer was signed"
    Vet(browser).sign()
    assert [(row["to"], row["number"]) for row in told.behind(db, EXAM)] == [("M. Hale", 1), ("The owner", 1)]
    Telling(browser).tell(handed="version-1", to=" m.  hale", how="by e-mail")
    assert [row["to"] for row in told.behind(db, EXAM)] == ["The owner"]
    vet = Vet(browser).fill(status="corrected", reason="Side", text="RIGHT.")
    assert vet.post("addend").status_code == 302
    assert [(row["to"], row["version"]) for row in told.behind(db, EXAM)] == [("m.  hale", 1), ("The owner", None)]
    page = vet.look().page
    assert "has the older version 1" in page and "has the older preliminary report 1" in page


def test_what_was_handed_over_is_named_by_its_hash(db: Database, phone: Phone, sign_in: Enter) -> None:
    browser = sign_in()
    Vet(browser).sign()
    Telling(browser).tell(handed="version-1")
    (row,) = told.handed_over(db, EXAM)
    assert row["pdf_hash"] == reports.versions(db, EXAM)[0]["pdf_hash"]
    with pytest.raises(LookupError):
        told.record(db, EXAM, told.Telling("report", "M. Hale", "by phone", "2026-11-24T10:41+01:00", version=7), "RD")


def test_an_assistant_records_who_was_told_but_makes_no_report(db: Database, phone: Phone, sign_in: Enter) -> None:
    people.add(db, "AA", "A. Ash", "assistant", PASSWORD)
    people.add(db, "LL", "L. Lane", "reader", PASSWORD)
    telling = Telling(sign_in("AA")).tell()
    assert told.told(db, EXAM)[0]["author"] == "AA"
    assert telling.browser.post(f"/review/exam/{EXAM}/preliminary", data=telling.form).status_code == 403
    assert sign_in("LL").get(ADDRESS).status_code == 403


@pytest.mark.parametrize(
    ("text", "meant"),
    [("10:41", "2026-11-24T10:41+01:00"), ("23 Nov 2026 22:05", "2026-11-23T22:05+01:00"),
     ("23.11.2026, 22:05", "2026-11-23T22:05+01:00"), ("2026-11-23 9:05", "2026-11-23T09:05+01:00")],
)
def test_a_moment_as_people_type_it(text: str, meant: str) -> None:
    assert moments.typed(text, datetime.fromisoformat("2026-11-24T11:00:30+01:00")) == meant


@pytest.mark.parametrize("text", ["", "10", "24 Nov 2026", "tomorrow 10:00", "11:01", "25:00"])
def test_what_is_no_moment_or_still_to_come_is_refused(text: str) -> None:
    with pytest.raises(ValueError):
        moments.typed(text, datetime.fromisoformat("2026-11-24T11:00:30+01:00"))
