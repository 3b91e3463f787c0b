"""The page of a day tells which re-checks are due, which are planned, and plans one with what the report recommends."""

import re
from collections.abc import Callable
from typing import Any

import pytest
from flask.testing import FlaskClient
from sqlite_utils import Database

from tests.animals.desk import Page, animal
from tests.builders import EXAM, PATIENT, Phone, whole_exam
from tests.store.test_recommendations import examined_again, read, seen, sign
from webapp.store import journal, recommendations
from webapp.visits import plan, rechecks

Enter = Callable[..., FlaskClient]
GLAND = {"text": "Scan the <gland> again", "due": "2027-02-24", "who": "V. Stone", "part": "adrenal.left.cranial_pole",
         "plane": "long_axis"}
BLOOD = {"text": "Blood test", "due": "2027-02-20", "who": "", "part": None, "plane": None}
SOME_DAY = {"text": "Fewer biscuits", "due": None, "who": "", "part": None, "plane": None}


@pytest.fixture
def browser(db: Database, sign_in: Enter) -> FlaskClient:
    """A practice in which Pepper, who has a record, is to come again."""
    browser = sign_in()
    phone = whole_exam()
    journal.append(db, phone.written, "phone")
    sign(db, EXAM, [GLAND, BLOOD, SOME_DAY])
    return browser


def shown(browser: FlaskClient, day: str) -> str:
    page = browser.get(f"/visits?day={day}")
    assert page.status_code == 200
    return page.text.split('<section id="rechecks">', 1)[1].split("</section>", 1)[0]


def test_a_day_tells_what_is_due_by_then_and_in_the_week_after(browser: FlaskClient) -> None:
    told = shown(browser, "2027-02-22")
    assert [one for one in ("Scan the &lt;gland&gt; again", "Blood test", "Fewer biscuits") if one in told] == [
        "Scan the &lt;gland&gt; again", "Blood test"], "what has no day is not due on one"
    assert told.index("Blood test") < told.index("Scan the"), "by their day"
    assert "24 Feb 2027" in told and "LEFT adrenal, cranial pole" in told and "V. Stone" in told
    blood, gland = re.findall(r"<tr><td.*?</tr>", told, re.DOTALL)
    assert "day past" in blood and "names no part: nobody can tell" in blood and "nobody named" in blood
    assert "day past" not in gland and "nobody can tell" not in gland
    assert 'href="#rechecks">Re-checks due: 2<' in browser.get("/visits?day=2027-02-22").text


@pytest.mark.parametrize("day, names", [
    ("2027-02-12", []), ("2027-02-13", ["Blood test"]), ("2027-02-17", ["Blood test", "Scan the"]),
    ("2027-03-22", ["Blood test", "Scan the"]), ("2027-03-23", ["Scan the"]), ("2027-03-27", []),
    ("9999-12-31", []), ("0001-01-01", []),
])
def test_the_days_looked_at_reach_a_month_back_and_a_week_ahead(
    browser: FlaskClient, day: str, names: list[str]
) -> None:
    told = shown(browser, day)
    assert [one for one in ("Blood test", "Scan the") if one in told] == names
    assert ("is open." in told) == (not names)


@pytest.mark.parametrize("act, still_due", [
    (read("adrenal.left.cranial_pole_thickness", "long_axis"), False),
    (read("adrenal.left.cranial_pole_thickness", "short_axis"), True),
    *((seen("adrenal.left.cranial_pole", how), True) for how in ("whole", "partly", "not_seen")),
])
def test_what_a_later_exam_measured_in_the_plane_asked_for_is_due_no_more(
    db: Database, browser: FlaskClient, act: tuple[str, dict[str, Any]], still_due: bool
) -> None:
    examined_again(db, act)
    assert ("Scan the" in shown(browser, "2027-02-22")) == still_due


def test_a_re_check_is_planned_with_what_the_report_recommends(db: Database, browser: FlaskClient) -> None:
    known = animal(browser, "Pepper")
    phone = Phone("d4" * 16)
    phone.act("set", {"about": "exam.patient", "value": {"id": known, "name": "Pepper", "species": "dog"},
                      "from": {"id": PATIENT, "name": "Pepper", "species": "dog"}})
    journal.append(db, phone.written, "phone")
    told = shown(browser, "2027-02-22")
    link = re.search(r'href="(/visits/new[^"]*number=1[^"]*)" aria-label="Plan the re-check of Pepper"', told)
    assert link, told
    form = Page(browser, link[1].replace("&amp;", "&"))
    assert form.form["text"] == "Re-check: Scan the <gland> again" and form.form["requested_by"] == "R. Dale"
    assert form.form["date"] == "22 Feb 2027"
    assert 'value="adrenal.left" checked' in form.text and form.text.count(" checked>") >= 1
    form.sent(date="23 Feb 2027", structures=["adrenal.left"])
    (visit,) = plan.of_day(db, "2027-02-23")
    assert visit["patient"] == known and visit["question"]["structures"] == ["adrenal.left"]
    told = shown(browser, "2027-02-22")
    assert f'href="/visits/{visit["id"]}">23 Feb 2027</a>' in told and "Plan it" not in told
    plan.change(db, visit["id"], {"cancelled": True}, "RD")
    assert "Plan it" in shown(browser, "2027-02-22"), "a cancelled visit is none"


@pytest.mark.parametrize("exam, number", [(EXAM, "9"), (EXAM, "x"), (EXAM, ""), ("other", "1"), (EXAM, "9" * 30)])
def test_a_re_check_that_is_none_fills_nothing_in(browser: FlaskClient, exam: str, number: str) -> None:
    patient = animal(browser, "Otto")
    form = Page(browser, f"/visits/new?patient={patient}&exam={exam}&number={number}").form
    assert form["text"] == "" and form["requested_by"] == ""


def test_another_animals_re_check_fills_nothing_in(db: Database, browser: FlaskClient) -> None:
    assert rechecks.asked(db, PATIENT, EXAM, 1) is not None
    form = Page(browser, f"/visits/new?patient={animal(browser, 'Otto')}&exam={EXAM}&number=1").form
    assert form["text"] == ""


def test_the_learning_page_shows_the_same_days_done_ones_too(db: Database, browser: FlaskClient) -> None:
    examined_again(db, seen("adrenal.left.cranial_pole", "whole"))
    link = re.search(r'href="(/learning[^"#]*)#rechecks"', shown(browser, "2027-02-22"))
    assert link
    page = browser.get(link[1].replace("&amp;", "&")).text
    assert 'id="rechecks"' in page and "Scan the &lt;gland&gt; again" in page.split('id="rechecks"', 1)[1]


def test_the_board_leads_to_them(browser: FlaskClient) -> None:
    assert 'href="/visits?day=2027-02-22#rechecks"' in browser.get("/board?day=2027-02-22").text


def test_only_the_rows_of_these_days_are_looked_at(
    db: Database, browser: FlaskClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A practice of years has thousands: each would be compared with all later exams of its animal."""
    asked: list[tuple[Any, ...]] = []
    due = recommendations.due
    monkeypatch.setattr("webapp.store.recommendations.due", lambda db, *how: asked.append(how[:2]) or due(db, *how))
    browser.get("/visits?day=2027-02-22")
    assert asked == [("2027-01-23", "2027-03-01")]


def test_a_later_exam_is_read_once_and_anew_when_something_was_added(
    db: Database, browser: FlaskClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    read: list[str] = []
    reached = recommendations.reached_in
    monkeypatch.setattr("webapp.store.recommendations.reached_in",
                        lambda db, exam, known: read.append(exam) or reached(db, exam, known))
    phone = examined_again(db, seen("adrenal.left.cranial_pole", "partly"))
    for _ in range(3):
        told = shown(browser, "2027-02-22")
        assert "partly seen on 20 Feb 2027" in told
    assert len(read) == 1
    phone.seen("adrenal.left.cranial_pole", "whole")
    journal.append(db, phone.written[-1:], "phone")
    assert len(read) == 1 and "Scan the" in shown(browser, "2027-02-22"), "two answers stand: a fork is none"
    assert len(read) == 2


def test_an_exam_that_did_not_come_to_the_part_is_told(db: Database, browser: FlaskClient) -> None:
    examined_again(db, seen("liver", "whole"))
    assert "examined 20 Feb 2027 without it" in shown(browser, "2027-02-22")
