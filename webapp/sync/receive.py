"""One push: raw bytes in, a receipt out. Stores all of it or, when the request is malformed, nothing."""

import json
import re
from collections.abc import Callable
from typing import Any

from sqlite_utils import Database

from webapp.store import branches, devices, journal, meta, phones
from webapp.store.db import write
from webapp.store.entries import Envelope
from webapp.store.journal import Result
from webapp.sync import sealed
from webapp.sync.errors import RequestError
from webapp.sync.protocol import MOST_BYTES, MOST_ENTRIES, PROTOCOL

SEALED = ("id", "iv", "data")
_DEVICE = re.compile(r"[0-9a-f]{32}")

Along = Callable[[int], None]


def nothing_more(_entries: int) -> None:
    """Nothing else belongs into the transaction."""


def receive(
    db: Database, phone: dict[str, Any], raw: bytes, report: dict[str, Any] | None = None, along: Along = nothing_more
) -> dict[str, Any]:
    """Keep the batch in `raw`, sent by `phone` (a row of `phones`), and return the receipt.

    Once this returns, every entry named in it is on disk, and what `along`, told how many entries there were, wrote
    in the same transaction. Raises RequestError: nothing was stored.
    """
    device, envelopes = parse(raw)
    return _kept(db, phone, device, envelopes, report, along)


def receive_sealed(
    db: Database, phone: dict[str, Any], raw: bytes, report: dict[str, Any] | None = None, along: Along = nothing_more
) -> dict[str, Any]:
    """The same for a sealed batch. An entry that cannot be opened is answered `not_opened`."""
    device, push = _parse_device(raw)
    wrapped_key, closed = sealed_parts(push)
    if len(closed) > MOST_ENTRIES:
        raise RequestError(413, "too_large", f"A batch holds {MOST_ENTRIES} entries at most.")
    try:
        opened = sealed.open_all(db, wrapped_key, closed)
    except sealed.CannotOpen as error:
        raise RequestError(422, sealed.NOT_OPENED, f"{error} Nothing was stored.") from error
    answer = _kept(db, phone, device, opened.envelopes, report, along)
    answer["results"] += [{"id": name, "status": sealed.NOT_OPENED} for name in opened.closed]
    return answer


def sealed_parts(push: dict[str, Any]) -> tuple[str, list[dict[str, str]]]:
    """The wrapped key and the sealed entries of a sealed push. Raises RequestError."""
    closed, wrapped_key = push.get("sealed"), push.get("wrapped_key")
    if not isinstance(wrapped_key, str) or not isinstance(closed, list):
        raise _malformed('"wrapped_key" is a text and "sealed" a list.')
    if not all(isinstance(one, dict) and all(isinstance(one.get(key), str) for key in SEALED) for one in closed):
        raise _malformed('A sealed entry is an object with the texts "id", "iv" and "data".')
    return wrapped_key, closed


def _kept(
    db: Database,
    phone: dict[str, Any],
    device: str,
    envelopes: list[Envelope],
    report: dict[str, Any] | None,
    along: Along,
) -> dict[str, Any]:
    with write(db):
        results = journal.append(db, envelopes, arrived_from=phone["id"], lists_later=True)
        phones.heard_from(db, phone["id"], device)
        if report is not None:
            phones.reported(db, phone, _without(report, len({result.id for result in results})))
        along(len(envelopes))
        return receipt(db, device, results) | {"revoked": phone["state"] == phones.REVOKED}


def _without(report: dict[str, Any], kept: int) -> dict[str, Any]:
    """What the phone said when it sent this batch, less what was just kept: the phone may not speak again today."""
    if "unsent" not in report:
        return report
    return report | {"unsent": max(0, report["unsent"] - kept)}


def receipt(db: Database, device: str, results: list[Result]) -> dict[str, Any]:
    """What is held of `device` now, with what became of each entry of a batch."""
    holding = devices.holding(db, device)
    answer = {
        "protocol": PROTOCOL,
        "store_id": meta.get(db, "store_id"),
        "device": device,
        "results": [{"id": result.id, "status": result.status} for result in results],
        "through": holding.through,
        "held": holding.held,
        "clone": False,
    }
    if devices.split_at(db, device) is None:
        return answer
    lines = branches.load(db, device)
    sent = [result.id for result in results if result.id in lines.rows]
    newest = max(sent, key=lambda name: lines.rows[name].seq, default=None)
    answer["through"] = lines.through(newest)
    if newest is not None and lines.line[newest] != device:
        answer |= {"clone": True, "branch": lines.line[newest]}
    return answer


def parse(raw: bytes) -> tuple[str, list[Envelope]]:
    """The device and the envelopes of a push. Raises RequestError when it is not one."""
    device, push = _parse_device(raw)
    entries = push.get("entries")
    if not isinstance(entries, list):
        raise _malformed('"entries" is a list.')
    if len(entries) > MOST_ENTRIES:
        raise RequestError(413, "too_large", f"A batch holds {MOST_ENTRIES} entries at most.")
    envelopes = [envelope(entry) for entry in entries]
    size = sum(len(text.encode("utf-8", "surrogatepass")) for one in envelopes for text in (one["header"], one["body"]))
    if size > MOST_BYTES:
        raise RequestError(413, "too_large", f"A batch holds {MOST_BYTES} bytes of entries at most.")
    return device, envelopes


def _parse_device(raw: bytes) -> tuple[str, dict[str, Any]]:
    """The device and the whole object of a request."""
    try:
        push = json.loads(raw)
    except (ValueError, RecursionError):
        raise _malformed("The request is not JSON.") from None
    if not isinstance(push, dict) or push.get("protocol") != PROTOCOL:
        raise _malformed(f'The request is an object with "protocol": {PROTOCOL}.')
    return device_of(push), push


def device_of(push: dict[str, Any]) -> str:
    """The device that a push or a file names. Raises RequestError."""
    device = push.get("device")
    if not isinstance(device, str) or not _DEVICE.fullmatch(device):
        raise _malformed('"device" is 32 lower-case hex digits.')
    return device


def envelope(entry: Any) -> Envelope:
    """An entry as it travels, of the right shape. Raises RequestError."""
    if not isinstance(entry, dict):
        raise _malformed('An entry is an object with "header" and "body".')
    header, body = entry.get("header"), entry.get("body")
    if not isinstance(header, str) or not isinstance(body, str):
        raise _malformed('"header" and "body" of an entry are texts.')
    return {"header": header, "body": body}


def _malformed(message: str) -> RequestError:
    return RequestError(400, "malformed", message)
