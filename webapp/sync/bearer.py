"""Which phone speaks: its token, whether it may read, and what it says of itself."""

import json
import logging
import re
from typing import Any

from flask import request
from sqlite_utils import Database

from webapp import incoming
from webapp.store import phones, strangers
from webapp.store.db import get_db, write
from webapp.sync.errors import RequestError

log = logging.getLogger(__name__)

REPORT_HEADER = "X-Gelside-Report"
LARGEST_REPORT = 2000  # characters
TEXTS = {"oldest": 40, "app": 60, "rules": 80, "store": 80}

_DEVICE = re.compile(r"[0-9a-f]{32}")


def sender() -> dict[str, Any]:
    """The phone whose token came along; a revoked one may still hand over what it has. Raises RequestError 401."""
    token = _token()
    phone = phones.by_token(get_db(), token) if token else None
    if phone is None:
        raise _unknown(get_db(), token)
    return phone


def reader() -> dict[str, Any]:
    """The phone, which may also read; its report is kept. Raises RequestError 401 or 403."""
    phone = sender()
    keep_report(get_db(), phone)
    if phone["state"] == phones.REVOKED:
        raise RequestError(403, "revoked", "This phone was revoked at the desk: it may send what it has, nothing else.")
    if phone["state"] != phones.APPROVED:
        raise RequestError(403, "to_approve", "The practice's records were restored: approve this phone at the desk.")
    return phone


def keep_report(db: Database, phone: dict[str, Any]) -> None:
    """Keep what the phone says of itself, if it says anything readable."""
    report = parse_report(request.headers.get(REPORT_HEADER))
    if report is not None:
        with write(db):
            phones.reported(db, phone, report)


def parse_report(text: str | None) -> dict[str, Any] | None:
    """The known fields of a report that have the right shape; None when it is none at all. A bad report is
    no reason to refuse entries."""
    if text is None:
        return None
    try:
        given = json.loads(text[: LARGEST_REPORT + 1]) if len(text) <= LARGEST_REPORT else None
    except (ValueError, RecursionError):
        given = None
    if not isinstance(given, dict):
        log.info("a phone's report of %d characters could not be read", len(text))
        return None
    report: dict[str, Any] = {}
    for name, most in TEXTS.items():
        if isinstance(given.get(name), str) and len(given[name]) <= most:
            report[name] = given[name]
    if type(given.get("unsent")) is int and 0 <= given["unsent"] < 10**9:
        report["unsent"] = given["unsent"]
    return report


def _token() -> str:
    scheme, _, token = request.headers.get("Authorization", "").partition(" ")
    return token.strip() if scheme.lower() == "bearer" else ""


def _unknown(db: Database, token: str) -> RequestError:
    """401; after a restore with the digits by which the desk can approve the phone."""
    number = None
    if token and token.isascii():
        with write(db):
            number = strangers.asked(db, token, _device_sent())
    if number is None:
        return RequestError(401, "unknown_phone", "This phone is not known here. Open the practice's link on it again.")
    words = f"This phone is not known since the records were restored. Ask the desk to approve it: number {number}."
    return RequestError(401, "unknown_phone", words, number=number)


def _device_sent() -> str | None:
    """The device a push names, for the desk's list; the push itself is not taken."""
    sent = incoming.sent_json() if request.method == "POST" else None
    device = sent.get("device") if isinstance(sent, dict) else None
    return device if isinstance(device, str) and _DEVICE.fullmatch(device) else None
