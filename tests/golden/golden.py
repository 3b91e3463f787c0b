"""Reading the golden journals: a folder's files taken in as a practice takes them in."""

import json
from pathlib import Path
from typing import Any

from sqlite_utils import Database

from webapp.keeping import importing
from webapp.store.db import open_database

HERE = Path(__file__).parent
NOT_JOURNALS = ("expected.json", "frozen.json")


def folders() -> list[Path]:
    """One for each version of the format that was ever written."""
    return sorted(path for path in HERE.iterdir() if path.is_dir() and path.name.startswith("v"))


def journals(folder: Path) -> list[Path]:
    return sorted(path for path in folder.glob("*.json") if path.name not in NOT_JOURNALS)


def practice_of(folder: Path) -> Database:
    """A new practice that took in every journal file of the folder."""
    db = open_database(":memory:")
    for path in journals(folder):
        importing.take(db, path.read_bytes())
    return db


def unlike(wanted: Any, now: Any, where: str = "") -> list[str]:
    """Where `now` is not what was `wanted`; fields that are new count for nothing."""
    if isinstance(wanted, dict) and isinstance(now, dict):
        found = [f"{where}.{key}: gone" for key in wanted if key not in now]
        return found + [one for key in wanted if key in now for one in unlike(wanted[key], now[key], f"{where}.{key}")]
    if isinstance(wanted, list) and isinstance(now, list) and len(wanted) == len(now):
        pairs = enumerate(zip(wanted, now, strict=True))
        return [one for place, (a, b) in pairs for one in unlike(a, b, f"{where}[{place}]")]
    return [] if wanted == now else [f"{where}: {json.dumps(wanted)[:80]} is now {json.dumps(now)[:80]}"]
