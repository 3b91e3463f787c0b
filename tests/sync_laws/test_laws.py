"""The laws of a push: order, repetition, poison, conflict, copies. Each named for the failure it survives."""

import gzip
import json
from typing import Any

import pytest
from flask.testing import FlaskClient
from hypothesis import given, settings
from hypothesis import strategies as st
from sqlite_utils import Database

from tests.builders import EXAM, Phone, foreign, push, whole_exam
from tests.conftest import BEARER
from webapp.store import behind, branches, chain, devices, entries, exams, journal
from webapp.store.db import open_database
from webapp.store.entries import Envelope


def send(client: FlaskClient, phone: Phone, batch: list[Envelope]) -> Any:
    answer = client.post("/api/journal", data=push(phone, batch), headers=BEARER)
    assert answer.status_code == 200, answer.text
    return answer.json


def table(db: Database) -> list[dict[str, Any]]:
    """What is held, without the order in which it came."""
    return list(db.query("select id, device, seq, exam, patient, kind, header, body, why from entries order by id"))


def lists(db: Database) -> list[Any]:
    """As whoever reads them gets them."""
    behind.renew(db)
    return [list(db.query("select * from exams")), list(db.query("select * from devices order by device"))]


@pytest.fixture(scope="module")
def in_order() -> list[Any]:
    """Two phones at one exam, received in the order written."""
    db = open_database(":memory:")
    journal.append(db, WRITTEN, "phone")
    made = [table(db), *lists(db)]
    db.close()
    return made


def two_phones() -> list[Envelope]:
    first = whole_exam()
    second = Phone("b2" * 16, author="RD")
    second.read("adrenal.right.caudal_pole_thickness", "4.6")
    second.act("set", {"about": "patient.weight_kg", "value": "7.4", "typed": "7.4", "typed_unit": "kg"})
    return first.written + second.written


WRITTEN = two_phones()


@pytest.mark.catalogue(40)
@settings(max_examples=40, deadline=None)
@given(order=st.permutations(range(len(WRITTEN))), cuts=st.sets(st.integers(1, len(WRITTEN) - 1)), data=st.data())
def test_any_order_any_batches_any_repetition_give_the_same_practice(
    in_order: list[Any], order: list[int], cuts: set[int], data: st.DataObject
) -> None:
    db = open_database(":memory:")
    edges = [0, *sorted(cuts), len(order)]
    batches = [[WRITTEN[i] for i in order[a:b]] for a, b in zip(edges, edges[1:], strict=False)]
    again = data.draw(st.lists(st.sampled_from(batches), max_size=3))
    for batch in [*batches, *again]:
        journal.append(db, batch, "phone")
    assert [table(db), *lists(db)] == in_order
    assert chain.verify(db) == []
    db.close()


@pytest.mark.catalogue(40)
def test_a_gap_is_accepted_and_the_mark_is_the_longest_unbroken_beginning(client: FlaskClient) -> None:
    phone = whole_exam()
    marks = [send(client, phone, phone.written[a:b])["through"] for a, b in ((0, 2), (5, 9), (3, 5), (0, 2), (2, 3))]
    assert marks == [2, 2, 2, 2, 9]


@pytest.mark.catalogue(38)
@pytest.mark.parametrize(
    "change",
    [{"v": 999}, {"kind": "dreamt"}, {"body_hash": "0" * 64}],
    ids=["version", "kind", "body"],
)
def test_an_entry_nobody_can_read_lets_the_later_ones_through_and_is_shown_as_unread(
    client: FlaskClient, db: Database, change: dict[str, Any]
) -> None:
    phone = Phone()
    phone.opened()
    phone.read("adrenal.left.caudal_pole_thickness", "6.2")
    poison = foreign(phone.written[1], **change)
    phone.place = phone.place._replace(prev=entries.entry_id(poison))
    phone.closed()
    answer = send(client, phone, [phone.written[0], poison, phone.written[2]])
    assert [result["status"] for result in answer["results"]] == ["stored", "stored_unreadable", "stored"]
    assert (answer["through"], answer["held"]) == (3, 3)
    folded = exams.fold(db, EXAM)
    assert folded.exam["closed"]
    assert [row["id"] for row in folded.exam["unread"]] == [entries.entry_id(poison)]
    assert "unread" in {reason["kind"] for reason in json.loads(lists(db)[0][0]["reasons"])}


@pytest.mark.catalogue(38)
def test_a_header_that_is_no_header_is_kept_and_lets_the_later_ones_through(client: FlaskClient, db: Database) -> None:
    phone = whole_exam()
    scratched: Envelope = {"header": "{scratched", "body": "\0"}
    answer = send(client, phone, [phone.written[0], scratched, *phone.written[1:]])
    assert [result["status"] for result in answer["results"]].count("stored_unreadable") == 1
    assert (answer["through"], answer["held"]) == (9, 9)
    assert len(table(db)) == 10


@pytest.mark.catalogue(39)
def test_another_body_under_an_id_is_kept_beside_the_first_and_is_an_alarm(client: FlaskClient, db: Database) -> None:
    phone = whole_exam()
    send(client, phone, phone.written)
    other: Envelope = {"header": phone.written[1]["header"], "body": phone.written[2]["body"]}
    answer = send(client, phone, [other])
    assert answer["results"][0] == {"id": entries.entry_id(other), "status": "stored_unreadable"}
    assert next(db.query("select body from entries where arrival = 2"))["body"] == phone.written[1]["body"]
    assert next(db.query("select body from other_bodies"))["body"] == other["body"]
    assert exams.fold(db, EXAM).exam["readings"][0]["value"] == "6.2"
    faults = chain.verify(db)
    assert [fault.grave for fault in faults] == [False]
    assert "entry 2 (" in faults[0].text
    assert "1 other body arrived under its id" in faults[0].text


@pytest.mark.catalogue(41)
def test_another_phones_entries_never_prove_that_this_ones_are_here(client: FlaskClient, db: Database) -> None:
    phone = Phone(exam=None, patient=None)
    for _ in range(3):
        phone.act("noted", {"about": "exam", "text": "before the copy"})
    twin = phone.copied()
    for _ in range(3):
        phone.act("noted", {"about": "exam", "text": "the phone"})
        twin.act("noted", {"about": "exam", "text": "its copy"})
    assert send(client, phone, phone.written[:3])["through"] == 3
    assert send(client, twin, twin.written[:2])["through"] == 5
    last = send(client, phone, phone.written[5:])
    assert (last["through"], last["held"]) == (0, 6)  # by count it would be 6, and 4 and 5 would never come
    whole = send(client, phone, phone.written)
    assert (whole["through"], whole["held"], whole["clone"]) == (6, 8, True)
    assert send(client, twin, twin.written)["clone"] is False  # it came first: the other one is renamed


@pytest.mark.catalogue(41)
def test_a_copy_is_noticed_whichever_entry_comes_first(db: Database) -> None:
    phone = Phone(exam=None, patient=None)
    phone.act("noted", {"about": "exam", "text": "before the copy"})
    twin = phone.copied()
    for _ in range(2):
        phone.act("noted", {"about": "exam", "text": "the phone"})
        twin.act("noted", {"about": "exam", "text": "its copy"})
    journal.append(db, [phone.written[0], phone.written[2]], "phone")
    assert devices.split_at(db, phone.device) is None
    journal.append(db, [twin.written[0]], "phone")
    assert devices.split_at(db, phone.device) == 3
    devices.recount(db)
    assert devices.split_at(db, phone.device) == 3


@pytest.mark.catalogue(41)
def test_both_branches_are_folded_and_the_later_one_goes_by_its_first_entry(client: FlaskClient, db: Database) -> None:
    phone = Phone()
    phone.opened()
    twin = phone.copied()
    phone.read("adrenal.left.caudal_pole_thickness", "6.2")
    twin.read("adrenal.left.caudal_pole_thickness", "6.3")
    send(client, phone, phone.written)
    send(client, twin, twin.written)
    assert {row["value"] for row in exams.fold(db, EXAM).exam["readings"]} == {"6.2", "6.3"}
    name = entries.entry_id(twin.written[0])[:32]
    assert [(row["name"], row["seq"], row["entries"]) for row in branches.listing(db)] == [(name, 2, 1)]


@pytest.mark.catalogue(51)
@pytest.mark.parametrize(
    ("body", "headers", "status"),
    [
        (b"[" * 10_000, {}, 400),
        (b'{"protocol":1,"device":"' + b"a1" * 16 + b'","entries":' + b"[" * 10_000, {}, 400),
        (b" " * 10_000_000, {}, 413),
        (json.dumps({"protocol": 1, "device": "a1" * 16, "entries": [{"header": "x" * 600_000, "body": ""}]}), {}, 413),
        (gzip.compress(b" " * 50_000_000), {"Content-Encoding": "gzip"}, 415),
    ],
    ids=["deep", "deep inside", "10 MB", "large entry", "unfolds to 50 MB"],
)
def test_what_is_far_too_large_or_deep_is_refused_and_stores_nothing(
    client: FlaskClient, db: Database, body: bytes | str, headers: dict[str, str], status: int
) -> None:
    answer = client.post("/api/journal", data=body, headers=BEARER | headers)
    assert answer.status_code == status
    assert answer.json["error"]["code"]
    assert table(db) == []


@pytest.mark.catalogue(38)
def test_a_body_nested_without_end_is_kept_as_unreadable(client: FlaskClient, db: Database) -> None:
    phone = whole_exam()
    deep = "[" * 10_000
    header = json.loads(phone.written[8]["header"]) | {"body_hash": entries.sha256(deep)}
    envelope: Envelope = {"header": entries.canonical(header), "body": deep}
    answer = send(client, phone, [*phone.written[:8], envelope])
    assert answer["results"][8]["status"] == "stored_unreadable"
    assert len(table(db)) == 9
