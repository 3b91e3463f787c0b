"""The day board: every visit and exam of a day stands in one state, with what it waits for."""

import html
import re
from collections.abc import Callable
from datetime import UTC, datetime, timedelta

import pytest
from flask.testing import FlaskClient
from sqlite_utils import Database

from tests.builders import DAY, EXAM, Phone, whole_exam
from tests.review.desk import Vet
from webapp import clock
from webapp.animals import record
from webapp.dayboard import board
from webapp.review import preliminary, signing
from webapp.store import asking, exams, journal, phones
from webapp.visits import plan

Enter = Callable[..., FlaskClient]
NOON = datetime.fromisoformat(f"{DAY}T12:00:00+00:00")


def animal(db: Database, number: int, name: str) -> str:
    patient = f"01999999-0000-7000-8000-0000000000{number:02x}"
    record.save(db, patient, {"name": name, "species": "dog"}, "RD", None)
    return patient


def visit(db: Database, patient: str, **more: object) -> str:
    facts = {"date": DAY, "time": "09:00", "sonographer": "VS", "question": {"text": "Adrenals?", "structures": []}}
    return plan.add(db, patient, facts | more, "RD")


def examined(db: Database, number: int, name: str, patient: str | None, received: datetime = NOON) -> Phone:
    """An exam of the day that is open at the table, its entries arrived at that moment."""
    phone = Phone(f"{number:032x}", exam=f"exam-{number}", patient=patient)
    phone.opened(name=name)
    journal.append(db, phone.written, "phone", received_at=received.isoformat())
    return phone


def lanes(shown: board.Board) -> dict[str, list[str]]:
    return {lane.title: [card.name for card in lane.cards] for lane in shown.lanes}


def card(shown: board.Board, name: str) -> board.Card:
    (found,) = [card for lane in shown.lanes for card in lane.cards if card.name == name]
    return found


def sign(db: Database, phone: Phone) -> None:
    for about, value in (("question.answered", "yes"), ("impression", "As recorded.")):
        phone.act("set", {"about": about, "value": value})
    phone.closed()
    journal.append(db, phone.written, "phone")
    signing.sign(db, str(phone.exam), {"id": "RD", "name": "R. Dale"})


def test_each_visit_and_exam_stands_once_in_its_state(db: Database) -> None:
    patients = {name: animal(db, place, name) for place, name in enumerate(["Ada", "Ben", "Cleo", "Dot", "Eve", "Fay"])}
    for name, patient in patients.items():
        visit(db, patient, cancelled=name == "Fay")
    examined(db, 1, "Ben", patients["Ben"], NOON - timedelta(minutes=2))
    examined(db, 2, "Cleo", patients["Cleo"], NOON - timedelta(minutes=90))
    closed = examined(db, 3, "Dot", patients["Dot"])
    closed.closed()
    journal.append(db, closed.written, "phone")
    sign(db, examined(db, 4, "Eve", patients["Eve"]))
    late = examined(db, 5, "Walk-in", None)
    sign(db, late)
    late.act("noted", {"about": "liver", "text": "Came later."})
    journal.append(db, late.written, "phone")
    shown = board.of_day(db, DAY, NOON)
    assert list(lanes(shown).items()) == [
        ("Arrived, not closed", ["Cleo"]), ("Signed, and something arrived later", ["Walk-in"]), ("To review", ["Dot"]),
        ("At the table", ["Ben"]), ("Planned", ["Ada"]), ("Signed", ["Eve"]),
    ]
    assert shown.cancelled == ["Fay"] and shown.before == 0
    assert card(shown, "Ada").blocks == ["not begun"] and not card(shown, "Ada").waits
    assert card(shown, "Cleo").blocks[0].startswith("not closed at the table; last entry ")
    assert card(shown, "Eve").blocks == ["version 1, final"]
    assert card(shown, "Walk-in").blocks == ["1 entry came after version 1: an addendum takes them in"]
    assert card(shown, "Walk-in").visit is None and card(shown, "Dot").visit is not None
    assert shown.next == card(shown, "Cleo")
    tomorrow = board.of_day(db, "2026-11-25", NOON)
    assert tomorrow.lanes == [] and tomorrow.before == 4


def test_what_blocks_is_what_a_signature_asks_for(db: Database, sign_in: Enter) -> None:
    """Said in fewer words, but neither more nor less of it: from the fresh exam to the one that is ready."""
    phone = Phone()
    phone.opened()
    for value in ("4.0", "6.2"):
        phone.read("adrenal.left.caudal_pole_thickness", value)
    for device, size in (("b2" * 16, "whole"), ("c3" * 16, "not_seen")):
        other = Phone(device)
        other.seen("spleen", size)
        journal.append(db, other.written, "phone")
    phone.act("found", {"about": "liver", "finding": "nodule"})
    phone.seen("liver", "whole", normal=True)
    phone.closed()
    journal.append(db, phone.written, "phone")

    def both() -> tuple[list[str], list[str]]:
        return card(board.of_day(db, DAY, NOON), "Pepper").blocks, signing.missing(exams.fold(db, EXAM))

    blocks, missing = both()
    assert len(blocks) == len(missing) == 5
    assert blocks[:2] == ["the question is not answered", "the impression is not written"]
    vet = Vet(sign_in())
    vet.ready().post("draft")
    blocks, missing = both()
    assert blocks == ["1 thing to settle between two versions"] and len(missing) == 1
    fork = exams.fold(db, EXAM).exam["forks"][0]
    vet.look().post("settle", slot=fork["slot"], chosen=fork["values"][0]["id"])
    blocks, missing = both()
    assert blocks == ["nothing: ready to be signed"] and missing == []


def test_an_exam_goes_back_to_the_sonographer_with_a_question_and_returns_with_the_answer(db: Database) -> None:
    phone = whole_exam()
    body = {"about": "spleen", "text": "Was the tail seen?", "asks": asking.ASKED}
    question = phone.act("noted", body)
    journal.append(db, phone.written, "phone")
    shown = board.of_day(db, DAY, NOON)
    assert lanes(shown) == {"A question back with the sonographer": ["Pepper"]}
    assert card(shown, "Pepper").blocks[0] == "1 asked of the sonographer, without an answer yet" and shown.next is None
    phone.act("noted", {"about": "spleen", "text": "Yes, all of it.", "answers": question}, of=[question])
    journal.append(db, phone.written, "phone")
    assert lanes(board.of_day(db, DAY, NOON)) == {"To review": ["Pepper"]}


def test_a_preliminary_report_has_its_lane_until_the_signature(db: Database, sign_in: Enter) -> None:
    phone = examined(db, 1, "Ada", None)
    phone.closed()
    journal.append(db, phone.written, "phone")
    assert card(board.of_day(db, DAY, NOON), "Ada").lane == exams.TO_REVIEW
    preliminary.issue(db, str(phone.exam), {"id": "RD", "name": "R. Dale"})
    shown = card(board.of_day(db, DAY, NOON), "Ada")
    assert (shown.lane, shown.waits) == (board.PRELIMINARY, True) and "the impression is not written" in shown.blocks
    browser = sign_in()
    assert "Preliminary report made, not signed" in browser.get(f"/board?day={DAY}").text
    assert "preliminary report made, not signed" in browser.get("/review").text
    sign(db, phone)
    assert card(board.of_day(db, DAY, NOON), "Ada").lane == exams.SIGNED
    assert "preliminary report made" not in browser.get("/review").text


def test_a_visit_says_what_keeps_it_and_phones_what_they_still_hold(db: Database) -> None:
    visit(db, animal(db, 1, "Ada"), sonographer=None, urgency="emergency", pending="cortisol")
    (phone,) = phones.everyone(db)
    phones.reported(db, phone, {"unsent": 12})
    shown = board.of_day(db, DAY, NOON)
    ada = card(shown, "Ada")
    assert ada.blocks == ["not begun", "nobody is to examine yet", "results awaited: cortisol"]
    assert ada.urgency == "emergency" and shown.unsent == [("Test phone", 12)]


def test_what_someone_is_told_stands_first_and_one_person_sees_the_own_day(db: Database, sign_in: Enter) -> None:
    for number, author in ((1, "VS"), (2, "KM")):
        phone = Phone(f"{number:032x}", author, f"exam-{number}", f"p{number}")
        phone.opened(name=f"Dog {number}")
        if number == 2:
            phone.act("found", {"about": "vena_cava", "finding": "material"})
        phone.closed()
        journal.append(db, phone.written, "phone")
    page = sign_in().get(f"/board?day={DAY}").text
    assert page.index("Dog 2") < page.index("Dog 1")
    assert "■" in page and "tell someone" in page
    own = sign_in().get("/board?day=24+Nov+2026&person=VS").text
    assert "Dog 1" in own and "Dog 2" not in own


def test_next_goes_through_the_day_and_then_through_the_queue(
    db: Database, sign_in: Enter, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(clock, "now", lambda: NOON.astimezone(UTC))
    browser = sign_in()
    for number, name in ((1, "One"), (2, "Two")):
        phone = examined(db, number, name, f"p{number}")
        phone.closed()
        journal.append(db, phone.written, "phone")
    earlier = Phone("ee" * 16, exam="exam-before", patient="p3")
    earlier.act("opened", {"about": "exam", "date": "2026-11-20", "patient": {"name": "Before", "species": "dog"},
                           "question": {"text": "", "structures": []}})
    earlier.closed()
    journal.append(db, earlier.written, "phone")
    page = browser.get("/board").text
    first = html.unescape(re.findall(r'data-next href="([^"]+)"', page)[0])
    assert first == f"/review/exam/exam-1?day={DAY}"

    def after(address: str) -> str:
        onward = html.unescape(re.findall(r'data-next href="([^"]+)"', browser.get(address).text)[0])
        return str(browser.get(onward).headers["Location"])

    assert after(first) == f"/review/exam/exam-2?day={DAY}"
    assert after(f"/review/exam/exam-2?day={DAY}") == first
    assert after("/review/exam/exam-1") == "/review/exam/exam-before"
    assert after("/review/exam/exam-before?day=2026-11-20") == "/review/exam/exam-2", "its day holds no other"
    assert browser.get("/review").text.count("data-next") == 1


def test_no_other_exam_waits_is_said(db: Database, sign_in: Enter) -> None:
    journal.append(db, whole_exam().written, "phone")
    answer = sign_in().get(f"/board/next?after={EXAM}", follow_redirects=True)
    assert "No other exam waits." in answer.text and "Pepper" in answer.text


def test_an_odd_day_is_told_and_an_empty_day_says_so(db: Database, sign_in: Enter) -> None:
    browser = sign_in()
    page = html.unescape(browser.get("/board?day=someday").text)
    assert 'value="someday"' in page and "Write the day as" in page
    assert "Nothing is planned and nothing was examined by V. Stone on this day." in browser.get(
        "/board?day=2026-11-24&person=VS").text
    assert browser.get("/board/next?after=%00&day=x").status_code == 302
    for edge in ("9999-12-31", "0001-01-01"):
        assert browser.get(f"/board?day={edge}").status_code == 200
