"""/api/photo/<sha256>: photos and clips, by the hash of their bytes, after the text and never in its way.

`HEAD` answers 200 with `X-Gelside-Held` (bytes here) and `X-Gelside-Complete` (yes or no). `PUT` brings bytes, at most
2 MB at a time, with `Content-Range: bytes 0-999/5000` or, without it, all of them: 201 `{"hash", "held", "complete":
true}` once all are here and verified, 202 while some are missing. 409 wrong_offset names in `held` from where to go on;
422 hash_differs: start again; 413 too_large; 415 not_a_picture; 507 disk_full. Entries name a photo by its hash; either
may come first, and neither waits for the other. A locked phone brings all bytes as they lie sealed, with
`X-Gelside-Sealed: <iv> <wrapped key>` (webapp/sync/sealed.py); 422 not_opened.
"""

import errno
import re
from pathlib import Path
from typing import NamedTuple

from flask import Blueprint, Flask, Response, abort, current_app, jsonify, request, send_file

from webapp.accounts import recording
from webapp.photos import clips, files, hearing, register
from webapp.store import erasures
from webapp.store.behind import reads_no_lists
from webapp.store.db import get_db, write
from webapp.sync import bearer, rates, sealed
from webapp.sync.errors import RequestError

api = Blueprint("photos_api", __name__, url_prefix="/api/photo")
desk = Blueprint("photos", __name__, url_prefix="/photos")

STATUS = {"wrong_offset": 409, "busy": 503, "hash_differs": 422, "not_a_picture": 415}

_HASH = re.compile(r"[0-9a-f]{64}")
_RANGE = re.compile(r"bytes ([0-9]{1,12})-([0-9]{1,12})/([0-9]{1,12})")


class Part(NamedTuple):
    """Which bytes of how many a request brings."""

    start: int
    total: int


def init_app(app: Flask) -> None:
    """Add both addresses."""
    app.register_blueprint(api)
    app.register_blueprint(desk)
    app.register_blueprint(clips.blueprint)
    app.cli.add_command(hearing.command)
    rates.before(app, "photos_api.photo")


def folder() -> Path:
    """Where this practice's photos lie."""
    return files.folder_of(current_app.config["DATABASE"])


@api.route("/<name>", methods=["HEAD", "PUT"])
@reads_no_lists
def photo(name: str) -> Response:
    """Ask how much is here, or bring more."""
    phone = bearer.sender()
    if not _HASH.fullmatch(name):
        raise RequestError(400, "malformed", "A photo is named by the 64 lower-case hex digits of its SHA-256.")
    if erasures.photo_is_gone(get_db(), name):
        return _erased(name)
    if request.method == "HEAD":
        files.finish(folder(), name)
    here = files.held(folder(), name) if request.method == "HEAD" else _taken(name)
    if here.complete and register.known(get_db(), name) is None:
        with write(get_db()) as db:
            register.note(db, folder(), name, phone["id"])
        recording.about(phone["id"], f"{here.size} bytes")
    if request.method == "HEAD":
        headers = {"X-Gelside-Held": str(here.size), "X-Gelside-Complete": "yes" if here.complete else "no"}
        return Response(headers=headers)
    response = jsonify(hash=name, held=here.size, complete=here.complete)
    response.status_code = 201 if here.complete else 202
    return response


def _erased(name: str) -> Response:
    """A phone that still has an erased photo is told that it need not send it; the bytes are not read."""
    if request.method == "HEAD":
        return Response(headers={"X-Gelside-Held": "0", "X-Gelside-Complete": "yes"})
    return jsonify(hash=name, held=0, complete=True)


@desk.get("/<name>")
def shown(name: str) -> Response:
    """A photo at the desk; never run as anything else than what it is."""
    row = register.known(get_db(), name) if _HASH.fullmatch(name) else None
    if row is None:
        abort(404)
    path = files.path_of(folder(), name)
    if not path.is_file():
        abort(404)
    response = send_file(path, mimetype=row["type"], max_age=0)
    response.headers["Content-Security-Policy"] = "default-src 'none'; sandbox"
    return response


def _part() -> Part:
    """Which bytes the request brings. Raises RequestError."""
    length = request.content_length
    if length is None:
        raise RequestError(411, "malformed", "Say how many bytes come: Content-Length.")
    given = request.headers.get("Content-Range")
    if given is None:
        part, end = Part(0, length), length - 1
    else:
        match = _RANGE.fullmatch(given)
        if match is None:
            raise RequestError(400, "malformed", "Content-Range is like: bytes 0-999/5000.")
        start, end, total = map(int, match.groups())
        part = Part(start, total)
    if not (part.total > 0 and part.start <= end < part.total and end - part.start + 1 == length):
        raise RequestError(400, "malformed", "Content-Range and Content-Length do not fit together.")
    largest = current_app.config["PHOTO_LARGEST_BYTES"]
    if part.total > largest:
        raise RequestError(413, "too_large", f"A photo or clip has {largest} bytes at most.")
    return part


def _opened(name: str, how: str) -> bytes:
    """What a locked phone sends as it lies sealed. Raises RequestError."""
    iv, _, wrapped_key = how.partition(" ")
    try:
        return sealed.open_bytes(get_db(), wrapped_key, name, iv, request.get_data(cache=False))
    except sealed.CannotOpen as error:
        raise RequestError(422, sealed.NOT_OPENED, f"{error} The photo stays on the phone.") from error


def _taken(name: str) -> files.Held:
    how = request.headers.get("X-Gelside-Sealed")
    try:
        if how is not None:
            return files.take_whole(folder(), name, _opened(name, how))
        part = _part()
        return files.take(folder(), name, part.start, part.total, request.stream)
    except files.PhotoError as error:
        more = {"held": error.held} if error.code == "wrong_offset" else {}
        wait = 2 if error.code == "busy" else None
        raise RequestError(STATUS[error.code], error.code, error.message, wait, **more) from error
    except OSError as error:
        if error.errno not in (errno.ENOSPC, errno.EDQUOT):
            raise
        raise RequestError(507, "disk_full", "The server's disk is full: the photo stays on the phone.") from error
