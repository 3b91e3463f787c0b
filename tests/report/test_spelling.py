"""The practice's spelling at the desk, in the report and for its phones; what a person wrote is printed as written."""

from collections.abc import Callable
from pathlib import Path

import pytest
from flask import Flask
from flask.testing import FlaskClient

from tests.builders import EXAM, push, whole_exam
from tests.conftest import BEARER
from tests.report import samples
from webapp import create_app, rules
from webapp.report import content, pdf, text
from webapp.settings import SettingsError

Enter = Callable[..., FlaskClient]


@pytest.fixture
def app(path: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Flask:
    """The practice's application with an American config.toml."""
    instance = tmp_path / "instance"
    instance.mkdir()
    (instance / "config.toml").write_text('SPELLING = "american"\n', encoding="utf-8")
    monkeypatch.setenv("GELSIDE_INSTANCE", str(instance))
    return create_app({"DATABASE": str(path)})


def told() -> samples.Json:
    return samples.exam(
        fields={"impression": "Tumour of the caecum, grey centre."},
        states=[
            {
                "id": "1",
                "about": "caecum",
                "structure": "caecum",
                "part": None,
                "seen": "not_seen",
                "why": ["behaviour", "oedema of the belly"],
                "tried": [],
                "normal": False,
                "fork": False,
                "author": "VS",
                "at": "2026-11-20T10:00:00Z",
            }
        ],
    )


def test_the_reports_own_words_turn_and_a_persons_words_do_not(app: Flask) -> None:
    with app.app_context():
        report = content.report(told(), samples.judgement(), samples.meta())
    words = " ".join(text.text(report).split())
    assert report["language"] == "en-US"
    assert "male, intact" in report["animal"]["line"]
    assert "the judgment is that of the vet who signs" in words and "judgement" not in words
    assert "Cecum: not seen (behavior, oedema of the belly)" in words
    assert "Tumour of the caecum, grey centre." in words
    assert pdf.pdf(report | {"stamp": [2026, 11, 20, 18, 32, 5]})[:4] == b"%PDF"


def test_without_a_setting_all_stays_british() -> None:
    report = content.report(told(), samples.judgement(), samples.meta())
    assert report["language"] == "en-GB" and "male, entire" in report["animal"]["line"]
    assert "Caecum: not seen (behaviour, oedema of the belly)" in " ".join(text.text(report).split())


def test_desk_and_phones_follow_the_setting(app: Flask, client: FlaskClient, sign_in: Enter) -> None:
    client.post("/api/journal", data=push(whole_exam()), headers=BEARER, content_type="application/json")
    assert client.get("/api/practice", headers=BEARER).get_json()["spelling"] == "american"
    desk = sign_in()
    page = desk.get(f"/review/exam/{EXAM}").text
    assert '<html lang="en-US">' in page
    register = desk.get("/limits").text
    assert ">intact<" in desk.get("/limits/own").text
    assert "tumor" in register and "haemorrhage" not in register
    with app.app_context():
        assert rules.tables() != rules.worded()


def test_a_spelling_that_is_none_stops_the_start_with_one_sentence(path: Path) -> None:
    with pytest.raises(SettingsError, match='SPELLING is .scots.; it must be "british" or "american"'):
        create_app({"DATABASE": str(path), "SPELLING": "scots"})
