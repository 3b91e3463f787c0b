"""Every journal that any released version wrote is read for good, and gives the exams that it gave then."""

import hashlib
import json
from pathlib import Path
from typing import Any

import pytest

from tests.core_parity.test_two_engines import compare
from tests.golden import golden
from tests.golden.make import folded
from webapp.store import chain, entries, exams, kept

FOLDERS = golden.folders()


def expected(folder: Path) -> dict[str, Any]:
    told: dict[str, Any] = json.loads((folder / "expected.json").read_text(encoding="utf-8"))
    return told


def test_every_version_of_the_format_has_its_golden_journals() -> None:
    assert [folder.name for folder in FOLDERS] == [f"v{number}" for number in range(1, entries.VERSION + 1)]


@pytest.mark.parametrize("folder", FOLDERS, ids=lambda folder: folder.name)
def test_golden_files_are_as_they_were_frozen(folder: Path) -> None:
    sums = json.loads((folder / "frozen.json").read_text(encoding="utf-8"))
    files = [path for path in folder.glob("*.json") if path.name != "frozen.json"]
    assert {path.name: hashlib.sha256(path.read_bytes()).hexdigest() for path in files} == sums
    assert len(golden.journals(folder)) >= 2


@pytest.mark.catalogue(52)
@pytest.mark.parametrize("folder", FOLDERS, ids=lambda folder: folder.name)
def test_golden_journals_load_and_give_the_same_exams_animals_and_visits(folder: Path) -> None:
    db = golden.practice_of(folder)
    sent = {
        (one["header"], one["body"])
        for path in golden.journals(folder)
        for one in json.loads(path.read_text(encoding="utf-8"))["entries"]
    }
    held = {(row["header"], row["body"]) for row in db.query("select header, body from entries")}
    assert sent == held
    assert [fault.text for fault in chain.verify(db) if fault.grave] == []
    wanted, now = expected(folder), folded(db)
    assert wanted["exams"].keys() == now["exams"].keys() and len(wanted["exams"]) > 16
    assert golden.unlike(wanted, now) == []
    db.close()


@pytest.mark.catalogue(52)
@pytest.mark.parametrize("folder", FOLDERS, ids=lambda folder: folder.name)
def test_the_phone_folds_golden_exams_as_the_practice_does(folder: Path) -> None:
    db = golden.practice_of(folder)
    names = exams.all_ids(db)
    asked = [{"do": "open", "entries": [row.entry for row in kept.of_exam(db, name)]} for name in names]
    answers = compare(asked)
    wanted = expected(folder)["exams"]
    assert [golden.unlike(wanted[name], answer["exam"]) for name, answer in zip(names, answers, strict=True)] == [
        [] for _ in names
    ]
    db.close()


def test_a_changed_value_is_found_and_a_new_field_is_none() -> None:
    was = {"a": [{"b": "6.2"}]}
    assert golden.unlike(was, {"a": [{"b": "6.2", "new": 1}], "more": 2}) == []
    assert golden.unlike(was, {"a": [{"b": "6.3"}]}) == ['.a[0].b: "6.2" is now "6.3"']
    assert golden.unlike(was, {"a": []}) != [] and golden.unlike(was, {}) == [".a: gone"]
