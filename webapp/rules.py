"""The server's door to the shared rule code: tables from their files, one engine per call."""

import hashlib
import json
from functools import cache, lru_cache
from pathlib import Path
from typing import Any

from flask import current_app, has_app_context

import webapp.core
from webapp.core import engine, spelling
from webapp.core.errors import CoreError
from webapp.store.entries import open_entry

__all__ = [
    "RulesError",
    "call",
    "core_version",
    "limits_in_force",
    "limits_version",
    "open_entry",
    "procedures",
    "say",
    "spelling_here",
    "tables",
    "tables_hash",
    "worded",
]

TABLES = engine.NAMES
FOLDER = Path(__file__).parent / "core" / "tables"
PROCEDURES = FOLDER / "procedures.json"


class RulesError(ValueError):
    """The rules could not answer; the message is theirs."""


def call(question: dict[str, Any], overlay: dict[str, Any] | None = None) -> dict[str, Any]:
    """Ask the rule engine (`do` = open, apply, assess, learn, typed, phrase, register) and return its answer.

    `overlay` = the practice's own over the published tables (store.overlays), None for these alone.
    Every call has an engine of its own: nothing of one exam can reach another request.
    Raises RulesError where the overlay is nonsense, and where the engine answers with an error or fails.
    """
    try:
        text = engine.Engine(_tables_with(overlay)).call(json.dumps(question, ensure_ascii=False))
    except RulesError:
        raise
    except Exception as error:
        raise RulesError(f"the rules failed on this: {type(error).__name__}: {error}") from error
    answer: dict[str, Any] = json.loads(text)
    if "error" in answer:
        raise RulesError(answer["error"]["message"])
    return answer


@cache
def tables() -> dict[str, Any]:
    """The tables as objects, by name, as published."""
    return {name: json.loads(text) for name, text in _texts().items()}


def worded() -> dict[str, Any]:
    """The tables as the practice reads them: their words in its spelling, every id and figure as published."""
    return _worded(spelling_here())


@cache
def _worded(how: str) -> dict[str, Any]:
    made: dict[str, Any] = spelling.tables(tables(), how)
    return made


def procedures() -> dict[str, Any]:
    """What can be done with a needle at the table and what is asked before, as the practice reads it. No rule judges
    by it."""
    return _procedures(spelling_here())


@cache
def _procedures(how: str) -> dict[str, Any]:
    published = json.loads(PROCEDURES.read_text(encoding="utf-8"))
    said: dict[str, Any] = {"version": published["version"]}
    for name in ("procedures", "checks"):
        said[name] = [row | {"label": spelling.say(row["label"], _worded(how))} for row in published[name]]
    for name in ("answers", "consent_how", "not_done"):
        said[name] = [spelling.say(text, _worded(how)) for text in published[name]]
    return said


def spelling_here() -> str:
    """The practice's spelling, "british" or "american"; British where no practice's application runs."""
    return str(current_app.config["SPELLING"]) if has_app_context() else spelling.BRITISH


def say(text: str) -> str:
    """Words of this project in the practice's spelling; never for what a person typed."""
    return str(spelling.say(text, worded()))


@cache
def tables_hash() -> str:
    """SHA-256 over the tables' files, in the order of their names."""
    total = hashlib.sha256()
    for name, text in sorted(_texts().items()):
        total.update(f"{name}\n{hashlib.sha256(text.encode()).hexdigest()}\n".encode())
    return total.hexdigest()


def limits_version(overlay: dict[str, Any] | None = None) -> str:
    """The version of the limits, with the count of the practice's changes where it has made any.

    Raises RulesError, with one sentence, where the overlay is nonsense.
    """
    return str(_tables_with(overlay).limits.version)


def limits_in_force(overlay: dict[str, Any] | None = None) -> Any:
    """The indexed limits (core.limits.Limits) with this overlay, to look rows up in; nobody changes them."""
    return _tables_with(overlay).limits


def core_version() -> str:
    """The version of the shared rule code."""
    return str(webapp.core.VERSION)


@cache
def _texts() -> dict[str, str]:
    return {name: (FOLDER / f"{name}.json").read_text(encoding="utf-8") for name in TABLES}


def _tables_with(overlay: dict[str, Any] | None) -> Any:
    key = None if overlay is None else json.dumps(overlay, sort_keys=True, ensure_ascii=False)
    try:
        return _engine_tables(key, spelling_here())
    except CoreError as error:
        raise RulesError(error.message) from error


# The published tables, those in force, and those of exams signed before the last changes.
@lru_cache(maxsize=8)
def _engine_tables(overlay: str | None, spelled: str) -> Any:
    return engine.tables_of(_texts(), None if overlay is None else json.loads(overlay), spelled)
