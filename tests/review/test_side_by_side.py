"""Two exams of one animal beside each other: the rules say what changed, both keep what was not seen."""

from collections.abc import Callable

from flask.testing import FlaskClient
from sqlite_utils import Database

from tests.builders import EXAM, Phone, whole_exam
from tests.review.test_table import POLE, arrive, earlier, group
from webapp.review import side_by_side
from webapp.store import journal

Enter = Callable[..., FlaskClient]
THEN = "exam-2026-02-12"


def row(page: str, quantity: str) -> str:
    return page.split(f'id="row-{quantity}"', 1)[1].split("</tr>", 1)[0]


def page_of(browser: FlaskClient, one: str, other: str) -> str:
    answer = browser.get(f"/review/exam/{one}/beside/{other}")
    assert answer.status_code == 200, answer.text
    return answer.text


def test_each_quantity_has_both_values_their_readings_and_what_the_rules_say(db: Database, sign_in: Enter) -> None:
    then = earlier("2026-02-12", "4.0", "4.1")
    then.read("adrenal.left.length", "18.0")
    arrive(db, then, whole_exam())
    page = page_of(sign_in(), EXAM, THEN)
    pole = row(page, POLE)
    assert pole.index("4.1 mm") < pole.index("6.3 mm")
    assert "more than the spread of repeat readings" in pole
    assert "+2.25 mm" in pole
    assert "4.0 mm, typed “4.0”" in pole and "6.4 mm, typed “6.4”" in pole
    assert "measured in one of them only" in row(page, "adrenal.left.length")
    assert "not measured" in row(page, "adrenal.right.caudal_pole_thickness")


def test_a_change_within_the_spread_is_not_called_one(db: Database, sign_in: Enter) -> None:
    arrive(db, earlier("2026-02-12", "6.1", "6.3"), whole_exam())
    assert "not distinguishable from the spread of repeat readings" in row(page_of(sign_in(), EXAM, THEN), POLE)


def test_the_earlier_exam_stands_left_whichever_is_named_first(db: Database, sign_in: Enter) -> None:
    arrive(db, earlier("2026-02-12", "4.0", "4.1"), whole_exam())
    browser = sign_in()
    assert row(page_of(browser, EXAM, THEN), POLE) == row(page_of(browser, THEN, EXAM), POLE)


def test_only_the_two_are_compared_though_another_exam_lies_between(db: Database, sign_in: Enter) -> None:
    between = earlier("2026-06-01", "6.2", "6.4", device="02" * 16)
    arrive(db, earlier("2026-02-12", "4.0", "4.1"), between, whole_exam())
    assert "+2.25 mm" in row(page_of(sign_in(), EXAM, THEN), POLE)
    pair = side_by_side.compared(db, EXAM, THEN)
    assert {value["earlier"]["date"] for value in pair.judgement["values"] if value["earlier"]} == {"2026-02-12"}


def test_seen_not_seen_and_findings_stand_in_both(db: Database, sign_in: Enter) -> None:
    then = earlier("2026-02-12", "4.0")
    then.seen("adrenal.right.cranial_pole", "whole")
    then.act("found", {"about": "liver", "finding": "nodule"})
    arrive(db, then, whole_exam())
    page = page_of(sign_in(), EXAM, THEN)
    right = group(page, "adrenal.right")
    assert right.index("cranial pole: seen") < right.index("cranial pole: not seen (gas)")
    liver = group(page, "liver")
    assert liver.index("nodule") < liver.index("seen, recorded normal")


def test_a_struck_reading_stays_in_sight_and_counts_for_nothing(db: Database, sign_in: Enter) -> None:
    then = earlier("2026-02-12", "4.0", "4.1")
    wrong = then.read(POLE, "40.0")
    then.act("struck", {"about": POLE, "why": "slip"}, of=[wrong])
    arrive(db, then, whole_exam())
    pole = row(page_of(sign_in(), EXAM, THEN), POLE)
    assert "struck: slip" in pole
    assert "+2.25 mm" in pole


def test_exams_of_two_animals_and_one_exam_with_itself_are_refused(db: Database, sign_in: Enter) -> None:
    other = Phone("03" * 16, exam="exam-other", patient="p-other")
    other.opened(name="Otto")
    arrive(db, other, whole_exam())
    browser = sign_in()
    answer = browser.get(f"/review/exam/{EXAM}/beside/exam-other")
    assert answer.status_code == 409
    assert "two animals" in answer.text
    assert browser.get(f"/review/exam/{EXAM}/beside/{EXAM}").status_code == 409
    assert browser.get(f"/review/exam/{EXAM}/beside/no-such-exam").status_code == 404


def test_an_exam_moved_to_another_animal_is_none_of_this_one(db: Database, sign_in: Enter) -> None:
    then = earlier("2026-02-12", "4.0")
    then.act("set", {"about": "exam.patient", "value": {"id": "p-other", "species": "dog"}, "why": "wrong name",
                     "from": {"id": then.patient, "name": "Pepper", "species": "dog"}})
    arrive(db, then, whole_exam())
    journal.append(db, [], "phone")
    assert sign_in().get(f"/review/exam/{EXAM}/beside/{THEN}").status_code == 409
