"""Settling a fork at the desk: one of its versions holds, or a third one that the person writes. All stay readable."""

from collections.abc import Callable, Sequence
from typing import Any

from sqlite_utils import Database

from webapp import rules
from webapp.animals import typed
from webapp.core import shapes
from webapp.review import drafting, words
from webapp.store import desk, exams, kept
from webapp.store.db import write
from webapp.store.entries import Act

Json = dict[str, Any]

WEIGHTS = ("patient.weight_kg", "patient.ideal_weight_kg")
# Set where they belong: the form of the write-up, the page "Wrong animal?", the request.
ELSEWHERE = {
    "recommendations": "Another one is written in the form of the write-up; saving it settles this.",
    "exam.patient": "Another animal is chosen on the page “Wrong animal?”.",
    "question.structures": "Choose one of the two.",
}
_YES_NO = {"yes": True, "no": False}


def offer(slot: str) -> Json:
    """How a third version of a slot is asked for: `{kind: "state" | "text" | "lines" | "none", hint}`."""
    if slot in ELSEWHERE:
        return {"kind": "none", "hint": ELSEWHERE[slot]}
    if slot.startswith("seen:"):
        return {"kind": "state", "hint": "reasons, parted by commas; needed for what was not seen in full"}
    if slot in WEIGHTS:
        return {"kind": "text", "hint": "with its unit: 12.4 kg or 27 lb"}
    if slot in ("impression", "question.text"):
        return {"kind": "lines", "hint": ""}
    return {"kind": "text", "hint": _HINTS.get(_check(slot), "")}


def states() -> list[tuple[str, str]]:
    """The states that a structure or part may have, as a form offers them."""
    return [(str(row["id"]), str(row["label"])) for row in rules.worded()["catalogue"]["seen_states"]]


def settle(db: Database, exam_id: str, slot: str, chosen: str, author: str, seen: int) -> str:
    """Record that of a fork's versions the `chosen` entry's holds, by saying it again after both.

    Returns the new entry's id. Raises Unknown when there is no such fork (any more), Signed when signed.
    """
    with write(db):
        exam, fork = _fork(db, exam_id, slot)
        if chosen not in [row["id"] for row in fork["values"]]:
            raise drafting.Unknown("There are no two versions of this to settle any more.")
        entry = next(row.entry for row in kept.of_exam(db, exam_id) if row.entry["id"] == chosen)
        kind, body = entry["kind"], entry["body"]
        if kind == "opened":  # two phones began it: what one of them said holds from now on
            kind, body = "set", _opened_with(entry["body"], slot)
        return _record(db, exam_id, slot, kind, body, author, seen, entry["after"], entry["patient"])


def settle_anew(db: Database, exam_id: str, slot: str, said: Json, author: str, seen: int) -> str:
    """Record that neither version holds but a third: `said` = {"text"}, or {"state", "text"} of what was seen.

    Returns the new entry's id. Raises ValueError with a sentence where it cannot be read, Unknown, Signed.
    """
    with write(db):
        exam, fork = _fork(db, exam_id, slot)
        kind, body = _third(slot, said, fork["values"], exam["patient"].get("species"))
        return _record(db, exam_id, slot, kind, body, author, seen, (), exam["patient_id"])


def _fork(db: Database, exam_id: str, slot: str) -> tuple[Json, Json]:
    drafting.refuse_if_signed(db, exam_id)
    exam = exams.fold(db, exam_id).exam
    fork = next((row for row in exam["forks"] if row["slot"] == slot), None)
    if fork is None:
        raise drafting.Unknown("There are no two versions of this to settle any more.")
    return exam, fork


def _record(
    db: Database,
    exam_id: str,
    slot: str,
    kind: str,
    body: Json,
    author: str,
    seen: int,
    before: Sequence[str],
    patient: str | None,
) -> str:
    # A move of the exam to another animal names what gives way to it as well: that goes on giving way.
    after = tuple(dict.fromkeys([*drafting.of_slot(db, exam_id, slot, seen), *before]))
    return desk.record(db, [Act(kind, body, author, desk.now(), exam_id, patient, None, after)])[0]


def _third(slot: str, said: Json, values: list[Json], species: str | None) -> tuple[str, Json]:
    """The kind and body of the entry that says it."""
    text = str(said.get("text") or "").replace("\r\n", "\n").strip()
    if slot in ELSEWHERE:
        raise ValueError(ELSEWHERE[slot])
    if slot.startswith("seen:"):
        return "seen", _seen(slot[5:], str(said.get("state") or ""), _parts(text))
    if not text:
        raise ValueError(f"{words.label(slot)}: write what holds, or choose one of the two.")
    if slot in WEIGHTS:
        return "set", {"about": slot, **typed.weight(text, species).body}
    return "set", {"about": slot, "value": _value(slot, text, values)}


def _seen(about: str, state: str, why: list[str]) -> Json:
    known = {str(row["id"]): row for row in rules.tables()["catalogue"]["seen_states"]}
    if state not in known:
        raise ValueError(f"{words.label(about)}: choose how it was seen.")
    if known[state].get("needs") == "reason" and not why:
        raise ValueError(f"{words.label(about)}: write why it was {known[state]['label']}.")
    return {"about": about, "seen": state, "why": why, "normal": False}


def _value(slot: str, text: str, values: list[Json]) -> Any:
    """The text as the slot keeps it, by what the rules take there; else as the two versions are."""
    check = _check(slot)
    named = words.label(slot)
    if check is shapes.truth:
        if text.lower() not in _YES_NO:
            raise ValueError(f"{named}: write yes or no.")
        return _YES_NO[text.lower()]
    if check is shapes.count:
        if not (text.isascii() and text.isdecimal() and len(text) < 5):
            raise ValueError(f"{named}: write a whole number.")
        return int(text)
    if check in (shapes.species, shapes.sex):
        known = shapes.SPECIES if check is shapes.species else shapes.SEXES
        if text.lower() not in known:
            raise ValueError(f"{named}: write {' or '.join(known)}.")
        return text.lower()
    if check is shapes.texts or (check is None and any(isinstance(row["value"], list) for row in values)):
        return _parts(text)
    return text


def _check(slot: str) -> Callable[..., Any] | None:
    group, _, field = slot.partition(".")
    groups: dict[str, dict[str, Callable[..., Any]]] = {
        "patient": shapes.PATIENT,
        "context": shapes.CONTEXT,
        "question": shapes.QUESTION,
    }
    return groups.get(group, {}).get(field)


_HINTS: dict[Callable[..., Any] | None, str] = {
    shapes.truth: "yes or no",
    shapes.count: "a whole number",
    shapes.texts: "parted by commas",
    shapes.species: " or ".join(shapes.SPECIES),
    shapes.sex: " or ".join(shapes.SEXES),
}


def _parts(text: str) -> list[str]:
    return [part.strip() for part in text.split(",") if part.strip()]


def _opened_with(body: Json, slot: str) -> Json:
    """What an opening entry says of a slot, as a `set` of it."""
    group, _, name = slot.partition(".")
    told = body[group]
    made = {"about": slot, "value": told[name]}
    if slot == "patient.weight_kg":
        named = {"typed": "weight_typed", "typed_unit": "weight_typed_unit", "source": "weight_source"}
        made |= {key: told[field] for key, field in named.items() if told.get(field) is not None}
    return made
