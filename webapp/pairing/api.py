"""/api/pair: a phone without a token shows what stood in the QR code and waits for the desk.

1. `POST /api/pair` `{"protocol": 1, "secret" or "code", "device", "name", "app"}` gives `{"pairing", "poll",
   "number"}`; 403 pairing_refused for what is unknown, used or late, 429 with Retry-After after ten failures a minute.
2. Phone and desk show six digits each made on its own from (secret or code, device); the desk confirms.
3. `GET /api/pair/<pairing>` with `X-Pairing-Poll: <poll>` gives `{"state"}`: waiting, confirmed, refused, expired.
   Confirmed comes with `token` (256 bits; only its hash stays here), `phone`, `person`, `practice`, `store_id`, `lock`
   and `server_key` (sealed journals). Asked again before the token was used, it gives a new one and voids the first.
"""

import re
from typing import Any

from flask import Blueprint, Response, jsonify, request

from webapp import clock, incoming
from webapp.accounts import recording
from webapp.pairing import codes, pairings
from webapp.store import meta
from webapp.store.behind import reads_no_lists
from webapp.store.db import get_db
from webapp.sync import sealed
from webapp.sync.errors import RequestError
from webapp.sync.protocol import PROTOCOL
from webapp.sync.routes import lock

blueprint = Blueprint("pairing_api", __name__, url_prefix="/api/pair")

LONGEST_PROOF = 100
_DEVICE = re.compile(r"[0-9a-f]{32}")


@blueprint.post("")
@reads_no_lists
def pair() -> Response:
    """Use a secret or a typed code."""
    asked = _asked()
    try:
        made = pairings.use(
            get_db(), _proof(asked), asked["device"], asked["name"], asked["app"], _address(), clock.now()
        )
    except pairings.Refused as error:
        raise _refused() from error
    except pairings.TooMany as error:
        raise _too_many(error) from error
    recording.about("", "one waits for the desk")
    return jsonify(made)


@blueprint.get("/<pairing>")
@reads_no_lists
def wait(pairing: str) -> Response:
    """Has the desk confirmed?"""
    db = get_db()
    try:
        answer = pairings.collect(db, pairing, request.headers.get("X-Pairing-Poll", ""), _address(), clock.now())
    except pairings.Refused as error:
        raise _refused() from error
    except pairings.TooMany as error:
        raise _too_many(error) from error
    if "token" in answer:
        answer |= {
            "practice": meta.get(db, "practice"),
            "store_id": meta.get(db, "store_id"),
            "lock": lock(db),
            "server_key": sealed.public_key(db),
        }
    return jsonify(answer)


def _asked() -> dict[str, Any]:
    asked = incoming.sent_json()
    if not isinstance(asked, dict) or asked.get("protocol") != PROTOCOL:
        raise RequestError(400, "malformed", f'The request is an object with "protocol": {PROTOCOL}.')
    if not isinstance(asked.get("device"), str) or not _DEVICE.fullmatch(asked["device"]):
        raise RequestError(400, "malformed", '"device" is 32 lower-case hex digits.')
    for name in ("name", "app"):
        if not isinstance(asked.setdefault(name, ""), str):
            raise RequestError(400, "malformed", f'"{name}" is a text.')
    asked["name"] = "".join(filter(str.isprintable, asked["name"])).strip() or "Phone without a name"
    return asked


def _proof(asked: dict[str, Any]) -> str:
    """The secret as it is, or the code as it was made."""
    secret, code = asked.get("secret"), asked.get("code")
    proof = secret if isinstance(secret, str) else codes.normalised(code) if isinstance(code, str) else ""
    if not proof or len(proof) > LONGEST_PROOF:
        raise RequestError(400, "malformed", 'Give the "secret" of the QR code, or the typed "code".')
    return proof


def _address() -> str:
    return request.remote_addr or "unknown"


def _refused() -> RequestError:
    words = "This code is not known, was used or is over: take a new one at the desk."
    return RequestError(403, "pairing_refused", words)


def _too_many(error: pairings.TooMany) -> RequestError:
    words = f"Too many wrong codes were tried. Wait {error.retry_after_s} seconds."
    return RequestError(429, "too_many", words, retry_after_s=error.retry_after_s)
