"""What no request waits for, done by one thread beside them: the log is moved into the file, and exams are judged
once the phones have stopped sending.

Nothing depends on it: whoever reads the lists renews them first (store.behind), and a commit that finds the log too
long moves it itself (db.LARGEST_LOG_PAGES). It only takes the waiting out of the requests.
"""

import logging
import os
import sqlite3
import threading
import time
from collections.abc import Callable

from flask import Flask
from sqlite_utils import Database

from webapp.store import behind
from webapp.store.db import alone, connections

log = logging.getLogger(__name__)

QUIET_S = 0.5  # after the last push: a phone that is sending is not slowed by judging
LATEST_S = 5.0  # but while phones never stop, some exams are judged at least so often,
TURN_S = 1.0  # for so long
MOVE_AT_ENTRIES = 4_000  # kept since the log was last moved: pages that change again and again move once
LONG_LOG_PAGES = 12_000  # 48 MB


class File:
    """The practice's file, for waiting until the disk has it. Opened once and never closed: closing any descriptor
    of a file takes away all locks that the process holds on it, SQLite's too."""

    def __init__(self, path: str):
        self._descriptor = os.open(path, os.O_RDONLY)

    def sync(self) -> None:
        os.fsync(self._descriptor)


class Afterwards:
    """The thread, and what it is told. `note` is called after each push."""

    def __init__(self, work: Callable[[Callable[[Database, File], None]], None]):
        self._work = work
        self._changed = threading.Condition()
        self._entries = 0
        self._newest = self._oldest = 0.0
        self._waiting = False

    def note(self, entries: int) -> None:
        """So many entries were kept just now."""
        with self._changed:
            self._newest = time.monotonic()
            self._entries += entries
            if not self._waiting:
                self._oldest = self._newest
            self._waiting = True
            self._changed.notify()

    def start(self) -> None:
        threading.Thread(target=self._run, name="afterwards", daemon=True).start()

    def _run(self) -> None:
        while True:
            act = self._judge if self._next() else move_log
            try:
                self._work(act)
            except sqlite3.Error:
                # Busy, full, or put aside: the next push tries again, and readers renew for themselves.
                log.exception("work beside the requests was left undone")

    def _next(self) -> bool:
        """Wait for work: True when exams are to be judged, False when only the log is to be moved."""
        with self._changed:
            while True:
                if self._entries >= MOVE_AT_ENTRIES:
                    self._entries = 0
                    return False
                due = min(self._newest + QUIET_S, self._oldest + LATEST_S) if self._waiting else None
                rest = None if due is None else due - time.monotonic()
                if rest is not None and rest <= 0:
                    self._waiting = False
                    return True
                self._changed.wait(rest)

    def _judge(self, db: Database, file: File) -> None:
        """Bring the lists up to date; a push that comes meanwhile goes first, but not for ever."""
        began = time.monotonic()
        behind.renew(db, lambda: self._newest < began or time.monotonic() < began + TURN_S)
        move_log(db, file)


def move_log(db: Database, file: File) -> None:
    """Move what stands in the log into the file, while others write on. Only when nobody has written since does the
    next writer begin the log anew: so a long one is finished with this process's writers kept out for a moment. All
    that takes long, most of it waiting for the disk, is done before that moment."""
    pages = _moved(db)
    if pages <= LONG_LOG_PAGES:
        return
    file.sync()
    _moved(db)
    file.sync()
    with alone(db):
        _moved(db)


def _moved(db: Database) -> int:
    """The pages that the log held as it was moved; 0 while another connection is at it."""
    return max(0, int(db.execute("pragma wal_checkpoint(passive)").fetchone()[1]))


def start(app: Flask) -> None:
    """Begin; from then on `note` reaches the thread."""
    kept = connections(app)
    files: list[File] = []

    def work(act: Callable[[Database, File], None]) -> None:
        lent = kept.take()
        try:
            if not files:
                files.append(File(app.config["DATABASE"]))
            act(lent.database, files[0])
        finally:
            kept.give(lent)

    app.extensions["afterwards"] = Afterwards(work)
    # What was left behind before the start: by an upgrade, which notes every exam, or a server that was stopped.
    app.extensions["afterwards"].note(0)
    app.extensions["afterwards"].start()


def note(app: Flask, entries: int) -> None:
    """So many entries were kept; nothing where the thread was not begun (commands, tests)."""
    if "afterwards" in app.extensions:
        app.extensions["afterwards"].note(entries)
