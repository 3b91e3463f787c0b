"""The journal: appending what arrived, byte for byte.

Any envelope that gets here is kept. What the rules cannot read is kept as well and named so;
nothing is refused entry by entry, nothing is changed, nothing is kept twice.
"""

from collections import Counter
from collections.abc import Sequence
from datetime import UTC, datetime
from typing import Any, NamedTuple

from sqlite_utils import Database

from webapp.store import devices, entries, exams
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
    with write(db):
        for envelope in envelopes:
            checked = entries.check(envelope)
            held = next(db.query("select body from entries where id = ?", [checked.id]), None)
            if held is None:
                status = _keep(db, checked, arrived_from, now)
            else:
                status = _keep_body_beside(db, checked, held["body"], arrived_from, now)
            results.append(Result(checked.id, status))
            if status != DUPLICATE and checked.header is not None:
                new[checked.header["device"]] += held is None
                if checked.header["exam"] is not None:
                    touched.add(checked.header["exam"])
        for device, many in sorted(new.items()):
            devices.count(db, device, many)
        exams.refresh(db, touched)
    return results


def _keep(db: Database, checked: Checked, arrived_from: str, now: str) -> str:
    header = checked.header or {}
    status = _status(db, checked)
    row: dict[str, Any] = {key: header.get(key) for key in ("device", "seq", "exam", "patient", "kind")}
    row |= {"id": checked.id, **checked.envelope, "received_at": now, "arrived_from": arrived_from}
    db.execute(_INSERT, row | {"status": status, "why": checked.why})
    return status


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


def _status(db: Database, checked: Checked) -> str:
    if checked.why is not None or checked.header is None:
        return UNREADABLE
    device, seq = checked.header["device"], checked.header["seq"]
    if seq == 1:
        follows = checked.header["prev"] == entries.NO_PREVIOUS
    else:
        before = devices.ids_at(db, device, seq - 1)
        follows = not before or checked.header["prev"] in before
    split = bool(devices.ids_at(db, device, seq))
    return STORED if follows and not split else OUT_OF_CHAIN
