"""The practice's own server for a test in another language: real requests over a socket, deaths by SIGKILL, copies.

    .venv/bin/python -m tests.sync_laws.forking FOLDER

Reads one act a line as JSON, {"do": ...}, and answers with one line. The server itself is a child made by fork, so
that it is there again in a moment after each death; what the desk and the person at the server do is done here, in a
process of its own, as commands do it.
"""

import json
import mmap
import os
import signal
import struct
import sys
import tempfile
from collections.abc import Callable
from datetime import UTC, date, datetime, timedelta, tzinfo
from pathlib import Path
from typing import Any

from sqlite_utils import Database
from werkzeug.serving import WSGIRequestHandler, make_server

from webapp import at_work, create_app
from webapp.core import entries as core_entries
from webapp.keeping import backup, restore
from webapp.learned import renewing
from webapp.store import chain, desk, entries, exams, meta, phones, strangers
from webapp.store.db import open_database
from webapp.store.entries import Act
from webapp.sync import routes as sync_routes

HOST = "127.0.0.1"
NO_LIMIT = 1_000_000


class Quiet(WSGIRequestHandler):
    """Says nothing, and keeps a connection for the next request."""

    protocol_version = "HTTP/1.1"

    def log(self, type: str, message: str, *args: Any) -> None:
        pass


class Practice:
    """One file, its server (or none just now), and the copies made of it."""

    def __init__(self, folder: Path):
        self.above = folder
        self.child = 0
        self.days = mmap.mmap(-1, 4)  # days gone by since the beginning; shared with the server

    def pair(self, tokens: list[str], patients: list[str]) -> dict[str, Any]:
        """A new practice in a folder of its own, with these phones, and these animals on today's list."""
        self.kill()
        self.folder = Path(tempfile.mkdtemp(dir=self.above))
        os.environ["GELSIDE_INSTANCE"] = str(self.folder)
        self.path = self.folder / "practice.sqlite3"
        self.copies: list[Path] = []
        self.port = 0
        # Made once for each practice, and as fresh in every child: a server that starts makes nothing else anew.
        self.app = create_app({"DATABASE": str(self.path), "SECRET_KEY": "monkey", "REQUESTS_PER_MINUTE": NO_LIMIT})
        db = open_database(self.path)
        for number, token in enumerate(tokens):
            phones.add(db, f"Phone {number}", token)
        made = _plan(db, date.today().isoformat(), patients)
        db.close()
        return {"ids": made}

    def morning(self, days: int, patients: list[str], keep_days: int) -> dict[str, Any]:
        """So many days later, for the server too: these animals are on the list of that day, and phones are told to
        keep what is acknowledged for `keep_days`."""
        self.days[:] = struct.pack("i", days)
        day = date.today() + timedelta(days=days)
        db = open_database(self.path)
        meta.put(db, meta.KEEP_DAYS, str(keep_days))
        made = _plan(db, day.isoformat(), patients)
        db.close()
        return {"ids": made, "day": day.isoformat()}

    def start(self, lacks: list[str]) -> dict[str, Any]:
        """Fork the server; `lacks` are kinds that a version of before does not know."""
        told, tells = os.pipe()
        self.child = os.fork()
        if self.child == 0:
            os.close(told)
            self._serve(lacks, tells)
        os.close(tells)
        with os.fdopen(told) as line:
            self.port = int(line.readline() or 0)
        return {"pid": self.child, "port": self.port}

    def _serve(self, lacks: list[str], tells: int) -> None:
        entries.KINDS = entries.KINDS - frozenset(lacks)  # type: ignore[misc]
        core_entries.KINDS = tuple(kind for kind in core_entries.KINDS if kind not in lacks)  # type: ignore[assignment]
        sync_routes.date = _dates(self.days)  # type: ignore[attr-defined]
        renewing.datetime = _moments(self.days)  # type: ignore[attr-defined]
        server = make_server(HOST, self.port, at_work(self.app), threaded=True, request_handler=Quiet)
        server.daemon_threads = True  # type: ignore[attr-defined]
        with os.fdopen(tells, "w") as line:
            line.write(f"{server.port}\n")
        server.serve_forever()
        os._exit(0)

    def kill(self) -> dict[str, Any]:
        """SIGKILL, or what is left of the server after somebody else's."""
        if self.child:
            os.kill(self.child, signal.SIGKILL)
            os.waitpid(self.child, 0)
            self.child = 0
        return {}

    def backup(self) -> dict[str, Any]:
        db = open_database(self.path)
        made = backup.backup(db, self.folder / "copies" / str(len(self.copies)), datetime.now(UTC))
        db.close()
        self.copies.append(made.path)
        return {"copies": len(self.copies), "faults": [fault.text for fault in made.faults if fault.grave]}

    def restore(self, copy: int) -> dict[str, Any]:
        """The server must be dead. What of the desk is there still: acts of the desk after the copy are gone."""
        restore.restore(self.path, self.copies[copy])
        db = open_database(self.path)
        rows = db.query("select id from entries where arrived_from = 'desk'")
        ids = [row["id"] for row in rows]
        db.close()
        return {"ids": ids}

    def approve(self) -> dict[str, Any]:
        """The person at the desk lets every phone in that waits for it."""
        db = open_database(self.path)
        for phone in phones.everyone(db):
            phones.approve(db, phone["id"])
        for row in strangers.waiting(db):
            strangers.let_in(db, row["token_hash"], "Phone from before", None)
        db.close()
        return {}

    def note(self, exam: str, patient: str, text: str) -> dict[str, Any]:
        db = open_database(self.path)
        name = desk.act(db, "noted", {"about": "exam", "text": text}, author="RD", exam=exam, patient=patient)
        db.close()
        return {"ids": [name]}

    def held(self) -> dict[str, Any]:
        """Everything, and what does not fit."""
        db = open_database(self.path)
        rows = list(db.query("select id, device, header, body, why, arrived_from from entries order by arrival"))
        grave = [fault.text for fault in chain.verify(db) if fault.grave]
        behind = [row["exam"] for row in db.query("select exam from exams_behind")]
        unlike = [] if behind else exams.differences(db)
        split = [row["device"] for row in db.query("select device from devices where split_at is not null")]
        db.close()
        return {"rows": rows, "grave": grave, "unlike": unlike, "behind": behind, "split": split}


def _plan(db: Database, day: str, patients: list[str]) -> list[str]:
    acts = [
        Act("planned", {"date": day, "time": "09:00", "order": order, "patient": {"name": name}}, "RD", desk.now(),
            patient=name)
        for order, name in enumerate(patients)
    ]
    return desk.record(db, acts)


def _dates(days: mmap.mmap) -> type[date]:
    """Dates of which "today" is as many days later as stand there."""

    class Later(date):
        @classmethod
        def today(cls) -> date:  # type: ignore[override]
            return date.today() + _gone_by(days)

    return Later


def _moments(days: mmap.mmap) -> type[datetime]:
    """Moments of which "now" is as many days later."""

    class Later(datetime):
        @classmethod
        def now(cls, tz: tzinfo | None = None) -> datetime:  # type: ignore[override]
            return datetime.now(tz) + _gone_by(days)

    return Later


def _gone_by(days: mmap.mmap) -> timedelta:
    return timedelta(days=struct.unpack("i", days[:4])[0])


def main() -> None:
    practice = Practice(Path(sys.argv[1]))
    for line in sys.stdin:
        asked = json.loads(line)
        act: Callable[..., dict[str, Any]] = getattr(practice, asked.pop("do"))
        print(json.dumps(act(**asked)), flush=True)
    practice.kill()


if __name__ == "__main__":
    main()
