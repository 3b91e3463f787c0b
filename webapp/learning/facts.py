"""What one exam adds to the figures: how each structure was reached, how long it took, and what became of its flags."""

import json
from collections.abc import Iterable
from datetime import datetime
from typing import Any

from sqlite_utils import Database

from webapp.core.catalogue import Catalogue
from webapp.core.journal import Journal
from webapp.store import reasons, reports

Json = dict[str, Any]

WHOLE, PARTLY, NOT_SEEN, NOT_EXAMINED = "whole", "partly", "not_seen", "not_examined"
WORDS = ("lower", "upper", "unit", "class_words")
REACHED = (WHOLE, PARTLY, NOT_SEEN, NOT_EXAMINED)


def of_exam(db: Database, exam: str, entries: Iterable[Json], catalogue: Catalogue) -> Json:
    """{"date", "purpose", "minutes" or None, "reached" {structure: {"how", "why" [..]}}, "flags", "versions"}.

    `flags` are those of the newest issued version, as they were judged then: {"about", "kind", "limit" (id) or None,
    "words", "reasons" [..]}; `versions` {"version", "status", "issued_at", "reason"} of all that were issued.
    """
    journal = Journal(catalogue)
    journal.add(list(entries))
    folded = journal.exam()
    return {
        "date": folded["date"],
        "purpose": folded["purpose"],
        "minutes": minutes(folded["started_at"], folded["closed_at"]) if folded["closed"] else None,
        "reached": reached(folded["states"]),
        **_issued(db, exam, folded["amended"]),
    }


def minutes(first: str | None, last: str | None) -> int | None:
    """Whole minutes between two moments of the phone's clock, rounded; None where one is missing or it went back."""
    if not first or not last:
        return None
    try:
        seconds = (datetime.fromisoformat(last) - datetime.fromisoformat(first)).total_seconds()
    except (ValueError, TypeError):
        return None
    return int(seconds / 60 + 0.5) if seconds >= 0 else None


def reached(states: Iterable[Json]) -> dict[str, Json]:
    """How each structure was reached: once an exam, its parts taken together with it.

    Not seen (or not examined) as a whole; seen partly where it, or any part of it, was not seen in full; whole
    otherwise. What is removed, or not visible as expected, is no structure that was missed, and is left out.
    """
    by_structure: dict[str, list[Json]] = {}
    for state in states:
        if state["seen"] in REACHED and not state.get("fork"):
            by_structure.setdefault(state["structure"], []).append(state)
    made = {}
    for structure, rows in by_structure.items():
        why = dict.fromkeys(str(reason) for row in rows if row["seen"] != WHOLE for reason in row["why"])
        made[structure] = {"how": _together(rows), "why": list(why)}
    return made


def _together(rows: list[Json]) -> str:
    own = next((row["seen"] for row in rows if row["part"] is None), None)
    parts = {row["seen"] for row in rows if row["part"] is not None}
    if own in (NOT_SEEN, NOT_EXAMINED):
        return str(own)
    return WHOLE if parts <= {WHOLE} and own in (None, WHOLE) else PARTLY


def _issued(db: Database, exam: str, amended: list[Json]) -> Json:
    """The flags of the newest issued version, each with the reasons for which it was left so, and all versions."""
    issued = reports.versions(db, exam)
    frozen = reports.version(db, exam, issued[-1]["version"]) if issued else None
    if frozen is None:
        return {"flags": [], "versions": []}
    folded, judgement = json.loads(frozen["exam_json"]), json.loads(frozen["judgement_json"])
    # What was added after a signature names it; the first version adds nothing.
    added = {name: row["reason"] for row in amended if not row["struck"] for name in row["of"]}
    before = [None, *(row["signed_id"] for row in issued)]
    return {
        "flags": [_flag(row, folded) for row in judgement["flags"] + judgement.get("contradictions", [])],
        "versions": [
            {"version": row["version"], "status": row["status"], "issued_at": row["issued_at"]}
            | {"reason": added.get(before[place])}
            for place, row in enumerate(issued)
        ],
    }


def _flag(flag: Json, folded: Json) -> Json:
    limit = flag.get("limit") or {}
    about = set(reasons.records_behind(flag, folded))
    given = [
        row["reason"]
        for row in folded["acknowledged"]
        if not row["struck"]
        and (row["about"], row["flag"]) == (flag["about"], flag["kind"])
        and about <= set(row["of"])
    ]
    return {
        "about": flag["about"],
        "kind": flag["kind"],
        "contradiction": "grade" not in flag,
        "limit": limit.get("id"),
        "words": {name: limit.get(name) for name in WORDS} | {"source": flag.get("source")},
        "reasons": list(dict.fromkeys(given)),
    }
