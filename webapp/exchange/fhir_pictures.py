"""Photos and stills of an issued exam as FHIR R4 Media, to the byte; what cannot go along is said, with why.

Sources: hl7.org/fhir/R4/media.html, Attachment (its hash is the SHA-1 of the bytes), DiagnosticReport.media. A picture
that holds more than itself is not given: it may say where it was taken, and with what.
"""

import base64
import hashlib
from pathlib import Path
from typing import NamedTuple

from webapp.exchange.fhir_observations import concept, reference
from webapp.exchange.issued_exam import Issued
from webapp.exchange.told_exam import Json
from webapp.photos import bare, files

MEDIA_TYPE = "http://terminology.hl7.org/CodeSystem/media-type"
URI = "urn:ietf:rfc:3986"
GIVEN = ("image/jpeg", "image/png", "image/webp")
# A document of more than this is refused by many who take one in; base64 makes it a third larger still.
LARGEST_BYTES, ALL_BYTES = 4 * 1024 * 1024, 24 * 1024 * 1024


class Picture(NamedTuple):
    """An attachment of the exam: its row, the bytes that go along, or why none do."""

    row: Json
    data: bytes | None
    why_not: str = ""


def of(issued: Issued, folder: Path, wanted: bool = True) -> list[Picture]:
    """The attachments that were signed with the exam; without their bytes where they are not `wanted`."""
    made: list[Picture] = []
    for row in issued.exam.get("attachments") or []:
        room = ALL_BYTES - sum(len(one.data or b"") for one in made)
        made.append(_one(row, folder, room) if wanted else Picture(row, None, "left out when this document was made"))
    return made


def _one(row: Json, folder: Path, room: int) -> Picture:
    if row["struck"]:
        return Picture(row, None, f"struck: {row.get('why_struck') or 'no reason given'}")
    if not str(row["type"]).startswith("image/"):
        return Picture(row, None, "sound is not given out here")
    path = files.path_of(folder, row["hash"]) if files.is_name(row["hash"]) else None
    if path is None or not path.is_file():
        return Picture(row, None, "its file is not here")
    size = path.stat().st_size
    if size > LARGEST_BYTES or size > room:
        return Picture(row, None, f"too large for a document: {size / 1_000_000:.1f} MB")
    data = path.read_bytes()
    if files.kind_of(path) not in GIVEN or not bare.is_bare(data):
        return Picture(row, None, "its file may hold more than the picture, such as a place")
    return Picture(row, data)


def media(issued: Issued, one: Picture) -> Json:
    """A picture that goes along as a Media."""
    row, data = one.row, one.data or b""
    sha256 = hashlib.sha256(data)
    made: Json = {
        "resourceType": "Media",
        "id": row["id"],
        "identifier": [{"system": URI, "value": f"ni:///sha-256;{_url(sha256.digest())}"}],
        "status": "completed",
        "type": {"coding": [{"system": MEDIA_TYPE, "code": "image", "display": "Image"}]},
        "subject": reference(issued.animal),
        "content": {
            "contentType": kind(data),
            "data": base64.b64encode(data).decode(),
            "size": len(data),
            "hash": base64.b64encode(hashlib.sha1(data, usedforsecurity=False).digest()).decode(),
            "title": title(issued, row),
        },
    }
    made |= {name: row[name] for name in ("width", "height") if row.get(name)}
    if row.get("at"):
        made["createdDateTime"] = row["at"]
    if row.get("author"):
        made["operator"] = reference(issued.name("person", row["author"]), str(row["author"]))
    if row["about"] != "exam":
        made["bodySite"] = concept(issued.case.label(row["about"]), own=str(row["about"]))
    return made | ({"note": [{"text": row["text"]}]} if row.get("text") else {})


def line(issued: Issued, one: Picture) -> str:
    """What a reader is told of it."""
    words = f": {one.row['text']}" if one.row.get("text") else ""
    return f"{title(issued, one.row)}{words}{f' (not in this document: {one.why_not})' if one.why_not else ''}"


def title(issued: Issued, row: Json) -> str:
    """ "Picture of LEFT adrenal"; of the exam as a whole "Picture"."""
    what = "Picture" if str(row["type"]).startswith("image/") else "Clip"
    return what if row["about"] == "exam" else f"{what} of {issued.case.label(row['about'])}"


def kind(data: bytes) -> str:
    """The media type by the first bytes, which the entry may have told otherwise."""
    return "image/jpeg" if data[:2] == b"\xff\xd8" else "image/png" if data[:4] == b"\x89PNG" else "image/webp"


def _url(digest: bytes) -> str:
    return base64.urlsafe_b64encode(digest).decode().rstrip("=")
