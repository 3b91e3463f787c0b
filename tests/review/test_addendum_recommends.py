"""An addendum adds, settles and drops what a signed report recommends, with a reason; the versions before it stay."""

import json
from collections.abc import Callable
from typing import Any

import pytest
from flask.testing import FlaskClient
from sqlite_utils import Database

from tests.builders import EXAM
from tests.exchange.signed import signed
from tests.review.desk import Vet
from webapp.store import exams, reports

Enter = Callable[..., FlaskClient]
WRITTEN = {"status": "corrected", "reason": "owner rang", "text": "The plan changed."}


@pytest.fixture
def vet(db: Database, sign_in: Enter) -> Vet:
    """A vet who has signed an exam with one recommendation, and sees it."""
    return signed(db, sign_in()).look()


def fields(**typed: str) -> dict[str, str]:
    return WRITTEN | {name.replace("__", "-"): text for name, text in typed.items()}


def recommended(db: Database) -> list[dict[str, Any]]:
    told: list[dict[str, Any]] = exams.fold(db, EXAM).exam["fields"]["recommendations"]
    return told


def plain(db: Database, version: int) -> str:
    row = reports.version(db, EXAM, version)
    assert row is not None
    return " ".join(str(row["plain"]).split())


def test_the_form_offers_each_one_that_stands(vet: Vet) -> None:
    assert "Measure again" in vet.page and vet.form["fates-0-number"] == "1"
    assert vet.form["recommendations-0-text"] == ""


def test_one_is_dropped_and_another_added_and_the_new_report_shows_it(db: Database, vet: Vet) -> None:
    answer = vet.fill(**fields(
        fates__0__state="dropped", fates__0__why="the animal moved away",
        recommendations__0__text="Send the images on", recommendations__0__due="5 Jan 2027",
    )).post("addend")  # fmt: skip
    assert answer.status_code == 302, answer.text
    row, new = recommended(db)
    assert (row["text"], row["state"], row["why"], row["since"]) == (
        "Measure again", "dropped", "the animal moved away", 2)  # fmt: skip
    assert (new["text"], new["due"], new["since"]) == ("Send the images on", "2027-01-05", 2)
    assert "Send the images on. By 5 January 2027: no person named. Added in version 2." in plain(db, 2)
    assert "No longer recommended: - Measure again. LEFT kidney, long axis. By 24 February 2027: R. Dale. " \
        "Dropped in version 2: the animal moved away." in plain(db, 2)  # fmt: skip
    assert "Dropped" not in plain(db, 1) and "Measure again." in plain(db, 1), "what was issued does not change"
    page = vet.look().page
    assert "dropped in version 2: the animal moved away" in page and vet.form["fates-0-number"] == "2"


def test_what_is_frozen_is_what_the_journal_gives_and_nothing_has_come_late(db: Database, vet: Vet) -> None:
    vet.fill(**fields(fates__0__state="settled", fates__0__why="measured elsewhere")).post("addend")
    row = reports.version(db, EXAM, 2)
    assert row is not None and json.loads(row["exam_json"])["fields"]["recommendations"] == recommended(db)
    folded = exams.fold(db, EXAM).exam
    assert folded["forks"] == [] and reports.arrived_after(db, EXAM) == []
    assert "Settled in version 2: measured elsewhere." in plain(db, 2)
    assert "Nothing is recommended any more." in plain(db, 2)


def test_a_third_version_still_says_what_the_second_dropped(db: Database, vet: Vet) -> None:
    vet.fill(**fields(fates__0__state="dropped", fates__0__why="owner moved")).post("addend")
    answer = vet.look().fill(**WRITTEN).post("addend")
    assert answer.status_code == 302 and "Dropped in version 2: owner moved." in plain(db, 3)
    assert [row.get("since") for row in recommended(db)] == [2]


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ({"fates-0-state": "dropped"}, "Say why, or by what it was settled."),
        ({"fates-0-why": "owner moved"}, "Choose settled or dropped, or clear this."),
        ({"fates-0-state": "lost", "fates-0-why": "x"}, "Choose from the list."),
        ({"recommendations-0-due": "1 Jan 2027"}, "Write what is to be done"),
        ({"recommendations-0-text": "Look again", "recommendations-0-due": "soon"}, "Write the day as"),
    ],
)
def test_what_is_half_said_is_asked_about_and_stays(db: Database, vet: Vet, typed: dict[str, str], said: str) -> None:
    answer = vet.fill(**WRITTEN | typed).post("addend")
    assert answer.status_code == 200 and said in answer.text
    name, text = next(iter(typed.items()))
    assert name.endswith("state") or vet.read(answer).form[name] == text
    assert len(reports.versions(db, EXAM)) == 1


def test_one_that_another_vet_has_ended_meanwhile_is_not_ended_twice(db: Database, vet: Vet) -> None:
    other = Vet(vet.browser)
    assert other.fill(**fields(fates__0__state="dropped", fates__0__why="moved")).post("addend").status_code == 302
    answer = vet.fill(**fields(fates__0__state="settled", fates__0__why="seen")).post("addend")
    assert answer.status_code == 200 and "arrived since you opened this page" in answer.text
    assert "Ended meanwhile; what you wrote of it is not taken: seen" in answer.text
    vet.read(answer)
    assert "fates-0-number" not in vet.form
    again = vet.fill(**fields(fates__0__number="1", fates__0__state="settled", fates__0__why="seen")).post("addend")
    assert "Recommendation 1 was ended meanwhile" in again.text
    assert [row["state"] for row in recommended(db)] == ["dropped"] and len(reports.versions(db, EXAM)) == 2
