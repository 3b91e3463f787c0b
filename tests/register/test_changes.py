"""What the practice changes: each change one entry of the desk, counted, told, undone by a further one."""

import json
from collections.abc import Callable
from typing import Any

import pytest
from flask.testing import FlaskClient
from sqlite_utils import Database

from tests.builders import EXAM, Phone, whole_exam
from tests.conftest import BEARER
from tests.register.desk import Desk
from tests.review.desk import Vet
from webapp import rules
from webapp.store import behind, entries, exams, journal, overlays

Enter = Callable[..., FlaskClient]
MELIAN = "source|s001|off"


def changes(db: Database) -> list[dict[str, Any]]:
    """The entries about the practice's limits, in order of arrival."""
    rows = db.query(
        "select header, body, arrived_from from entries where kind = 'set' and exam is null order by arrival"
    )
    return [entries.open_entry(row) | {"from": row["arrived_from"]} for row in rows]


def arrive(db: Database, phone: Phone) -> None:
    journal.append(db, phone.written, "phone")


def flagged(db: Database) -> set[str]:
    """The limits that an exam's flags name."""
    return {flag["limit"]["id"] for flag in exams.fold(db, EXAM).judgement["flags"] if flag["limit"]}


def test_a_change_is_one_entry_of_the_desk_with_the_whole_overlay(db: Database, sign_in: Enter) -> None:
    desk = Desk(sign_in())
    assert desk.switch(MELIAN).status_code == 302
    assert desk.threshold("class_edge.share", "0,05").status_code == 302
    first, second = changes(db)
    assert first["body"] == {
        "about": "practice.limits",
        "value": {"change": 1, "sources_off": ["s001"], "rows_off": [], "thresholds": {}, "rows": []},
    }
    assert (first["author"], first["from"], first["exam"], first["patient"]) == ("RD", "desk", None, None)
    assert (first["after"], second["after"]) == ([], [first["id"]])
    assert second["body"]["value"] == first["body"]["value"] | {"change": 2, "thresholds": {"class_edge.share": "0.05"}}
    assert rules.limits_version(overlays.in_force(db)) == "limits-2026.11.1+p2"
    assert "limits-2026.11.1+p2" in desk.page()


def test_exams_that_are_not_signed_are_judged_anew_before_anyone_reads_their_list(db: Database, sign_in: Enter) -> None:
    arrive(db, whole_exam())
    assert "melian2021_5_10_left" in flagged(db)
    before = next(db.query("select reasons from exams"))["reasons"]
    assert Desk(sign_in()).switch(MELIAN).status_code == 302
    assert "melian2021_5_10_left" not in flagged(db)
    behind.renew(db)
    assert next(db.query("select reasons from exams"))["reasons"] != before
    assert exams.differences(db) == []


def test_a_signed_exam_keeps_the_limits_it_was_signed_by(db: Database, sign_in: Enter) -> None:
    arrive(db, whole_exam())
    browser = sign_in()
    Vet(browser).sign()
    before = next(db.query("select reasons from exams"))["reasons"]
    assert Desk(browser).switch(MELIAN).status_code == 302
    assert "melian2021_5_10_left" in flagged(db)
    assert next(db.query("select reasons from exams"))["reasons"] == before
    assert exams.differences(db) == []
    page = browser.get(f"/review/exam/{EXAM}").text
    assert "keeps the limits that it was signed by, limits-2026.11.1; in force now: limits-2026.11.1+p1" in page


def test_an_exam_signed_after_a_change_says_its_version(db: Database, sign_in: Enter) -> None:
    arrive(db, whole_exam())
    browser = sign_in()
    Desk(browser).switch(MELIAN)
    Vet(browser).sign()
    assert next(db.query("select limits_version from reports"))["limits_version"] == "limits-2026.11.1+p1"
    assert "keeps the limits" not in browser.get(f"/review/exam/{EXAM}").text


@pytest.mark.parametrize(("named", "told"), [("limits-2026.11.1", True), ("limits-2026.11.1+p1", False), (None, False)])
def test_other_limits_at_the_table_are_told(db: Database, sign_in: Enter, named: str | None, told: bool) -> None:
    phone = Phone()
    phone.opened()
    phone.act("closed", {"about": "exam"} | ({"limits_version": named} if named else {}))
    arrive(db, phone)
    browser = sign_in()
    Desk(browser).switch(MELIAN)
    page = browser.get(f"/review/exam/{EXAM}").text
    assert ("At the table it was judged by other limits, limits-2026.11.1; here by limits-2026.11.1+p1" in page) == told


def test_an_own_row_is_kept_as_typed_and_in_the_quantitys_unit(db: Database, sign_in: Enter) -> None:
    desk = Desk(sign_in())
    answer = desk.own()
    assert answer.status_code == 302, answer.text
    row = changes(db)[0]["body"]["value"]["rows"][0]
    assert (row["upper"], row["unit"], row["typed_upper"], row["typed_unit"]) == ("5.8", "mm", "0,58", "cm")
    assert (row["id"], row["known"], row["n"], row["source"]) == ("own1", "practice", 31, "own:own series 2024 to 2026")
    assert "dogs seen for dental work" in desk.page("/limits?use=own")


def test_an_own_row_judges_from_then_on(db: Database, sign_in: Enter) -> None:
    arrive(db, whole_exam())
    Desk(sign_in()).own()
    assert "own1" in flagged(db) and "melian2021_5_10_left" not in flagged(db)


@pytest.mark.parametrize(
    ("typed", "words"),
    [
        ({"lower": "7"}, "the lower bound 70 is above the upper, 5.8."),
        ({"unit": "mm", "upper": "580"}, "580 is outside what LEFT adrenal, greatest thickness can be"),
        ({"source": ""}, "Write where the figure is from."),
        ({"source": " "}, "an own row says where the figure is from."),
        ({"population": ""}, "Write which animals it is from."),
        ({"n": ""}, "Write how many animals it is from, or say that it is not known."),
        ({"quantity": "liver.colour"}, "Not a valid choice"),
        ({"weights": ""}, "All weights, or one class?"),
        ({"weights": "all"}, "All weights, or the class that is written?"),
        ({"from_kg": "12"}, "the weight class from 12 to 10 kg holds no weight."),
        ({"upper": "5.8 kg"}, "kg is not a unit for this value: it is kept in mm."),
    ],
)
def test_nonsense_is_refused_and_what_was_typed_stays(
    db: Database, sign_in: Enter, typed: dict[str, str], words: str
) -> None:
    answer = Desk(sign_in()).own(note="Kept as typed", **typed)
    assert answer.status_code == 422
    assert words in answer.text and "Kept as typed" in answer.text
    assert changes(db) == []


def test_the_number_of_animals_may_be_unknown_when_that_is_said(db: Database, sign_in: Enter) -> None:
    assert Desk(sign_in()).own(n="", n_not_known="yes").status_code == 302
    assert changes(db)[0]["body"]["value"]["rows"][0]["n"] == "not known"


def test_an_own_row_is_taken_back_and_its_id_is_not_used_again(db: Database, sign_in: Enter) -> None:
    desk = Desk(sign_in())
    desk.own()
    assert desk.post("/limits/own", "/limits/own/back", what="own1").status_code == 302
    desk.own()
    assert [row["id"] for row in changes(db)[-1]["body"]["value"]["rows"]] == ["own3"]
    assert desk.post("/limits/own", "/limits/own/back", what="own1").status_code == 422


def test_a_threshold_refused_is_shown_as_typed(db: Database, sign_in: Enter) -> None:
    answer = Desk(sign_in()).threshold("class_edge.share", "7")
    assert answer.status_code == 422
    assert "7 is more than 1" in answer.text and 'value="7"' in answer.text
    assert changes(db) == []


@pytest.mark.parametrize("number", ["", "0.03"])
def test_an_empty_number_or_ours_puts_a_threshold_back(db: Database, sign_in: Enter, number: str) -> None:
    desk = Desk(sign_in())
    desk.threshold("class_edge.share", "0.05")
    assert "as it came: 0.03" in desk.page("/limits/thresholds")
    assert desk.threshold("class_edge.share", number).status_code == 302
    assert changes(db)[-1]["body"]["value"]["thresholds"] == {}


def test_what_is_changed_by_two_at_once_is_refused_to_the_second(db: Database, sign_in: Enter) -> None:
    first, second = Desk(sign_in()), Desk(sign_in())
    stale = second.fields("/limits")
    first.switch(MELIAN)
    answer = second.browser.post("/limits/switch", data=stale | {"what": "row|gi-cat-duo|off"})
    assert answer.status_code == 409
    assert "were changed since this page was opened" in answer.text
    assert len(changes(db)) == 1


@pytest.mark.parametrize("what", ["row|no-such-row|off", "source|s999|off", "row|gi-cat-duo|on", "nonsense", ""])
def test_a_switch_of_nothing_records_nothing(db: Database, sign_in: Enter, what: str) -> None:
    assert Desk(sign_in()).switch(what).status_code == 422
    assert changes(db) == []


def test_the_history_tells_who_when_what_and_undoing_is_a_further_change(db: Database, sign_in: Enter) -> None:
    desk = Desk(sign_in())
    desk.switch("row|gi-cat-duo|off")
    desk.switch(MELIAN)
    desk.threshold("class_edge.share", "0.05")
    page = desk.page("/limits/history")
    assert "switched off: Duodenum, wall thickness, cats: 2 to 2.4 mm (Goggin et al. 2000" in page
    assert "switched off: the set Melián et al. 2021" in page and "threshold class edge, share: 0.03 → 0.05" in page
    assert page.count("R. Dale</span>") == 3
    assert desk.post("/limits/history", "/limits/history/again", what="1").status_code == 302
    assert changes(db)[-1]["body"]["value"] == changes(db)[0]["body"]["value"] | {"change": 4}
    assert "switched on again: the set Melián et al. 2021" in desk.page("/limits/history")
    assert desk.post("/limits/history", "/limits/history/again", what="0").status_code == 302
    assert rules.limits_version(overlays.in_force(db)) == "limits-2026.11.1+p5"
    assert desk.post("/limits/history", "/limits/history/again", what="9").status_code == 422


def test_no_phone_changes_the_limits(db: Database) -> None:
    phone = Phone(exam=None, patient=None)
    value = {"change": 1, "sources_off": ["s001"], "rows_off": [], "thresholds": {}, "rows": []}
    phone.act("set", {"about": "practice.limits", "value": value})
    arrive(db, phone)
    assert overlays.in_force(db) is None


def test_a_phone_is_given_what_is_in_force(client: FlaskClient, sign_in: Enter) -> None:
    before = client.get("/api/practice", headers=BEARER).json
    assert before is not None and (before["overlay"], before["limits_version"]) == (None, "limits-2026.11.1")
    Desk(sign_in()).switch(MELIAN)
    after = client.get("/api/practice", headers=BEARER).json
    assert after is not None and after["limits_version"] == "limits-2026.11.1+p1"
    assert json.dumps(after["overlay"]["sources_off"]) == '["s001"]'
