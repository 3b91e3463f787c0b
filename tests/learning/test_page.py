"""The page: for whom which names, which exams count, what a range of days is, and files without formulas."""

import csv
import io
from collections.abc import Callable
from datetime import UTC, datetime
from typing import Any

import pytest
from flask import Flask
from flask.testing import FlaskClient
from sqlite_utils import Database

from tests.attacks.markup import EVERYTHING, MARKS, Look
from tests.builders import EXAM, PATIENT, whole_exam
from tests.conftest import PASSWORD
from tests.own_reference.practice import KIDNEY, arrive, exam
from tests.register.desk import Desk
from tests.review.desk import Vet
from webapp import clock
from webapp.learning import renewing
from webapp.store import behind, erasures, exams, journal, people, recommendations

Enter = Callable[..., FlaskClient]


@pytest.fixture
def in_december(monkeypatch: pytest.MonkeyPatch) -> None:
    """The server's clock stands on a day of December 2026."""
    monkeypatch.setattr(clock, "now", lambda: datetime(2026, 12, 10, 12, tzinfo=UTC))


def page(browser: FlaskClient, query: str = "") -> str:
    return Desk(browser).page(f"/learning{query}")


def table(browser: FlaskClient, name: str, query: str = "") -> list[dict[str, str]]:
    answer = browser.get(f"/learning/{name}.csv{query}")
    assert answer.status_code == 200, answer.text
    return list(csv.DictReader(io.StringIO(answer.text.removeprefix("\ufeff"))))


def test_an_empty_practice_says_so(sign_in: Enter) -> None:
    shown = page(sign_in())
    assert "All days: <b>0</b> exams" in shown and "No finished exam says how long it took." in shown
    assert "Nothing was read twice from new images in these days." in shown


def test_training_and_measuring_twice_count_nowhere_but_in_the_spread(db: Database, sign_in: Enter) -> None:
    arrive(db, exam("40", "41"), exam("50", "58", purpose="training"), exam("42", "43", purpose="measure_twice"))
    browser = sign_in()
    shown = page(browser)
    assert "<b>1</b> exam finished" in shown
    (both, own) = table(browser, "spread")
    # Pairs 40, 41 and (of no numbered pair) 42, 43: two groups of one degree of freedom, SD 0.71 mm each.
    assert both["person"] == "all together"
    assert (both["degrees_of_freedom"], both["groups"], both["sd"]) == ("2", "2", "0.71 mm")
    assert own["person"] == "V. Stone"


def test_open_exams_are_said_and_not_counted(db: Database, sign_in: Enter) -> None:
    arrive(db, exam("40"), exam("41", closed=False))
    shown = page(sign_in())
    assert "<b>1</b> exam finished" in shown and "Not counted: 1 open at the table." in shown


def test_names_stand_in_the_order_of_the_alphabet_for_an_admin_and_nobody_elses_for_others(
    db: Database, sign_in: Enter
) -> None:
    people.add(db, "AA", "Z. Ash", "sonographer", PASSWORD)
    people.add(db, "ZZ", "A. Zorn", "sonographer", None)
    for who, pair in (("AA", ("40", "40.1")), ("ZZ", ("40", "49")), ("RD", ("40", "44"))):
        phone = exam()
        phone.author = who
        for value in pair:
            phone.read(KIDNEY, value)
        arrive(db, phone)
    for address in ("/learning", "/spread"):
        shown = Desk(sign_in()).page(address)
        shown = shown.split("<main")[1]
        places = [shown.index(name) for name in ("A. Zorn", "R. Dale", "Z. Ash")]
        assert places == sorted(places), "by name, never by spread"
        own = Desk(sign_in("AA")).page(address).split("<main")[1]
        assert "Z. Ash" in own and "A. Zorn" not in own and "R. Dale" not in own, address
    assert "2 other people have repeat readings" in page(sign_in("AA"))
    assert {row["person"] for row in table(sign_in("AA"), "spread")} == {"all together", "Z. Ash"}


def test_who_runs_the_practice_alone_sees_figures_and_no_animal(db: Database, sign_in: Enter) -> None:
    people.add(db, "AD", "A. Dunn", "admin", PASSWORD)
    signed_twice(db, sign_in(), "The owner brought the old pictures.")
    browser = sign_in("AD")
    shown = page(browser)
    assert "1 of 1 signed exams have a further version" in shown
    assert "Pepper" not in shown and "old pictures" not in shown
    assert browser.get("/learning/versions.csv").status_code == 403


def signed_twice(db: Database, browser: FlaskClient, reason: str) -> None:
    """A dog's exam with two readings that disagree, left so with a reason, signed and added to."""
    phone = whole_exam()
    for value in ("4.0", "6.9"):
        phone.read("jejunum.wall_thickness", value)
    arrive(db, phone)
    Vet(browser).sign()
    answer = Vet(browser).fill(status="appended", reason=reason, text="Compared.").post("addend")
    assert answer.status_code == 302, answer.text


def test_addenda_and_flags_left_so_come_with_their_reasons(db: Database, sign_in: Enter) -> None:
    browser = sign_in()
    signed_twice(db, browser, "The owner brought the old pictures.")
    shown = page(browser)
    assert "The owner brought the old pictures." in shown and "appended 1" in shown
    (row,) = table(browser, "versions")
    assert (row["name"], row["status"], row["reason"]) == ("Pepper", "appended", "The owner brought the old pictures.")
    left = [row for row in table(browser, "flags") if row["left"] != "0"]
    given = next(db.query("select count(*) as n from entries where kind = 'acknowledged' and exam = ?", [EXAM]))["n"]
    assert given > 0 and sum(int(row["with_reason"]) for row in left) == given
    assert {row["reason"] for row in left} == {"measured again, same"}


@pytest.mark.usefixtures("in_december")
def test_a_recommendation_with_a_day_is_due_and_done_once_a_later_exam_measured_the_part(
    db: Database, sign_in: Enter, monkeypatch: pytest.MonkeyPatch
) -> None:
    named = {"exam": "e", "name": "Mia", "part_label": "LEFT kidney", "text": "Measure again.", "who": "", "later": [],
             "missed": [], "state": None, "why": None}
    rows = [
        named | {"due": "2026-01-05", "done": True, "later": [{"exam": "f", "date": "2026-01-04", "how": "measured"}]},
        named | {"due": "2026-01-06", "done": False}, named | {"due": "2099-01-06", "done": False},
        named | {"due": "2026-01-07", "done": None, "part_label": None}, named | {"due": None, "done": False},
        named | {"due": "2026-01-08", "done": False, "missed": [{"exam": "g", "date": "2026-01-08"}]},
    ]  # fmt: skip
    monkeypatch.setattr(recommendations, "due", lambda *_: rows)
    browser = sign_in()
    shown = page(browser)
    assert "5 recommendations with a day in this range: a later exam came to the part of <b>1</b>" in shown
    assert "2 are past their day and open, 1 still ahead, 1 name no part" in shown
    told = [row["how"] for row in table(browser, "rechecks")]
    assert told == ["measured on 4 Jan 2026", "no later exam came to it", "its day is ahead",
                    "names no part: nobody can tell",
                    "exam came on 8 Jan 2026, this part not looked at"]  # fmt: skip


@pytest.mark.usefixtures("in_december")
def test_a_signed_recommendation_is_done_by_a_later_exam_of_the_same_animal(db: Database, sign_in: Enter) -> None:
    """From the form at the desk to the figure, with nothing put in its place."""
    arrive(db, whole_exam())
    browser = sign_in()
    vet = Vet(browser)
    vet.fill(**{
        "recommendations__0__text": "Measure the gland again.", "recommendations__0__due": "2026-11-25",
        "recommendations__0__part": "LEFT adrenal",
    })  # fmt: skip
    vet.sign()
    assert "A later exam" in page(browser) and "are past their day and open" in page(browser)
    (row,) = table(browser, "rechecks")
    assert (row["name"], row["due"], row["part"]) == ("Pepper", "25 Nov 2026", "LEFT adrenal")
    assert row["how"] == "no later exam came to it"
    later = exam("5.1", quantity="adrenal.left.caudal_pole_thickness", patient=PATIENT, day="2026-11-26")
    arrive(db, later)
    (row,) = table(browser, "rechecks")
    assert row["how"] == "measured on 26 Nov 2026"
    assert "a later exam came to the part of <b>1</b>, 0 are past their day and open" in page(browser)


@pytest.mark.parametrize(
    ("query", "words"),
    [
        ("?first=yesterday", "Write the day as"),
        ("?first=2026-03-01&last=2026-02-01", "The last day lies before the first."),
    ],
)
def test_a_day_that_is_none_is_asked_about_and_what_was_typed_stays(sign_in: Enter, query: str, words: str) -> None:
    answer = sign_in().get(f"/learning{query}")
    assert answer.status_code == 422 and words in answer.text
    assert query.split("=")[1].split("&")[0] in answer.text
    assert "finished at the table" not in answer.text, "no figures of a range that nobody asked for"


def test_the_range_filters_every_table(db: Database, sign_in: Enter) -> None:
    arrive(db, exam("40", "41", day="2026-01-05"), exam("40", "41", day="2026-02-05"))
    browser = sign_in()
    assert "1 Feb 2026 to 28 Feb 2026: <b>1</b> exam finished" in page(browser, "?first=1+Feb+2026&last=28+Feb+2026")
    assert [row["groups"] for row in table(browser, "spread", "?first=2026-02-01")] == ["1", "1"]
    assert [row["exams"] for row in table(browser, "minutes", "?last=2026-01-31")] == ["1"]


def test_new_entries_change_only_their_exam_and_an_erased_text_is_forgotten(
    app: Flask, db: Database, sign_in: Enter
) -> None:
    first, second = exam(closed=False), exam()
    first.seen("liver", "not_seen", ["a secret of the owner"])
    first.closed()
    arrive(db, first, second)
    browser = sign_in()
    assert "a secret of the owner" in page(browser)
    before = dict(db.execute("select exam, through from learning_exams").fetchall())
    second.seen("spleen", "not_seen", ["gas"])
    journal.append(db, second.written, "phone")
    assert "Spleen" in page(browser)
    after = dict(db.execute("select exam, through from learning_exams").fetchall())
    assert [exam_ for exam_ in after if after[exam_] != before[exam_]] == [second.exam]
    said = next(db.query("select id from entries where kind = 'seen' and exam = ?", [first.exam]))["id"]
    erasures.erase(db, [said], "RD", "asked for", "2026-11-24T10:00:00+01:00")
    assert "secret" not in page(browser)
    with app.app_context():
        behind.renew(db)
        assert renewing.renew(db) == 0


def test_rebuilding_the_lists_makes_the_figures_anew(db: Database, sign_in: Enter) -> None:
    phone = exam(closed=False)
    phone.seen("liver", "not_seen", ["gas"])
    phone.closed()
    arrive(db, phone)
    browser = sign_in()
    assert "gas 1" in page(browser)
    db.execute("update learning_exams set facts = replace(facts, 'gas', 'ribs')")
    assert "ribs 1" in page(browser), "what is kept is used"
    exams.rebuild(db)
    assert "gas 1" in page(browser)


def test_when_time_runs_out_the_page_says_how_many_exams_wait(
    db: Database, sign_in: Enter, monkeypatch: pytest.MonkeyPatch
) -> None:
    arrive(db, exam("40"), exam("41"))
    monkeypatch.setattr(renewing, "BUDGET_S", -1.0)
    shown = page(sign_in())
    assert "2 exams are not looked at yet" in shown and "<b>0</b> exams" in shown


def test_words_that_look_like_markup_or_formulas_stay_words(db: Database, sign_in: Enter) -> None:
    phone = exam(closed=False)
    phone.seen("liver", "not_seen", [EVERYTHING, "=cmd|' /C calc'!A0"])
    phone.closed()
    arrive(db, phone)
    browser = sign_in()
    look = Look(browser.get("/learning").text)
    assert look.found == [] and all(mark in look.text for mark in MARKS)
    assert not any(row["reason"].startswith("=") for row in table(browser, "not_seen"))


def test_tables_that_are_none_are_not_found(sign_in: Enter) -> None:
    browser: Any = sign_in()
    assert browser.get("/learning/people.csv").status_code == 404
    assert browser.get("/learning/flags.csv?first=x").status_code == 404
