"""Bringing a practice's file to this version's tables: a copy of it first, then all changes at once or none.

The copy lies beside the file as `<name>-before-upgrade-<moment>-<last change>.sqlite3`; with the former version of
the program and `restore` it is the way back. A file that a newer version made is not touched: what this one does
not know it cannot keep whole.
"""

import os
import sqlite3
from datetime import UTC, datetime
from pathlib import Path

import click
from sqlite_utils import Database

from webapp.store import copying, schema


class NewerFile(click.ClickException):
    """The file was made by a newer version of the program; it stays as it is. Commands print the message and end."""


class NotUpgraded(click.ClickException):
    """The copy before the upgrade could not be made, so nothing was changed."""


def is_due(db: Database) -> bool:
    """Whether this version has changes that the file lacks. Raises NewerFile."""
    pending = schema.migrations.pending(db)
    applied = [migration.name for migration in schema.migrations.applied(db)]
    unknown = [name for name in applied if name not in schema.NAMES]
    if unknown:
        raise NewerFile(
            f"The practice's file was made by a newer version of Gelside ({unknown[-1]}): start that version. "
            "Nothing was changed."
        )
    return bool(pending)


def apply(db: Database, path: Path | None) -> Path | None:
    """Make the changes, inside the caller's write transaction, after a copy of what the file holds; where the copy
    is. A new, empty file needs none. Raises NotUpgraded."""
    applied = schema.migrations.applied(db)
    kept = _copy(path, applied[-1].name) if path is not None and applied else None
    schema.migrations.apply(db)
    return kept


def _copy(path: Path, last: str) -> Path:
    stamp = datetime.now(UTC).strftime("%Y%m%dT%H%M%SZ")
    target = path.with_name(f"{path.stem}-before-upgrade-{stamp}-{last}.sqlite3")
    arriving = target.with_name(f".{target.name}.arriving")
    # Another connection: it sees what was there when the caller's transaction began.
    source = sqlite3.connect(f"{path.resolve().as_uri()}?mode=ro", uri=True)
    try:
        copying.copy_database(source, arriving)
        os.replace(arriving, target)
    except (OSError, sqlite3.Error) as error:
        raise NotUpgraded(
            f"The practice's file was not brought to this version: no copy of it could be made first ({error}). "
            "Nothing was changed; make room beside it and start again."
        ) from error
    finally:
        source.close()
        arriving.unlink(missing_ok=True)
    return target
