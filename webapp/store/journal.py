"""The journal: appending what arrived, byte for byte.

Any envelope that gets here is kept. What the rules cannot read is kept as well and named so;
nothing is refused entry by entry, nothing is changed, nothing is kept twice.
"""

from collections import Counter
from collections.abc import Sequence
from datetime import UTC, datetime
from typing import Any, NamedTuple

from sqlite_utils import Database

from webapp.store import devices, entries, exams, heads
from webapp.store.db import write
from webapp.store.entries import Checked, Envelope

STORED = "stored"
DUPLICATE = "duplicate"
UNREADABLE = "stored_unreadable"
OUT_OF_CHAIN = "stored_out_of_chain"

_INSERT = """
insert into entries (id, device, seq, exam, patient, kind, header, body, received_at, arrived_from, status, why)
values (:id, :device, :seq, :exam, :patient, :kind, :header, :body, :received_at, :arrived_from, :status, :why)
"""


class Result(NamedTuple):
    """What became of one envelope: its id and one of the four statuses above."""

    id: str
    status: str


def append(
    db: Database, envelopes: Sequence[Envelope], arrived_from: str, received_at: str | None = None
) -> list[Result]:
    """Keep these envelopes and bring the lists up to date, all in one transaction.

    `arrived_from` is "desk", "file" or a phone's id. Returns one result per envelope, in order;
    when it returns outside a transaction, everything is on disk.
    """
    now = received_at or datetime.now(UTC).isoformat(timespec="milliseconds")
    results: list[Result] = []
    touched: set[str] = set()
    new: Counter[str] = Counter()
    arrived: list[tuple[int, str]] = []
    with write(db):
        for envelope in envelopes:
            checked = entries.check(envelope)
            held = next(db.query("select body from entries where id = ?", [checked.id]), None)
            if held is None:
                arrival, status = _keep(db, checked, arrived_from, now)
                arrived.append((arrival, checked.id))
            else:
                status = _keep_body_beside(db, checked, held["body"], arrived_from, now)
            results.append(Result(checked.id, status))
            if status != DUPLICATE and checked.header is not None:
                new[checked.header["device"]] += held is None
                if checked.header["exam"] is not None:
                    touched.add(checked.header["exam"])
        for device, many in sorted(new.items()):
            devices.count(db, device, many)
        heads.advance(db, now, arrived)
        exams.refresh(db, touched)
    return results


def _keep(db: Database, checked: Checked, arrived_from: str, now: str) -> tuple[int, str]:
    """Store one entry; its arrival number and what the sender is told."""
    header = checked.header or {}
    fits = _fits_its_chain(db, checked)
    status = UNREADABLE if checked.why is not None else STORED if fits else OUT_OF_CHAIN
    row: dict[str, Any] = {key: header.get(key) for key in ("device", "seq", "exam", "patient", "kind")}
    row |= {"id": checked.id, **checked.envelope, "received_at": now, "arrived_from": arrived_from}
    arrival = db.execute(_INSERT, row | {"status": status, "why": checked.why}).lastrowid
    if arrival is None:
        raise RuntimeError(f"entry {checked.id} was given no arrival number")
    return arrival, status


def _keep_body_beside(db: Database, checked: Checked, held_body: str, arrived_from: str, now: str) -> str:
    """The header is held already. A body that differs is kept beside it: one of the two fits the hash."""
    body = checked.envelope["body"]
    if body == held_body:
        return DUPLICATE
    cursor = db.execute(
        "insert into other_bodies (id, body, received_at, arrived_from) values (?, ?, ?, ?) on conflict do nothing",
        [checked.id, body, now, arrived_from],
    )
    if cursor.rowcount == 0:
        return DUPLICATE
    return STORED if checked.why is None else UNREADABLE


def _fits_its_chain(db: Database, checked: Checked) -> bool:
    """Whether the entry hangs together with what is held of its device. Where it does not, the device is
    noted as split: some other phone writes, or wrote, under its name."""
    if checked.header is None:
        return True
    device, seq, prev = (checked.header[key] for key in ("device", "seq", "prev"))
    before = devices.ids_at(db, device, seq - 1)
    follows = prev == entries.NO_PREVIOUS if seq == 1 else not before or prev in before
    alone = not devices.ids_at(db, device, seq)
    if not (follows and alone):
        devices.split(db, device, seq)
    elif not devices.follow(db, device, seq + 1, checked.id):
        devices.split(db, device, seq + 1)
    return follows and alone
