"""Whether the server can work is told to whoever asks; what it holds is not, and neither does its log tell."""

import logging
import sqlite3
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from flask import Flask
from flask.testing import FlaskClient

from tests.builders import EXAM
from tests.conftest import form_token
from webapp import health
from webapp.review import forms

TYPED = "An enlarged spleen in Pepper"


@pytest.fixture
def built(app: Flask, tmp_path: Path) -> FlaskClient:
    """A browser at a server whose phone app is built."""
    (tmp_path / "build").mkdir()
    (tmp_path / "build" / "index.html").write_text("x", encoding="utf-8")
    app.config["PHONE_BUILD"] = str(tmp_path / "build")
    return app.test_client()


def test_a_server_that_can_work_says_so_and_nothing_more(built: FlaskClient) -> None:
    answer = built.get("/health")
    assert (answer.status_code, answer.json) == (200, {"healthy": True, "troubles": []})
    assert answer.headers["Cache-Control"] == "no-store"


def test_a_file_that_cannot_be_read_a_full_disk_and_a_missing_app_are_troubles(
    app: Flask, built: FlaskClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    def broken() -> None:
        raise sqlite3.DatabaseError("file is not a database")

    monkeypatch.setattr(health, "get_db", broken)
    monkeypatch.setattr(health, "LEAST_FREE", 2**62)
    app.config["PHONE_BUILD"] = "/nowhere"
    answer = built.get("/health")
    assert answer.status_code == 503
    assert len(answer.json["troubles"]) == 3
    assert "not a database" not in answer.text


def test_the_log_of_a_failing_page_names_the_place_and_not_what_was_typed(
    app: Flask, sign_in: Callable[..., FlaskClient], monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    """ASVS 16.2.5, 16.5.1: the person sees no inside, the log no content."""

    def fails(*args: Any, **kwargs: Any) -> None:
        raise RuntimeError("the inside")

    app.config["PROPAGATE_EXCEPTIONS"] = False
    browser = sign_in()
    token = form_token(browser.get("/account/password").text)
    monkeypatch.setattr(forms.DraftForm, "validate_on_submit", fails)
    with caplog.at_level(logging.DEBUG):
        answer = browser.post(f"/review/exam/{EXAM}/draft", data={"csrf_token": token, "impression": TYPED})
    assert answer.status_code == 500
    assert "the inside" not in answer.text
    assert "Traceback" not in answer.text
    assert "the inside" in caplog.text
    assert EXAM in caplog.text
    assert TYPED not in caplog.text
