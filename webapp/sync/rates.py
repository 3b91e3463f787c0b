"""How often one phone may ask, counted in this process's memory: one that asks without end is told when to come
again, and loses nothing by it."""

import hashlib
import logging
from collections.abc import Callable
from typing import Any

from flask import Flask, Response, current_app, request
from flask_limiter import Limiter
from flask_limiter.util import get_remote_address

from webapp.sync import errors

log = logging.getLogger(__name__)

RETRY_AFTER_S = 20
WORDS = "This phone asks more often than the practice allows; nothing of this request was stored. Send again."


def before(app: Flask, *endpoints: str) -> None:
    """Put the practice's limit before these addresses."""
    limiter = Limiter(_phone, app=app, storage_uri="memory://")
    for endpoint in endpoints:
        view: Callable[..., Any] = app.view_functions[endpoint]
        app.view_functions[endpoint] = limiter.limit(_limit, on_breach=_told)(view)


def _limit() -> str:
    return f"{current_app.config['REQUESTS_PER_MINUTE']} per minute"


def _phone() -> str:
    """Which phone asks; its token is not kept."""
    given = request.headers.get("Authorization", "")
    return hashlib.sha256(given.encode("utf-8", "replace")).hexdigest() if given else get_remote_address()


def _told(_breach: object) -> Response:
    log.warning("too many requests of one phone, from %s", get_remote_address())
    response = errors.answer(429, "too_many", WORDS)
    response.headers["Retry-After"] = str(RETRY_AFTER_S)
    return response
