"""Serves the built phone app: its one page, its service worker and the files they need."""

import gzip
import json
import mimetypes
import re
from functools import lru_cache
from pathlib import Path

from flask import Blueprint, Response, current_app, request, send_from_directory
from werkzeug.security import safe_join
from werkzeug.wsgi import FileWrapper

from webapp.store.behind import reads_no_lists

blueprint = Blueprint("phone", __name__)

# The system's own table may not know these, and a browser runs neither under another type.
mimetypes.add_type("text/javascript", ".mjs")
mimetypes.add_type("text/javascript", ".js")
mimetypes.add_type("application/wasm", ".wasm")
mimetypes.add_type("application/manifest+json", ".webmanifest")

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
    response = send_from_directory(folder, name)
    if response.status_code == 200 and request.accept_encodings["gzip"]:
        _shrink(response, str(folder), name)
    if _HASHED.fullmatch(name):
        response.headers["Cache-Control"] = "public, max-age=31536000, immutable"
    else:
        # Kept, but asked about each time: a changed file must reach the phone as one unit with the rest.
        response.headers["Cache-Control"] = "no-cache"
    return response


def _shrink(response: Response, folder: str, name: str) -> None:
    """Sends text and wasm compressed: a phone's first visit may hang on a thin line."""
    path = safe_join(folder, name)
    if path is None or response.mimetype == "image/png":
        return
    opened = response.response
    response.direct_passthrough = False
    response.set_data(_compressed(path, Path(path).stat().st_mtime_ns))
    if isinstance(opened, FileWrapper):
        opened.close()
    response.headers["Content-Encoding"] = "gzip"
    response.vary.add("Accept-Encoding")
    tag, _ = response.get_etag()
    if tag:
        response.set_etag(f"{tag}-gzip")


@lru_cache(maxsize=64)
def _compressed(path: str, written: int) -> bytes:
    """The file, compressed once for as long as it stands as it was `written`."""
    return gzip.compress(Path(path).read_bytes(), mtime=0)
