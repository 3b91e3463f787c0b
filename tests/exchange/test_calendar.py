"""Re-checks as iCalendar, read back by the library icalendar; lines and letters by RFC 5545."""

from collections.abc import Callable
from datetime import UTC, date, datetime
from typing import Any

import icalendar
import pytest
from flask.testing import FlaskClient
from hypothesis import given
from hypothesis import strategies as st
from sqlite_utils import Database

from tests.builders import EXAM, PATIENT
from tests.exchange.signed import added, signed
from webapp.exchange import calendar
from webapp.store import reports

Enter = Callable[..., FlaskClient]
WORDS = st.text(st.characters(exclude_categories=["Cs"]), max_size=120)


def events(text: str) -> list[icalendar.Event]:
    assert text.startswith("BEGIN:VCALENDAR\r\nVERSION:2.0\r\n") and text.endswith("END:VCALENDAR\r\n")
    assert all(len(line.encode()) <= 75 for line in text.split("\r\n"))
    assert "\n" not in text.replace("\r\n", "") and "\r" not in text.replace("\r\n", "")
    found = icalendar.Calendar.from_ical(text)
    assert found["prodid"] and found["version"] == "2.0" and found.errors == []
    return [one for one in found.walk("VEVENT") if not one.errors]


def row(**changed: Any) -> dict[str, Any]:
    made = {"exam": EXAM, "number": 1, "version": 1, "name": "Pepper", "text": "Measure again", "part_label": None,
            "plane": None, "due": "2027-02-24", "who": None, "issued_at": "2026-11-24T18:32:05+01:00",
            "signer_name": "R. Dale"}
    return made | changed


def test_a_signed_recommendation_with_a_day_is_an_event_that_tells_no_more_than_the_name(
    db: Database, sign_in: Enter
) -> None:
    browser = sign_in()
    page = signed(db, browser).look().page
    assert f'href="/exchange/rechecks.ics?exam={EXAM}"' in page
    answer = browser.get(f"/exchange/rechecks.ics?exam={EXAM}")
    assert answer.mimetype == "text/calendar"
    (event,) = events(answer.text)
    assert (event["summary"], event.start, event.end) == ("Re-check: Pepper", date(2027, 2, 24), date(2027, 2, 25))
    issued = reports.versions(db, EXAM)[0]["issued_at"]
    assert event["dtstamp"].dt == datetime.fromisoformat(issued).astimezone(UTC)
    assert "description" not in event and "Measure again" not in answer.text and event["class"] == "PRIVATE"


def test_details_go_out_only_where_they_are_asked_for(db: Database, sign_in: Enter) -> None:
    browser = sign_in()
    signed(db, browser)
    (event,) = events(browser.get("/exchange/rechecks.ics?details=yes").text)
    assert event["description"].split("\n") == [
        "Measure again", "LEFT kidney, long axis", "By: R. Dale", "Recommended by R. Dale, report version 1"]


def test_a_later_version_changes_the_same_event(db: Database, sign_in: Enter) -> None:
    browser = sign_in()
    vet = signed(db, browser)
    (one,) = events(browser.get("/exchange/rechecks.ics").text)
    added(vet, "appended", "for the owner", "No change.")
    (two,) = events(browser.get("/exchange/rechecks.ics").text)
    assert one["uid"] == two["uid"] and (one["sequence"], two["sequence"]) == (0, 1)


def test_what_an_addendum_drops_takes_its_event_back(db: Database, sign_in: Enter) -> None:
    browser = sign_in()
    vet = signed(db, browser)
    (one,) = events(browser.get("/exchange/rechecks.ics").text)
    assert "status" not in one and events(browser.get("/exchange/rechecks.ics?ended=only").text) == []
    vet.look().fill(**{"fates-0-state": "dropped", "fates-0-why": "Dog died", "recommendations-0-text": "Ring them",
                       "recommendations-0-due": "2027-01-05", "status": "corrected", "reason": "news", "text": "See."})
    assert vet.post("addend").status_code == 302
    dropped, new = events(browser.get("/exchange/rechecks.ics").text)
    assert (dropped["uid"], dropped["status"], dropped["sequence"]) == (one["uid"], "CANCELLED", 1)
    assert "status" not in new and new["uid"] != one["uid"]
    answer = browser.get(f"/exchange/rechecks.ics?exam={EXAM}&ended=only")
    assert icalendar.Calendar.from_ical(answer.text)["method"] == "CANCEL" and "Dog died" not in answer.text
    (alone,) = events(answer.text)
    assert (alone["uid"], alone["status"], alone.start) == (one["uid"], "CANCELLED", one.start)
    assert "ended=only" in vet.look().page


def test_a_day_an_animal_and_an_unsigned_exam(db: Database, sign_in: Enter) -> None:
    browser = sign_in()
    assert events(browser.get("/exchange/rechecks.ics").text) == []
    signed(db, browser)
    for query, count in (("?first=2027-02-24&last=2027-02-24", 1), ("?first=2027-02-25", 0), ("?last=2027-02-23", 0),
                         (f"?animal={PATIENT}", 1), ("?animal=other", 0), ("?exam=other", 0)):
        assert len(events(browser.get(f"/exchange/rechecks.ics{query}").text)) == count, query
    assert "/exchange/rechecks.ics" in browser.get("/exchange").text


@given(name=WORDS, told=WORDS)
def test_any_words_come_back_as_they_were(name: str, told: str) -> None:
    (event,) = events(calendar.written([row(name=f"x{name}", text=f"x{told}")], details=True))
    plain = dict.fromkeys(map(chr, [*range(9), 11, 12, *range(14, 32), 127]), "\ufffd")

    def kept(words: str) -> str:
        return "".join(plain.get(one, one) for one in words.replace("\r\n", "\n").replace("\r", "\n"))

    assert str(event["summary"]) == f"Re-check: x{kept(name)}"
    assert str(event["description"]).startswith(f"x{kept(told)}")


@pytest.mark.parametrize("letters", ["a" * 200, "ü" * 100, "犬" * 90, "🐕" * 60])
def test_a_long_line_is_cut_between_characters(letters: str) -> None:
    text = calendar.folded(f"SUMMARY:{letters}")
    assert all(len(line.encode()) <= 75 for line in text.split("\r\n"))
    assert text.replace("\r\n ", "") == f"SUMMARY:{letters}\r\n"
