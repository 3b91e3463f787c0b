"""A file between two steps: what is kept of it beside the database, each in a folder of its own, for a day.

A kind of file ("imports", "dicom") has a folder of its own; a name is made here and is never taken for a path.
"""

import json
import os
import re
import secrets
import shutil
import time
from pathlib import Path
from typing import Any

from flask import Flask

NAME = re.compile(r"[0-9a-f]{32}")
KEPT_S = 24 * 3600.0  # what nobody took in goes after a day
TOLD = "told.json"


class Waiting:
    """What waits under one name: what is known of it, and bytes beside that."""

    def __init__(self, folder: Path):
        self.folder = folder

    @property
    def name(self) -> str:
        return self.folder.name

    @property
    def told(self) -> dict[str, Any]:
        """What is known of it; `at` = when that was told last, in seconds."""
        return self._read()

    def tell(self, **more: Any) -> None:
        """Keep more of what is known; whole or not at all, for another thread reads it."""
        path = self.folder / TOLD
        known = self._read() if path.exists() else {}
        fresh = self.folder / f"told-{secrets.token_hex(4)}"
        fresh.write_text(json.dumps(known | more | {"at": time.time()}), encoding="utf-8")
        os.replace(fresh, path)

    def _read(self) -> dict[str, Any]:
        found: dict[str, Any] = json.loads((self.folder / TOLD).read_text(encoding="utf-8"))
        return found

    def keep(self, what: str, data: bytes) -> None:
        """Keep bytes beside what is known."""
        (self.folder / what).write_bytes(data)

    def kept(self, what: str) -> bytes:
        """The bytes kept as this; FileNotFoundError where there are none."""
        return (self.folder / what).read_bytes()

    def done(self) -> None:
        """Nothing of it waits any more."""
        shutil.rmtree(self.folder, ignore_errors=True)


def begin(app: Flask, kind: str) -> Waiting:
    """A place for one more of this kind; those that nobody took in go. It can be found once something is told of it."""
    home = _home(app, kind)
    home.mkdir(mode=0o700, parents=True, exist_ok=True)
    for old in home.iterdir():
        if time.time() - old.stat().st_mtime > KEPT_S:
            shutil.rmtree(old, ignore_errors=True)
    folder = home / secrets.token_hex(16)
    folder.mkdir(mode=0o700)
    return Waiting(folder)


def find(app: Flask, kind: str, name: str) -> Waiting | None:
    """What waits under this name, or None."""
    if not NAME.fullmatch(name):
        return None
    folder = _home(app, kind) / name
    return Waiting(folder) if (folder / TOLD).is_file() else None


def _home(app: Flask, kind: str) -> Path:
    return Path(app.instance_path) / kind
