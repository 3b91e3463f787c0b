"""Grades and the list of whom to tell at the desk: changes with who, when and why; quieter only with a reason."""

from collections.abc import Callable
from typing import Any

import pytest
from flask.testing import FlaskClient
from sqlite_utils import Database

from tests.builders import EXAM, Phone, whole_exam
from tests.conftest import PASSWORD, form_token
from tests.register.desk import Desk
from webapp.store import behind, exams, journal, overlays, people

Enter = Callable[..., FlaskClient]
PAGE = "/limits/grades"


def grade(desk: Desk, kind: str, wanted: str, why: str = "") -> Any:
    return desk.post(PAGE, PAGE, kind=kind, grade=wanted, why=why)


def entry(desk: Desk, finding: str, structure: str, wanted: str, why: str = "") -> Any:
    return desk.post(PAGE, f"{PAGE}/entry", finding=finding, structure=structure, grade=wanted, why=why)


def in_force(db: Database) -> Any:
    return overlays.in_force(db)


def alerts(db: Database) -> list[tuple[str, str]]:
    flags = exams.fold(db, EXAM).judgement["flags"]
    return [(flag["about"], flag["grade"]) for flag in flags if flag["kind"] == "alert"]


def with_material() -> Phone:
    phone = whole_exam()
    phone.act("found", {"about": "vena_cava", "finding": "material"})
    return phone


def test_a_grade_made_louder_is_kept_and_used_at_once(db: Database, sign_in: Enter) -> None:
    journal.append(db, whole_exam().written, "phone")
    desk = Desk(sign_in())
    assert grade(desk, "above_limit", "look_again").status_code == 302
    assert in_force(db)["grades"] == {"above_limit": {"grade": "look_again"}}
    flags = exams.fold(db, EXAM).judgement["flags"]
    assert {flag["grade"] for flag in flags if flag["kind"] == "above_limit"} == {"look_again"}
    behind.renew(db)
    assert "look again" in next(db.query("select reasons from exams"))["reasons"].replace("_", " ")
    assert exams.differences(db) == []


def test_quieter_without_a_reason_changes_nothing_and_what_was_typed_stays(db: Database, sign_in: Enter) -> None:
    desk = Desk(sign_in())
    refused = grade(desk, "above_limit", "note")
    assert refused.status_code == 422 and "needs a reason" in refused.text
    assert in_force(db) is None
    refused = entry(desk, "material", "vena_cava", "note")
    assert refused.status_code == 422 and "needs a reason" in refused.text
    assert '<option selected value="material">' in refused.text
    assert in_force(db) is None


def test_a_quieter_entry_keeps_the_line_and_the_history_says_who_when_and_why(db: Database, sign_in: Enter) -> None:
    journal.append(db, with_material().written, "phone")
    assert alerts(db) == [("vena_cava", "tell_someone")]
    desk = Desk(sign_in())
    assert entry(desk, "material", "vena_cava", "note", "told by phone at once").status_code == 302
    assert alerts(db) == [("vena_cava", "note")]
    history = desk.page("/limits/history")
    assert "put before the list of whom to tell: material: Caudal vena cava, note" in history
    assert "because: told by phone at once" in history and "R. Dale" in history
    assert "told by phone at once" in desk.page(PAGE)


def test_an_own_entry_is_taken_back_and_a_grade_put_back_leaves_no_trace_in_the_overlay(
    db: Database, sign_in: Enter
) -> None:
    desk = Desk(sign_in())
    entry(desk, "stone", "bile_duct", "tell_someone")
    grade(desk, "caution", "outside")
    assert desk.post(PAGE, f"{PAGE}/entry/back", what="0").status_code == 302
    assert grade(desk, "caution", "note").status_code == 302
    assert {"grades", "tell"}.isdisjoint(in_force(db))
    assert in_force(db)["change"] == 4
    assert desk.post(PAGE, f"{PAGE}/entry/back", what="0").status_code == 422


def test_limits_as_they_were_bring_the_grades_back(db: Database, sign_in: Enter) -> None:
    desk = Desk(sign_in())
    grade(desk, "caution", "outside")
    desk.switch("source|s001|off")
    assert desk.post("/limits/history", "/limits/history/again", what="0").status_code == 302
    assert "grades" not in in_force(db)
    assert desk.post("/limits/history", "/limits/history/again", what="1").status_code == 302
    assert in_force(db)["grades"] == {"caution": {"grade": "outside"}}


@pytest.mark.parametrize("role", ["sonographer", "assistant", "reader"])
def test_only_a_reviewer_or_an_admin_changes_them(db: Database, sign_in: Enter, role: str) -> None:
    people.add(db, "XX", "X. Xavier", role, PASSWORD)
    browser = sign_in("XX")
    token = form_token(browser.get("/account").text)
    for address in (PAGE, f"{PAGE}/entry", f"{PAGE}/entry/back"):
        assert browser.post(address, data={"csrf_token": token}).status_code == 403, address
    if role != "assistant":
        page = browser.get(PAGE).text
        assert "changed by a reviewer or an admin" in page and "grade-form" not in page
    assert in_force(db) is None
