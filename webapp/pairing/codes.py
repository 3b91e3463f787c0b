"""The secrets of one pairing and the number that two people compare.

Secret and code are made from the pairing's id with the server's own key, so that the page can show them
again and the database need not hold them: it keeps their SHA-256 only.
"""

import base64
import hashlib
import hmac

SECRET_BYTES = 16  # 128 bits in the QR code
CODE_LENGTH = 10  # 50 bits, for typing: with five minutes and ten wrong tries a minute
ALPHABET = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"  # Crockford: nothing that looks like something else
_ALIKE = str.maketrans({"O": "0", "I": "1", "L": "1", "-": None, " ": None})


def secret(server_key: str, pairing: str) -> str:
    """The secret in the QR code: 22 characters, base64url."""
    return base64.urlsafe_b64encode(_made(server_key, "secret", pairing)[:SECRET_BYTES]).rstrip(b"=").decode("ascii")


def code(server_key: str, pairing: str) -> str:
    """The same for typing: ten characters, without the hyphen in the middle."""
    number = int.from_bytes(_made(server_key, "code", pairing), "big")
    return "".join(ALPHABET[number >> 5 * place & 31] for place in range(CODE_LENGTH))


def shown(plain: str) -> str:
    """A code as people read it: XXXXX-XXXXX."""
    return f"{plain[:5]}-{plain[5:]}"


def normalised(typed: str) -> str:
    """A typed code as it was made: upper case, no gaps, O read as 0, I and L as 1."""
    return typed.upper().translate(_ALIKE)


def number(proof: str, device: str) -> str:
    """Six digits that phone and desk make on their own; `proof` is the secret or the normalised code."""
    made = hashlib.sha256(f"gelside-pair{proof}{device}".encode("utf-8", "surrogatepass")).hexdigest()
    return f"{int(made[:10], 16) % 1_000_000:06d}"


def _made(server_key: str, purpose: str, pairing: str) -> bytes:
    return hmac.new(server_key.encode(), f"gelside pairing {purpose} {pairing}".encode(), hashlib.sha256).digest()
