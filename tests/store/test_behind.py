"""A push is answered before its exams are judged; nobody sees a list from before."""

import json
import time
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from typing import Any

import pytest
from flask import Flask
from flask.testing import FlaskClient
from hypothesis import given, settings
from hypothesis import strategies as st
from sqlite_utils import Database

from tests.builders import DAY, EXAM, Phone, push, whole_exam
from tests.conftest import BEARER
from webapp.store import behind, exams, journal
from webapp.store.db import open_database

LATER_EXAM = EXAM[:-1] + "2"


def send(client: FlaskClient, phone: Phone, since: int = 0) -> Any:
    answer = client.post("/api/journal", data=push(phone, phone.written[since:]), headers=BEARER)
    assert answer.status_code == 200, answer.text
    return answer.json


def two_exams() -> Phone:
    """One animal's exam, and another on a later day, which is compared with the first."""
    phone = whole_exam()
    phone.exam = LATER_EXAM
    phone.act(
        "opened",
        {
            "about": "exam",
            "date": "2026-12-24",
            "visit": None,
            "patient": {"species": "dog", "weight_kg": "7.2"},
            "question": {"text": "", "structures": []},
            "context": {},
        },
    )
    phone.read("adrenal.left.caudal_pole_thickness", "9.9")
    return phone


def test_a_push_leaves_its_exam_to_be_judged_later_and_says_so_in_the_same_transaction(
    client: FlaskClient, db: Database
) -> None:
    send(client, whole_exam())
    assert behind.first(db) == EXAM
    assert list(db.query("select exam from exams")) == []


def test_the_queue_never_shows_a_list_from_before(
    client: FlaskClient, db: Database, sign_in: Callable[..., FlaskClient]
) -> None:
    phone = Phone()
    phone.opened()
    send(client, phone)
    desk = sign_in()
    assert "Pepper" in desk.get("/review").text
    phone.closed()
    phone.act("set", {"about": "patient.name", "value": "Salt"})
    send(client, phone, since=1)
    assert "Salt" in desk.get("/review").text
    assert behind.first(db) is None
    assert exams.differences(db) == []


def test_a_phone_that_reads_gets_what_was_sent_just_before(client: FlaskClient, db: Database) -> None:
    send(client, whole_exam())
    assert client.get("/api/journal", headers=BEARER).status_code == 200
    assert behind.first(db) is None


def test_only_views_that_show_no_list_are_let_through_without_renewing(app: Flask) -> None:
    marked = {name for name, view in app.view_functions.items() if getattr(view, "reads_no_lists", False)}
    assert marked == {
        "phone.page",
        "phone.service_worker",
        "phone.built",
        "photos_api.photo",
        "pairing_api.pair",
        "pairing_api.wait",
        "sync.ping",
        "sync.practice",
        "sync.push",
        "sync.push_sealed",
    }
    unjudged = {name for name, view in app.view_functions.items() if getattr(view, "reads_no_judgement", False)}
    assert unjudged == {"sync.pull"}


def test_a_phone_waits_for_new_entries_of_exams_and_not_for_judgements(
    client: FlaskClient, db: Database, sign_in: Callable[..., FlaskClient]
) -> None:
    phone = two_exams()
    send(client, phone)
    behind.renew(db)
    behind.note_unsigned(db)
    phone.read("adrenal.left.caudal_pole_thickness", "9.8")
    send(client, phone, since=len(phone.written) - 1)
    assert client.get("/api/journal", headers=BEARER).status_code == 200
    assert [row["exam"] for row in db.query("select exam from exams_behind")] == [EXAM]
    assert sign_in().get("/review").status_code == 200
    assert behind.first(db) is None


def test_a_late_entry_renews_the_later_exam_that_is_compared_with_it(client: FlaskClient, db: Database) -> None:
    phone = two_exams()
    send(client, phone)
    behind.renew(db)
    phone.exam = EXAM
    phone.read("adrenal.left.caudal_pole_thickness", "6.0")
    send(client, phone, since=len(phone.written) - 1)
    behind.renew(db)
    assert exams.differences(db) == []


def test_a_renewal_that_is_told_to_stop_leaves_the_rest_noted(client: FlaskClient, db: Database) -> None:
    send(client, two_exams())
    turns = iter([True, False])
    assert behind.renew(db, lambda: next(turns)) == 1
    assert behind.first(db) == LATER_EXAM
    assert behind.renew(db) == 1
    assert exams.differences(db) == []


def test_two_who_renew_at_once_do_not_both_judge_the_same_exam(
    app: Flask, db: Database, monkeypatch: pytest.MonkeyPatch
) -> None:
    for number in range(6):
        phone = Phone(f"{number:032x}", exam=f"{EXAM[:-1]}{number}")
        phone.opened()
        journal.append(db, phone.written, "phone", lists_later=True)
    judged: list[str] = []
    whole = exams.projection

    def slowly(base: Database, name: str) -> dict[str, Any] | None:
        judged.append(name)
        time.sleep(0.02)  # both are at it, were they let
        return whole(base, name)

    monkeypatch.setattr(exams, "projection", slowly)

    def renew() -> None:
        own = open_database(app.config["DATABASE"])
        behind.renew(own)
        own.close()

    with ThreadPoolExecutor(2) as pool:
        for done in [pool.submit(renew) for _ in range(2)]:
            done.result()
    assert sorted(judged) == sorted(set(judged)) and len(judged) == 6
    assert behind.first(db) is None


WRITTEN = two_exams().written


@settings(max_examples=30, deadline=None)
@given(order=st.permutations(range(len(WRITTEN))), looks=st.sets(st.integers(0, len(WRITTEN) - 1), max_size=3))
def test_lists_renewed_late_equal_lists_made_at_once(order: list[int], looks: set[int]) -> None:
    at_once, late = open_database(":memory:"), open_database(":memory:")
    for place, which in enumerate(order):
        journal.append(at_once, [WRITTEN[which]], "phone")
        journal.append(late, [WRITTEN[which]], "phone", lists_later=True)
        if place in looks:
            behind.renew(late)
            assert rows(late) == rows(at_once)
    behind.renew(late)
    assert rows(late) == rows(at_once)
    assert exams.differences(late) == []
    late.close()
    at_once.close()


def rows(db: Database) -> list[dict[str, Any]]:
    return list(db.query("select * from exams order by exam"))


def test_the_command_compares_what_a_reader_would_see(app: Flask, client: FlaskClient, db: Database) -> None:
    send(client, whole_exam())
    answer = app.test_cli_runner().invoke(args=["rebuild", "--check"])
    assert (answer.exit_code, answer.output) == (0, "The lists equal the journal.\n")
    assert json.loads(rows(db)[0]["animal"])["name"] == "Pepper"
    assert rows(db)[0]["date"] == DAY


def test_an_exam_that_the_rules_cannot_read_does_not_hold_up_the_others(
    client: FlaskClient, db: Database, monkeypatch: pytest.MonkeyPatch
) -> None:
    send(client, two_exams())
    ask = exams.rules.call

    def broken(question: dict[str, Any], overlay: dict[str, Any] | None = None) -> dict[str, Any]:
        if question["entries"][0]["exam"] == EXAM:
            raise exams.rules.RulesError("no rule for this")
        return ask(question, overlay)

    monkeypatch.setattr(exams.rules, "call", broken)
    assert behind.renew(db) == 2
    assert [row["state"] for row in rows(db)] == [exams.NOT_READ, exams.OPEN]
