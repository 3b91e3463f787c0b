"""What is really kept: the phone's journal from its IndexedDB, the practice's from its database."""

import hashlib
import json
import sqlite3
import time
from collections.abc import Callable
from datetime import UTC, datetime
from typing import Any

from playwright.sync_api import Page

from e2e.servers import Server
from webapp.store.entries import NO_PREVIOUS, Act, Place, entry_id, make

READ_STORE = """
(store) => new Promise((resolve, reject) => {
  const opening = indexedDB.open('gelside');
  opening.onerror = () => reject(opening.error);
  opening.onsuccess = () => {
    const asked = opening.result.transaction(store).objectStore(store);
    const keys = asked.getAllKeys();
    const values = asked.getAll();
    values.onsuccess = () => { opening.result.close(); resolve([keys.result, values.result]); };
    values.onerror = () => reject(values.error);
  };
})
"""

WRITE_ROWS = """
([rows, device]) => new Promise((resolve, reject) => {
  const opening = indexedDB.open('gelside');
  opening.onerror = () => reject(opening.error);
  opening.onsuccess = () => {
    const tx = opening.result.transaction(['entries', 'meta', 'waiting'], 'readwrite');
    for (const row of rows) {
      tx.objectStore('entries').put(row);
      tx.objectStore('waiting').put(row.id, [row.device, row.seq]);
    }
    tx.objectStore('meta').put(device, 'device');
    tx.oncomplete = () => { opening.result.close(); resolve(); };
    tx.onabort = () => reject(tx.error);
  };
})
"""

Entry = dict[str, Any]


def store(page: Page, name: str) -> dict[str, Any]:
    """One object store of the phone: key to value."""
    keys, values = page.evaluate(READ_STORE, name)
    return dict(zip(map(str, keys), values, strict=True))


def opened(header: str, body: str) -> Entry:
    """Header fields, the body under "body", and the id that the header's bytes make."""
    entry: Entry = json.loads(header)
    assert hashlib.sha256(body.encode()).hexdigest() == entry["body_hash"]
    return {**entry, "body": json.loads(body), "id": hashlib.sha256(header.encode()).hexdigest()}


def phone_rows(page: Page) -> list[dict[str, Any]]:
    """This phone's own rows by seq; `pending` says whether it waits to be sent."""
    waiting = set(store(page, "waiting").values())
    own = [row | {"pending": row["id"] in waiting} for row in store(page, "entries").values() if row["own"]]
    return sorted(own, key=lambda row: int(row["seq"]))


def phone_entries(page: Page) -> list[Entry]:
    """This phone's own entries by seq, their ids and hashes checked."""
    entries = [opened(row["header"], row["body"]) for row in phone_rows(page)]
    assert [entry["seq"] for entry in entries] == list(range(1, len(entries) + 1))
    return entries


def write_many(page: Page, many: int, patient: str, exam: str, text: str = "a note") -> list[Entry]:
    """Put so many unsent notes into a phone that has written nothing yet, as its journal would have; the entries."""
    place = Place("c" * 32, 1, NO_PREVIOUS)
    rows: list[dict[str, Any]] = []
    at = datetime.now(UTC).isoformat(timespec="seconds")
    for number in range(many):
        body: dict[str, Any] = {"about": "exam", "text": f"{text} {number}"}
        if number == 0:
            body = {"about": "exam", "date": at[:10], "visit": None, "patient": {"name": "Many", "species": "dog"},
                    "question": {"text": "", "structures": []}, "context": {}}
        made = make(Act("noted" if number else "opened", body, "VS", at, exam, patient), place)
        place = Place(place.device, place.seq + 1, entry_id(made))
        flags = {"seq": number + 1, "own": 1, "at": at}
        rows.append({"id": place.prev, "device": place.device, **flags, **made})
    page.evaluate(WRITE_ROWS, [rows, {"device": place.device, "seq": many, "prev": place.prev}])
    return [opened(row["header"], row["body"]) for row in rows]


def pending(page: Page) -> int:
    """How many own entries are not marked as sent."""
    return sum(1 for row in phone_rows(page) if row["pending"])


def wait_until(page: Page, holds: Callable[[], bool], within_s: float = 60) -> None:
    """Look again and again until it holds; fails when it never does."""
    until = time.monotonic() + within_s
    while not holds():
        assert time.monotonic() < until, "it never came about"
        page.wait_for_timeout(50)


def wait_written(page: Page, words: str) -> None:
    """What is not recorded yet (a place, half a number, half a note) is on the disk with these words in it."""
    wait_until(page, lambda: words in str(store(page, "draft")))


def wait_sent(page: Page) -> None:
    """Every own entry is marked as sent."""
    wait_until(page, lambda: pending(page) == 0)


def server_entries(server: Server, device: str) -> list[Entry]:
    """What the practice holds of one device, by seq."""
    database = sqlite3.connect(f"file:{server.instance / 'gelside.sqlite3'}?mode=ro", uri=True)
    try:
        rows = database.execute("select header, body from entries where device = ? order by seq", (device,)).fetchall()
    finally:
        database.close()
    return [opened(header, body) for header, body in rows]


def readings(entries: list[Entry], quantity: str) -> list[tuple[str, str]]:
    """(value, typed) of every reading of a quantity, struck or not, in order."""
    return [(entry["body"]["value"], entry["body"]["typed"]) for entry in entries
            if entry["kind"] == "read" and entry["body"]["about"] == quantity]
