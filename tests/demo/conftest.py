"""The invented practice in a store, and what the rules say of each of its exams."""

from typing import Any

import pytest
from sqlite_utils import Database

from demo import acts, seed
from webapp import rules
from webapp.store import kept
from webapp.store.db import open_database

Judged = dict[str, dict[str, Any]]


@pytest.fixture(scope="session")
def store() -> Database:
    """A store that got the demo phone's entries and today's list."""
    db = open_database(":memory:")
    seed.push(db)
    seed.plan(db, "2026-11-24")
    return db


@pytest.fixture(scope="session")
def judged(store: Database) -> Judged:
    """{exam id of the demo: the engine's answer}, each with the earlier exams of its animal."""
    answers: Judged = {}
    for patient in seed.practice()["patients"]:
        earlier: list[dict[str, Any]] = []
        for exam in patient["exams"]:
            entries = [row.entry for row in kept.of_exam(store, acts.exam_id(exam))]
            answers[exam["id"]] = rules.call(
                {"do": "open", "entries": entries, "earlier": earlier, "today": exam["date"]}
            )
            earlier.append({"entries": entries})
    return answers
