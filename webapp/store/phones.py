"""The phones that may send: each with a name, the hash of its token and what it last said of itself."""

import hashlib
import json
import secrets
from datetime import UTC, datetime
from typing import Any

from sqlite_utils import Database

from webapp.store.entries import new_device

APPROVED = "approved"
REVOKED = "revoked"
TO_APPROVE = "to_approve"  # known to a restored copy: may send, and reads again once the desk agrees


def new_token() -> str:
    """A fresh 256-bit bearer token, safe in a URL fragment."""
    return secrets.token_urlsafe(32)


def add(db: Database, name: str, token: str, person: str | None = None) -> str:
    """Let a phone with this token send and read; returns its id. Only the token's hash is kept.
    A token known already keeps its id and takes the new name."""
    return add_by_hash(db, name, hash_of(token), person)


def add_by_hash(db: Database, name: str, token_hash: str, person: str | None = None) -> str:
    """The same for a token of which only the hash is known here."""
    known = next(db.query("select id, created_at from phones where token_hash = ?", [token_hash]), None)
    row = {
        "id": known["id"] if known else new_device(),
        "name": name,
        "token_hash": token_hash,
        "person": person,
        "created_at": known["created_at"] if known else _now(),
    }
    db.table("phones").upsert(row, pk="id")
    return str(row["id"])


def by_token(db: Database, token: str) -> dict[str, Any] | None:
    """The phone whose token this is, or None. Looked up by hash: comparing tells nothing about others."""
    return next(db.query("select * from phones where token_hash = ?", [hash_of(token)]), None)


def by_id(db: Database, phone: str) -> dict[str, Any] | None:
    """The phone's row, or None."""
    return next(db.query("select * from phones where id = ?", [phone]), None)


def everyone(db: Database) -> list[dict[str, Any]]:
    """All phones with `person_name` and `report` as an object: those that may send first, by name."""
    rows = db.query(
        "select phones.*, people.name as person_name from phones left join people on people.id = phones.person "
        "order by phones.state = 'revoked', phones.name, phones.created_at"
    )
    return [row | {"report": json.loads(row["report"]) if row["report"] else {}} for row in rows]


def heard_from(db: Database, phone: str, device: str) -> None:
    """Note that the phone was in contact just now, writing as `device`."""
    db.execute("update phones set last_contact = ?, last_device = ? where id = ?", [_now(), device, phone])


def reported(db: Database, phone: dict[str, Any], report: dict[str, Any]) -> None:
    """Keep what the phone says of itself. Another storage than last time means that its own was cleared.

    A locked phone cannot tell how old its unsent entries are: what it last said of that holds.
    """
    now = _now()
    before = json.loads(phone["report"]) if phone["report"] else {}
    lost = before.get("store") and report.get("store") and before["store"] != report["store"]
    if report.get("unsent") and before.get("unsent") and "oldest" not in report and not lost:
        report = report | {"oldest": before.get("oldest", "")}
    unsent = before.get("unsent") if lost else before.get("lost_unsent")
    if unsent is not None:
        report = report | {"lost_unsent": unsent}
    db.execute(
        "update phones set report = ?, reported_at = ?, last_contact = ?, "
        "storage_lost_at = coalesce(?, storage_lost_at) where id = ?",
        [json.dumps(report, sort_keys=True), now, now, now if lost else None, phone["id"]],
    )


def revoke(db: Database, phone: str) -> None:
    """From now on the phone may only hand over what it still has."""
    newest = next(db.query("select coalesce(max(arrival), 0) as n from entries"))["n"]
    db.execute(
        "update phones set state = ?, revoked_at = ?, revoked_after = ? where id = ? and state != ?",
        [REVOKED, _now(), newest, phone, REVOKED],
    )


def approve(db: Database, phone: str) -> None:
    """Let a phone of a restored copy read again. A revoked phone stays revoked: it is paired anew."""
    db.execute("update phones set state = ? where id = ? and state = ?", [APPROVED, phone, TO_APPROVE])


def rename(db: Database, phone: str, name: str, person: str | None) -> None:
    """Give the phone another name and person."""
    db.execute("update phones set name = ?, person = ? where id = ?", [name, person, phone])


def sent_since_revoked(db: Database, phone: dict[str, Any]) -> int:
    """How many entries a revoked phone has handed over since."""
    query = "select count(*) as n from entries where arrival > ? and arrived_from = ?"
    return int(next(db.query(query, [phone["revoked_after"], phone["id"]]))["n"])


def hash_of(token: str) -> str:
    """What is kept of a token or a secret: its SHA-256."""
    return hashlib.sha256(token.encode("utf-8", "surrogatepass")).hexdigest()


def _now() -> str:
    return datetime.now(UTC).isoformat(timespec="seconds")
