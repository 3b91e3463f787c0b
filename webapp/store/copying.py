"""One consistent copy of a database that may be in use."""

import os
import sqlite3
from pathlib import Path


def copy_database(source: sqlite3.Connection, target: Path) -> None:
    """A whole, consistent copy as one file, on disk when this returns; readable by its owner only."""
    os.close(os.open(target, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600))
    copy = sqlite3.connect(target, isolation_level=None)
    try:
        # All pages in one step: one moment's view. Under WAL nobody waits for it.
        source.backup(copy)
        copy.execute("pragma journal_mode=delete")
    finally:
        copy.close()
    with target.open("rb+") as file:
        os.fsync(file.fileno())
