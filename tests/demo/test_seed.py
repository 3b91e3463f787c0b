"""The invented practice travels the same way as a phone's entries, once."""

import uuid
from collections import Counter
from datetime import date
from pathlib import Path

import pytest
from sqlite_utils import Database

from demo import acts, seed
from webapp import create_app, rules
from webapp.store import devices, entries, journal, kept, people, phones, planned, reports, told
from webapp.store.db import get_db, open_database


def test_every_exam_arrives_whole_and_in_chain(store: Database) -> None:
    everything = seed.envelopes()
    states = Counter(row["status"] for row in store.query("select status from entries"))
    assert states == {"stored": len(everything) + 12}
    assert devices.holding(store, seed.device()) == (len(everything), len(everything))
    assert len(seed.exams()) == 16
    for patient, exam in seed.exams():
        rows = kept.of_exam(store, acts.exam_id(exam))
        assert [row.entry["kind"] for row in rows][:1] == ["opened"]
        assert rows[-1].entry["kind"] == "closed"
        assert {row.entry["patient"] for row in rows} == {acts.patient_id(patient)}


def test_seeding_again_adds_nothing(store: Database) -> None:
    before = store.table("entries").count
    assert seed.push(store) == 0
    assert seed.plan(store, "2026-11-24") == 0
    again = journal.append(store, seed.envelopes()[:200], "another way")
    assert {result.status for result in again} == {"duplicate"}
    assert store.table("entries").count == before


def test_a_seeding_that_was_cut_off_is_completed() -> None:
    db = open_database(":memory:")
    journal.append(db, seed.envelopes()[:300], "cut off")
    assert seed.push(db) == len(seed.envelopes()) - 300
    assert devices.holding(db, seed.device()).through == len(seed.envelopes())


def test_all_twelve_animals_are_on_the_list_of_the_day(store: Database) -> None:
    listed = planned.of_day(store, "2026-11-24")
    assert len(listed.planned) == 12
    bodies = [entry["body"] for entry in listed.planned]
    assert [body["order"] for body in bodies] == list(range(1, 13))
    assert bodies[0]["patient"]["name"] == "Pepper"
    assert bodies[0]["time"] == "09:00"


def test_the_list_of_another_day_is_planned_anew() -> None:
    db = open_database(":memory:")
    assert seed.plan(db, "2026-11-24") == 12
    assert seed.plan(db, "2026-11-25") == 12
    assert len(planned.of_day(db, "2026-11-25").planned) == 12


def test_ids_last_and_are_uuids_of_version_7() -> None:
    for patient, exam in seed.exams():
        for text, day in ((acts.exam_id(exam), exam["date"]), (acts.patient_id(patient), patient["birth_date"])):
            made = uuid.UUID(text)
            assert (made.version, made.variant) == (7, uuid.RFC_4122)
            assert date.fromtimestamp((made.int >> 80) / 1000 + 43_200) == date.fromisoformat(day)
    assert len({acts.exam_id(exam) for _, exam in seed.exams()}) == 16


def test_every_entry_is_canonical_and_says_what_was_typed() -> None:
    for envelope in seed.envelopes():
        opened = entries.open_entry(envelope)
        assert entries.canonical(opened["body"]) == envelope["body"]
        if opened["kind"] == "read":
            assert opened["body"]["typed"] == opened["body"]["value"]


def test_every_id_of_the_file_is_in_the_tables() -> None:
    tables = rules.tables()
    structures = {row["id"]: {part["id"] for part in row["parts"]} for row in tables["catalogue"]["structures"]}
    parts = {f"{name}.{part}" for name, inside in structures.items() for part in inside}
    quantities = {row["id"] for row in tables["catalogue"]["quantities"]}
    descriptors = tables["descriptors"]["adrenal"]
    findings = set(tables["descriptors"]["finding_ids"])
    reasons = set(tables["catalogue"]["not_seen_reasons"])
    for patient, exam in seed.exams():
        assert set(patient["request"]["structures"]) <= structures.keys()
        for row in exam["structures"]:
            assert row["about"] in structures.keys() | parts
            assert set(row.get("why", [])) <= reasons
            assert {f"{row['about']}.{part}" for part in row.get("parts", {})} <= parts
            assert {reading["quantity"] for reading in row.get("readings", [])} <= quantities
            assert {finding["finding"] for finding in row.get("findings", [])} <= findings
            windows = tables["windows"]["structures"].get(row["about"], {"windows": []})["windows"]
            assert set(row.get("windows_tried", [])) <= {window["id"] for window in windows}
            for name, words in row.get("described", {}).items():
                side = row["about"].split(".")[1]
                known = descriptors[name]
                assert set(words) <= set(known[side] + known["both"] if isinstance(known, dict) else known)


def test_normal_is_said_only_of_what_was_seen_whole() -> None:
    for _, exam in seed.exams():
        for row in exam["structures"]:
            assert not row.get("normal") or row["seen"] == "whole"


def test_whole_seeding_signs_the_earlier_exams_and_leaves_the_rest_to_the_desk(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("GELSIDE_INSTANCE", str(tmp_path))
    app = create_app()
    first = seed.seed(app, "2026-11-24")
    assert first == (len(seed.envelopes()), 12)
    assert seed.seed(app, "2026-11-24") == (0, 0)
    with app.app_context():
        db = get_db()
        handed = [(exam["id"], row["to"], row["when"][11:16], row["read_back"], bool(row["of"]))
                  for _, exam in seed.exams() for row in told.told(db, acts.exam_id(exam))]  # fmt: skip
        assert handed == [("DP06-E1", "R. Dune", "10:41", True, True), ("DP08-E1", "R. Dune", "12:24", None, False),
                          ("DP11-E1", "R. Dune", "08:37", True, True)]  # fmt: skip
        assert not [note for _, exam in seed.exams() for note in exam["notes"] if note.startswith("Told")]
        signed = {exam["id"] for _, exam in seed.exams() if reports.versions(db, acts.exam_id(exam))}
        assert signed == {"DP05-E1", "DP07-E1", "DP09-E1", "DP10-E1"}
        assert people.with_password(db, *seed.SIGN_IN)
        assert phones.by_token(db, seed.PHONE_TOKEN)
