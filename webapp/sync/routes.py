"""/api: are you there, who is in this practice, take my journal, give me today's.

Bearer tokens only. No cookie is looked at, so a page of another site can do nothing here and the
forms' CSRF tokens are not asked for.
"""

import hashlib
import json
from datetime import date
from typing import Any

from flask import Blueprint, Response, current_app, jsonify, request
from sqlite_utils import Database

from webapp import rules
from webapp.accounts import recording
from webapp.learned import renewing
from webapp.store import afterwards, learned, meta, overlays, people, planned, ways
from webapp.store.behind import reads_no_judgement, reads_no_lists
from webapp.store.db import get_db, read
from webapp.sync import bearer, sealed
from webapp.sync.errors import RequestError
from webapp.sync.protocol import MOST_BYTES, MOST_ENTRIES, PAGE, PROTOCOL
from webapp.sync.receive import receive, receive_sealed
from webapp.sync.smaller import smaller

blueprint = Blueprint("sync", __name__, url_prefix="/api")


blueprint.after_request(smaller)


@blueprint.get("/ping")
@reads_no_lists
def ping() -> Response:
    """Proof that this server answers, and not a sign-in page of some network in between."""
    return jsonify(gelside=1, protocol=PROTOCOL, store_id=meta.get(get_db(), "store_id"))


@blueprint.get("/practice")
@reads_no_lists
def practice() -> Response:
    """Who can be an author, what this phone is called, how it locks, and by what of the practice's own it judges."""
    phone = bearer.reader()
    told = told_to(get_db(), phone)
    return jsonify(told | {"mark": mark_of(told)})


def told_to(db: Database, phone: dict[str, Any]) -> dict[str, Any]:
    """What /api/practice tells this phone, with what was learned until today."""
    if renewing.renew_daily(db):
        afterwards.note(current_app, 0)  # the exams that wait are judged by it beside the requests
    overlay = overlays.in_force(db)
    return {
        "practice": meta.get(db, "practice"),
        "people": people.everyone(db),
        "phone": phone["name"],
        "store_id": meta.get(db, "store_id"),
        "lock": lock(db),
        "server_key": sealed.public_key(db),
        "overlay": overlay,
        "limits_version": rules.limits_version(overlay),
        "learned": learned.in_use(db),
        "spelling": rules.spelling_here(),
        "ways": ways.everyones(db),
        "speech": current_app.config["SPEECH"],
    }


def mark_of(told: dict[str, Any]) -> str:
    """Names what was told: a phone that has this mark need not ask for the rest."""
    return hashlib.sha256(json.dumps(told, sort_keys=True).encode()).hexdigest()[:16]


def lock(db: Database) -> dict[str, Any]:
    """The practice's settings for phones: whether a PIN is asked, and days that sent exams stay there."""
    return {"pin": meta.get(db, meta.PIN_ASKED) == "yes", "keep_days": int(meta.get(db, meta.KEEP_DAYS))}


@blueprint.post("/journal")
@reads_no_lists
def push() -> Response:
    """Keep a batch of entries; answered only once they are on disk."""
    return _push(receive)


@blueprint.post("/journal/sealed")
@reads_no_lists
def push_sealed() -> Response:
    """Open and keep a batch that the phone itself can no longer open."""
    return _push(receive_sealed)


def _push(keep: Any) -> Response:
    _not_compressed()
    phone = bearer.sender()
    report = bearer.parse_report(request.headers.get(bearer.REPORT_HEADER))
    db = get_db()

    def along(many: int) -> None:
        recording.along_with(db, phone["id"], _entries(many))

    answer = keep(db, phone, request.get_data(cache=False), report, along)
    afterwards.note(current_app, len(answer["results"]))
    return jsonify(answer)


@blueprint.get("/journal")
@reads_no_judgement
def pull() -> Response:
    """What today's list and the phone's own person need of everything after `since`, in order of arrival."""
    phone = bearer.reader()
    since = _number("since", 0)
    limit = min(_number("limit", PAGE), MOST_ENTRIES)
    db = get_db()
    with read(db):
        store_id = meta.get(db, "store_id")
        day_list = planned.of_day(db, date.today().isoformat(), phone["person"], phone["last_device"])
        if request.args.get("scope", day_list.scope) != day_list.scope:
            since = 0
        page = planned.page(db, day_list, since, max(limit, 1), MOST_BYTES)
        first = page.more and since == 0 and "ahead" in request.args
        ahead = planned.ahead(db, day_list, MOST_ENTRIES, MOST_BYTES) if first else []
    if page.entries:
        recording.about(phone["id"], _entries(len(page.entries)))
    answer = {
        "protocol": PROTOCOL,
        "store_id": store_id,
        "scope": day_list.scope,
        "entries": page.entries,
        "next": page.next,
        "more": page.more,
    }
    if ahead:
        answer["ahead"] = ahead
    return jsonify(answer if page.more else answer | {"practice": mark_of(told_to(db, phone))})


def _entries(many: int) -> str:
    return f"{many} {'entry' if many == 1 else 'entries'}"


def _not_compressed() -> None:
    """A small request must not unfold into a large one."""
    if request.headers.get("Content-Encoding", "identity").lower() != "identity":
        raise RequestError(415, "not_read", "Send the batch as it is, not compressed.")


def _number(name: str, default: int) -> int:
    text = request.args.get(name, str(default))
    if not (text.isascii() and text.isdecimal() and len(text) < 16):
        raise RequestError(400, "malformed", f'"{name}" is a whole number from 0 on.')
    return int(text)
