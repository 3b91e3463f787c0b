"""What an earlier version of the program issued stays as it is, byte for byte, whatever this version makes of reports.

`issued/version-1.json` holds an exam's journal and its row of `reports` as the program of 28 November 2026 wrote
them. It is never made anew: its hashes stand here.
"""

import base64
import json
import sqlite3
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from flask.testing import FlaskClient
from sqlite_utils import Database

from tests.builders import EXAM
from tests.conftest import PASSWORD
from tests.review.desk import Vet
from webapp.store import entries, exams, people, reports, schema
from webapp.store.db import open_database

Enter = Callable[..., FlaskClient]

LAST_OF_THEN = "m017_ways"
HASHES = {
    "html": "d41f70d8e0e529c9a6b693ea3231a7487fd5f41ad7e27080d3cba89268fe3d46",
    "pdf": "5bef9c9adb2bd6e13e87b424ccb27b018792457fb99ccb10518c55b70d2279c3",
    "plain": "810301e1a1ddcd577e43ec9e5115a400e4669b37c12727649cac753be4f52f8e",
}
ADDRESSES = {"html": f"/report/{EXAM}/1", "pdf": f"/report/{EXAM}/1.pdf", "plain": f"/report/{EXAM}/1.txt"}


def kept_then() -> dict[str, Any]:
    told = json.loads((Path(__file__).parent / "issued" / "version-1.json").read_text(encoding="utf-8"))
    told["report"]["pdf"] = base64.b64decode(told["report"]["pdf"])
    return dict(told)


@pytest.fixture
def path(tmp_path: Path) -> Path:
    """The practice's file as that version left it, brought to this version's tables."""
    path = tmp_path / "practice.sqlite3"
    old = Database(sqlite3.connect(path, isolation_level=None))
    later = [name for name in sorted(schema.NAMES) if name > LAST_OF_THEN]
    schema.migrations.apply(old, stop_before=later[0] if later else None)
    told = kept_then()
    for envelope in told["entries"]:
        old.table("entries").insert(_row(envelope))
    old.table("reports").insert(told["report"])
    old.close()
    db = open_database(path)
    people.add(db, "RD", "R. Dale", "vet", PASSWORD)
    exams.rebuild(db)
    db.close()
    return path


def _row(envelope: entries.Envelope) -> dict[str, Any]:
    entry = entries.open_entry(envelope)
    copied = {name: entry[name] for name in ("id", "device", "seq", "exam", "patient", "kind")}
    arrived = {"received_at": "2026-11-24T10:30:00.000+00:00", "arrived_from": "desk", "status": "stored", "why": None}
    return copied | dict(envelope) | arrived


def served(browser: FlaskClient) -> dict[str, str]:
    return {form: reports.sha256(browser.get(address).data) for form, address in ADDRESSES.items()}


def test_a_report_of_an_earlier_version_is_handed_out_to_the_byte(db: Database, sign_in: Enter) -> None:
    browser = sign_in()
    assert served(browser) == HASHES
    assert reports.damaged(db) == []
    with browser.get("/report-static/report.css") as style:
        assert style.status_code == 200, "the kept page names it"


def test_the_whole_row_stands_as_it_was(db: Database) -> None:
    row = reports.version(db, EXAM, 1)
    then = kept_then()["report"]
    assert row is not None
    assert {name: row[name] for name in then} == then


def test_a_further_version_leaves_the_bytes_of_the_first(db: Database, sign_in: Enter) -> None:
    browser = sign_in()
    vet = Vet(browser)
    vet.fill(status="corrected", reason="A word was wrong.", text="The LEFT gland is meant.")
    assert vet.post("addend").status_code == 302
    assert [row["version"] for row in reports.versions(db, EXAM)] == [1, 2]
    assert served(browser) == HASHES
