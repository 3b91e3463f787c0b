"""Exams whose rows in the lists are behind the journal.

Judging a whole exam takes longer than keeping a batch of it, so a phone is answered first: the exams it touched are
noted here, in the transaction that keeps its entries, and judged before anyone reads the lists. Nobody sees a list
from before: every request but those marked `reads_no_lists` renews it first.
"""

from collections.abc import Callable, Iterable
from typing import Any, TypeVar

from flask import Flask, current_app, request
from sqlite_utils import Database

from webapp.store import exams
from webapp.store.db import get_db, write

View = TypeVar("View", bound=Callable[..., Any])


def note(db: Database, touched: Iterable[str]) -> None:
    """These exams have new entries; called in the transaction that keeps them."""
    db.conn.executemany("insert or ignore into exams_behind (exam) values (?)", [(one,) for one in sorted(touched)])


def first(db: Database) -> str | None:
    """An exam that is behind, or None when the lists are what the journal gives."""
    row = db.execute("select exam from exams_behind order by exam limit 1").fetchone()
    return str(row[0]) if row else None


def renew(db: Database, go_on: Callable[[], bool] = lambda: True) -> int:
    """Bring the lists up to date, each exam in a transaction of its own, so that no phone waits long for its turn;
    returns how many exams were made anew. Stops early when `go_on` says so."""
    done = 0
    while go_on() and (exam := first(db)) is not None:
        with write(db):
            # Another process may have come first.
            if db.execute("delete from exams_behind where exam = ?", [exam]).rowcount:
                exams.refresh(db, [exam])
                done += 1
    return done


def reads_no_lists(view: View) -> View:
    """Mark a view whose answer holds nothing of the lists: it need not wait for them."""
    view.reads_no_lists = True  # type: ignore[attr-defined]
    return view


def init_app(app: Flask) -> None:
    """Renew the lists before every request that may read them."""

    @app.before_request
    def lists_are_new() -> None:
        endpoint = request.endpoint
        if endpoint is None or endpoint.rpartition(".")[2] == "static":
            return
        if not getattr(current_app.view_functions[endpoint], "reads_no_lists", False):
            renew(get_db())
