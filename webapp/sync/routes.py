"""/api: are you there, who is in this practice, take my journal, give me today's.

Bearer tokens only. No cookie is looked at, so a page of another site can do nothing here and the
forms' CSRF tokens are not asked for.
"""

from datetime import date
from typing import Any

from flask import Blueprint, Response, jsonify, request

from webapp.store import meta, people, phones, planned
from webapp.store.db import get_db, read
from webapp.sync.errors import RequestError
from webapp.sync.receive import MOST_BYTES, MOST_ENTRIES, PROTOCOL, receive

blueprint = Blueprint("sync", __name__, url_prefix="/api")


@blueprint.after_request
def not_kept(response: Response) -> Response:
    response.headers["Cache-Control"] = "no-store"
    return response


@blueprint.get("/ping")
def ping() -> Response:
    """Proof that this server answers, and not a sign-in page of some network in between."""
    return jsonify(gelside=1, protocol=PROTOCOL, store_id=meta.get(get_db(), "store_id"))


@blueprint.get("/practice")
def practice() -> Response:
    """Who can be an author, and what this phone is called."""
    phone = _phone()
    db = get_db()
    return jsonify(
        practice=meta.get(db, "practice"),
        people=people.everyone(db),
        phone=phone["name"],
        store_id=meta.get(db, "store_id"),
    )


@blueprint.post("/journal")
def push() -> Response:
    """Keep a batch of entries; answered only once they are on disk."""
    phone = _phone()
    return jsonify(receive(get_db(), phone, request.get_data(cache=False)))


@blueprint.get("/journal")
def pull() -> Response:
    """What today's list needs of everything that arrived after `since`, in order of arrival."""
    _phone()
    since = _number("since", 0)
    limit = min(_number("limit", MOST_ENTRIES), MOST_ENTRIES)
    db = get_db()
    with read(db):
        store_id = meta.get(db, "store_id")
        day_list = planned.of_day(db, date.today().isoformat())
        if request.args.get("scope", day_list.scope) != day_list.scope:
            since = 0
        page = planned.page(db, day_list, since, max(limit, 1), MOST_BYTES)
    return jsonify(
        protocol=PROTOCOL,
        store_id=store_id,
        scope=day_list.scope,
        entries=page.entries,
        next=page.next,
        more=page.more,
    )


def _phone() -> dict[str, Any]:
    """The phone whose token came along. Raises RequestError 401."""
    scheme, _, token = request.headers.get("Authorization", "").partition(" ")
    phone = phones.by_token(get_db(), token.strip()) if scheme.lower() == "bearer" and token else None
    if phone is None:
        raise RequestError(401, "unknown_phone", "This phone is not known here. Open the practice's link on it again.")
    return phone


def _number(name: str, default: int) -> int:
    text = request.args.get(name, str(default))
    if not (text.isascii() and text.isdecimal() and len(text) < 16):
        raise RequestError(400, "malformed", f'"{name}" is a whole number from 0 on.')
    return int(text)
