"""Who is signed in at the desk: one row per sign-in, ended here and not in the browser."""

import hashlib
import secrets
from datetime import datetime, timedelta
from typing import Any, NamedTuple

from sqlite_utils import Database

from webapp.store.db import write

STEP = timedelta(minutes=1)  # how exactly the last use is kept: not every page writes
LONGEST_BROWSER = 200


class Ends(NamedTuple):
    """How long a session lasts without use, and at most."""

    idle: timedelta
    absolute: timedelta


def start(db: Database, person: str, at: datetime, address: str, browser: str, refused: int) -> str:
    """A new session; the token for the cookie, of which only the hash is kept. `refused`: sign-ins under this name
    that were refused since the one before."""
    token = secrets.token_urlsafe(32)
    row = {
        "id": secrets.token_hex(8),
        "token_hash": _hash(token),
        "person": person,
        "started_at": _text(at),
        "seen_at": _text(at),
        "address": address,
        "browser": "".join(filter(str.isprintable, browser))[:LONGEST_BROWSER],
        "refused_before": refused,
    }
    with write(db):
        db.table("sessions").insert(row)
    return token


def in_use(db: Database, token: str, at: datetime, ends: Ends) -> dict[str, Any] | None:
    """The session of this token while it lasts, with its use noted; else None, and it has ended for good."""
    row = next(db.query("select * from sessions where token_hash = ? and ended_at is null", [_hash(token)]), None)
    if row is None:
        return None
    seen, started = datetime.fromisoformat(row["seen_at"]), datetime.fromisoformat(row["started_at"])
    if at - started >= ends.absolute:
        end(db, row["id"], at, "too old")
        return None
    if at - seen >= ends.idle:
        end(db, row["id"], at, "not used")
        return None
    if at - seen >= STEP:
        with write(db):
            db.execute("update sessions set seen_at = ? where id = ?", [_text(at), row["id"]])
    return row


def end(db: Database, session: str, at: datetime, why: str) -> None:
    """End one session."""
    with write(db):
        query = "update sessions set ended_at = ?, why_ended = ? where id = ? and ended_at is null"
        db.execute(query, [_text(at), why, session])


def end_all(db: Database, person: str, at: datetime, why: str, but: str = "") -> int:
    """End every session of a person, `but` one; how many."""
    going = [row["id"] for row in open_of(db, person) if row["id"] != but]
    with write(db):
        for session in going:
            end(db, session, at, why)
    return len(going)


def end_everyones(db: Database, at: datetime, why: str) -> None:
    """End all sessions there are."""
    db.execute("update sessions set ended_at = ?, why_ended = ? where ended_at is null", [_text(at), why])


def open_of(db: Database, person: str) -> list[dict[str, Any]]:
    """The sessions of a person that were not ended, newest first."""
    query = "select * from sessions where person = ? and ended_at is null order by started_at desc, rowid desc"
    return list(db.query(query, [person]))


def before(db: Database, session: dict[str, Any]) -> dict[str, Any] | None:
    """The sign-in before this one, of the same person."""
    query = """select * from sessions where person = ? and id != ? and started_at <= ?
        order by started_at desc, rowid desc limit 1"""
    return next(db.query(query, [session["person"], session["id"], session["started_at"]]), None)


def last_of(db: Database, person: str) -> dict[str, Any] | None:
    """The newest sign-in of a person."""
    query = "select * from sessions where person = ? order by started_at desc, rowid desc limit 1"
    return next(db.query(query, [person]), None)


def _hash(token: str) -> str:
    return hashlib.sha256(token.encode("utf-8", "surrogatepass")).hexdigest()


def _text(at: datetime) -> str:
    return at.isoformat(timespec="seconds")
