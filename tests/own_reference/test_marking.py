"""An exam is marked as of a healthy animal by a reviewer, with what was known, and all that was said of it stays."""

from collections.abc import Callable

from flask.testing import FlaskClient
from sqlite_utils import Database

from tests.builders import EXAM, whole_exam
from tests.conftest import PASSWORD
from tests.own_reference.practice import KIDNEY, Desk, arrive, exam, known_healthy
from tests.review.desk import Vet
from webapp.store import chain, exams, healthy, people

Enter = Callable[..., FlaskClient]


def test_a_mark_says_what_was_known_by_whom_and_when(db: Database, sign_in: Enter) -> None:
    phone = exam("40")
    arrive(db, phone)
    desk = Desk(sign_in())
    assert desk.mark(str(phone.exam), "  Spayed; well a year later. ").status_code == 302
    page = desk.page(f"/own-reference/exam/{phone.exam}")
    assert "Marked as of a healthy animal" in page and "Spayed; well a year later." in page and "R. Dale" in page
    (said,) = healthy.history(db, str(phone.exam))
    value = {"healthy": True, "known": "Spayed; well a year later.", "patient": phone.patient}
    assert (said.author, said.value) == ("RD", value)
    assert chain.verify(db) == []


def test_a_mark_is_taken_back_by_a_further_word_and_both_stay(db: Database, sign_in: Enter) -> None:
    phone = exam("40")
    arrive(db, phone)
    desk = Desk(sign_in())
    desk.mark(str(phone.exam), "Well.")
    assert desk.unmark(str(phone.exam), "").status_code == 422
    assert desk.unmark(str(phone.exam), "Ill two weeks later.").status_code == 302
    page = desk.page(f"/own-reference/exam/{phone.exam}")
    assert "Not marked as of a healthy animal" in page
    assert page.index("Ill two weeks later.") < page.index("Well."), "the newest stands first"
    assert "No exam is marked as of a healthy animal yet." in desk.page("/own-reference")
    again = healthy.history(db, str(phone.exam))
    assert [one.value["healthy"] for one in again] == [False, True]
    assert healthy.say(db, healthy.HEALTHY + str(phone.exam), {"healthy": True, "known": "x"}, "RD", again[0].id)


def test_without_a_reason_nothing_is_marked_and_the_page_says_why(db: Database, sign_in: Enter) -> None:
    phone = exam("40")
    arrive(db, phone)
    answer = Desk(sign_in()).mark(str(phone.exam), "   ")
    assert answer.status_code == 422 and "Write what was known" in answer.text
    assert healthy.marks(db) == {}


def test_a_text_that_is_too_long_comes_back_as_typed(db: Database, sign_in: Enter) -> None:
    phone = exam("40")
    arrive(db, phone)
    answer = Desk(sign_in()).mark(str(phone.exam), "well " * 250)
    assert answer.status_code == 422 and "well " * 250 in answer.text


def test_two_people_at_once_do_not_overwrite_each_other(db: Database, sign_in: Enter) -> None:
    phone = exam("40")
    arrive(db, phone)
    browser = sign_in()
    where = f"/own-reference/exam/{phone.exam}"
    token = browser.get(where).text.split('name="csrf_token"', 1)[1].split('value="', 1)[1].split('"', 1)[0]
    healthy.say(db, healthy.HEALTHY + str(phone.exam), {"healthy": True, "known": "Seen by another."}, "VS", "")
    answer = browser.post(f"{where}/mark", data={"csrf_token": token, "seen": "", "known": "Mine."})
    assert answer.status_code == 409 and "Seen by another." in answer.text
    assert len(healthy.history(db, str(phone.exam))) == 1


def test_an_exam_that_is_open_at_the_table_waits(db: Database, sign_in: Enter) -> None:
    phone = exam("40", closed=False)
    arrive(db, phone)
    browser = sign_in()
    where = f"/own-reference/exam/{phone.exam}"
    assert "not finished at the table yet" in browser.get(where).text
    token = browser.get("/own-reference/exam/" + str(phone.exam)).text.split('name="csrf_token"', 1)
    fields = {"csrf_token": token[1].split('value="', 1)[1].split('"', 1)[0], "seen": "", "known": "Well."}
    assert browser.post(f"{where}/mark", data=fields).status_code == 409
    assert healthy.marks(db) == {}


def test_measuring_twice_and_training_are_no_exams_of_animals(db: Database, sign_in: Enter) -> None:
    desk = Desk(sign_in())
    for purpose in ("measure_twice", "training"):
        phone = exam("40", "41", purpose=purpose)
        known_healthy(db, phone)
        desk.page(f"/own-reference/exam/{phone.exam}", 404)
    assert "No exam is marked as of a healthy animal yet." in desk.page("/own-reference")
    assert "No exam that is marked as of a healthy animal measured this." in desk.group()


def test_a_signed_exam_stays_as_it_was_signed(db: Database, sign_in: Enter) -> None:
    arrive(db, whole_exam())
    browser = sign_in()
    Vet(browser).sign()
    before = list(db.query("select * from reports"))
    assert Desk(browser).mark(EXAM, "Well.").status_code == 302
    assert browser.get("/review").status_code == 200
    assert next(db.query("select state from exams where exam = ?", [EXAM]))["state"] == exams.SIGNED
    assert list(db.query("select * from reports")) == before
    assert exams.differences(db) == []


def test_only_a_reviewer_marks_and_an_admin_alone_sees_no_animal(db: Database, sign_in: Enter) -> None:
    phone = exam("40", name="Mimi")
    known_healthy(db, phone)
    people.add(db, "SO", "S. Oak", "sonographer", PASSWORD)
    people.add(db, "AD", "A. Dunn", "admin", PASSWORD)
    oak, dunn = sign_in("SO"), sign_in("AD")
    where = f"/own-reference/exam/{phone.exam}"
    shown = oak.get(where).text.split("<main")[1]
    assert "Marking needs the role reviewer" in shown and "<form" not in shown
    token = oak.get("/account/password").text.split('name="csrf_token"', 1)[1].split('value="', 1)[1].split('"', 1)[0]
    assert oak.post(f"{where}/unmark", data={"csrf_token": token, "why": "x"}).status_code == 403
    assert dunn.get(where).status_code == 403
    for address in ("/own-reference", f"/own-reference/group?species=cat&quantity={KIDNEY}"):
        page = dunn.get(address)
        assert page.status_code == 200 and "Mimi" not in page.text and "urine" not in page.text


def test_an_exam_is_found_by_part_of_its_animals_name(db: Database, sign_in: Enter) -> None:
    arrive(db, exam("40", name="Mimi"), exam("41", name="Otto"), exam("42", name="Élodie"))
    desk = Desk(sign_in())
    assert "Élodie" in desk.page("/own-reference?text=elo")
    assert "Mimi" in desk.page("/own-reference?text=IM") and "Otto" not in desk.page("/own-reference?text=IM")
    assert "No finished exam of an animal of this name." in desk.page("/own-reference?text=%25")
