"""A list on its way in: what was chosen for it, and a thread that takes it in and tells how far it is."""

import threading
import time
from typing import Any

from flask import Flask

from webapp.exchange import importing, waiting
from webapp.exchange.ready import Choices
from webapp.exchange.tables import Unreadable
from webapp.store.db import open_database

KIND, FILE = "imports", "file"
SILENT_S = 60.0  # an import that has said nothing for so long does not run any more
TELL_EVERY_S = 0.25


class Job(waiting.Waiting):
    """One file and what was chosen for it."""

    @property
    def data(self) -> bytes:
        return self.kept(FILE)

    @property
    def told(self) -> dict[str, Any]:
        """What is known of it: `filename`, `state` (looked at, running, done, failed), `choices`, progress."""
        found = super().told
        if found["state"] == "running" and time.time() - found["at"] > SILENT_S:
            found["state"] = "failed"
            found["message"] = "The import was interrupted. Nothing of it was kept: start it again."
        return found

    @property
    def choices(self) -> Choices:
        return Choices(**self.told["choices"])

    def choose(self, choices: Choices) -> None:
        self.tell(choices=choices._asdict(), state="looked at")


def begin(app: Flask, data: bytes, filename: str, choices: Choices) -> Job:
    """Keep a file that was sent."""
    job = Job(waiting.begin(app, KIND).folder)
    job.keep(FILE, data)
    job.tell(filename=filename, choices=choices._asdict(), state="looked at")
    return job


def find(app: Flask, name: str) -> Job | None:
    """The job of this name, or None."""
    found = waiting.find(app, KIND, name)
    return None if found is None else Job(found.folder)


def start(app: Flask, job: Job, author: str) -> threading.Thread:
    """Take the file in, in a thread of its own; `job.told` says how far it is and how it ended."""
    job.tell(state="running", what="read", done=0, total=0)
    path, timeout = app.config["DATABASE"], app.config["BUSY_TIMEOUT_MS"]

    def run() -> None:
        with app.app_context():
            _run(job, path, timeout, author)

    thread = threading.Thread(target=run, name=f"import {job.name}", daemon=True)
    thread.start()
    return thread


def _run(job: Job, path: str, timeout: int, author: str) -> None:
    last = 0.0

    def progress(what: str, done: int, total: int) -> None:
        nonlocal last
        if time.monotonic() - last > TELL_EVERY_S or done == total:
            last = time.monotonic()
            job.tell(what=what, done=done, total=total)

    db = open_database(path, timeout)
    try:
        taken = importing.take(db, job.data, job.choices, author, progress)
        job.tell(state="done", **taken._asdict())
        (job.folder / FILE).unlink()
    except (importing.Refused, Unreadable) as error:
        job.tell(state="failed", message=str(error))
    except Exception as error:
        job.tell(state="failed", message=f"The import failed, nothing of it was kept: {type(error).__name__}: {error}")
        raise
    finally:
        db.close()
