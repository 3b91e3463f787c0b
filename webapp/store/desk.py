"""The desk as a device: what people do there becomes entries of the same journal, chained like a phone's."""

from collections.abc import Mapping, Sequence
from datetime import datetime
from typing import Any

from sqlite_utils import Database

from webapp.store import devices, entries, journal, meta
from webapp.store.db import write
from webapp.store.entries import Act


def now() -> str:
    """The desk's wall clock, ISO 8601 with its offset, to the second."""
    return datetime.now().astimezone().isoformat(timespec="seconds")


def act(
    db: Database,
    kind: str,
    body: Mapping[str, Any],
    *,
    author: str,
    exam: str | None = None,
    patient: str | None = None,
    after: Sequence[str] = (),
    of: Sequence[str] = (),
    at: str | None = None,
) -> str:
    """Record one act at the desk; returns the entry's id. Raises entries.EntryError."""
    made = Act(kind, body, author, at or now(), exam, patient, None, tuple(after), tuple(of))
    return record(db, [made])[0]


def record(db: Database, acts: Sequence[Act]) -> list[str]:
    """Record several acts in one transaction, in order; returns their ids."""
    with write(db):
        place = devices.head(db, meta.get(db, "desk_device"))
        envelopes = []
        for one in acts:
            envelope = entries.make(one, place)
            envelopes.append(envelope)
            place = entries.Place(place.device, place.seq + 1, entries.entry_id(envelope))
        return [result.id for result in journal.append(db, envelopes, arrived_from="desk")]
