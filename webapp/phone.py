"""Serves the built phone app: its one page, its service worker and the files they need."""

import mimetypes
import re
from pathlib import Path

from flask import Blueprint, Response, current_app, send_from_directory

blueprint = Blueprint("phone", __name__)

# The system's own table may not know these, and a browser runs neither under another type.
mimetypes.add_type("text/javascript", ".mjs")
mimetypes.add_type("text/javascript", ".js")
mimetypes.add_type("application/wasm", ".wasm")
mimetypes.add_type("application/manifest+json", ".webmanifest")

_HASHED = re.compile(r".*\.[0-9A-Za-z]{8,}\.[a-z]+")
_NOT_BUILT = "The phone form is not built yet: run ./demo/start, or npm run build in sw/.\n"


@blueprint.get("/")
def page() -> Response:
    return _file("index.html")


@blueprint.get("/sw.js")
def service_worker() -> Response:
    return _file("sw.js")


@blueprint.get("/build/<path:name>")
def built(name: str) -> Response:
    return _file(name)


def _file(name: str) -> Response:
    folder = Path(current_app.config["PHONE_BUILD"])
    if not (folder / "index.html").is_file():
        return Response(_NOT_BUILT, status=503, mimetype="text/plain")
    response = send_from_directory(folder, name)
    if _HASHED.fullmatch(name):
        response.headers["Cache-Control"] = "public, max-age=31536000, immutable"
    else:
        # Kept, but asked about each time: a changed file must reach the phone as one unit with the rest.
        response.headers["Cache-Control"] = "no-cache"
    return response
