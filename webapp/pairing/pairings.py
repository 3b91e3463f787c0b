"""One pairing from the QR code to the token, as a row of `pairings`.

    open --use--> waiting --confirm--> confirmed --collect--> collected
                     `------refuse--> refused            (past `until`: expired)

Secret and code work once. A collected token can be collected again, as a new one, until the phone has used
it or the time is over: an answer lost on the way must not cost the pairing.
"""

import secrets
from datetime import UTC, datetime, timedelta
from typing import Any

from sqlite_utils import Database

from webapp.pairing import codes
from webapp.store import phones
from webapp.store.db import write

LASTS = timedelta(minutes=5)  # to be used, and from then on to be confirmed and collected
MOST_FAILURES = 10  # per minute, over all addresses: an address costs a guesser nothing
WINDOW = timedelta(minutes=1)
GIVEN_LONGEST = 60  # characters of a name that a phone gives itself

OPEN, WAITING, CONFIRMED, COLLECTED, REFUSED, EXPIRED = (
    "open",
    "waiting",
    "confirmed",
    "collected",
    "refused",
    "expired",
)
FAILED = ("unknown", "used", "late", "wrong_poll")
TOO_MANY = "too_many"


class Refused(Exception):
    """The phone is not told why: unknown, used and late look the same from outside."""


class TooMany(Exception):
    """Too many failures lately: nobody is listened to for `retry_after_s` seconds."""

    def __init__(self, retry_after_s: int):
        super().__init__(retry_after_s)
        self.retry_after_s = retry_after_s


def start(db: Database, server_key: str, made_by: str, now: datetime) -> str:
    """A new pairing; its id. Secret and code follow from the id (codes)."""
    pairing = secrets.token_hex(16)
    with write(db):
        db.table("pairings").insert(
            {
                "id": pairing,
                "secret_hash": phones.hash_of(codes.secret(server_key, pairing)),
                "code_hash": phones.hash_of(codes.code(server_key, pairing)),
                "made_by": made_by,
                "made_at": _text(now),
                "until": _text(now + LASTS),
                "state": OPEN,
            }
        )
    return pairing


def use(
    db: Database, proof: str, device: str, name: str, app: str, address: str, now: datetime
) -> dict[str, str]:
    """A phone shows a secret or a normalised code: `{"pairing", "poll", "number"}`.

    Raises Refused (unknown, used or late, all logged) or TooMany; other exceptions mean nothing happened.
    """
    poll = secrets.token_urlsafe(16)
    _listen(db, address, device, now)
    with write(db):
        proof_hash = phones.hash_of(proof)
        row = next(db.query("select * from pairings where ? in (secret_hash, code_hash)", [proof_hash]), None)
        outcome = "unknown" if row is None else "used" if row["state"] != OPEN else "ok"
        if outcome == "ok" and row is not None and _text(now) > row["until"]:
            outcome = "late"
        _log(db, address, device, outcome, now)
        if row is not None and outcome == "ok":
            number = codes.number(proof, device)
            db.execute(
                "update pairings set state = ?, until = ?, device = ?, name = ?, app = ?, number = ?, poll_hash = ? "
                "where id = ?",
                [
                    WAITING,
                    _text(now + LASTS),
                    device,
                    name[:GIVEN_LONGEST],
                    app[:GIVEN_LONGEST],
                    number,
                    phones.hash_of(poll),
                    row["id"],
                ],
            )
    if row is None or outcome != "ok":
        raise Refused(outcome)
    return {"pairing": row["id"], "poll": poll, "number": number}


def collect(db: Database, pairing: str, poll: str, address: str, now: datetime) -> dict[str, Any]:
    """What the waiting phone is told: `{"state"}`, and once confirmed also `token` and `phone` (its id).

    Raises Refused or TooMany.
    """
    _listen(db, address, None, now)
    with write(db):
        row = by_id(db, pairing, now)
        right = row is not None and row["poll_hash"] == phones.hash_of(poll)
        if not right:
            _log(db, address, None, "wrong_poll", now)
        answer = _collected(db, row, now) if right and row is not None else None
    if answer is None:
        raise Refused("wrong_poll")
    return answer


def _collected(db: Database, row: dict[str, Any], now: datetime) -> dict[str, Any]:
    if row["state"] == CONFIRMED:
        token = phones.new_token()
        phone = phones.add(db, row["name"], token, row["person"])
        db.execute("update phones set last_device = ? where id = ?", [row["device"], phone])
        db.execute("update pairings set state = ?, phone = ? where id = ?", [COLLECTED, phone, row["id"]])
        return {"state": CONFIRMED, "token": token, "phone": phone, "person": row["person"]}
    if row["state"] == COLLECTED:
        token = phones.new_token()
        renewed = db.execute(
            "update phones set token_hash = ? where id = ? and last_contact is null and state = ? and ? <= ?",
            [phones.hash_of(token), row["phone"], phones.APPROVED, _text(now), row["until"]],
        )
        if renewed.rowcount == 0:
            return {"state": EXPIRED}
        return {"state": CONFIRMED, "token": token, "phone": row["phone"], "person": row["person"]}
    return {"state": row["state"]}


def by_id(db: Database, pairing: str, now: datetime) -> dict[str, Any] | None:
    """The pairing's row with its state as it is at this moment, or None."""
    row = next(db.query("select * from pairings where id = ?", [pairing]), None)
    if row is not None and row["state"] in (OPEN, WAITING, CONFIRMED) and _text(now) > row["until"]:
        row["state"] = EXPIRED
    return row


def confirm(db: Database, pairing: str, name: str, person: str | None, now: datetime) -> bool:
    """The numbers are the same: let the phone in as `name`. False when it is not waiting (any more)."""
    return _decide(db, pairing, CONFIRMED, now, name, person)


def refuse(db: Database, pairing: str, now: datetime) -> bool:
    """The numbers differ, or nobody wants this phone. False when it is not waiting (any more)."""
    return _decide(db, pairing, REFUSED, now, None, None)


def _decide(db: Database, pairing: str, state: str, now: datetime, name: str | None, person: str | None) -> bool:
    with write(db):
        changed = db.execute(
            "update pairings set state = ?, name = coalesce(?, name), person = ? "
            "where id = ? and state = ? and until >= ?",
            [state, name, person, pairing, WAITING, _text(now)],
        )
    return changed.rowcount == 1


def _listen(db: Database, address: str, device: str | None, now: datetime) -> None:
    """Raises TooMany after too many failures; that nobody was heard is logged once a window."""
    marks = ",".join("?" * len(FAILED))
    since = _text(now - WINDOW)
    failed = f"select at from pairing_attempts where at > ? and outcome in ({marks}) order by at desc limit ?"
    times = [row["at"] for row in db.query(failed, [since, *FAILED, MOST_FAILURES])]
    if len(times) < MOST_FAILURES:
        return
    query = "select 1 from pairing_attempts where at > ? and outcome = ? limit 1"
    if db.execute(query, [since, TOO_MANY]).fetchone() is None:
        with write(db):
            _log(db, address, device, TOO_MANY, now)
    passes = datetime.fromisoformat(times[-1]) + WINDOW
    raise TooMany(max(1, int((passes - now).total_seconds()) + 1))


def _log(db: Database, address: str, device: str | None, outcome: str, now: datetime) -> None:
    row = {"at": _text(now), "address": address, "device": device, "outcome": outcome}
    db.table("pairing_attempts").insert(row)


def _text(moment: datetime) -> str:
    return moment.astimezone(UTC).isoformat(timespec="milliseconds")
