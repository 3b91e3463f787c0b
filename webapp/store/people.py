"""The people of the practice: who authors can be, what each may do, and who may sign in at the desk."""

from datetime import UTC, datetime
from typing import Any

from sqlite_utils import Database

from webapp import passwords
from webapp.store import meta, roles
from webapp.store.db import write

LONGEST_NAME = 80


class PersonError(ValueError):
    """A person cannot be added or changed as asked; the message says why."""


def add(db: Database, person: str, name: str, role: str, password: str | None) -> tuple[str, ...]:
    """Add a person, or give a known one this name, role and password; the roles they have then.

    `person` is the id authors carry in entries ("VS"); without a password the person cannot sign in. `role` names
    one role or several. The first who can sign in where no admin can becomes admin too. Raises PersonError.
    """
    if not person or not person.isprintable() or len(person) > 40:
        raise PersonError("The id of a person is a short text such as VS.")
    row = {"id": person, "name": _name(name), "stopped_at": None, "must_change": 0, "created_at": now()}
    row |= _kept(db, person, name, password)
    held = _roles(role)
    with write(db):
        if password is not None and not _other_admins(db, person):
            held = _roles(f"{roles.text(held)}, {roles.ADMIN}")
        db.table("people").upsert(row | {"role": roles.text(held)}, pk="id")
    return held


def by_id(db: Database, person: str) -> dict[str, Any] | None:
    """The person's id, name and role, or None."""
    return next(db.query("select id, name, role from people where id = ?", [person]), None)


def full(db: Database, person: str) -> dict[str, Any] | None:
    """Id, name, role, stopped_at, password_set_at, must_change, can_sign_in (1 or 0) of a person, or None."""
    return next(db.query(f"{_FULL} where id = ?", [person]), None)


def everyone(db: Database) -> list[dict[str, Any]]:
    """Id, name and role of all, by id."""
    return list(db.query("select id, name, role from people order by id"))


def listed(db: Database) -> list[dict[str, Any]]:
    """Everyone as by `full`, those who may not sign in any more last."""
    return list(db.query(f"{_FULL} order by stopped_at is not null, id"))


def with_password(db: Database, person: str, password: str) -> dict[str, Any] | None:
    """The person whose id and password these are, or None; both answers take the same time."""
    row = next(db.query("select * from people where id = ?", [person]), None)
    may = row is not None and row["password_hash"] is not None and row["stopped_at"] is None
    kept = row["password_hash"] if row is not None and may else passwords.nobodys()
    if not passwords.fits(kept, password) or row is None or not may:
        return None
    if passwords.outdated(kept):
        db.execute("update people set password_hash = ? where id = ?", [passwords.made(password), person])
    return {key: row[key] for key in ("id", "name", "role")}


def change(db: Database, person: str, name: str, role: str) -> None:
    """Another name or other roles. Raises PersonError, also where nobody would be left to look after people."""
    held = _roles(role)
    with write(db):
        if roles.ADMIN not in held:
            _not_the_last(db, person)
        db.execute("update people set name = ?, role = ? where id = ?", [_name(name), roles.text(held), person])


def stop(db: Database, person: str) -> None:
    """No sign-in any more. Entries go on naming the person. Raises PersonError for the last admin."""
    with write(db):
        _not_the_last(db, person)
        db.execute("update people set stopped_at = ? where id = ? and stopped_at is null", [now(), person])


def set_password(db: Database, person: str, password: str, must_change: bool = False) -> None:
    """Give a known person a password; one `must_change` it at the next sign-in. Raises PersonError."""
    row = by_id(db, person)
    if row is None:
        raise PersonError(f"There is no person {person}.")
    kept = _kept(db, person, row["name"], password)
    with write(db):
        db.table("people").update(person, kept | {"must_change": int(must_change), "stopped_at": None})


def admins(db: Database) -> list[str]:
    """Names of those who can sign in and look after people."""
    return [row["name"] for row in listed(db) if row["can_sign_in"] and roles.ADMIN in roles.held(row["role"])]


def now() -> str:
    return datetime.now(UTC).isoformat(timespec="seconds")


_FULL = """
select id, name, role, stopped_at, password_set_at, must_change,
  password_hash is not null and stopped_at is null as can_sign_in from people
"""


def _kept(db: Database, person: str, name: str, password: str | None) -> dict[str, Any]:
    """The columns of a password. Raises PersonError for one that is not taken."""
    if password is None:
        return {"password_hash": None, "password_set_at": None}
    try:
        passwords.check(password, (person, name, meta.get(db, "practice")))
    except passwords.PasswordProblem as error:
        raise PersonError(str(error)) from error
    return {"password_hash": passwords.made(password), "password_set_at": now()}


def _roles(text: str) -> tuple[str, ...]:
    try:
        return roles.parse(text)
    except roles.RoleError as error:
        raise PersonError(str(error)) from error


def _name(name: str) -> str:
    name = name.strip()
    if not name or not name.isprintable() or len(name) > LONGEST_NAME:
        raise PersonError(f"The name of a person is a text of up to {LONGEST_NAME} characters.")
    return name


def _other_admins(db: Database, person: str) -> bool:
    return any(
        row["id"] != person and row["can_sign_in"] and roles.ADMIN in roles.held(row["role"]) for row in listed(db)
    )


def _not_the_last(db: Database, person: str) -> None:
    row = full(db, person)
    if row is None:
        raise PersonError(f"There is no person {person}.")
    if row["can_sign_in"] and roles.ADMIN in roles.held(row["role"]) and not _other_admins(db, person):
        raise PersonError("Nobody else looks after people: make another person admin first.")
