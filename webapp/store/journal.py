"""The journal: appending what arrived, byte for byte.

Any envelope that gets here is kept. What the rules cannot read is kept as well and named so;
nothing is refused entry by entry, nothing is changed, nothing is kept twice.
"""

import json
from collections import Counter
from collections.abc import Sequence
from datetime import UTC, datetime
from typing import Any, NamedTuple

from sqlite_utils import Database

from webapp.store import animals, behind, devices, entries, exams, heads, search
from webapp.store.db import write
from webapp.store.entries import Checked, Envelope

STORED = "stored"
DUPLICATE = "duplicate"
UNREADABLE = "stored_unreadable"
OUT_OF_CHAIN = "stored_out_of_chain"

_COLUMNS = "id, device, seq, exam, patient, kind, header, body, received_at, arrived_from, status, why"
_INSERT = f"insert into entries ({_COLUMNS}) values (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)"
# An erased body is null: whatever comes under its id was here before.
_HELD = "select id, iif(why is 'erased', null, body) from entries where id in (select value from json_each(?))"
_COPIED = ("device", "seq", "exam", "patient", "kind")


class Result(NamedTuple):
    """What became of one envelope: its id and one of the four statuses above."""

    id: str
    status: str


def append(
    db: Database,
    envelopes: Sequence[Envelope],
    arrived_from: str,
    received_at: str | None = None,
    lists_later: bool = False,
) -> list[Result]:
    """Keep these envelopes and bring the lists up to date, all in one transaction.

    `arrived_from` is "desk", "file" or a phone's id. With `lists_later` the exams are only noted as behind
    (store.behind): whoever reads the lists renews them first. Returns one result per envelope, in order;
    when it returns outside a transaction, everything is on disk.
    """
    now = received_at or datetime.now(UTC).isoformat(timespec="milliseconds")
    checked = [entries.check(envelope) for envelope in envelopes]
    with write(db):
        batch = _Batch(db, checked, arrived_from, now)
        results = [Result(one.id, batch.keep(one)) for one in checked]
        batch.flush()
        for device, many in sorted(batch.new.items()):
            devices.count(db, device, many)
        heads.advance(db, now, batch.arrived)
        # Animals whose records were merged or un-merged: their exams are compared with others now.
        touched = batch.touched.union(exams.of_animals(db, animals.refresh(db, batch.patients)))
        search.renew_animals(db, batch.patients)
        if lists_later:
            behind.note(db, touched)
        else:
            exams.refresh(db, touched)
    return results


class _Batch:
    """Envelopes on their way into one transaction: what is held of them is read at once, new rows go in at once."""

    def __init__(self, db: Database, checked: Sequence[Checked], arrived_from: str, now: str):
        self._db = db
        self._origin = (now, arrived_from)
        self._held: dict[str, str | None] = dict(db.execute(_HELD, [json.dumps([one.id for one in checked])]))
        fresh = [one.header for one in checked if one.header is not None and one.id not in self._held]
        self._links = devices.Links(db, [(header["device"], header["seq"]) for header in fresh])
        self._rows: list[tuple[Any, ...]] = []
        self.touched: set[str] = set()
        self.patients: set[str] = set()
        self.new: Counter[str] = Counter()
        self.arrived: list[tuple[int, str]] = []

    def keep(self, checked: Checked) -> str:
        """Take in one envelope; what its sender is told."""
        if checked.id not in self._held:
            status = self._keep_new(checked)
        elif self._held[checked.id] in (None, checked.envelope["body"]):
            status = DUPLICATE
        else:
            status = self._keep_body_beside(checked)
        if status != DUPLICATE and checked.header is not None:
            if checked.header["exam"] is not None:
                self.touched.add(checked.header["exam"])
            elif checked.header["patient"] is not None:
                self.patients.add(checked.header["patient"])
        return status

    def flush(self) -> None:
        """Write the new rows. Arrival numbers are given by SQLite, one after the other."""
        if not self._rows:
            return
        self._db.conn.executemany(_INSERT, self._rows)
        (newest,) = self._db.execute("select seq from sqlite_sequence where name = 'entries'").fetchone()
        first = newest - len(self._rows) + 1
        self.arrived += [(first + place, row[0]) for place, row in enumerate(self._rows)]
        self._rows.clear()

    def _keep_new(self, checked: Checked) -> str:
        header = checked.header or {}
        fits = checked.header is None or self._fits_its_chain(checked.header, checked.id)
        status = UNREADABLE if checked.why is not None else STORED if fits else OUT_OF_CHAIN
        envelope = checked.envelope
        copied = (header.get(name) for name in _COPIED)
        self._rows.append(
            (checked.id, *copied, envelope["header"], envelope["body"], *self._origin, status, checked.why)
        )
        self._held[checked.id] = envelope["body"]
        if checked.header is not None:
            self.new[header["device"]] += 1
        return status

    def _keep_body_beside(self, checked: Checked) -> str:
        """The header is held already, with another body: this one is kept beside it, for one of the two fits
        the hash."""
        self.flush()  # the row it stands beside may be one of this batch
        cursor = self._db.execute(
            "insert into other_bodies (id, body, received_at, arrived_from) values (?, ?, ?, ?) on conflict do nothing",
            [checked.id, checked.envelope["body"], *self._origin],
        )
        if cursor.rowcount == 0:
            return DUPLICATE
        return STORED if checked.why is None else UNREADABLE

    def _fits_its_chain(self, header: dict[str, Any], entry_id: str) -> bool:
        """Whether the entry hangs together with what is held of its device. Where it does not, the device is
        noted as split: some other phone writes, or wrote, under its name."""
        fits = self._links.add(header, entry_id)
        if not fits:
            devices.split(self._db, header["device"], header["seq"])
        elif self._links.breaks_next(header, entry_id):
            devices.split(self._db, header["device"], header["seq"] + 1)
        return fits
