"""Phones that a restored store does not know: paired after the copy was made. They ask to be approved again.

A stranger's token proves nothing by itself, so only its hash and six digits are kept, and only after a
restore; the person at the desk compares the digits with those on the phone before the phone is let in.
"""

import hashlib
from datetime import UTC, datetime, timedelta
from typing import Any

from sqlite_utils import Database

from webapp.store import meta, phones

ASKING_DAYS = 30  # after a restore, phones of the lost time may ask this long
MOST = 50  # a stranger may be anyone: the list does not grow beyond this


def number_of(token: str) -> str:
    """Six digits that phone and desk make from the token, to be compared by eye."""
    return f"{int(hashlib.sha256(b'gelside-approve' + token.encode()).hexdigest()[:10], 16) % 1_000_000:06d}"


def asked(db: Database, token: str, device: str | None, now: datetime | None = None) -> str | None:
    """Put the phone on the list, or renew its line; its six digits, or None when nobody is asked to wait here:
    the store was not restored lately, or the list is full."""
    now = now or datetime.now(UTC)
    restored = meta.find(db, "restored_at")
    if restored is None or datetime.fromisoformat(restored) < now - timedelta(days=ASKING_DAYS):
        return None
    token_hash, at = phones.hash_of(token), now.isoformat(timespec="seconds")
    known = db.execute("select 1 from unknown_phones where token_hash = ?", [token_hash]).fetchone()
    if known is None and db.execute("select count(*) from unknown_phones").fetchone()[0] >= MOST:
        return None
    number = number_of(token)
    db.execute(
        "insert into unknown_phones (token_hash, number, device, first_seen, last_seen) values (?, ?, ?, ?, ?) "
        "on conflict (token_hash) do update set last_seen = excluded.last_seen, "
        "device = coalesce(excluded.device, device)",
        [token_hash, number, device, at, at],
    )
    return number


def waiting(db: Database) -> list[dict[str, Any]]:
    """Those on the list, oldest first."""
    return list(db.query("select * from unknown_phones order by first_seen, token_hash"))


def let_in(db: Database, token_hash: str, name: str, person: str | None) -> str | None:
    """Make a phone of the line; its id, or None when the line is gone."""
    gone = db.execute("delete from unknown_phones where token_hash = ?", [token_hash]).rowcount == 0
    return None if gone else phones.add_by_hash(db, name, token_hash, person)


def send_away(db: Database, token_hash: str) -> None:
    """Take the line off the list."""
    db.execute("delete from unknown_phones where token_hash = ?", [token_hash])
