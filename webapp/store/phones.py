"""The phones that may send: each with a name and the hash of its token."""

import hashlib
import secrets
from datetime import UTC, datetime
from typing import Any

from sqlite_utils import Database

from webapp.store.entries import new_device


def new_token() -> str:
    """A fresh 256-bit bearer token, safe in a URL fragment."""
    return secrets.token_urlsafe(32)


def add(db: Database, name: str, token: str, person: str | None = None) -> str:
    """Let a phone with this token send and read; returns its id. Only the token's hash is kept.
    A token known already keeps its id and takes the new name."""
    known = by_token(db, token)
    row = {
        "id": known["id"] if known else new_device(),
        "name": name,
        "token_hash": _hash(token),
        "person": person,
        "created_at": known["created_at"] if known else _now(),
    }
    db.table("phones").upsert(row, pk="id")
    return str(row["id"])


def by_token(db: Database, token: str) -> dict[str, Any] | None:
    """The phone whose token this is, or None. Looked up by hash: comparing tells nothing about others."""
    return next(db.query("select * from phones where token_hash = ?", [_hash(token)]), None)


def heard_from(db: Database, phone: str, device: str) -> None:
    """Note that the phone was in contact just now, writing as `device`."""
    db.execute("update phones set last_contact = ?, last_device = ? where id = ?", [_now(), device, phone])


def _hash(token: str) -> str:
    return hashlib.sha256(token.encode("utf-8", "surrogatepass")).hexdigest()


def _now() -> str:
    return datetime.now(UTC).isoformat(timespec="seconds")
