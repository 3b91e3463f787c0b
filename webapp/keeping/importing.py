"""Taking in a journal that came as a file: the phone's "give me a copy", with the same result as a push.

`{"gelside": "journal", "protocol": 1, "device", "entries": [{"header", "body"}, ...]}`, or, given out by a
locked phone, `{"gelside": "journal", "protocol": 1, "device", "wrapped_key", "sealed": [{"id", "iv", "data"},
...]}`. Any number of entries; all of them are stored, or none.
"""

import json
from typing import Any

from sqlite_utils import Database

from webapp.store import journal
from webapp.store.db import write
from webapp.store.entries import Envelope
from webapp.sync import receive, sealed
from webapp.sync.errors import RequestError
from webapp.sync.protocol import PROTOCOL

FROM_FILE = "file"


class ImportProblem(Exception):
    """The file was not taken, nothing was stored; the message says why."""


def take(db: Database, raw: bytes) -> dict[str, Any]:
    """Store what the file holds; the receipt, as a push would get it. Raises ImportProblem."""
    device, given = _read(raw)
    closed: list[str] = []
    try:
        if "sealed" in given:
            wrapped_key, locked = receive.sealed_parts(given)
            opened = sealed.open_all(db, wrapped_key, locked)
            envelopes, closed = opened.envelopes, opened.closed
        else:
            envelopes = _envelopes(given)
    except (RequestError, sealed.CannotOpen) as error:
        raise ImportProblem(str(error)) from error
    with write(db):
        results = journal.append(db, envelopes, arrived_from=FROM_FILE)
        answer = receive.receipt(db, device, results)
    answer["results"] += [{"id": name, "status": sealed.NOT_OPENED} for name in closed]
    return answer


def in_words(answer: dict[str, Any]) -> str:
    """What became of the file, in one sentence."""
    statuses = [result["status"] for result in answer["results"]]
    here = len(statuses) - statuses.count(sealed.NOT_OPENED)
    new = here - statuses.count(journal.DUPLICATE)
    told = f"{here} of {len(statuses)} entries of device {answer['device'][:8]} are here, {new} of them new."
    for status, words in (
        (journal.UNREADABLE, "cannot be read by this version and are shown as unread"),
        (journal.OUT_OF_CHAIN, "do not follow what was here: the phone may have been copied"),
        (sealed.NOT_OPENED, "could not be opened and were not stored"),
    ):
        if statuses.count(status):
            told += f" {statuses.count(status)} {words}."
    return told


def _read(raw: bytes) -> tuple[str, dict[str, Any]]:
    try:
        given = json.loads(raw)
    except (ValueError, RecursionError):
        raise ImportProblem("This is no journal file: it is not JSON, or it was cut off. Copy it again.") from None
    if not isinstance(given, dict) or given.get("gelside") != "journal":
        raise ImportProblem("This is no journal file of Gelside.")
    if given.get("protocol") != PROTOCOL:
        raise ImportProblem(f"This file was written by another version: protocol {given.get('protocol')!r}.")
    try:
        return receive.device_of(given), given
    except RequestError as error:
        raise ImportProblem(str(error)) from error


def _envelopes(given: dict[str, Any]) -> list[Envelope]:
    entries = given.get("entries")
    if not isinstance(entries, list):
        raise ImportProblem('The file has no list of "entries".')
    return [receive.envelope(entry) for entry in entries]
