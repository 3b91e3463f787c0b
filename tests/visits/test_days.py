"""Requests and lists of days at the desk: planned, assigned, ordered, cancelled, changed by two people."""

import re
from collections.abc import Callable
from typing import Any

import pytest
from flask.testing import FlaskClient
from sqlite_utils import Database

from tests.animals.desk import Page, animal
from webapp.store import exams, kept
from webapp.visits import plan

Enter = Callable[..., FlaskClient]
DAY = "2026-11-30"


def planned(browser: FlaskClient, patient: str, **typed: Any) -> str:
    """Plan a visit by the form; its id."""
    told = {"date": DAY, "text": "Stones?"} | typed
    address = Page(browser, f"/visits/new?patient={patient}").sent(**told)
    short = address.rsplit("at=", 1)[1]
    page = browser.get(address).text
    assert page.count(" autofocus>") == 1, "the keyboard goes on from the new row"
    found = re.search(rf'name="visit" value="({short}[0-9a-f]+)"', page)
    assert found
    return found[1]


def names(db: Database, day: str = DAY) -> list[str]:
    return [visit["animal"]["name"] for visit in plan.of_day(db, day)]


def do(browser: FlaskClient, day: str, **told: str) -> None:
    page = browser.get(f"/visits?day={day}").text
    token = page.split('name="csrf_token" value="', 1)[1].split('"', 1)[0]
    assert browser.post(f"/visits/day/{day}", data={"csrf_token": token, **told}).status_code == 302


def test_a_request_is_kept_with_everything_that_it_says(db: Database, sign_in: Enter) -> None:
    browser = sign_in()
    patient = animal(browser, "Otto", owner_name="L. Thorn", birth_date="2019-03-04")
    visit = planned(browser, patient, time="9.30", place="Room 2", sonographer="VS", urgency="urgent",
                    requested_by="R. Dale", text="Large glands?\r\nOr a mass?", structures=["adrenal.left", "spleen"],
                    history="Drinks a lot.", medication="trilostane 10 mg", steroids="no", trilostane="yes",
                    pending="ACTH stimulation")
    told = plan.as_seen(db, visit)
    assert (told["date"], told["time"], told["place"], told["sonographer"]) == (DAY, "09:30", "Room 2", "VS")
    assert told["question"] == {"text": "Large glands?\nOr a mass?", "structures": ["adrenal.left", "spleen"]}
    assert told["context"] == {"steroids": "no", "treatments": ["trilostane"]}
    assert (told["urgency"], told["pending"], told["requested_by"]) == ("urgent", "ACTH stimulation", "R. Dale")
    row = next(db.query("select id, header, body, why from entries where id = ?", [visit]))
    snapshot = kept.opened(db, row)["body"]["patient"]
    assert snapshot["name"] == "Otto" and snapshot["age_months"] == 92 and "owner.name" not in snapshot
    page = browser.get(f"/visits/{visit}").text
    for words in ("Or a mass?", "LEFT adrenal, Spleen", "V. Stone, Room 2", "ACTH stimulation", "trilostane 10 mg"):
        assert words in page, words


@pytest.mark.parametrize("typed, said", [
    ({"text": ""}, "Write the question"),
    ({"date": "30/11/2026"}, "Write the day as"),
    ({"time": "25:00"}, "Write 9:30"),
])
def test_what_cannot_be_taken_is_said_and_the_text_stays(
    db: Database, sign_in: Enter, typed: dict[str, str], said: str
) -> None:
    browser = sign_in()
    page = Page(browser, f"/visits/new?patient={animal(browser)}")
    answer = page.send(**({"date": DAY, "text": "Stones?", "history": "Long & winding"} | typed))
    assert answer.status_code == 200 and said in answer.text and "Long &amp; winding" in answer.text
    assert list(db.query("select * from visits")) == []


def test_a_request_without_a_day_waits_and_is_given_one(db: Database, sign_in: Enter) -> None:
    browser = sign_in()
    patient = animal(browser, "Otto")
    address = Page(browser, f"/visits/new?patient={patient}").sent(date="", text="Stones?")
    assert "Requests that wait for a day" in browser.get(address).text
    visit = next(db.query("select id from visits"))["id"]
    Page(browser, f"/visits/{visit}/edit").sent(date="30.11.2026")
    assert names(db) == ["Otto"] and "wait for a day" not in browser.get("/visits").text


def test_the_order_goes_by_buttons_and_by_a_whole_list(db: Database, sign_in: Enter) -> None:
    browser = sign_in()
    visits = {name: planned(browser, animal(browser, name)) for name in ("Ava", "Ben", "Cleo")}
    assert names(db) == ["Ava", "Ben", "Cleo"]
    do(browser, DAY, what="up", visit=visits["Cleo"])
    do(browser, DAY, what="up", visit=visits["Ava"])
    assert names(db) == ["Ava", "Cleo", "Ben"]
    do(browser, DAY, what="down", visit=visits["Ava"])
    assert names(db) == ["Cleo", "Ava", "Ben"]
    do(browser, DAY, what="order", ids=f"{visits['Ben']} unknown {visits['Cleo']}")
    assert names(db) == ["Ben", "Cleo", "Ava"], "one that the list did not name keeps its place after them"
    before = next(db.query("select count(*) as n from entries"))["n"]
    do(browser, DAY, what="order", ids=" ".join(visits[name] for name in ("Ben", "Cleo", "Ava")))
    assert next(db.query("select count(*) as n from entries"))["n"] == before, "nothing moved, nothing is written"
    assert exams.differences(db) == []


def test_visits_are_assigned_cancelled_and_put_back(db: Database, sign_in: Enter) -> None:
    browser = sign_in()
    visit = planned(browser, animal(browser, "Ava"))
    do(browser, DAY, what="assign", visit=visit, sonographer="VS")
    assert plan.as_seen(db, visit)["sonographer"] == "VS"
    assert "Ava" in browser.get(f"/visits?day={DAY}&person=VS").text
    assert "Nothing is planned for this person" in browser.get(f"/visits?day={DAY}&person=RD").text
    do(browser, DAY, what="cancel", visit=visit)
    assert "<b>cancelled</b>" in browser.get(f"/visits?day={DAY}").text, "it stays readable"
    do(browser, DAY, what="back", visit=visit)
    assert plan.as_seen(db, visit)["cancelled"] is False


def test_a_visit_planned_by_mistake_leaves_the_list_and_stays_in_the_record(db: Database, sign_in: Enter) -> None:
    browser = sign_in()
    patient = animal(browser, "Ava")
    visit = planned(browser, patient)
    assert "Say why" in Page(browser, f"/visits/{visit}", action="/remove").send().text
    Page(browser, f"/visits/{visit}", action="/remove").sent(why="meant Eva")
    assert names(db) == [] and "meant Eva" in browser.get(f"/animals/{patient}").text
    assert browser.get(f"/visits/{visit}").status_code == 404


@pytest.mark.catalogue(71)
def test_two_desks_that_change_one_visit_leave_both_and_a_person_settles(db: Database, sign_in: Enter) -> None:
    browser = sign_in()
    visit = planned(browser, animal(browser, "Ava"))
    one, two = Page(browser, f"/visits/{visit}/edit"), Page(sign_in(), f"/visits/{visit}/edit")
    one.sent(date="2026-12-01")
    two.sent(date="2026-12-02", time="10:00")
    assert names(db, "2026-12-01") == names(db, "2026-12-02") == ["Ava"], "on both days until a person settles it"
    assert "two versions to settle" in browser.get("/visits?day=2026-12-01").text
    Page(browser, f"/visits/{visit}", action="/settle").sent()
    told = plan.as_seen(db, visit)
    assert told["forks"] == [] and told["time"] == "10:00"
    assert len(names(db, "2026-12-01") + names(db, "2026-12-02")) == 1


def test_the_day_can_be_taken_as_a_file(db: Database, sign_in: Enter) -> None:
    browser = sign_in()
    planned(browser, animal(browser, "=2+5"), text="+1 stone", structures=["spleen"])
    answer = browser.get(f"/exchange/visits.csv?day={DAY}")
    assert answer.headers["Content-Disposition"] == f'attachment; filename="visits-{DAY}.csv"'
    assert answer.text.startswith("\ufeffday,time")
    assert ",'=2+5,dog," in answer.text and ",'+1 stone,Spleen," in answer.text


def test_only_the_desks_own_steps_are_taken(db: Database, sign_in: Enter) -> None:
    browser = sign_in()
    planned(browser, animal(browser, "Ava"))
    page = browser.get(f"/visits?day={DAY}").text
    token = page.split('name="csrf_token" value="', 1)[1].split('"', 1)[0]
    assert browser.post(f"/visits/day/{DAY}", data={"csrf_token": token, "what": "burn"}).status_code == 400
    assert browser.post(f"/visits/day/{DAY}", data={"what": "up"}).status_code == 400
    assert "Write the day as" in browser.get("/visits?day=soon").text
    assert browser.get("/visits/new?patient=none").status_code == 302
