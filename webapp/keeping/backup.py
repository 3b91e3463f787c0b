"""A copy of the practice's file, made while it is in use, checked, and named so that it proves something.

The name holds the moment (UTC) and the head over all entries in it: `gelside-20261124T210000Z-412-9f86d081884c7d65
.sqlite3`. `flask --app webapp verify --head 412-9f86d081884c7d65` shows, years later and in any file, whether its
first 412 entries are still those.
"""

import os
import secrets
import sqlite3
from datetime import UTC, datetime
from pathlib import Path
from typing import NamedTuple

from sqlite_utils import Database

from webapp.photos import files
from webapp.store import chain, copying, heads

PHOTOS = "photos"  # folder beside the copies, shared by all of them: the same name is the same bytes


class Backup(NamedTuple):
    """The copy, the head over its entries, what does not fit in it, and how many photos were new."""

    path: Path
    head: heads.Head
    faults: list[chain.Fault]
    photos: int


class BackupError(Exception):
    """No usable copy was made; the message says why. Nothing in use was touched."""


def backup(db: Database, folder: Path, now: datetime | None = None) -> Backup:
    """Copy the database and its photos into `folder` and check the copy. A copy with grave faults is kept and
    named `-damaged`: it may be all there is. Raises BackupError, OSError (disk full)."""
    folder.mkdir(parents=True, exist_ok=True)
    source = _own_path(db)
    arriving = folder / f".arriving-{secrets.token_hex(4)}.sqlite3"
    try:
        copying.copy_database(db.conn, arriving)
        head, faults = check(arriving)
        stamp = (now or datetime.now(UTC)).strftime("%Y%m%dT%H%M%SZ")
        damaged = "-damaged" if any(fault.grave for fault in faults) else ""
        path = folder / f"gelside-{stamp}-{head.text}{damaged}.sqlite3"
        os.replace(arriving, path)
    finally:
        arriving.unlink(missing_ok=True)
    files.sync_folder(folder)
    photos = files.copy_missing(files.folder_of(source), folder / PHOTOS) if source else 0
    return Backup(path, head, faults, photos)


def check(path: Path, name: str = "The copy") -> tuple[heads.Head, list[chain.Fault]]:
    """The head and the faults of a copy, read without changing it. Raises BackupError, calling the copy `name`,
    when it is no file of a practice or SQLite itself finds it broken."""
    try:
        connection = sqlite3.connect(f"{path.resolve().as_uri()}?mode=ro&immutable=1", uri=True, isolation_level=None)
    except sqlite3.Error as error:
        raise BackupError(f"{name} cannot be opened: {error}.") from error
    try:
        found = connection.execute("pragma integrity_check(3)").fetchall()
        if found != [("ok",)]:
            raise BackupError(f"{name} is broken: {'; '.join(str(row[0]) for row in found)}.")
        db = Database(connection)
        if "entries" not in db.table_names() or "meta" not in db.table_names():
            raise BackupError(f"{name} is no file of a practice.")
        return _head(db), chain.verify(db) if "heads" in db.table_names() else []
    except sqlite3.DatabaseError as error:
        raise BackupError(f"{name} cannot be read: {error}.") from error
    finally:
        connection.close()


def _head(db: Database) -> heads.Head:
    """The head over the copy's entries, made from them and not from what the file says of itself."""
    head = heads.Head(0, heads.NOTHING)
    for row in db.query("select arrival, id from entries order by arrival"):
        head = heads.following(head, row["arrival"], row["id"])
    return head


def _own_path(db: Database) -> Path | None:
    path = db.conn.execute("pragma database_list").fetchone()[2]
    return Path(path) if path else None
