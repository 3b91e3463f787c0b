"""Two people at two desks who change the same thing: both versions are kept and shown, none is lost in silence."""

from collections.abc import Callable

import pytest
from flask.testing import FlaskClient
from sqlite_utils import Database

from tests.builders import EXAM, whole_exam
from tests.conftest import PASSWORD
from tests.review.desk import Vet
from webapp.store import exams, journal, people, reports

Enter = Callable[..., FlaskClient]


@pytest.fixture
def two(db: Database, sign_in: Enter) -> tuple[Vet, Vet]:
    """Two vets who have opened the same exam."""
    people.add(db, "IF", "I. Fallow", "reviewer", PASSWORD)
    journal.append(db, whole_exam().written, "phone")
    return Vet(sign_in("RD")), Vet(sign_in("IF"))


@pytest.mark.catalogue(71)
def test_two_addenda_to_one_finding_are_both_kept_and_shown_as_amended_twice(
    db: Database, two: tuple[Vet, Vet]
) -> None:
    one, other = two
    one.sign()
    for vet in two:
        vet.look()
    one.fill(status="amended", reason="LEFT measured anew", text="LEFT gland 5.9 mm.")
    other.fill(status="amended", reason="image looked at again", text="LEFT gland 6.6 mm.")
    assert one.post("addend").status_code == 302
    answer = other.post("addend")
    assert answer.status_code == 200 and "arrived since you opened this page" in answer.text
    assert "LEFT gland 5.9 mm." in answer.text, "what the other one wrote is shown before the second can sign"
    assert "LEFT gland 6.6 mm." in other.read(answer).form["text"], "and nothing typed is lost"
    assert other.fill(status="amended").post("addend").status_code == 302
    page = one.look().page
    assert "Addenda: amended twice" in page and "LEFT gland 5.9 mm." in page and "LEFT gland 6.6 mm." in page
    exam = exams.fold(db, EXAM).exam
    assert [(row["text"], row["author"]) for row in exam["amended"]] == [
        ("LEFT gland 5.9 mm.", "RD"), ("LEFT gland 6.6 mm.", "IF")]
    assert [row["version"] for row in reports.versions(db, EXAM)] == [1, 2, 3]
    plain = reports.version(db, EXAM, 3)["plain"]
    assert "LEFT gland 5.9 mm." in plain and "LEFT gland 6.6 mm." in plain
    assert "LEFT gland 6.6 mm." not in reports.version(db, EXAM, 2)["plain"], "what was issued does not change"


@pytest.mark.catalogue(71)
def test_two_impressions_of_one_exam_are_both_kept_until_a_person_chooses(db: Database, two: tuple[Vet, Vet]) -> None:
    one, other = two
    assert one.fill(impression="LEFT gland large.").post("draft").status_code == 302
    assert other.fill(impression="Both glands usual.").post("draft").status_code == 302
    (fork,) = exams.fold(db, EXAM).exam["forks"]
    assert {side["value"] for side in fork["values"]} == {"LEFT gland large.", "Both glands usual."}
    page = one.look().page
    assert "Recorded differently by two people" in page
    assert "LEFT gland large." in page and "Both glands usual." in page
    assert "Settle 1 thing that two people recorded differently" in one.ready().fill(impression="").post("sign").text
