"""Putting a copy in the place of the practice's file.

What stands there now is kept under another name. The restored store is a new one: it gets a new store_id, so
phones send again what it lacks, and a new desk device, so that no count is used twice. Phones it knows may send
at once and read once the desk has approved them again, for one of them may have been revoked since the copy.
Acts of the desk after the copy are gone; keeping.lost names those that later entries speak of.
"""

import os
import secrets
import shutil
import sqlite3
from datetime import UTC, datetime
from pathlib import Path
from typing import NamedTuple

from webapp.keeping import backup
from webapp.keeping.backup import BackupError
from webapp.photos import files
from webapp.store import chain, copying, heads, meta, phones, sessions
from webapp.store.db import open_database, write
from webapp.store.entries import new_device

SQLITE = b"SQLite format 3\0"


class Restored(NamedTuple):
    """The head that the store has now, the phones to approve, where the file before is kept, and what does
    not fit in the copy."""

    head: heads.Head
    phones: list[str]
    before: Path | None
    faults: list[chain.Fault]


class InUse(Exception):
    """Somebody has the file open: the server must be stopped first. Nothing was changed."""


def restore(database: Path, copy: Path, now: datetime | None = None, even_damaged: bool = False) -> Restored:
    """Make `copy` the practice's file. Raises BackupError (the copy cannot be used), InUse, OSError."""
    now = now or datetime.now(UTC)
    if not copy.is_file():
        raise BackupError(f"There is no file {copy}.")
    database.parent.mkdir(parents=True, exist_ok=True)
    arriving = database.with_name(f".restoring-{secrets.token_hex(4)}.sqlite3")
    try:
        _copy(copy, arriving)
        head, faults = backup.check(arriving, copy.name)
        grave = [fault.text for fault in faults if fault.grave]
        if grave and not even_damaged:
            raise BackupError(f"{copy.name} was changed by hand: {'; '.join(grave)}.")
        names = _made_new(arriving, head, now)
        before = _swap(database, arriving, now)
    finally:
        arriving.unlink(missing_ok=True)
    files.copy_missing(copy.parent / backup.PHOTOS, files.folder_of(database))
    return Restored(head, names, before, faults)


def _copy(copy: Path, target: Path) -> None:
    """Read the copy, with a write-ahead log beside it where there is one, and change nothing there."""
    logged = Path(f"{copy}-wal").exists()
    source = sqlite3.connect(f"{copy.resolve().as_uri()}?mode=ro{'' if logged else '&immutable=1'}", uri=True)
    try:
        copying.copy_database(source, target)
    except sqlite3.DatabaseError as error:
        raise BackupError(f"{copy.name} cannot be read: {error}.") from error
    finally:
        source.close()


def _made_new(path: Path, head: heads.Head, now: datetime) -> list[str]:
    """Give the store a new identity; the names of the phones that wait for the desk."""
    db = open_database(path, copy_before_upgrade=False)  # it is a copy itself
    try:
        with write(db):
            meta.put(db, "store_id", secrets.token_hex(16))
            meta.put(db, "desk_device", new_device())
            meta.put(db, "restored_at", now.isoformat(timespec="seconds"))
            meta.put(db, "restored_from", head.text)
            db.execute("update phones set state = ? where state = ?", [phones.TO_APPROVE, phones.APPROVED])
            db.execute("update pairings set state = 'refused' where state != 'collected'")
            db.execute("delete from unknown_phones")
            sessions.end_everyones(db, now, "records restored")
        names = [row["name"] for row in phones.everyone(db) if row["state"] == phones.TO_APPROVE]
        db.execute("pragma journal_mode=delete")
    finally:
        db.close()
    with path.open("rb+") as file:
        os.fsync(file.fileno())
    return names


def _swap(database: Path, arriving: Path, now: datetime) -> Path | None:
    """Put the new file in place in one step; where the old one is kept. There is never no file."""
    if not database.exists():
        os.replace(arriving, database)
        files.sync_folder(database.parent)
        return None
    kept = _free_name(database, now)
    holder = _alone(database)
    try:
        if holder is None:
            for ending in ("-wal", "-shm"):
                beside = Path(f"{database}{ending}")
                if beside.exists():
                    os.replace(beside, f"{kept}{ending}")
        try:
            os.link(database, kept)
        except OSError:  # a file system without hard links
            shutil.copy2(database, kept)
        os.replace(arriving, database)
        files.sync_folder(database.parent)
    finally:
        if holder is not None:
            holder.close()
    return kept


def _alone(database: Path) -> sqlite3.Connection | None:
    """Hold the old file alone, with its write-ahead log taken in, so that nothing of it is left beside the new
    one. None when it is too broken to be opened at all. Raises InUse."""
    with database.open("rb") as file:
        if file.read(len(SQLITE)) != SQLITE:
            return None  # and SQLite, asked to open it, would throw away the log beside it
    connection = sqlite3.connect(database, isolation_level=None, timeout=1)
    try:
        connection.execute("pragma journal_mode=delete")
        connection.execute("begin exclusive")
    except sqlite3.OperationalError as error:
        connection.close()
        if "locked" in str(error) or "busy" in str(error):
            raise InUse("The practice's file is in use: stop the server, then restore.") from error
        return None
    except sqlite3.DatabaseError:
        connection.close()
        return None
    return connection


def _free_name(database: Path, now: datetime) -> Path:
    stem = f"{database.stem}-before-restore-{now.strftime('%Y%m%dT%H%M%SZ')}"
    number = 0
    while True:
        path = database.with_name(f"{stem}{f'-{number}' if number else ''}{database.suffix}")
        if not path.exists():
            return path
        number += 1
