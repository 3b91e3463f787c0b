"""A phone may write anything into an entry that names a photo: no file but a photo of ours is ever touched by it."""

from pathlib import Path
from typing import Any

import pytest
from sqlite_utils import Database

from tests.builders import whole_exam
from webapp.photos import files, hearing, register
from webapp.store import erasures, journal


@pytest.mark.parametrize("name", ["/etc/hostname", "../practice.sqlite3", "AB" * 32, "", 7, None])
def test_an_entry_names_no_file_but_a_photo_of_ours(db: Database, path: Path, tmp_path: Path, name: Any) -> None:
    """Erasing such an entry deletes nothing, and hearing it reads nothing, outside the photos."""
    victim = tmp_path / "victim.txt"
    victim.write_text("keep me")
    phone = whole_exam()
    given = str(victim) if name == "/etc/hostname" else name
    entry = phone.act("attached", {"about": "liver", "hash": given, "type": "audio/webm"})
    journal.append(db, phone.written, "phone")
    assert list(hearing.hear_all(db, files.folder_of(path), ["cat"])) == []
    done = erasures.erase(db, [entry], "RD", "It was an attack.", "2026-11-24T12:00:00+00:00")
    assert done.photos == [] and victim.read_text() == "keep me"
    with pytest.raises(ValueError, match="64 lower-case hex digits"):
        files.path_of(files.folder_of(path), given)
    assert register.awaited(db) == []


def test_a_program_that_never_stops_talking_is_stopped_and_nothing_is_kept(path: Path) -> None:
    folder = files.folder_of(path)
    name = "ab" * 32
    files.path_of(folder, name).parent.mkdir(parents=True)
    files.path_of(folder, name).write_bytes(b"clip")
    text, problem = hearing._heard(["sh", "-c", "yes"], files.path_of(folder, name))
    assert text is None and problem is not None and "said more than 65536 bytes" in problem
