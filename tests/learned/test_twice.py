"""A measuring twice at the practice: it teaches its observer's spread, and stands on no list and in no report."""

import math
from collections.abc import Callable

import pytest
from flask.testing import FlaskClient
from sqlite_utils import Database

from tests.builders import EXAM, Phone, push, whole_exam
from tests.conftest import BEARER
from tests.register.desk import Desk
from webapp.learned import renewing
from webapp.store import exams, journal, learned

Enter = Callable[..., FlaskClient]
TWICE = "01999999-0000-7000-8000-0000000000bb"
POLE = "adrenal.left.caudal_pole_thickness"
PATTERN = "adrenal.*.caudal_pole_thickness"


def twice(pairs: int = 3, author: str = "VS") -> Phone:
    phone = Phone("b2" * 16, author, TWICE, None)
    phone.act("opened", {"about": "exam", "date": "2026-11-24", "purpose": "measure_twice", "patient": {}})
    for number in range(1, pairs + 1):
        for value in ("6.2", "6.6"):
            phone.read(POLE, value, acquired="new_image", pair=number)
    phone.closed()
    return phone


def test_it_counts_for_its_observer_and_the_practice(db: Database) -> None:
    journal.append(db, whole_exam().written + twice(22).written, "phone")
    renewing.renew(db)
    row = learned.in_use(db)[PATTERN]
    # Two readings of the animal's exam by the same person are one degree of freedom more.
    assert (row["observers"]["VS"]["df"], row["pooled"]["df"]) == (23, 23)
    # 22 pairs 0.4 apart and one 0.2 apart: the mean of the squared differences over 2, and its root.
    spread = math.sqrt((22 * 0.4**2 + 0.2**2) / (2 * 23))
    assert row["observers"]["VS"]["enough"]
    assert float(row["observers"]["VS"]["sd"]) == pytest.approx(spread, abs=6e-5)


def test_it_is_on_no_list_whatever_the_order_of_arrival(db: Database) -> None:
    written = twice().written
    journal.append(db, written[1:], "phone")
    journal.append(db, written[:1], "phone")
    journal.append(db, whole_exam().written, "phone")
    assert [row["exam"] for row in db.query("select exam from exams")] == [EXAM]
    assert exams.differences(db) == []
    assert exams.rebuild(db) == 2
    assert [row["exam"] for row in db.query("select exam from exams")] == [EXAM]


def test_a_row_that_lists_it_is_found_by_verify(db: Database) -> None:
    journal.append(db, whole_exam().written + twice().written, "phone")
    row = next(db.query("select * from exams"))
    db.table("exams").insert(row | {"exam": TWICE})
    assert exams.differences(db) == [f"exam {TWICE}: no animal's exam, and listed as one"]


def test_the_desk_shows_it_nowhere_and_takes_no_signature(client: FlaskClient, sign_in: Enter) -> None:
    for phone in (whole_exam(), twice()):
        answer = client.post("/api/journal", data=push(phone), headers=BEARER, content_type="application/json")
        assert answer.status_code == 200
    desk = sign_in()
    assert TWICE not in desk.get("/review").text
    assert desk.get(f"/review/exam/{TWICE}").status_code == 404
    page = Desk(desk)
    for step in ("sign", "draft", "settle", "addend"):
        sent = page.post(f"/review/exam/{EXAM}", f"/review/exam/{TWICE}/{step}", impression="x", status="amended",
                         reason="x", text="x", slot="impression", chosen="x")  # fmt: skip
        assert sent.status_code == 404, step


@pytest.mark.parametrize("person", ["RD", "VS"])
def test_the_spread_page_names_each_person_and_marks_ones_own(
    client: FlaskClient, sign_in: Enter, person: str
) -> None:
    client.post("/api/journal", data=push(twice(author=person)), headers=BEARER, content_type="application/json")
    text = Desk(sign_in()).page("/spread")
    assert ("R. Dale" if person == "RD" else "V. Stone") in text
    assert ('class="own"' in text) is (person == "RD")
    assert "not enough readings yet: 3 of 20" in text
