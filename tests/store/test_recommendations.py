"""What issued reports recommend: the newest version of each exam's, and whether a later exam came to the part."""

import sqlite3
from pathlib import Path
from typing import Any

import pytest
from sqlite_utils import Database

from tests.builders import EXAM, Phone, whole_exam
from webapp.review import drafting, signing
from webapp.store import entries, exams, journal, recommendations, reports, schema
from webapp.store.db import open_database

SIGNER = {"id": "RD", "name": "R. Dale"}
LATER = "01999999-0000-7000-8000-000000000002"
GLAND = {"text": "Scan the gland again", "due": "2027-02-24", "who": "RD", "part": "adrenal.left", "plane": "long_axis"}
BLOOD = {"text": "Blood test", "due": None, "who": "", "part": None, "plane": None}


@pytest.fixture
def db(db: Database) -> Database:
    """A practice in which one exam was signed with two recommendations."""
    journal.append(db, whole_exam().written, "phone")
    sign(db, EXAM, [BLOOD, GLAND])
    return db


def sign(db: Database, exam: str, rows: list[dict[str, Any]]) -> None:
    folded = exams.fold(db, exam)
    reasons = {(flag["about"], flag["kind"]): "same again" for flag in folded.judgement["flags"]}
    draft = drafting.Draft("yes", "Both glands seen.", rows, reasons)
    own = drafting.record(db, exam, draft, "RD", folded.through)
    signing.sign(db, exam, SIGNER, folded.through, own)


def examined_again(db: Database, *acts: tuple[str, dict[str, Any]], day: str = "2027-02-20") -> Phone:
    """A later exam of the same animal in which these acts were recorded."""
    phone = Phone("b2" * 16, exam=LATER)
    phone.act("opened", {"about": "exam", "date": day, "patient": {"name": "Pepper", "species": "dog"}})
    for kind, body in acts:
        phone.act(kind, body)
    journal.append(db, phone.written, "phone")
    return phone


def addend(db: Database, *added: dict[str, Any], **ended: tuple[str, str]) -> None:
    """A further version that recommends these too and ends others, each by `at_<place>`."""
    places = {int(name[3:]): fate for name, fate in ended.items()}
    words = ("corrected", "Wrong plane.", "See what to do.", "")
    signing.add(db, EXAM, SIGNER, signing.Addendum(*words, added, places), exams.fold(db, EXAM).through)


def gland(db: Database) -> dict[str, Any]:
    (row,) = (row for row in recommendations.due(db) if row["part"] == "adrenal.left")
    return row


def read(quantity: str, plane: str | None = None) -> tuple[str, dict[str, Any]]:
    return "read", {"about": quantity, "value": "5.0", "unit": "mm"} | ({"plane": plane} if plane else {})


def seen(about: str, how: str) -> tuple[str, dict[str, Any]]:
    return "seen", {"about": about, "seen": how, "why": [], "normal": False}


def test_each_row_says_what_by_when_of_which_part_and_who(db: Database) -> None:
    first, second = recommendations.due(db)
    assert {name: first[name] for name in GLAND} == GLAND
    assert (first["exam"], first["version"], first["number"], first["name"]) == (EXAM, 1, 2, "Pepper")
    assert (first["part_label"], first["examined"], first["signer_name"]) == ("LEFT adrenal", "2026-11-24", "R. Dale")
    assert (second["text"], second["due"], second["who"], second["done"]) == ("Blood test", None, None, None)


def test_a_span_of_days_holds_both_its_ends_and_nothing_without_a_day(db: Database) -> None:
    def texts(*span: str | None) -> list[str]:
        return [row["text"] for row in recommendations.due(db, *span)]

    assert texts("2027-02-24", "2027-02-24") == ["Scan the gland again"]
    assert texts("2027-02-25") == texts(None, "2027-02-23") == []


def test_an_unsigned_exam_recommends_nothing_yet(db: Database) -> None:
    examined_again(db, ("set", {"about": "recommendations", "value": [GLAND]}))
    assert {row["exam"] for row in recommendations.due(db)} == {EXAM}


def test_only_the_newest_version_counts(db: Database) -> None:
    signing.add(db, EXAM, SIGNER, signing.Addendum("appended", "Asked for it.", "More words."))
    assert [(row["version"], row["number"]) for row in recommendations.due(db)] == [(2, 2), (2, 1)]


@pytest.mark.parametrize(
    ("acts", "how"),
    [
        ([read("adrenal.left.caudal_pole_thickness")], "measured"),
        ([seen("adrenal.left", "whole")], recommendations.NO_PLANE),
        ([read("adrenal.left.caudal_pole_thickness", "short_axis")], recommendations.OTHER_PLANE),
        ([read("adrenal.left.caudal_pole_thickness", "long_axis")], "measured"),
        ([seen("adrenal.left", "partly")], "partly seen"),
        ([seen("adrenal.left.waist", "whole")], "partly seen"),
        ([seen("adrenal.left", "partly"), read("adrenal.left.caudal_pole_thickness")], "measured"),
    ],
)
def test_a_later_exam_that_came_to_the_part_is_named(db: Database, acts: list[Any], how: str) -> None:
    assert gland(db)["done"] is False
    examined_again(db, *acts)
    row = gland(db)
    assert row["later"] == [{"exam": LATER, "date": "2027-02-20", "how": how}]
    assert row["done"] is (how == "measured")


def test_without_a_plane_asked_for_a_part_that_was_seen_is_done(db: Database) -> None:
    addend(db, GLAND | {"plane": None}, at_2=("dropped", "wrong plane"))
    assert (gland(db)["plane"], gland(db)["done"]) == (None, False)
    examined_again(db, seen("adrenal.left", "whole"))
    assert (gland(db)["later"][0]["how"], gland(db)["done"]) == ("seen", True)


@pytest.mark.parametrize(
    "acts",
    [[read("adrenal.right.caudal_pole_thickness")], [seen("adrenal.left", "not_seen")], [seen("liver", "whole")], []],
)
def test_a_later_exam_that_did_not_come_to_the_part_is_none(db: Database, acts: list[Any]) -> None:
    examined_again(db, *acts)
    assert (gland(db)["later"], gland(db)["done"]) == ([], False)
    assert gland(db)["missed"] == [{"exam": LATER, "date": "2027-02-20"}]


def test_an_exam_before_the_one_that_recommends_does_nothing(db: Database) -> None:
    examined_again(db, read("adrenal.left.caudal_pole_thickness"), day="2026-11-01")
    assert (gland(db)["later"], gland(db)["missed"], gland(db)["done"]) == ([], [], False)


def test_a_struck_reading_does_nothing(db: Database) -> None:
    phone = examined_again(db, read("adrenal.left.caudal_pole_thickness"))
    assert gland(db)["done"] is True
    phone.act("struck", {"about": "x", "why": "other animal"}, of=[entries.entry_id(phone.written[1])])
    journal.append(db, phone.written[-1:], "phone")
    assert gland(db)["done"] is False


def test_a_part_is_seen_with_its_structure_unless_something_else_was_said_of_it(db: Database) -> None:
    pole = BLOOD | {"text": "Look at the pole", "part": "adrenal.right.cranial_pole"}
    other = Phone("c3" * 16, exam="01999999-0000-7000-8000-000000000003")
    other.act("opened", {"about": "exam", "date": "2026-12-01", "patient": {"name": "Pepper", "species": "dog"}})
    journal.append(db, other.written, "phone")
    sign(db, str(other.exam), [pole])
    phone = examined_again(db, seen("adrenal.right", "whole"))
    (row,) = (row for row in recommendations.due(db) if row["text"] == "Look at the pole")
    assert row["done"] is True
    phone.seen("adrenal.right.cranial_pole", "not_seen", ["gas"])
    journal.append(db, phone.written[-1:], "phone")
    (row,) = (row for row in recommendations.due(db) if row["text"] == "Look at the pole")
    assert (row["later"], row["done"]) == ([], False)


@pytest.mark.parametrize("value", [{"a": {"text": "x"}}, "words", [7, None, {"text": 7}], [{"text": "x", "due": 7}]])
def test_nonsense_from_elsewhere_keeps_no_report_from_being_issued(db: Database, value: Any) -> None:
    report = dict(reports.version(db, EXAM, 1) or {})
    exam_json = entries.canonical({"fields": {"recommendations": value}})
    reports.keep(db, report | {"version": 2, "exam_json": exam_json})
    assert all(isinstance(row["text"], str) and row["due"] is None for row in recommendations.due(db))


def test_what_an_addendum_drops_is_no_longer_due_and_what_it_settles_is_done(db: Database) -> None:
    addend(db, BLOOD | {"text": "Ring the owner"}, at_1=("settled", "taken on 26 Nov"), at_2=("dropped", "owner moved"))
    rows = {row["text"]: row for row in recommendations.due(db)}
    assert {text: (row["number"], row["state"], row["done"]) for text, row in rows.items()} == {
        "Blood test": (1, "settled", True), "Ring the owner": (3, None, None)}  # fmt: skip
    told = [(row["number"], row["state"], row["why"]) for row in recommendations.ended(db)]
    assert told == [(2, "dropped", "owner moved"), (1, "settled", "taken on 26 Nov")]


def test_an_older_file_gets_its_rows_and_says_of_later_ones_how_they_ended(tmp_path: Path) -> None:
    old = Database(sqlite3.connect(tmp_path / "practice.sqlite3", isolation_level=None))
    schema.migrations.apply(old, stop_before="m030_recommendations_ended")
    assert "state" not in old["recommendations"].columns_dict
    old.close()
    db = open_database(tmp_path / "practice.sqlite3")
    journal.append(db, whole_exam().written, "phone")
    sign(db, EXAM, [BLOOD, GLAND])
    addend(db, at_2=("dropped", "owner moved"))
    assert [row["state"] for row in db.query("select state from recommendations order by version, number")] == [
        None, None, None, "dropped"]  # fmt: skip
