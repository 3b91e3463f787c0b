"""Clips: shown at the desk, heard by a program where there is one, and in the record only by a person's word."""

import hashlib
import sys
from collections.abc import Callable
from pathlib import Path

import pytest
from flask import Flask
from flask.testing import FlaskClient, FlaskCliRunner
from sqlite_utils import Database

from tests.builders import EXAM, whole_exam
from tests.conftest import BEARER, form_token
from webapp.photos import files, hearing
from webapp.store import exams, heard, journal

CLIP = b"\x1aE\xdf\xa3" + b"said something" * 20
NAME = hashlib.sha256(CLIP).hexdigest()
SAID = "Capsule smooth on the left."


@pytest.fixture
def clip(db: Database, client: FlaskClient) -> str:
    """An exam with a clip whose bytes are here; the clip's entry."""
    phone = whole_exam()
    entry = phone.act("attached", {"about": "adrenal.left", "hash": NAME, "type": "audio/webm", "duration_s": 4})
    journal.append(db, phone.written, "phone")
    assert client.put(f"/api/photo/{NAME}", data=CLIP, headers=BEARER).status_code == 201
    return entry


@pytest.fixture
def runner(app: Flask) -> FlaskCliRunner:
    return app.test_cli_runner()


def recogniser(tmp_path: Path, does: str) -> list[str]:
    script = tmp_path / "hears.py"
    script.write_text(f"import sys, pathlib\nclip = pathlib.Path(sys.argv[-1])\n{does}\n")
    return [sys.executable, str(script), "--plain"]


def test_a_program_of_the_practice_hears_a_clip_and_nothing_of_it_is_a_record(
    app: Flask, runner: FlaskCliRunner, db: Database, clip: str, tmp_path: Path
) -> None:
    app.config["RECOGNISER"] = recogniser(tmp_path, f"print({SAID!r}, len(clip.read_bytes()))")
    assert runner.invoke(args=["hear"]).output.strip() == "1 of 1 clips heard"
    told = heard.text_of(db, NAME)
    assert told is not None and told["text"] == f"{SAID} {len(CLIP)}"
    folded = exams.fold(db, EXAM)
    assert SAID not in str(folded.exam) and SAID not in str(folded.judgement)
    assert runner.invoke(args=["hear"]).output.strip() == "0 of 0 clips heard"


@pytest.mark.parametrize(
    ("does", "told"),
    [
        ("sys.exit('no model here')", "ended with 1: no model here"),
        ("print('   ')", "heard nothing"),
        ("print('\\x00\\x1b[31m')", None),
    ],
)
def test_a_program_that_fails_loses_nothing_and_is_named(
    db: Database, clip: str, path: Path, tmp_path: Path, does: str, told: str | None
) -> None:
    (outcome,) = hearing.hear_all(db, files.folder_of(path), recogniser(tmp_path, does))
    if told is None:
        text = heard.text_of(db, NAME)
        assert text is not None and text["text"].isprintable()
        return
    assert outcome.problem is not None and told in outcome.problem
    assert heard.text_of(db, NAME) is None and [entry["id"] for entry in heard.clips(db)] == [clip]


def test_a_program_that_is_not_there_and_a_clip_that_has_not_come(db: Database, clip: str, path: Path) -> None:
    (outcome,) = hearing.hear_all(db, files.folder_of(path), ["/nowhere/hears"])
    assert outcome.problem == "/nowhere/hears is not on this machine"
    files.path_of(files.folder_of(path), NAME).unlink()
    (outcome,) = hearing.hear_all(db, files.folder_of(path), ["true"])
    assert outcome.problem == "its bytes have not come yet"


def test_without_a_program_nothing_is_heard(runner: FlaskCliRunner, clip: str) -> None:
    said = runner.invoke(args=["hear"])
    assert said.exit_code != 0 and "No RECOGNISER is set" in said.output


def test_a_person_keeps_the_words_under_their_own_name(
    db: Database, clip: str, sign_in: Callable[..., FlaskClient]
) -> None:
    heard.keep(db, NAME, "Capsule smoot on the left.", "hears", "2026-11-24T20:00:00+00:00")
    browser = sign_in()
    page = browser.get(f"/review/exam/{EXAM}").text
    assert "Machine text of hears, not confirmed" in page and "Capsule smoot on the left." in page
    assert f'src="/photos/{NAME}"' in page
    answer = browser.post(f"/photos/words/{EXAM}/{clip}", data={"text": SAID, "csrf_token": form_token(page)})
    assert answer.status_code == 302
    exam = exams.fold(db, EXAM).exam
    (note,) = [row for row in exam["notes"] if row["text"] == SAID]
    assert (note["author"], note["about"]) == ("RD", "adrenal.left")
    assert heard.written(db, EXAM) == {clip: [note["id"]]} and heard.clips(db) == []
    page = browser.get(f"/review/exam/{EXAM}").text
    assert "Machine text" not in page and "smoot " not in page
    again = browser.post(f"/photos/words/{EXAM}/{clip}", data={"text": "other", "csrf_token": form_token(page)})
    assert again.status_code == 409 and "other" in again.text


def test_words_that_are_missing_or_of_no_clip_are_refused(
    db: Database, clip: str, sign_in: Callable[..., FlaskClient]
) -> None:
    browser = sign_in()
    token = form_token(browser.get(f"/review/exam/{EXAM}").text)
    assert browser.post(f"/photos/words/{EXAM}/{clip}", data={"text": " ", "csrf_token": token}).status_code == 422
    assert browser.post(f"/photos/words/{EXAM}/{'0' * 64}", data={"text": "x", "csrf_token": token}).status_code == 404
    assert heard.written(db, EXAM) == {}
