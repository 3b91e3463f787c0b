"""A mistyped setting stops the start with a sentence; a proxy's word is taken only where the practice says so."""

from pathlib import Path

import pytest
from flask import Flask
from flask.testing import FlaskClient

from webapp import create_app
from webapp.settings import SETTINGS, SettingsError

README = (Path(__file__).parent.parent / "README.md").read_text(encoding="utf-8")


def start(folder: Path, monkeypatch: pytest.MonkeyPatch, text: str) -> Flask:
    """The app over an instance folder with this config.toml."""
    folder.mkdir()
    (folder / "config.toml").write_text(text, encoding="utf-8")
    monkeypatch.setenv("GELSIDE_INSTANCE", str(folder))
    return create_app()


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("SESSION_HOUR = 4", "SESSION_HOUR is no setting. Did you mean SESSION_HOURS?"),
        ("session_hours = 4", "Did you mean SESSION_HOURS?"),
        ("COLOUR = 'red'", "COLOUR is no setting. There are DATABASE, PHONE_ADDRESS"),
        ("SESSION_HOURS = 'eight'", "SESSION_HOURS is 'eight'; it must be a whole number from 1 to 24."),
        ("SESSION_HOURS = 0", "a whole number from 1 to 24"),
        ("SESSION_HOURS = true", "a whole number from 1 to 24"),
        ("SESSION_IDLE_MINUTES = 1e9", "a whole number from 1 to 720"),
        ("PHONE_ADDRESS = 'gelside.lan'", 'it must be like "https://gelside.lan"'),
        ("PHONE_ADDRESS = 'https://gelside.lan/?a'", 'it must be like "https://gelside.lan"'),
        ("SPELLING = 'latin'", '"british" or "american"'),
        ("TRUSTED_HOSTS = 'gelside.lan'", 'it must be like ["gelside.lan"]'),
        ("PROXIES = 9", "a whole number from 0 to 3"),
        ("SESSION_HOURS = ", "cannot be read"),
        ("[SESSION_HOURS]", "a whole number"),
    ],
)
def test_a_setting_that_cannot_be_meant_stops_the_start_and_says_which(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, text: str, words: str
) -> None:
    with pytest.raises(SettingsError) as stopped:
        start(tmp_path / "practice", monkeypatch, text)
    assert words in str(stopped.value)
    assert "config.toml" in str(stopped.value)


def test_settings_are_taken_and_the_rest_is_as_told(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    app = start(tmp_path / "practice", monkeypatch, 'SESSION_HOURS = 4\nPHONE_ADDRESS = "https://gelside.lan:8443"\n')
    assert app.config["PERMANENT_SESSION_LIFETIME"].total_seconds() == 4 * 3600
    assert app.config["PHONE_ADDRESS"] == "https://gelside.lan:8443"
    assert app.config["SESSION_IDLE"].total_seconds() == 1800
    assert app.config["DATABASE"] == str(tmp_path / "practice" / "gelside.sqlite3")


def test_the_command_prints_every_setting_with_what_it_does(app: Flask) -> None:
    answer = app.test_cli_runner().invoke(args=["settings"])
    assert answer.exit_code == 0, answer.output
    for name, setting in SETTINGS.items():
        assert f"{name} = " in answer.output
        assert setting.words in answer.output
    assert "SESSION_HOURS = 8" in answer.output


def test_every_setting_stands_in_the_readme() -> None:
    for name in SETTINGS:
        assert f"`{name}`" in README, name


FORWARDED = {"X-Forwarded-For": "192.168.1.50", "X-Forwarded-Proto": "https", "X-Forwarded-Host": "gelside.example"}


@pytest.mark.parametrize(("proxies", "name"), [(0, "gelside"), (1, "__Host-gelside")])
def test_a_proxys_word_is_taken_only_where_the_practice_has_one(path: Path, proxies: int, name: str) -> None:
    client = create_app({"DATABASE": str(path), "PROXIES": proxies}).test_client()
    answer = client.get("/sign-in", headers=FORWARDED)
    assert answer.headers["Set-Cookie"].startswith(f"{name}=")


def test_under_a_name_that_is_not_the_servers_it_does_not_answer(path: Path) -> None:
    client: FlaskClient = create_app({"DATABASE": str(path), "TRUSTED_HOSTS": ["gelside.lan"]}).test_client()
    assert client.get("/api/ping", base_url="http://gelside.lan").status_code == 200
    assert client.get("/api/ping", base_url="http://evil.example").status_code == 400


def test_what_the_program_itself_gives_is_looked_at_too(path: Path) -> None:
    with pytest.raises(SettingsError, match="SPELLING"):
        create_app({"DATABASE": str(path), "SPELLING": "latin"})
