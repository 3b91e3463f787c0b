"""Opening the practice's database, in and outside a request, and the one way to write to it."""

import os
import sqlite3
import threading
import weakref
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import NamedTuple

from flask import Flask, current_app, g
from sqlite_utils import Database

from webapp.store import readable, upgrade
from webapp.store.connections import Connections, Lent

BUSY_TIMEOUT_MS = 5000
# Moving the log (WAL) into the file is done beside the requests (store.afterwards). Where nobody does it, the commit
# that finds a log of this size must: 128 MB in pages of 4 kB.
LARGEST_LOG_PAGES = 32_768


class _Gate(NamedTuple):
    lock: threading.Lock
    patience_s: float


_gates: weakref.WeakKeyDictionary[Database, _Gate] = weakref.WeakKeyDictionary()
_locks: dict[str, threading.Lock] = {}  # by file


def _lock_of(path: Path | str) -> threading.Lock:
    if str(path) == ":memory:":
        return threading.Lock()
    return _locks.setdefault(os.path.realpath(path), threading.Lock())


def open_database(
    path: Path | str, busy_timeout_ms: int = BUSY_TIMEOUT_MS, copy_before_upgrade: bool = True
) -> Database:
    """Open (and where needed bring up to date, after a copy beside it) the database at `path`; ":memory:" works.
    Raises upgrade.NewerFile, upgrade.NotUpgraded.

    Answers are given only after COMMIT, so every commit waits for the disk (synchronous=FULL). Each connection's cache
    is left at SQLite's 2 MB: with 32 the server grew by what the file did, up to eight times that, and was no faster.
    """
    # isolation_level=None: nothing begins a transaction behind our back. A read that turns into a
    # write under WAL fails at once, whatever the timeout, so writers say BEGIN IMMEDIATE.
    # A connection is handed from one request's thread to the next one's, never used by two at once.
    connection = sqlite3.connect(
        str(path), isolation_level=None, timeout=busy_timeout_ms / 1000, check_same_thread=False
    )
    database = Database(connection)
    _gates[database] = _Gate(_lock_of(path), busy_timeout_ms / 1000)
    for pragma in (
        "journal_mode=WAL",
        "synchronous=FULL",
        "foreign_keys=ON",
        # REPLACE deletes a row: with this the append-only triggers see it too.
        "recursive_triggers=ON",
        f"busy_timeout={busy_timeout_ms}",
        f"wal_autocheckpoint={LARGEST_LOG_PAGES}",
    ):
        connection.execute(f"PRAGMA {pragma}")
    if upgrade.is_due(database):
        with write(database):
            if upgrade.is_due(database):  # nobody else was faster
                in_memory = str(path) == ":memory:"
                upgrade.apply(database, Path(path) if copy_before_upgrade and not in_memory else None)
    if readable.is_due(database):
        with write(database):
            if readable.is_due(database):
                readable.read_again(database)
    return database


@contextmanager
def write(database: Database) -> Iterator[Database]:
    """One write transaction: everything inside is kept together or not at all.

    Inside another `write` it joins that one. Raises sqlite3.OperationalError ("locked") when
    another writer holds the database for longer than the busy timeout.
    """
    if database.conn.in_transaction:
        yield database
        return
    with alone(database):
        database.conn.execute("BEGIN IMMEDIATE")
        try:
            yield database
        except BaseException:
            database.rollback()
            raise
        else:
            database.commit()


@contextmanager
def alone(database: Database) -> Iterator[None]:
    """While inside, no other thread of this process writes to the same file. SQLite lets one writer in at a time as
    well, but those who wait ask it again and again, in longer and longer pauses."""
    gate = _gates[database]
    if not gate.lock.acquire(timeout=gate.patience_s):
        raise sqlite3.OperationalError("database is locked")
    try:
        yield
    finally:
        gate.lock.release()


@contextmanager
def read(database: Database) -> Iterator[Database]:
    """One unchanging view over several reads."""
    if database.conn.in_transaction:
        yield database
        return
    database.conn.execute("BEGIN DEFERRED")
    try:
        yield database
    finally:
        database.rollback()


def get_db() -> Database:
    """The database of the current app context, taken on first use and handed back with it."""
    if "lent" not in g:
        g.lent = connections(current_app).take()
    lent: Lent = g.lent
    return lent.database


def drop_db() -> None:
    """Close the current context's connection for good: it failed, and the next request gets another."""
    lent = g.pop("lent", None)
    if lent is not None:
        lent.database.close()


def connections(app: Flask) -> Connections:
    """The app's own connections."""
    kept: Connections = app.extensions["connections"]
    return kept


def init_app(app: Flask) -> None:
    """Keep the app's connections, and hand each context's back when it ends."""
    path = app.config["DATABASE"]
    # Looked up when called: the busy timeout may be set later.
    kept = Connections(path, lambda: open_database(path, app.config["BUSY_TIMEOUT_MS"]))
    app.extensions["connections"] = kept
    weakref.finalize(app, kept.close)

    @app.teardown_appcontext
    def hand_back(_error: BaseException | None) -> None:
        lent = g.pop("lent", None)
        if lent is not None:
            kept.give(lent)
