"""Serves the built phone app: its one page, its service worker and the files they need."""

import json
import mimetypes
import os
import re
from functools import lru_cache
from pathlib import Path

from flask import Blueprint, Response, current_app, request, send_from_directory
from werkzeug.security import safe_join

from webapp.store.behind import reads_no_lists

blueprint = Blueprint("phone", __name__)

# The system's own table may not know these, and a browser runs neither under another type.
mimetypes.add_type("text/javascript", ".mjs")
mimetypes.add_type("text/javascript", ".js")
mimetypes.add_type("application/wasm", ".wasm")
mimetypes.add_type("application/manifest+json", ".webmanifest")

# What the build lays beside a file (sw/build.mjs), the smaller one first.
_PACKED = {"br": ".br", "gzip": ".gz"}
_HASHED = re.compile(r".*\.[0-9A-Za-z]{8,}\.[a-z]+")
_NOT_BUILT = "The phone form is not built yet: run ./demo/start, or npm run build in sw/.\n"


@blueprint.get("/")
@reads_no_lists
def page() -> Response:
    return _file("index.html")


@blueprint.get("/sw.js")
@reads_no_lists
def service_worker() -> Response:
    return _file("sw.js")


@blueprint.get("/build/<path:name>")
@reads_no_lists
def built(name: str) -> Response:
    return _file(name)


def built_rules() -> str | None:
    """The hash of the rules that phones fetch from here (core and tables), or None while no form is built."""
    path = Path(current_app.config["PHONE_BUILD"]) / "rules.json"
    return _rules_hash(str(path), path.stat().st_mtime_ns) if path.is_file() else None


@lru_cache(maxsize=4)
def _rules_hash(path: str, written: int) -> str:
    return str(json.loads(Path(path).read_bytes())["hash"])


def _file(name: str) -> Response:
    folder = Path(current_app.config["PHONE_BUILD"])
    if not (folder / "index.html").is_file():
        return Response(_NOT_BUILT, status=503, mimetype="text/plain")
    packed = _packed(folder, name)
    if packed:
        response = send_from_directory(folder, name + _PACKED[packed], mimetype=mimetypes.guess_type(name)[0])
        response.headers["Content-Encoding"] = packed
    else:
        response = send_from_directory(folder, name)
    response.vary.add("Accept-Encoding")
    if response.status_code == 304:
        response.close()  # the file was opened for nothing
    if _HASHED.fullmatch(name):
        response.headers["Cache-Control"] = "public, max-age=31536000, immutable"
    else:
        # Kept, but asked about each time: a changed file must reach the phone as one unit with the rest.
        response.headers["Cache-Control"] = "no-cache"
    return response


def _packed(folder: Path, name: str) -> str | None:
    """The encoding in which this file lies ready for who asks: a phone's first visit may hang on a thin line.

    None where there is none, or where the file was changed after it was compressed.
    """
    path = safe_join(str(folder), name)
    if path is None or not os.path.isfile(path):  # noqa: PTH113 - Path.is_file fails on a name too long for a file
        return None
    for encoding, ending in _PACKED.items():
        packed = Path(path + ending)
        if request.accept_encodings[encoding] and packed.is_file():
            return encoding if packed.stat().st_mtime_ns >= Path(path).stat().st_mtime_ns else None
    return None
