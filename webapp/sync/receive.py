"""One push: raw bytes in, a receipt out. Stores all of it or, when the request is malformed, nothing."""

import json
import re
from typing import Any

from sqlite_utils import Database

from webapp.store import devices, journal, meta, phones
from webapp.store.db import write
from webapp.store.entries import Envelope
from webapp.sync.errors import RequestError

PROTOCOL = 1
MOST_ENTRIES = 200
MOST_BYTES = 512 * 1024  # of headers and bodies together, as UTF-8

_DEVICE = re.compile(r"[0-9a-f]{32}")


def receive(db: Database, phone: dict[str, Any], raw: bytes) -> dict[str, Any]:
    """Keep the batch in `raw`, sent by `phone` (a row of `phones`), and return the receipt.

    Once this returns, every entry named in it is on disk. Raises RequestError: nothing was stored.
    """
    device, envelopes = parse(raw)
    with write(db):
        results = journal.append(db, envelopes, arrived_from=phone["id"])
        phones.heard_from(db, phone["id"], device)
        holding = devices.holding(db, device)
        store_id = meta.get(db, "store_id")
    return {
        "protocol": PROTOCOL,
        "store_id": store_id,
        "device": device,
        "results": [{"id": result.id, "status": result.status} for result in results],
        "through": holding.through,
        "held": holding.held,
    }


def parse(raw: bytes) -> tuple[str, list[Envelope]]:
    """The device and the envelopes of a push. Raises RequestError when it is not one."""
    try:
        push = json.loads(raw)
    except (ValueError, RecursionError):
        raise _malformed("The request is not JSON.") from None
    if not isinstance(push, dict) or push.get("protocol") != PROTOCOL:
        raise _malformed(f'The request is an object with "protocol": {PROTOCOL}.')
    device, entries = push.get("device"), push.get("entries")
    if not isinstance(device, str) or not _DEVICE.fullmatch(device):
        raise _malformed('"device" is 32 lower-case hex digits.')
    if not isinstance(entries, list):
        raise _malformed('"entries" is a list.')
    if len(entries) > MOST_ENTRIES:
        raise RequestError(413, "too_large", f"A batch holds {MOST_ENTRIES} entries at most.")
    envelopes = [_envelope(entry) for entry in entries]
    size = sum(len(text.encode("utf-8", "surrogatepass")) for one in envelopes for text in (one["header"], one["body"]))
    if size > MOST_BYTES:
        raise RequestError(413, "too_large", f"A batch holds {MOST_BYTES} bytes of entries at most.")
    return device, envelopes


def _envelope(entry: Any) -> Envelope:
    if not isinstance(entry, dict):
        raise _malformed('An entry is an object with "header" and "body".')
    header, body = entry.get("header"), entry.get("body")
    if not isinstance(header, str) or not isinstance(body, str):
        raise _malformed('"header" and "body" of an entry are texts.')
    return {"header": header, "body": body}


def _malformed(message: str) -> RequestError:
    return RequestError(400, "malformed", message)
