"""`verify` finds what someone did to the file by hand, and names the row."""

import json

import pytest
from sqlite_utils import Database

from tests.builders import Phone, foreign, whole_exam
from webapp.store import chain, journal


@pytest.fixture
def open_hood(db: Database) -> Database:
    """A journal of one exam with its guards taken off."""
    journal.append(db, whole_exam().written, "phone")
    for row in list(db.query("select name from sqlite_master where type = 'trigger'")):
        db.execute(f"drop trigger {row['name']}")
    return db


@pytest.mark.parametrize(
    ("change", "found"),
    [
        (
            "update entries set body = replace(body, '6.2', '5.2') where arrival = 2",
            "its body was changed by hand",
        ),
        (
            "update entries set header = replace(header, 'VS', 'KM') where arrival = 2",
            "its header was changed by hand",
        ),
        ("update entries set kind = 'noted' where arrival = 2", "its column kind was changed by hand"),
        ("update entries set exam = null where arrival = 2", "its column exam was changed by hand"),
        ("update entries set why = 'kind' where arrival = 2", "its reading was changed by hand"),
    ],
)
def test_an_edit_by_hand_is_named_with_its_row(open_hood: Database, change: str, found: str) -> None:
    open_hood.execute(change)
    faults = [fault for fault in chain.verify(open_hood) if fault.grave]
    assert len(faults) == 1
    assert faults[0].text.startswith("entry 2 (")
    assert faults[0].text.endswith(found)


def test_an_edit_that_mends_its_own_hashes_breaks_the_chain(open_hood: Database) -> None:
    row = next(open_hood.query("select header, body from entries where arrival = 2"))
    forged = foreign({"header": row["header"], "body": row["body"]}, author="KM")
    checked = chain.entries.check(forged)
    open_hood.execute("update entries set header = ?, id = ? where arrival = 2", [forged["header"], checked.id])
    assert [fault.text.split(": ")[1] for fault in chain.verify(open_hood)] == [
        "entry 3 (number 3) does not follow the one before it",
        "entries up to 9 are not those that arrived",
    ]


@pytest.mark.parametrize(("arrival", "told"), [(1, "arrivals 1 to 1"), (3, "arrivals 3 to 3"), (8, "arrivals 8 to 8")])
def test_a_deleted_row_is_missed(open_hood: Database, arrival: int, told: str) -> None:
    open_hood.execute("delete from entries where arrival = ?", [arrival])
    assert f"{told}: deleted by hand" in [fault.text for fault in chain.verify(open_hood)]


def test_the_last_row_deleted_is_missed_too(open_hood: Database) -> None:
    open_hood.execute("delete from entries where arrival = (select max(arrival) from entries)")
    found = [fault.text for fault in chain.verify(open_hood)]
    assert found[0] == "arrivals 9 to 9: deleted by hand"
    assert found[1].endswith("entry 9, which it covers, is gone")


def test_a_gap_is_named_and_is_no_edit(db: Database) -> None:
    written = whole_exam().written
    journal.append(db, [*written[:3], *written[5:]], "phone")
    faults = chain.verify(db)
    assert [fault.grave for fault in faults] == [False]
    assert faults[0].text.endswith("4 to 5 have not arrived")


def test_a_copied_phone_is_named_and_is_no_edit(db: Database) -> None:
    phone = Phone()
    phone.opened()
    twin = phone.copied()
    phone.closed()
    twin.seen("liver", "whole")
    journal.append(db, phone.written + twin.written, "phone")
    faults = chain.verify(db)
    assert [fault.grave for fault in faults] == [False]
    assert "number 2 was used twice (entry 3)" in faults[0].text


def test_an_unreadable_entry_is_no_fault(db: Database) -> None:
    phone = whole_exam()
    strange = foreign(phone.written[-1], kind="dreamt", seq=10, prev=phone.place.prev)
    journal.append(db, [*phone.written, strange], "phone")
    assert json.loads(strange["header"])["kind"] == "dreamt"
    assert chain.verify(db) == []
