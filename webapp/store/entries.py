"""One entry of the journal: its canonical text, its identity, its making and its checking.

An entry is one immutable act. On the wire and on disk it is an envelope of two texts,
`{"header": "...", "body": "..."}`, kept byte for byte. Its id is the SHA-256 of the header's
UTF-8 bytes; the header holds the SHA-256 of the body's, so a body can be checked without
being part of the identity. Canonical form (sorted ASCII keys, no spaces, no floats) is needed
only here, where an entry is made: whoever receives one hashes what arrived.
"""

import hashlib
import json
import re
import secrets
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any, NamedTuple, TypedDict

VERSION = 1
NO_PREVIOUS = "0" * 64
KINDS = frozenset(
    [
        "opened",
        "set",
        "seen",
        "read",
        "struck",
        "found",
        "noted",
        "attached",
        "merged",
        "acknowledged",
        "closed",
        "planned",
        "signed",
        "amended",
        "told",
        "second_read",
        "procedure",
    ]
)
HEADER_KEYS = frozenset(
    [
        "v",
        "device",
        "seq",
        "prev",
        "exam",
        "patient",
        "author",
        "behalf",
        "at",
        "kind",
        "after",
        "of",
        "body_hash",
    ]
)
INTEGERS = ("v", "seq")
TEXTS = ("device", "prev", "author", "at", "kind", "body_hash")
TEXTS_OR_NULL = ("exam", "patient", "behalf")
LARGEST_INTEGER = 2**31 - 1  # the phone's rule engine cuts integers to 32 bits

_LONE_SURROGATE = re.compile("[\ud800-\udfff]")
_DEVICE = re.compile(r"[0-9a-f]{32}")
_HASH = re.compile(r"[0-9a-f]{64}")


class Envelope(TypedDict):
    """An entry as it travels and as it is stored: two canonical JSON texts."""

    header: str
    body: str


class EntryError(ValueError):
    """An entry cannot be made from what was given; the message says which part and why."""


@dataclass(frozen=True)
class Act:
    """What a person did, before it has a place in a device's journal. `at` is ISO 8601 with offset."""

    kind: str
    body: Mapping[str, Any]
    author: str
    at: str
    exam: str | None = None
    patient: str | None = None
    behalf: str | None = None
    after: tuple[str, ...] = field(default=())
    of: tuple[str, ...] = field(default=())


class Place(NamedTuple):
    """Where an entry stands in its device's journal: the device, its count, the id before it."""

    device: str
    seq: int
    prev: str


class Checked(NamedTuple):
    """One received envelope after its check.

    `header` is None when the header itself cannot be read, `body` when it does not fit the header's hash
    or is no object. `why` is None for an entry the rules can read, else `header`, `version`, `kind`,
    `body_hash` or `body`.
    """

    id: str
    envelope: Envelope
    header: dict[str, Any] | None
    body: dict[str, Any] | None
    why: str | None


class Reads(NamedTuple):
    """What a version of the program can read: the format's version and the kinds."""

    version: int
    kinds: frozenset[str]


def reads_now() -> Reads:
    """What this version reads."""
    return Reads(VERSION, KINDS)


def whole_characters(text: str) -> str:
    """Replace lone surrogates by U+FFFD, as a browser's TextEncoder does before it hashes."""
    return text if text.isascii() else _LONE_SURROGATE.sub("\ufffd", text)


def canonical(value: Any) -> str:
    """The one text for a value: sorted ASCII keys, no spaces, UTF-8 characters as they are.

    Raises EntryError for a float (numbers travel as decimal strings), an integer beyond
    32 bits, a key that is not printable ASCII text or needs an escape (quote, backslash), or any other type.
    """
    return json.dumps(_plain(value, "entry"), sort_keys=True, separators=(",", ":"), ensure_ascii=False)


def _plain(value: Any, where: str) -> Any:
    if value is None or isinstance(value, bool):
        return value
    if isinstance(value, str):
        return whole_characters(value)
    if isinstance(value, int):
        if abs(value) > LARGEST_INTEGER:
            raise EntryError(f"{where}: {value} does not fit 32 bits; write it as text")
        return value
    if isinstance(value, list | tuple):
        return [_plain(item, f"{where}[{i}]") for i, item in enumerate(value)]
    if isinstance(value, Mapping):
        return {_key(key, where): _plain(item, f"{where}.{key}") for key, item in value.items()}
    raise EntryError(f"{where}: {type(value).__name__} is not kept in entries; write numbers as decimal text")


def _key(key: Any, where: str) -> str:
    if not isinstance(key, str) or not (key.isascii() and key.isprintable()) or '"' in key or "\\" in key:
        raise EntryError(f"{where}: the key {key!r} is not printable ASCII text without quote and backslash")
    return key


def sha256(text: str) -> str:
    """Lower-case hex SHA-256 of the text's UTF-8 bytes."""
    return hashlib.sha256(text.encode("utf-8")).hexdigest()


def new_id(milliseconds: int) -> str:
    """A UUIDv7 (RFC 9562) for a new exam or patient; `milliseconds` since 1970."""
    number = (milliseconds & (2**48 - 1)) << 80 | 7 << 76 | secrets.randbits(12) << 64
    text = f"{number | 2 << 62 | secrets.randbits(62):032x}"
    return f"{text[:8]}-{text[8:12]}-{text[12:16]}-{text[16:20]}-{text[20:]}"


def new_device() -> str:
    """A random device id: 32 hex digits."""
    return secrets.token_hex(16)


def make(act: Act, place: Place) -> Envelope:
    """Make the envelope for an act at its place in a device's journal. Raises EntryError."""
    if act.kind not in KINDS:
        raise EntryError(f"kind: {act.kind!r} is not one this version writes")
    if not _DEVICE.fullmatch(place.device):
        raise EntryError("device: it is 32 lower-case hex digits")
    body = canonical(act.body)
    header = {
        "v": VERSION,
        "device": place.device,
        "seq": place.seq,
        "prev": place.prev,
        "exam": act.exam,
        "patient": act.patient,
        "author": act.author,
        "behalf": act.behalf,
        "at": act.at,
        "kind": act.kind,
        "after": list(act.after),
        "of": list(act.of),
        "body_hash": sha256(body),
    }
    return {"header": canonical(header), "body": body}


def entry_id(envelope: Envelope) -> str:
    """The entry's identity: the hash of its header as received."""
    return sha256(envelope["header"])


def check(envelope: Envelope, reads: Reads | None = None) -> Checked:
    """Look at a received envelope: its id, its header's fields and whether the rules can read it (this version's,
    or those of the version that `reads` describes).

    Never refuses: what cannot be read is named in `why`, so that it can still be kept.
    """
    clean: Envelope = {
        "header": whole_characters(envelope["header"]),
        "body": whole_characters(envelope["body"]),
    }
    header = parse_header(clean["header"])
    fits = header is not None and sha256(clean["body"]) == header["body_hash"]
    body = _parsed(clean["body"]) if fits else None
    why = _why_unreadable(header, fits, body, reads or reads_now())
    return Checked(sha256(clean["header"]), clean, header, body, why)


def parse_header(text: str) -> dict[str, Any] | None:
    """The header's fields, or None when the text is not a header (of any version)."""
    header = _parsed(text)
    if header is None or not header.keys() >= HEADER_KEYS:
        return None
    for name in INTEGERS:
        if type(header[name]) is not int or not 0 < header[name] <= LARGEST_INTEGER:
            return None
    for name in TEXTS:
        if not isinstance(header[name], str):
            return None
    for name in TEXTS_OR_NULL:
        if header[name] is not None and not isinstance(header[name], str):
            return None
    if not (_is_list_of_texts(header["after"]) and _is_list_of_texts(header["of"])):
        return None
    if not (_DEVICE.fullmatch(header["device"]) and _HASH.fullmatch(header["prev"])):
        return None
    return header


def _why_unreadable(
    header: dict[str, Any] | None, fits: bool, body: dict[str, Any] | None, reads: Reads
) -> str | None:
    """None when that version can read the entry, else the code of the first thing in the way."""
    if header is None:
        return "header"
    if header["v"] != reads.version:
        return "version"
    if header["kind"] not in reads.kinds:
        return "kind"
    if not fits:
        return "body_hash"
    return None if body is not None else "body"


def open_entry(envelope: Envelope) -> dict[str, Any]:
    """The flat form that code and the rules work with: header fields, `id` and `body` (object).

    An entry that cannot be read keeps its header's fields and has `body` None. Raises EntryError
    when not even the header can be read: such an entry belongs to no exam.
    """
    return opened(check(envelope))


def opened(checked: Checked) -> dict[str, Any]:
    """The same for an envelope that was checked already."""
    if checked.header is None:
        raise EntryError(f"entry {checked.id[:12]}: its header cannot be read")
    return {**checked.header, "id": checked.id, "body": checked.body}


def _parsed(text: str) -> dict[str, Any] | None:
    """The JSON object in the text; None for anything else, floats and endless nesting included."""
    try:
        value = _JSON.decode(text)
    except (ValueError, RecursionError):
        return None
    return value if isinstance(value, dict) else None


def _refuse(text: str) -> Any:
    raise ValueError(f"{text} is no number an entry may hold")


def _is_list_of_texts(value: Any) -> bool:
    return isinstance(value, list) and all(isinstance(item, str) for item in value)


# Made once: json.loads with hooks makes one each time, which costs more than reading an entry.
_JSON = json.JSONDecoder(parse_float=_refuse, parse_constant=_refuse)
