"""The set-up does what is missing, in order, and ends a failure with one sentence."""

from pathlib import Path

import pytest

from demo import setup


@pytest.fixture
def bare(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A root without .venv, and every command refused."""
    monkeypatch.setattr(setup, "ROOT", tmp_path)
    monkeypatch.setattr(setup, "VENV", tmp_path / ".venv")
    monkeypatch.setattr(setup, "PYTHON", tmp_path / ".venv/bin/python")
    monkeypatch.setattr(setup, "STAMP", tmp_path / ".venv/gelside.json")
    monkeypatch.setattr(setup, "LOG", tmp_path / "instance/setup.log")
    monkeypatch.setattr(setup, "PHONE", tmp_path / "sw")
    monkeypatch.setattr(setup, "BUILT", tmp_path / "static/build")
    monkeypatch.setattr(setup, "answer", lambda command, path: "")
    monkeypatch.setattr(setup, "run", lambda command, **more: False)
    for lock in ("requirements.lock", "requirements-dev.lock"):
        (tmp_path / lock).write_text("flask==3.1.3\n")
    return tmp_path


def failure(capsys: pytest.CaptureFixture[str], kind: str) -> str:
    """The one line that a failing set-up prints on standard error."""
    assert setup.main([kind]) == 1
    said = capsys.readouterr().err.strip().splitlines()
    assert len(said) == 1 and said[0].startswith("Gelside set-up: ") and said[0].endswith(".")
    return said[0]


@pytest.mark.usefixtures("bare")
def test_missing_venv_without_apt_names_the_package(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(setup.shutil, "which", lambda name, **more: None)
    assert "install python3-venv" in failure(capsys, "run")


@pytest.mark.usefixtures("bare")
def test_missing_rights_name_the_command_for_root(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(setup.shutil, "which", lambda name, **more: "/usr/bin/apt-get" if name == "apt-get" else None)
    monkeypatch.setattr(setup.os, "geteuid", lambda: 1000)
    assert "run 'apt-get install python3-venv' as root" in failure(capsys, "run")


@pytest.mark.usefixtures("bare")
@pytest.mark.parametrize(("kind", "lock"), [("run", "requirements.lock"), ("test", "requirements-dev.lock")])
def test_missing_network_names_the_lock_and_the_log(
    kind: str, lock: str, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(setup, "can_make_venv", lambda: True)
    monkeypatch.setattr(setup, "make_venv", lambda: None)
    said = failure(capsys, kind)
    assert lock in said and "setup.log" in said


def test_old_python_is_told_which_one_is_needed(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(setup, "OLDEST_PYTHON", (99, 1))
    assert "needs Python 99.1 or newer" in failure(capsys, "run")


def test_steps_are_said_before_anything_is_done(bare: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert setup.main(["test"]) == 1
    said = capsys.readouterr().out
    assert said.index("requirements-dev.lock") < said.index("Working")
    for named in (".venv", "python3-venv", "npm packages", "static/build", "chromium"):
        assert named in said[: said.index("Working")]
    assert not (bare / ".venv").exists()


def test_what_a_build_reads_changes_its_mark_and_what_it_makes_does_not(bare: Path) -> None:
    for folder in ("sw", "static/app", "static/build", "webapp/core"):
        (bare / folder).mkdir(parents=True)
    (bare / "static/app/page.js").write_text("one")
    first = setup.build_hash()
    (bare / "static/build/page.js").write_text("made")
    (bare / "webapp/core/__pycache__").mkdir()
    (bare / "webapp/core/__pycache__/a.pyc").write_text("made")
    assert setup.build_hash() == first
    (bare / "static/app/page.js").write_text("two")
    assert setup.build_hash() != first


@pytest.mark.parametrize(("told", "number"), [("v20.11.1", 20), ("v8.0.0", 8), ("", 0), ("node?", 0)])
def test_major_version(told: str, number: int) -> None:
    assert setup.major(told) == number


def test_wrong_use_is_told_how(capsys: pytest.CaptureFixture[str]) -> None:
    assert setup.main([]) == 2
    assert "run | test" in capsys.readouterr().err
