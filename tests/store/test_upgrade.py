"""A practice's file made by another version: brought up to date after a copy, or left as it is."""

import shutil
import sqlite3
from pathlib import Path

import pytest
from sqlite_utils import Database

from tests.builders import whole_exam
from webapp.store import copying, schema, upgrade
from webapp.store.db import open_database

ONE_BACK = "m014_behind_why"


@pytest.fixture
def older(tmp_path: Path) -> Path:
    """A file as the version before the last change of 2026-11-28 left it, with an entry in it."""
    path = tmp_path / "practice.sqlite3"
    db = Database(sqlite3.connect(path, isolation_level=None))
    schema.migrations.apply(db, stop_before=ONE_BACK)
    envelope = whole_exam().written[0]
    db.execute(
        "insert into entries (id, header, body, received_at, arrived_from, status) values (?, ?, ?, ?, ?, ?)",
        ["ab" * 32, envelope["header"], envelope["body"], "2026-11-20T08:00:00+00:00", "desk", "stored"],
    )
    db.close()
    return path


def copies(path: Path) -> list[Path]:
    return sorted(path.parent.glob(f"{path.stem}-before-upgrade-*.sqlite3"))


def entries_in(path: Path) -> list[tuple[str, ...]]:
    db = sqlite3.connect(f"{path.as_uri()}?mode=ro", uri=True)
    try:
        return db.execute("select id, header, body from entries").fetchall()
    finally:
        db.close()


def applied(path: Path) -> list[str]:
    db = Database(sqlite3.connect(f"{path.as_uri()}?mode=ro", uri=True))
    try:
        return [one.name for one in schema.migrations.applied(db)]
    finally:
        db.close()


def test_an_older_file_is_copied_and_then_brought_up_to_date(older: Path) -> None:
    before = entries_in(older)
    open_database(older).close()
    (copy,) = copies(older)
    assert entries_in(copy) == entries_in(older) == before
    assert applied(copy)[-1] == "m013_audit" and "m013_audit" in copy.name
    assert set(applied(older)) == schema.NAMES
    assert copy.stat().st_mode & 0o077 == 0


def test_a_new_file_and_one_of_this_version_make_no_copy(tmp_path: Path) -> None:
    path = tmp_path / "practice.sqlite3"
    for _ in range(2):
        open_database(path).close()
    assert copies(path) == []


def test_a_change_that_fails_leaves_the_file_as_it_was(older: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    was = (applied(older), entries_in(older))
    monkeypatch.setattr("webapp.store.schema_practice.BEHIND_WHY", "create table half (a); alter table nowhere add b;")
    with pytest.raises(sqlite3.OperationalError):
        open_database(older)
    assert (applied(older), entries_in(older)) == was
    assert not Database(older)["half"].exists()
    assert len(copies(older)) == 1


def test_without_room_for_the_copy_nothing_is_changed(older: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    was = (applied(older), entries_in(older))

    def no_room(_source: sqlite3.Connection, target: Path) -> None:
        target.write_bytes(b"part")
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(copying, "copy_database", no_room)
    with pytest.raises(upgrade.NotUpgraded, match="Nothing was changed"):
        open_database(older)
    assert (applied(older), entries_in(older)) == was
    assert copies(older) == [] and list(older.parent.glob(".*arriving")) == []


def test_a_file_of_a_newer_version_is_left_alone(tmp_path: Path) -> None:
    path = tmp_path / "practice.sqlite3"
    db = open_database(path)
    db.execute(
        "insert into _sqlite_migrations (migration_set, name, applied_at) values ('gelside', 'm999_later', '2027')"
    )
    db.close()
    was = path.read_bytes()
    with pytest.raises(upgrade.NewerFile, match="m999_later.*start that version"):
        open_database(path)
    assert path.read_bytes() == was


def test_the_copy_is_a_way_back(older: Path, tmp_path: Path) -> None:
    """What the former version wrote opens again, and is brought up to date again."""
    open_database(older).close()
    (copy,) = copies(older)
    back = tmp_path / "back.sqlite3"
    shutil.copy(copy, back)
    open_database(back).close()
    assert entries_in(back) == entries_in(older)
