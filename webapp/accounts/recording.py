"""The audit: one row for everything that someone read or changed, written after the answer is made.

No clinical content: who, when, from where, which address of the app, the ids in it, how it was answered.
"""

import logging
import sqlite3

from flask import Flask, Response, g, request
from sqlite_utils import Database

from webapp import clock, incoming
from webapp.accounts import allowed
from webapp.accounts.here import person_here
from webapp.store import audit
from webapp.store.db import get_db, write

log = logging.getLogger(__name__)

LONGEST = 160  # characters of ids


def init_app(app: Flask) -> None:
    """Write a row after every request that the list of addresses has words for."""

    @app.after_request
    def keep(response: Response) -> Response:
        door = allowed.door(request.endpoint) if request.endpoint else None
        if door is not None and door.words and _asked(door) and not ("audit_kept" in g and response.status_code == 200):
            _write(response.status_code)
        return response


def of(subject: str) -> None:
    """Name the id that this request made, where it does not stand in the address."""
    g.audit_subject = subject


def about(who: str, words: str = "") -> None:
    """Say whose act this request is, and in our own words how much: never what a person typed."""
    g.audit = (who, words)


def told(words: str) -> None:
    """Add words of ours to the row of whoever is signed in."""
    g.audit = ((person_here() or {}).get("id", ""), words)


def along_with(db: Database, who: str, told: str) -> None:
    """Say the same, and write the row at once, in the transaction of the act itself: one wait for the disk, not two.
    Where the act fails in the end, the row goes with it, and the failure gets one of its own."""
    about(who, told)
    audit.add(db, _note(200))
    g.audit_kept = True


def _asked(door: allowed.Door) -> bool:
    """A phone's contacts are kept where it read or sent something, an open address where someone said who it is."""
    if door.to in (allowed.EVERYONE, allowed.PHONES):
        return "audit" in g
    return person_here() is not None or "audit" in g


def _note(status: int) -> audit.Note:
    who, words = g.get("audit", (None, ""))
    person = person_here()
    return audit.Note(
        at=clock.now().isoformat(timespec="seconds"),
        who=who if who is not None else (person or {}).get("id", ""),
        session=(person or {}).get("session"),
        address=request.remote_addr or "unknown",
        act=request.endpoint or "",
        subject=g.get("audit_subject") or _ids(),
        status=status,
        told=words or _how(status),
    )


def _write(status: int) -> None:
    note = _note(status)
    try:
        with write(get_db()) as db:
            audit.add(db, note)
    except sqlite3.OperationalError as error:
        # A full or busy disk: the answer is made, and what was done stands in the journal.
        log.error("the audit could not be written: %s", error)


def _how(status: int) -> str:
    """What the words of the list leave open: a form was only shown, or came back with what is missing. (What was
    taken is answered by going on to another page.)"""
    takes_forms = request.url_rule is not None and "POST" in (request.url_rule.methods or ())
    if takes_forms and request.method in incoming.SAFE:
        return "the form only"
    return "not taken" if request.method not in incoming.SAFE and status == 200 else ""


def _ids() -> str:
    """The ids in the address, named: "exam 0193..."."""
    pairs = (f"{name} {value}" for name, value in (request.view_args or {}).items())
    return "".join(filter(str.isprintable, " ".join(pairs)))[:LONGEST]
