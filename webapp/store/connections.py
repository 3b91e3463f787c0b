"""Connections that one request hands on to the next.

Opening one costs more than a small request's work, and with the last one SQLite closes its log: it moves all of it
into the file and waits for the disk, in the way of whoever asked. So each application keeps a few open.
"""

import os
import threading
from collections.abc import Callable
from typing import NamedTuple

from sqlite_utils import Database

MOST_IDLE = 8


class Lent(NamedTuple):
    """A connection, and which file it was opened on (device, inode)."""

    database: Database
    file: tuple[int, int] | None


class Connections:
    """The open connections to one file that nobody uses just now."""

    def __init__(self, path: str, opener: Callable[[], Database]):
        self._path = path
        self._open = opener
        self._idle: list[Lent] = []
        self._guard = threading.Lock()

    def take(self) -> Lent:
        """A connection for the caller alone. One to a file that was put aside meanwhile (a copy was made the
        practice's file) is closed and not given out."""
        file = self._file()
        while (kept := self._pop()) is not None:
            if kept.file == file:
                return kept
            kept.database.close()
        database = self._open()
        return Lent(database, self._file())

    def give(self, lent: Lent) -> None:
        """Take it back; what it left open is undone."""
        if lent.database.conn.in_transaction:
            lent.database.rollback()
        with self._guard:
            if len(self._idle) < MOST_IDLE:
                self._idle.append(lent)
                return
        lent.database.close()

    def close(self) -> None:
        """Close all that are idle."""
        while (kept := self._pop()) is not None:
            kept.database.close()

    def _pop(self) -> Lent | None:
        with self._guard:
            return self._idle.pop() if self._idle else None

    def _file(self) -> tuple[int, int] | None:
        """Which file stands at the path now; None where there is none (or it lives in memory)."""
        try:
            found = os.stat(self._path)
        except FileNotFoundError:
            return None
        return found.st_dev, found.st_ino
