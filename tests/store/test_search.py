"""Exams are found by what they say and whose they are, always as the journal has it now."""

import json
import sqlite3
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from sqlite_utils import Database

from tests.builders import EXAM, PATIENT, Phone, whole_exam
from webapp.animals import merging, record
from webapp.store import behind, entries, erasures, exams, journal, schema, schema_search, search
from webapp.store.db import open_database, write

SECRET = "Zwischenfall"


def found(db: Database, asked: str) -> list[str]:
    """The exams that hold what was asked, by the index alone."""
    query = search.parse(asked)
    assert query is not None
    sql = "select exam from exam_words where id in (select rowid from exam_search where exam_search match ?) order by 1"
    return [row["exam"] for row in db.query(sql, [query.expression()])]


def kept(db: Database, phone: Phone) -> Phone:
    journal.append(db, phone.written, "phone")
    return phone


@pytest.fixture
def exam(db: Database) -> Phone:
    """The whole exam with a nodule, and its animal's record as the desk wrote it."""
    phone = Phone()
    phone.opened(name="Zoë")
    phone.act("found", {"about": "spleen", "finding": "nodule", "dimensions": ["11.2", "9.4"], "unit": "mm",
                        "text": "Çà et là, bright rim."})
    phone.seen("adrenal.right.cranial_pole", "not_seen", ["gas"])
    phone.read("adrenal.left.caudal_pole_thickness", "6.2")
    phone.seen("caecum", "whole", normal=True)
    phone.act("noted", {"about": "liver", "text": "Margins smooth."})
    facts = {"name": "Zoë", "species": "dog", "breed": "Löwchen", "owner.name": "Frau Größe-Ørsted",
             "owner.contact": "020 7946 0018", "microchip": "276 098 100 001 234",
             "numbers": [{"label": "Oldbook", "value": "MR-2045"}]}
    record.save(db, PATIENT, facts, "RD", None)
    return kept(db, phone)


@pytest.mark.parametrize("asked", [
    "zoe", "ZOË", "lowchen", "größe", "grosse", "orsted", "276098100001234", "276 098 100 001 234", "mr-2045", "MR2045",
    "nodule spleen", "11.2", "ca et la", "bright ri", "not seen gas", "right adrenal cranial", "smooth liver",
    "caudal pole", "drinks a lot", "caecum", "cecum", "zoe nodul",
])
def test_an_exam_is_found_by_any_of_its_words(db: Database, exam: Phone, asked: str) -> None:
    assert found(db, asked) == [EXAM]


@pytest.mark.parametrize("asked", ["zoo", "nodul spleen", "1.2", "smooth rim kidney", "0018", "rim margins x"])
def test_other_words_find_nothing(db: Database, exam: Phone, asked: str) -> None:
    """Only the last word may go on; a phrase ends with what it stands in; how to reach an owner is not searched."""
    assert found(db, asked) == []


def test_no_phrase_runs_from_one_record_into_the_next(db: Database) -> None:
    phone = Phone()
    phone.opened()
    for text in ("ends with seven", "begins anew"):
        phone.act("noted", {"about": "exam", "text": text})
    kept(db, phone)
    assert found(db, "with-seven") == [EXAM]
    assert found(db, "seven-begins") == []


def test_what_was_struck_is_not_found_and_comes_back_with_its_restoring(db: Database) -> None:
    phone = Phone()
    phone.opened()
    note = phone.act("noted", {"about": "spleen", "text": "Infarct at the tail."})
    strike = phone.act("struck", {"about": "spleen", "why": "other animal"}, of=[note])
    kept(db, phone)
    assert found(db, "infarct") == []
    phone.act("struck", {"about": "spleen", "why": "it was right"}, of=[strike])
    kept(db, phone)
    assert found(db, "infarct") == [EXAM]


def test_a_changed_record_a_merge_and_its_undoing_reach_the_exams(db: Database, exam: Phone) -> None:
    other = "01999999-0000-7000-8000-0000000000ff"
    record.save(db, PATIENT, {"owner.name": "Mr Nightingale"}, "RD", None)
    assert found(db, "nightingale") == [EXAM] and found(db, "orsted") == []
    record.save(db, other, {"name": "Mimi", "species": "dog", "owner.name": "Ms Wren"}, "RD", None)
    merging.merge(db, PATIENT, other, {}, "One dog, two records.", "RD", None)
    assert found(db, "wren") == found(db, "nightingale") == [EXAM]
    assert exams.differences(db) == []
    (merge,) = [row["id"] for row in db.query("select id from entries where kind = 'merged'")]
    merging.part(db, other, merge, "Two dogs after all.", "RD")
    assert found(db, "wren") == [] and found(db, "nightingale") == [EXAM]
    assert exams.differences(db) == []


@given(st.text(max_size=60))
def test_whatever_is_typed_is_no_error_of_the_index(asked: str) -> None:
    db = sqlite3.connect(":memory:")
    db.executescript(schema_search.WORDS)
    db.execute("insert into exam_words (exam, told, animal, found, recorded) values ('e', '[]', 'a', 'b c', 'd')")
    query = search.parse(asked)
    if query is not None:
        for columns in ((), search.WRITTEN):
            expression = query.expression(columns)
            db.execute("select rowid from exam_search where exam_search match ?", [expression]).fetchall()
    db.close()


@pytest.mark.parametrize(
    "asked", ['"', "AND", "a OR", "found:x", "NEAR(", "*", "^a", "-b", "a\x00b", "(((", "{found}:"]
)
def test_the_words_of_the_index_are_words_like_others(db: Database, exam: Phone, asked: str) -> None:
    if search.parse(asked) is not None:
        assert found(db, asked) in ([], [EXAM])


def test_erasing_takes_the_words_out_of_the_search_and_out_of_the_file(db: Database, path: Path) -> None:
    phone = whole_exam()
    note = phone.act("noted", {"about": "exam", "text": f"{SECRET} beim Wiegen"})
    kept(db, phone)
    assert found(db, SECRET) == [EXAM]
    db.execute("pragma secure_delete=on")
    erasures.erase(db, [note], "RD", "The owner asked for it in writing.", "2026-11-25T09:00:00+00:00")
    db.execute("pragma wal_checkpoint(truncate)")
    assert found(db, SECRET) == [] and found(db, "capsule smooth") == [EXAM]
    assert exams.differences(db) == []
    data = path.read_bytes()
    assert SECRET.encode() not in data and SECRET.lower().encode() not in data


def test_erasing_an_owner_takes_the_name_out_of_the_search_of_every_exam(db: Database, path: Path) -> None:
    kept(db, whole_exam())
    record.save(db, PATIENT, {"name": "Pepper", "species": "dog", "owner.name": SECRET}, "RD", None)
    assert found(db, SECRET) == [EXAM]
    (name,) = [row["id"] for row in db.query("select id from entries where instr(body, ?)", [SECRET])]
    db.execute("pragma secure_delete=on")
    erasures.erase(db, [name], "RD", "The owner asked for it in writing.", "2026-11-25T09:00:00+00:00")
    db.execute("pragma wal_checkpoint(truncate)")
    assert found(db, SECRET) == [] and found(db, "pepper") == [EXAM] and exams.differences(db) == []
    assert SECRET.lower().encode() not in path.read_bytes().lower()


def test_rebuild_makes_it_anew_and_a_check_names_what_differs(db: Database, exam: Phone) -> None:
    assert exams.differences(db) == []
    db.execute("update exam_words set told = '[]'")
    assert exams.differences(db) == [f"exam {EXAM}: what it is found by is not what the journal gives"]
    db.execute("insert into exam_words (exam, told, animal, found, recorded) values ('gone', '[]', '', 'ghost', '')")
    assert len(exams.differences(db)) == 2
    exams.rebuild(db)
    assert exams.differences(db) == [] and found(db, "ghost") == [] and found(db, "nodule") == [EXAM]
    db.execute("drop trigger exam_words_other")
    db.execute("update exam_words set found = 'something else'")
    assert any("index of the search" in line for line in exams.differences(db))


def test_measuring_twice_is_found_nowhere(db: Database) -> None:
    phone = Phone()
    body = {"about": "exam", "date": "2026-11-24", "purpose": "measure_twice", "patient": {"species": "dog"}}
    phone.act("opened", body)
    phone.act("noted", {"about": "exam", "text": "somewhere"})
    kept(db, phone)
    assert found(db, "somewhere") == [] and exams.differences(db) == []


def test_the_exams_of_an_older_file_are_found_after_the_upgrade(tmp_path: Path) -> None:
    path = tmp_path / "older.sqlite3"
    older = Database(sqlite3.connect(path, isolation_level=None))
    schema.migrations.apply(older, stop_before="m018_search")
    phone = whole_exam()
    for one in phone.written:
        header = json.loads(one["header"])
        older.execute(
            "insert into entries (id, device, seq, exam, patient, kind, header, body, received_at, arrived_from,"
            " status) "
            "values (?, ?, ?, ?, ?, ?, ?, ?, '2026-11-24T10:00:00+00:00', 'phone', 'stored')",
            [entries.entry_id(one), *(header[name] for name in ("device", "seq", "exam", "patient", "kind")),
             one["header"], one["body"]],
        )
    older.close()
    db = open_database(path)
    assert behind.renew(db) == 1
    assert found(db, "capsule smooth") == [EXAM]
    assert [line for line in exams.differences(db) if line.startswith("exam")] == []
    db.close()


def test_the_list_keeps_species_people_and_whether_an_impression_is_written(db: Database) -> None:
    phone = whole_exam()
    kept(db, phone)
    columns = "select gravity, species, people, drafted from exams"
    assert db.execute(columns).fetchone() == (1, "dog", '["VS"]', 0)
    phone.act("set", {"about": "impression", "value": "Glands rounded."})
    with write(db):
        kept(db, phone)
    assert db.execute(columns).fetchone() == (1, "dog", '["VS"]', 1)
    assert found(db, "rounded") == [], "an impression is found once its report was issued"
