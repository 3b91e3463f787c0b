"""Sealing as the phone does it, for tests of opening."""

import base64
import json
import os
from collections.abc import Sequence

from cryptography.hazmat.primitives import hashes
from cryptography.hazmat.primitives.asymmetric import padding, rsa
from cryptography.hazmat.primitives.ciphers.aead import AESGCM

from webapp.store.entries import Envelope, entry_id


def text(data: bytes) -> str:
    return base64.urlsafe_b64encode(data).rstrip(b"=").decode()


def number(value: str) -> int:
    return int.from_bytes(base64.urlsafe_b64decode(value + "=" * (-len(value) % 4)), "big")


def seal(
    jwk: dict[str, str], envelopes: Sequence[Envelope], key: bytes | None = None
) -> tuple[str, list[dict[str, str]]]:
    """The wrapped data key and the sealed entries."""
    key = key or os.urandom(32)
    public = rsa.RSAPublicNumbers(number(jwk["e"]), number(jwk["n"])).public_key()
    oaep = padding.OAEP(mgf=padding.MGF1(hashes.SHA256()), algorithm=hashes.SHA256(), label=None)
    closed = []
    for envelope in envelopes:
        iv, name = os.urandom(12), entry_id(envelope)
        data = AESGCM(key).encrypt(iv, json.dumps(envelope, ensure_ascii=False).encode(), name.encode())
        closed.append({"id": name, "iv": text(iv), "data": text(data)})
    return text(public.encrypt(key, oaep)), closed
