"""A file on its way in: kept beside the database between the steps, taken in by a thread that tells how far it is."""

import json
import os
import re
import secrets
import shutil
import threading
import time
from pathlib import Path
from typing import Any

from flask import Flask

from webapp.exchange import importing
from webapp.exchange.ready import Choices
from webapp.exchange.tables import Unreadable
from webapp.store.db import open_database

NAME = re.compile(r"[0-9a-f]{32}")
KEPT_S = 24 * 3600.0  # a file that nobody took in goes after a day
SILENT_S = 60.0  # an import that has said nothing for so long does not run any more
TELL_EVERY_S = 0.25


class Job:
    """One file and what was chosen for it. Its folder goes when it is done with."""

    def __init__(self, folder: Path):
        self.folder = folder

    @property
    def name(self) -> str:
        return self.folder.name

    @property
    def data(self) -> bytes:
        return (self.folder / "file").read_bytes()

    @property
    def told(self) -> dict[str, Any]:
        """What is known of it: `filename`, `state` (looked at, running, done, failed), `choices`, progress."""
        found: dict[str, Any] = json.loads((self.folder / "told.json").read_text(encoding="utf-8"))
        if found["state"] == "running" and time.time() - found["at"] > SILENT_S:
            found["state"] = "failed"
            found["message"] = "The import was interrupted. Nothing of it was kept: start it again."
        return found

    def tell(self, **more: Any) -> None:
        """Keep more of what is known; whole or not at all, for another thread reads it."""
        path = self.folder / "told.json"
        known = json.loads(path.read_text(encoding="utf-8")) if path.exists() else {}
        fresh = self.folder / f"told-{secrets.token_hex(4)}"
        fresh.write_text(json.dumps(known | more | {"at": time.time()}), encoding="utf-8")
        os.replace(fresh, path)

    @property
    def choices(self) -> Choices:
        return Choices(**self.told["choices"])

    def choose(self, choices: Choices) -> None:
        self.tell(choices=choices._asdict(), state="looked at")


def _home(app: Flask) -> Path:
    return Path(app.instance_path) / "imports"


def begin(app: Flask, data: bytes, filename: str, choices: Choices) -> Job:
    """Keep a file that was sent; files that nobody took in go."""
    home = _home(app)
    home.mkdir(mode=0o700, parents=True, exist_ok=True)
    for old in home.iterdir():
        if time.time() - old.stat().st_mtime > KEPT_S:
            shutil.rmtree(old, ignore_errors=True)
    folder = home / secrets.token_hex(16)
    folder.mkdir(mode=0o700)
    (folder / "file").write_bytes(data)
    job = Job(folder)
    job.tell(filename=filename, choices=choices._asdict(), state="looked at")
    return job


def find(app: Flask, name: str) -> Job | None:
    """The job of this name, or None."""
    folder = _home(app) / name
    return Job(folder) if NAME.fullmatch(name) and (folder / "told.json").is_file() else None


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
        (job.folder / "file").unlink()
    except (importing.Refused, Unreadable) as error:
        job.tell(state="failed", message=str(error))
    except Exception as error:
        job.tell(state="failed", message=f"The import failed, nothing of it was kept: {type(error).__name__}: {error}")
        raise
    finally:
        db.close()
