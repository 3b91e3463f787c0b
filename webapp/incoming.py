"""What every request must show before anything looks at it: that it comes from here, and is what it says.

Browsers name the site that a request comes from in Sec-Fetch-Site, older ones in Origin; no page can forge either.
Programs that are no browsers send neither: they have no cookies of anyone's that could be misused.
"""

from typing import Any
from urllib.parse import urlsplit

from flask import Flask, abort, request

SAFE = ("GET", "HEAD", "OPTIONS")
OWN = ("same-origin", "none")
JSON_ADDRESSES = "/api/"


def init_app(app: Flask) -> None:
    """Look at every request first."""
    app.before_request(refuse_others)
    app.before_request(only_json)


def refuse_others() -> None:
    """403 for a changing request that a page of another site sent, whatever it holds."""
    if request.method not in SAFE and not _own():
        abort(403, "This was sent by a page of another site, so nothing was done.")


def only_json() -> None:
    """415 for a form, or text, where JSON is read: another site's page cannot send JSON without asking first. A
    program that is no browser may leave the type out."""
    if request.url_rule is None or request.method != "POST" or not request.path.startswith(JSON_ADDRESSES):
        return
    if request.mimetype != "application/json" and (request.mimetype or _browser()):
        abort(415, "Send JSON, with Content-Type: application/json.")


def sent_json() -> Any:
    """The JSON that came along, or None for what is none or is nested too deeply to be read."""
    try:
        return request.get_json(silent=True, force=True)
    except RecursionError:
        return None


def surely_own() -> bool:
    """Whether the browser itself says that a page of this site sent this."""
    site = request.headers.get("Sec-Fetch-Site")
    return site == "same-origin" if site is not None else bool(request.headers.get("Origin")) and _own()


def _browser() -> bool:
    return "Sec-Fetch-Site" in request.headers or "Origin" in request.headers


def _own() -> bool:
    site = request.headers.get("Sec-Fetch-Site")
    if site is not None:
        return site in OWN
    origin = request.headers.get("Origin")
    # "null" is what a sandboxed frame or a file sends.
    return origin is None or urlsplit(origin).netloc == request.host
