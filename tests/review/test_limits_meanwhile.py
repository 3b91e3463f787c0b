"""The limits change while a reviewer has an exam before her: she signs no flag that she has not looked at."""

from collections.abc import Callable

import pytest
from flask.testing import FlaskClient
from sqlite_utils import Database

from tests.builders import EXAM, whole_exam
from tests.register.desk import Desk
from tests.review.desk import Vet
from webapp.store import exams, journal, reports

MELIAN = "source|s001|off"


@pytest.mark.catalogue(61)
def test_flags_that_changed_under_the_reviewer_are_shown_before_they_are_signed(
    db: Database, sign_in: Callable[..., FlaskClient]
) -> None:
    journal.append(db, whole_exam().written, "phone")
    browser = sign_in()
    vet = Vet(browser).ready()
    before = exams.fold(db, EXAM).judgement["flags"]
    assert Desk(browser).switch(MELIAN).status_code == 302
    assert exams.fold(db, EXAM).judgement["flags"] != before
    answer = vet.post("sign")
    assert "The limits changed since you opened this page, limits-2026.11.1 to limits-2026.11.1+p1" in answer.text
    assert "Both glands seen; the LEFT one is thick." in answer.text
    assert reports.versions(db, EXAM) == []
    assert vet.read(answer).ready().post("sign").status_code == 302
    (issued,) = reports.versions(db, EXAM)
    assert issued["limits_version"] == "limits-2026.11.1+p1"
