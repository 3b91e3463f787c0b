"""Opening the practice's database, in and outside a request, and the one way to write to it."""

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from flask import Flask, current_app, g
from sqlite_utils import Database

from webapp.store import schema

BUSY_TIMEOUT_MS = 5000


def open_database(path: Path | str, busy_timeout_ms: int = BUSY_TIMEOUT_MS) -> Database:
    """Open (and where needed bring up to date) the database at `path`; ":memory:" works.

    Answers are given only after COMMIT, so every commit waits for the disk (synchronous=FULL).
    """
    # isolation_level=None: nothing begins a transaction behind our back. A read that turns into a
    # write under WAL fails at once, whatever the timeout, so writers say BEGIN IMMEDIATE.
    connection = sqlite3.connect(str(path), isolation_level=None, timeout=busy_timeout_ms / 1000)
    database = Database(connection)
    for pragma in (
        "journal_mode=WAL",
        "synchronous=FULL",
        "foreign_keys=ON",
        # REPLACE deletes a row: with this the append-only triggers see it too.
        "recursive_triggers=ON",
        f"busy_timeout={busy_timeout_ms}",
    ):
        connection.execute(f"PRAGMA {pragma}")
    if schema.migrations.pending(database):
        with write(database):
            schema.migrations.apply(database)
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
    database.conn.execute("BEGIN IMMEDIATE")
    try:
        yield database
    except BaseException:
        database.rollback()
        raise
    else:
        database.commit()


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
    """The database of the current app context, opened on first use and closed with it."""
    if "db" not in g:
        g.db = open_database(current_app.config["DATABASE"], current_app.config["BUSY_TIMEOUT_MS"])
    opened: Database = g.db
    return opened


def init_app(app: Flask) -> None:
    """Close each context's database when the context ends."""

    @app.teardown_appcontext
    def close(_error: BaseException | None) -> None:
        opened = g.pop("db", None)
        if opened is not None:
            opened.close()
