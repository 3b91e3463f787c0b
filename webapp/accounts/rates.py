"""How often a password may be tried: refused tries are counted by name and by address, in this process's memory.

Passwords that are guessed quickly are not taken (webapp/passwords.py), so these few tries find nothing.
"""

import logging
from collections.abc import Callable
from typing import Any

from flask import Flask, Response, request
from flask_limiter import Limiter, RateLimitExceeded
from flask_limiter.util import get_remote_address
from werkzeug.wrappers import Response as AnyResponse

from webapp.accounts import own, routes
from webapp.accounts.here import person_here

log = logging.getLogger(__name__)

PER_NAME = "5 per minute; 30 per hour"
PER_ADDRESS = "20 per minute; 200 per hour"
WORDS = "Too many tries. Wait a minute, then try again; after many more, an hour."
PAGES = {"accounts.sign_in": routes.with_words, "account.password": own.with_words}


def init_app(app: Flask) -> None:
    """Put the limits before the two pages on which a password is tried."""
    limiter = Limiter(get_remote_address, storage_uri="memory://")
    limiter.init_app(app)
    for endpoint in PAGES:
        view: Callable[..., Any] = app.view_functions[endpoint]
        for limits, key in ((PER_NAME, _name), (PER_ADDRESS, get_remote_address)):
            view = limiter.limit(limits, key_func=key, methods=["POST"], deduct_when=_was_refused)(view)
        app.view_functions[endpoint] = view

    @app.errorhandler(RateLimitExceeded)
    def too_many(error: RateLimitExceeded) -> tuple[str, int] | AnyResponse:
        if request.endpoint not in PAGES:
            return error.get_response()  # a phone's (webapp/sync/rates.py)
        log.warning("too many tries of a password from %s", get_remote_address())
        return PAGES[request.endpoint](WORDS), 429


def _name() -> str:
    """Whose password is tried."""
    if request.endpoint != "accounts.sign_in":
        return str((person_here() or {}).get("id", "nobody")).casefold()
    return request.form.get("person", "").strip().casefold()[:40] or "nobody"


def _was_refused(response: Response) -> bool:
    return response.status_code == 401
