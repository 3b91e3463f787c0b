"""The people of the practice: who authors can be, and who may sign in at the desk."""

from datetime import UTC, datetime
from functools import cache
from typing import Any

from sqlite_utils import Database
from werkzeug.security import check_password_hash, generate_password_hash

SHORTEST_PASSWORD = 8


class PersonError(ValueError):
    """A person cannot be added as asked; the message says why."""


def add(db: Database, person: str, name: str, role: str, password: str | None) -> None:
    """Add a person, or give a known one this name, role and password. `person` is the id authors
    carry in entries ("VS"); without a password the person cannot sign in. Raises PersonError."""
    if not person or not person.isprintable() or len(person) > 40:
        raise PersonError("The id of a person is a short text such as VS.")
    if password is not None and len(password) < SHORTEST_PASSWORD:
        raise PersonError(f"The password needs {SHORTEST_PASSWORD} characters or more.")
    row = {
        "id": person,
        "name": name,
        "role": role,
        "password_hash": generate_password_hash(password) if password is not None else None,
        "created_at": datetime.now(UTC).isoformat(timespec="seconds"),
    }
    db.table("people").upsert(row, pk="id")


def by_id(db: Database, person: str) -> dict[str, Any] | None:
    """The person's id, name and role, or None."""
    return next(db.query("select id, name, role from people where id = ?", [person]), None)


def everyone(db: Database) -> list[dict[str, Any]]:
    """Id, name and role of all, by id."""
    return list(db.query("select id, name, role from people order by id"))


def with_password(db: Database, person: str, password: str) -> dict[str, Any] | None:
    """The person whose id and password these are, or None; both answers take the same time."""
    row = next(db.query("select * from people where id = ?", [person]), None)
    kept = row["password_hash"] if row and row["password_hash"] else _nobody()
    fits = check_password_hash(kept, password)
    if row is None or row["password_hash"] is None or not fits:
        return None
    return {key: row[key] for key in ("id", "name", "role")}


@cache
def _nobody() -> str:
    """What an unknown name is checked against, so that it takes as long as a known one."""
    return generate_password_hash("nobody has this password")
