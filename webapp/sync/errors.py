"""Errors of the API: always JSON, always naming what happened and what to do."""

import logging
import sqlite3
from typing import Any

from flask import Flask, Response, jsonify, render_template, request
from werkzeug.exceptions import HTTPException, InternalServerError
from werkzeug.wrappers import Response as AnyResponse

from webapp.store.db import drop_db

log = logging.getLogger(__name__)

RETRY_AFTER_S = "2"
CODES = {
    400: "malformed",
    401: "not_signed_in",
    403: "refused",
    404: "no_such_address",
    405: "method_not_allowed",
    413: "too_large",
    415: "not_read",
    500: "server_failed",
}


class RequestError(Exception):
    """A request the API does not take: nothing was stored. `status`, `code` and a sentence; `retry_after_s`
    where waiting helps; `more` goes into the error object."""

    def __init__(self, status: int, code: str, message: str, retry_after_s: int | None = None, **more: Any):
        super().__init__(message)
        self.status = status
        self.code = code
        self.message = message
        self.retry_after_s = retry_after_s
        self.more = more


def answer(status: int, code: str, message: str, **more: Any) -> Response:
    """An error as JSON: `{"error": {"code", "message", ...}}`."""
    response = jsonify(error={"code": code, "message": message} | more)
    response.status_code = status
    return response


# For a person: the title, and the words where nobody has written better ones for the case.
TOLD = {
    400: ("This was not understood", "Nothing was kept. Go back, load the page anew and try again."),
    404: ("There is nothing here", "The address was perhaps mistyped or cut off."),
    405: ("This is not done here", "The address is right for something else than what was asked of it."),
}


def _page(error: HTTPException) -> AnyResponse:
    """The same in words for a person at the desk. What failed in the server may fail again: then plain text."""
    shown = error.get_response()
    if isinstance(error, InternalServerError):
        words = "The server failed on this. It is written to its log; nothing was half saved.\n"
        shown.set_data(words)
        shown.content_type = "text/plain; charset=utf-8"
    elif shown.status_code >= 400:
        title, plain = TOLD.get(shown.status_code, (error.name, error.description or ""))
        words = plain if error.description == type(error).description else error.description or ""
        shown.set_data(render_template("review/told.html", title=title, words=words))
    return shown


def init_app(app: Flask) -> None:
    """JSON for every error under /api; a busy database is 503 everywhere, a full disk 507."""

    @app.errorhandler(RequestError)
    def refused(error: RequestError) -> Response:
        response = answer(error.status, error.code, error.message, **error.more)
        if error.status == 401:
            response.headers["WWW-Authenticate"] = "Bearer"
        if error.retry_after_s is not None:
            response.headers["Retry-After"] = str(error.retry_after_s)
        return response

    @app.errorhandler(HTTPException)
    def http_error(error: HTTPException) -> AnyResponse:
        if not request.path.startswith("/api"):
            return _page(error)
        if isinstance(error, InternalServerError):
            return answer(500, CODES[500], "The server failed on this; nothing was stored. It is written to its log.")
        status = error.code or 500
        response = answer(status, CODES.get(status, "refused"), error.description or error.name)
        if "Allow" in error.get_response().headers:
            response.headers["Allow"] = error.get_response().headers["Allow"]
        return response

    @app.errorhandler(sqlite3.OperationalError)
    def database_error(error: sqlite3.OperationalError) -> Response:
        log.error("database: %s on %s", error, request.path)
        drop_db()
        text = str(error)
        if "locked" in text or "busy" in text:
            status, code, message = 503, "busy", "The database is busy; nothing was stored. Send again."
        elif "full" in text:
            status, code, message = 507, "disk_full", "The server's disk is full; nothing was stored."
        else:
            raise error
        if request.path.startswith("/api"):
            response = answer(status, code, message)
        else:
            response = Response(message + "\n", status=status, mimetype="text/plain")
        response.headers["Retry-After"] = RETRY_AFTER_S
        return response
