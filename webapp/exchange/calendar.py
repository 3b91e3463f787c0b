"""Re-checks that issued reports recommend, as an iCalendar file: one all-day event for each that has a day.

Source: RFC 5545 (3.1 folding at 75 octets, 3.3.11 escaping, 3.7.2 METHOD, 3.8.1.11 STATUS, 3.8.4.7 UID, 3.8.7.2
DTSTAMP, 3.8.7.4 SEQUENCE). An event tells the animal's name and no more: calendars lie open. What is recommended is
added only where a person asks for it.
"""

import re
from collections.abc import Iterable, Iterator
from datetime import UTC, date, datetime, timedelta
from typing import Any

MIME = "text/calendar"
OCTETS = 75
PUBLISH, CANCEL = "PUBLISH", "CANCEL"
_CONTROL = re.compile(r"[\x00-\x08\x0b-\x1f\x7f]")


def written(rows: Iterable[dict[str, Any]], details: bool = False, method: str = PUBLISH) -> str:
    """The file's text. `rows` as recommendations.due and .ended give them; those without a day are left out, those
    that were settled or dropped take their event back. `method` CANCEL is for a file of the latter alone."""
    lines = ["BEGIN:VCALENDAR", "VERSION:2.0", "PRODID:-//Gelside//Re-checks//EN", f"METHOD:{method}"]
    for row in rows:
        if row["due"]:
            lines += _event(row, details)
    return "".join(folded(line) for line in [*lines, "END:VCALENDAR"])


def _event(row: dict[str, Any], details: bool) -> Iterator[str]:
    day = date.fromisoformat(row["due"])
    name = row["name"] or "an animal without a name"
    issued = datetime.fromisoformat(row["issued_at"]).astimezone(UTC)
    yield "BEGIN:VEVENT"
    # The same recommendation of a later version of the report is the same event, changed.
    yield f"UID:{text(row['exam'])}-{row['number']}@gelside.invalid"
    yield f"DTSTAMP:{issued:%Y%m%dT%H%M%SZ}"
    yield f"SEQUENCE:{row['version'] - 1}"
    if row.get("state"):
        yield "STATUS:CANCELLED"
    yield f"DTSTART;VALUE=DATE:{day:%Y%m%d}"
    yield f"DTEND;VALUE=DATE:{day + timedelta(days=1):%Y%m%d}"
    yield f"SUMMARY:{text(f'Re-check: {name}')}"
    if details:
        yield f"DESCRIPTION:{text(_details(row))}"
    yield "CLASS:PRIVATE"
    yield "TRANSP:TRANSPARENT"
    yield "END:VEVENT"


def _details(row: dict[str, Any]) -> str:
    where = ", ".join(str(row[name]).replace("_", " ") for name in ("part_label", "plane") if row.get(name))
    by = f"By: {row['who']}" if row.get("who") else ""
    signed = f"Recommended by {row['signer_name']}, report version {row['version']}"
    return "\n".join(piece for piece in (str(row["text"]), where, by, signed) if piece)


def text(words: str) -> str:
    """Words as a value of the type TEXT; control characters, which it cannot hold, as U+FFFD."""
    clean = _CONTROL.sub("\ufffd", words.replace("\r\n", "\n").replace("\r", "\n"))
    return clean.replace("\\", "\\\\").replace(";", "\\;").replace(",", "\\,").replace("\n", "\\n")


def folded(line: str) -> str:
    """A content line with its end, cut so that no piece is longer than 75 octets and no character is cut in two."""
    pieces, piece, used = [], "", 0
    for letter in line:
        size = len(letter.encode(errors="replace"))
        if used + size > OCTETS:
            pieces.append(piece)
            piece, used = " ", 1
        piece += letter
        used += size
    return "\r\n".join([*pieces, piece]) + "\r\n"
