"""Journals that once broke something, shrunk. A seed of the monkeys that fails leaves its journal here, too.

Each is a journal file with `failed`, what it broke. Whatever the order and however often it comes, the practice must
keep it to the byte, fold it as the phone does, list it, give it to a phone, and prove it.
"""

import json
import random
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from sqlite_utils import Database

from tests.core_parity.test_two_engines import compare
from webapp import rules
from webapp.keeping import animal_out, importing
from webapp.store import animals, chain, exams, journal, kept, planned
from webapp.store.db import open_database
from webapp.store.entries import Envelope

ROOT = Path(__file__).resolve().parents[2]
CORPUS = sorted((ROOT / "tests/corpus").glob("*.json"))
SHUFFLES = 4


def told(path: Path) -> dict[str, Any]:
    journal_file: dict[str, Any] = json.loads(path.read_text(encoding="utf-8"))
    return journal_file


def made_of(db: Database) -> list[Any]:
    """Everything that the practice knows, but for the order in which it came."""
    held = list(db.query("select id, device, seq, exam, patient, kind, header, body, why from entries order by id"))
    bodies = list(db.query("select id, body from other_bodies order by id, body"))
    lists = [list(db.query(f"select * from {name} order by 1")) for name in ("exams", "animals", "visits")]
    return [held, bodies, *lists]


def practice_of(entries: list[Envelope], at_once: int) -> list[Any]:
    db = open_database(":memory:")
    for start in range(0, len(entries), at_once):
        journal.append(db, entries[start : start + at_once], "phone")
    assert [fault.text for fault in chain.verify(db) if fault.grave] == []
    assert exams.differences(db) == []
    made = made_of(db)
    db.close()
    return made


def test_the_corpus_says_of_each_journal_what_it_broke() -> None:
    assert len(CORPUS) >= 8
    assert all(len(told(path)["failed"]) > 20 for path in CORPUS)


@pytest.mark.catalogue(40)
@pytest.mark.parametrize("path", CORPUS, ids=lambda path: path.stem)
def test_a_journal_that_failed_once_gives_one_practice_in_any_order(path: Path) -> None:
    entries = told(path)["entries"]
    straight = practice_of(entries, len(entries))
    chance = random.Random(path.stem)
    for _ in range(SHUFFLES):
        mixed = [*entries, *chance.sample(entries, len(entries) // 2)]
        chance.shuffle(mixed)
        assert practice_of(mixed, chance.randint(1, 3)) == straight


@pytest.mark.catalogue(62)
@pytest.mark.parametrize("path", CORPUS, ids=lambda path: path.stem)
def test_a_journal_that_failed_once_is_folded_alike_and_given_out(path: Path) -> None:
    db = open_database(":memory:")
    importing.take(db, path.read_bytes())
    names = exams.all_ids(db)
    asked = [{"do": "open", "entries": [row.entry for row in kept.of_exam(db, name)]} for name in names]
    assert all("error" not in answer for answer in compare(asked))
    for name in names:
        assert exams.fold(db, name).exam["entries"] == len(kept.of_exam(db, name))
    patients = sorted({row["patient"] for row in db.query("select patient from entries where patient is not null")})
    for patient in patients:
        assert animal_out.journal_file(db, patient)["entries"]
    day = planned.of_day(db, date.today().isoformat())
    assert planned.page(db, day, 0, 200, 10**6).more is False
    assert rules.call({"do": "day", "entries": list(animals.entries_of(db, patients))})["visits"] == []
    db.close()
