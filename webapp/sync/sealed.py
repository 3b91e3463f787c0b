"""Opening a journal that only this server can open: the phone's PIN is forgotten, the entries are not.

On the phone each entry is sealed with a random data key, and the data key is wrapped by the PIN and by this
store's public key. Formats (WebCrypto's): `wrapped_key` = RSA-OAEP with SHA-256 of the 32 bytes of the data
key; a sealed entry = {"id", "iv": 12 bytes, "data"}: AES-256-GCM, tag appended, additional data = the id's
text, plaintext = JSON {"header", "body"}. Bytes travel as base64, plain or URL-safe.

The private key lies in the database file: a restored copy must still open what was sealed before. Whoever has
the file has the entries anyway.
"""

import base64
import binascii
import json
import secrets
from collections.abc import Iterable
from datetime import UTC, datetime
from functools import lru_cache
from typing import Any, NamedTuple, cast

from cryptography.exceptions import InvalidTag
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import padding, rsa
from cryptography.hazmat.primitives.ciphers.aead import AESGCM
from sqlite_utils import Database

from webapp.store.db import write
from webapp.store.entries import Envelope, entry_id

KEY_BITS = 2048
NOT_OPENED = "not_opened"

_OAEP = padding.OAEP(mgf=padding.MGF1(hashes.SHA256()), algorithm=hashes.SHA256(), label=None)


class Opened(NamedTuple):
    """What came out: the envelopes, and the ids of those that could not be opened."""

    envelopes: list[Envelope]
    closed: list[str]


class CannotOpen(Exception):
    """The data key was not wrapped for any key of this store."""


def public_key(db: Database) -> dict[str, str]:
    """This store's public key as a JWK for RSA-OAEP-256; made on first use."""
    row = _newest(db)
    if row is None:
        with write(db):
            row = _newest(db) or _make(db)
    numbers = _private(row["private_pem"]).public_key().public_numbers()
    return {
        "kty": "RSA",
        "alg": "RSA-OAEP-256",
        "use": "enc",
        "kid": row["id"],
        "n": _base64url(numbers.n),
        "e": _base64url(numbers.e),
    }


def open_all(db: Database, wrapped_key: str, sealed: Iterable[dict[str, str]]) -> Opened:
    """Open what the phone sealed. Raises CannotOpen when the data key cannot be had."""
    box = AESGCM(_unwrap(db, wrapped_key))
    envelopes: list[Envelope] = []
    closed: list[str] = []
    for one in sealed:
        envelope = _open_one(box, one)
        if envelope is None:
            closed.append(one["id"])
        else:
            envelopes.append(envelope)
    return Opened(envelopes, closed)


def open_bytes(db: Database, wrapped_key: str, name: str, iv: str, data: bytes) -> bytes:
    """Open one sealed photo or clip, named by the hash of its bytes. Raises CannotOpen."""
    try:
        return AESGCM(_unwrap(db, wrapped_key)).decrypt(_bytes(iv), data, name.encode())
    except (InvalidTag, ValueError) as error:
        raise CannotOpen("This is not what the phone sealed under this name.") from error


def _open_one(box: AESGCM, one: dict[str, str]) -> Envelope | None:
    """The envelope, if this is really the entry that it says it is."""
    try:
        plain = json.loads(box.decrypt(_bytes(one["iv"]), _bytes(one["data"]), one["id"].encode()))
    except (InvalidTag, ValueError, RecursionError):
        return None
    if not isinstance(plain, dict) or not all(isinstance(plain.get(key), str) for key in ("header", "body")):
        return None
    envelope: Envelope = {"header": plain["header"], "body": plain["body"]}
    return envelope if entry_id(envelope) == one["id"] else None


def _unwrap(db: Database, wrapped_key: str) -> bytes:
    """The data key, by whichever of the store's keys fits. Raises CannotOpen."""
    for row in db.query("select private_pem from sealing_keys order by made_at desc, id"):
        try:
            key = _private(row["private_pem"]).decrypt(_bytes(wrapped_key), _OAEP)
        except ValueError:
            continue  # wrapped for another key, or no key at all: the next one may fit
        if len(key) == 32:
            return key
    raise CannotOpen("The key that came along was not wrapped for this practice.")


def _newest(db: Database) -> dict[str, Any] | None:
    return next(db.query("select * from sealing_keys order by made_at desc, id limit 1"), None)


def _make(db: Database) -> dict[str, Any]:
    pem = rsa.generate_private_key(public_exponent=65537, key_size=KEY_BITS).private_bytes(
        serialization.Encoding.PEM, serialization.PrivateFormat.PKCS8, serialization.NoEncryption()
    )
    row = {
        "id": secrets.token_hex(8),
        "private_pem": pem.decode("ascii"),
        "made_at": datetime.now(UTC).isoformat(timespec="seconds"),
    }
    db.table("sealing_keys").insert(row)
    return row


@lru_cache(maxsize=8)
def _private(pem: str) -> rsa.RSAPrivateKey:
    # Reading it proves it first, which takes longer than all the rest of a pull: once in the life of the server.
    return cast(rsa.RSAPrivateKey, serialization.load_pem_private_key(pem.encode("ascii"), None))


def _base64url(number: int) -> str:
    data = number.to_bytes((number.bit_length() + 7) // 8, "big")
    return base64.urlsafe_b64encode(data).rstrip(b"=").decode("ascii")


def _bytes(text: str) -> bytes:
    """Bytes of base64 or base64url, padded or not. Raises ValueError."""
    plain = text.replace("-", "+").replace("_", "/").rstrip("=")
    try:
        return base64.b64decode(plain + "=" * (-len(plain) % 4), validate=True)
    except binascii.Error as error:
        raise ValueError(str(error)) from error
