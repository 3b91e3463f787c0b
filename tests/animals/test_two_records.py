"""Two records of one animal made one and two again; exams under the wrong animal given to the right one."""

import json
from collections.abc import Callable
from typing import Any

import pytest
from flask.testing import FlaskClient
from sqlite_utils import Database

from tests.animals.desk import Page, animal
from tests.builders import EXAM, PATIENT, Phone, whole_exam
from tests.review.desk import Vet
from webapp.animals import find, merging, moving, record
from webapp.store import animals, exams, journal, reports

Enter = Callable[..., FlaskClient]


def standing(db: Database, patient: str) -> Any:
    return animals.record(db, patient)


def test_two_records_become_one_and_the_chosen_facts_stand(db: Database, sign_in: Enter) -> None:
    browser = sign_in()
    one = animal(browser, "Bella", breed="Beagle", weight="9.1", weight_source="owner", weight_date="2026-01-02")
    other = animal(browser, "Bela", breed="Harrier", microchip="276098106123456", sex="female")
    page = Page(browser, f"/animals/{one}/merge/{other}")
    assert page.text.count("differs</span>") == 2, "name and breed"
    assert "Beagle" in page.text and "Harrier" in page.text and "276098106123456" in page.text
    page.sent(into=one, holds__breed=other, why="one dog, entered twice")
    told = standing(db, one)
    assert (told["name"], told["breed"], told["microchip"], told["sex"], told["weight_kg"]) == (
        "Bella", "Harrier", "276098106123456", "female", "9.1")
    assert told["merged"] == [other] and standing(db, other)["merged_into"] == one
    assert standing(db, other)["name"] == "Bela", "the other record keeps what it says"
    assert [row["patient"] for row in find.search(db, "bela").rows] == [one], "found by the old name, shown as one"
    assert "was merged into" in browser.get(f"/animals/{other}").text


def test_a_merge_is_taken_back_and_both_are_as_they_were(db: Database, sign_in: Enter) -> None:
    browser = sign_in()
    one, other = animal(browser, "Bella"), animal(browser, "Bela")
    Page(browser, f"/animals/{one}/merge/{other}").sent(into=one, why="twice")
    assert len(find.everything(db)) == 1
    assert "Say why they are two" in Page(browser, f"/animals/{one}", action="/part").send().text
    Page(browser, f"/animals/{one}", action="/part").sent(why="sisters")
    assert sorted(row["name"] for row in find.everything(db)) == ["Bela", "Bella"]
    assert exams.differences(db) == []
    assert "taken back (sisters)" in browser.get(f"/animals/{one}").text


def test_a_dog_and_a_cat_are_not_made_one(db: Database, sign_in: Enter) -> None:
    browser = sign_in()
    one, other = animal(browser, "Tom"), animal(browser, "Tom", "cat")
    answer = Page(browser, f"/animals/{one}/merge/{other}").send(into=one, why="same name")
    assert "One is a dog and one a cat" in answer.text and len(find.everything(db)) == 2
    assert "Perhaps the same animal" not in browser.get(f"/animals/{one}").text


def test_a_merge_seen_by_two_desks_is_made_once(db: Database, sign_in: Enter) -> None:
    browser = sign_in()
    one, other = animal(browser, "Bella"), animal(browser, "Bela")
    first, second = (Page(browser, f"/animals/{one}/merge/{other}") for _ in range(2))
    first.sent(into=one, why="twice")
    assert "one animal already" in second.send(into=other, why="twice").text
    assert len(standing(db, one)["merges"]) == 1


@pytest.mark.catalogue(70)
def test_a_wrong_animals_exam_is_moved_and_judged_for_the_right_one(db: Database, sign_in: Enter) -> None:
    """Wrong patient: both names stay, what was measured at the table stays, the rest is the right animal's."""
    journal.append(db, whole_exam().written, "phone")
    browser = sign_in()
    right = animal(browser, "Max", weight="31", weight_source="record", birth_date="2019-03-04", sex="male")
    assert "Pepper" in browser.get(f"/review/exam/{EXAM}/animal").text
    page = Page(browser, f"/review/exam/{EXAM}/animal?patient={right}")
    assert "Say why" in page.send(why=" ").text
    page.sent(why="two dogs in one room")
    exam = exams.fold(db, EXAM).exam
    assert (exam["patient_id"], exam["patient"]["name"], exam["patient"]["sex"]) == (right, "Max", "male")
    assert exam["patient"]["age_months"] == 92 and exam["patient"]["weight_kg"] == "31"
    assert len(exam["readings"]) == 4, "no reading is lost"
    move = exam["moved"][0]
    assert (move["from"]["name"], move["to"]["name"], move["author"]) == ("Pepper", "Max", "RD")
    row = next(db.query("select patient, animal from exams where exam = ?", [EXAM]))
    assert row["patient"] == right and json.loads(row["animal"])["name"] == "Max"
    shown = browser.get(f"/review/exam/{EXAM}").text
    assert "Given from Pepper to Max" in shown and "two dogs in one room" in shown
    assert exams.differences(db) == []


@pytest.mark.catalogue(70)
def test_the_weight_of_the_scales_stays_with_the_exam_that_is_moved(db: Database, sign_in: Enter) -> None:
    phone = Phone()
    phone.opened()
    phone.act("set", {"about": "patient.weight_kg", "value": "7.4", "source": "scales today"})
    phone.act("set", {"about": "patient.body_condition", "value": 6})
    journal.append(db, phone.written, "phone")
    right = animal(sign_in(), "Max", weight="31", weight_source="record", body_condition="4")
    moving.move(db, EXAM, right, "wrong one", "RD")
    told = exams.fold(db, EXAM).exam["patient"]
    assert (told["weight_kg"], told["weight_source"], told["body_condition"]) == ("7.4", "scales today", 6)
    assert (told["name"], told.get("breed")) == ("Max", None), "nothing of the wrong animal's signalment stays"


@pytest.mark.catalogue(70)
def test_a_signed_exam_can_be_moved_and_the_signed_report_stays_as_it_is(db: Database, sign_in: Enter) -> None:
    journal.append(db, whole_exam().written, "phone")
    browser = sign_in()
    right = animal(browser, "Max", weight="31", weight_source="record")
    Vet(browser).sign()
    before = reports.version(db, EXAM, 1)
    Page(browser, f"/review/exam/{EXAM}/animal?patient={right}").sent(why="wrong dog")
    assert reports.version(db, EXAM, 1) == before
    page = browser.get(f"/review/exam/{EXAM}").text
    assert "sign a correction" in page and "Arrived after signing" in page or "arrived after signing" in page
    answer = Vet(browser).fill(status="corrected", reason="wrong dog", text="The exam is Max's.").post("addend")
    assert answer.status_code == 302
    plain = reports.version(db, EXAM, 2)["plain"]
    assert "Max" in plain and "Pepper" not in reports.version(db, EXAM, 2)["exam_json"].split('"moved"')[0]


@pytest.mark.catalogue(70)
def test_two_moves_that_did_not_see_each_other_fork_and_a_person_settles(db: Database, sign_in: Enter) -> None:
    journal.append(db, whole_exam().written, "phone")
    browser = sign_in()
    one, other = animal(browser, "Max"), animal(browser, "Moritz")
    pages = [Page(browser, f"/review/exam/{EXAM}/animal?patient={name}") for name in (one, other)]
    for page in pages:
        page.sent(why="wrong dog")
    exam = exams.fold(db, EXAM).exam
    assert [fork["slot"] for fork in exam["forks"]] == ["exam.patient"] and exam["patient_id"] == PATIENT
    page = browser.get(f"/review/exam/{EXAM}").text
    assert "Whose exam it is" in page and "Max, dog" in page and "Moritz, dog" in page
    Page(browser, f"/review/exam/{EXAM}", action="/settle").sent()
    exam = exams.fold(db, EXAM).exam
    assert exam["forks"] == [] and exam["patient_id"] in (one, other)
    assert exam["patient"]["name"] in ("Max", "Moritz") and exams.differences(db) == []


def test_a_walk_in_is_listed_with_likely_records_and_never_matched_by_itself(db: Database, sign_in: Enter) -> None:
    browser = sign_in()
    alike = animal(browser, "Peper", breed="Miniature Schnauzer")
    animal(browser, "Pepper", "cat")
    animal(browser, "Max", microchip="276098106123456")
    phone = Phone()
    phone.opened(name="Pepper", microchip="276 098 106 123 456")
    journal.append(db, phone.written, "phone")
    assert "Examined without a record" in browser.get("/animals").text
    assert exams.fold(db, EXAM).exam["patient_id"] == PATIENT
    found = find.candidates(db, exams.fold(db, EXAM).exam["patient"])
    assert [(one.name, one.record["species"]) for one in found] == [("Max", "dog"), ("Peper", "dog")]
    assert found[0].why == ["the same chip number"] and "the same breed" in found[1].why
    Page(browser, f"/review/exam/{EXAM}/animal?patient={alike}").sent(why="it is her")
    assert find.walk_ins(db) == []


def test_a_walk_in_that_is_a_new_animal_gets_its_record_from_the_exam(db: Database, sign_in: Enter) -> None:
    journal.append(db, whole_exam().written, "phone")
    browser = sign_in()
    address = Page(browser, f"/review/exam/{EXAM}/animal", action="/record").sent()
    assert address == f"/animals/{PATIENT}" and find.walk_ins(db) == []
    told = standing(db, PATIENT)
    known = [told[field] for field in ("name", "weight_kg", "age_months", "age_date")]
    assert known == ["Pepper", "7.2", 110, "2026-11-24"]
    with pytest.raises(moving.CannotMove):
        moving.new_record(db, EXAM, "RD")


def test_what_is_not_there_cannot_be_merged_or_moved(db: Database, sign_in: Enter) -> None:
    journal.append(db, whole_exam().written, "phone")
    browser = sign_in()
    one = animal(browser, "Max")
    for pair in ((one, one), (one, "none")):
        with pytest.raises(merging.CannotMerge):
            merging.both(db, *pair)
    for patient in ("none", PATIENT):
        with pytest.raises(moving.CannotMove):
            moving.move(db, EXAM, patient, "why", "RD")
    assert browser.get("/review/exam/none/animal").status_code == 404
    assert record.as_seen(db, one, 1) is None
