"""What the practice changes in its limits. Each change is one entry of the desk that holds the whole overlay."""

import json
from typing import Any

from sqlite_utils import Database

from webapp import rules
from webapp.core.catalogue import Catalogue
from webapp.core.errors import CoreError
from webapp.core.grades import own_entry
from webapp.core.overlay import own_row
from webapp.learned import renewing
from webapp.store import behind, desk, overlays
from webapp.store.db import write
from webapp.store.entries import Act
from webapp.store.overlays import SLOT, Change

Json = dict[str, Any]

NOTHING: Json = {"change": 0, "sources_off": [], "rows_off": [], "thresholds": {}, "rows": []}


class Refused(Exception):
    """The change cannot be made; the message says why, to be read after "Nothing was changed:"."""


class Meanwhile(Refused):
    """Somebody else changed the limits since the page was opened."""


def now(change: Change | None) -> Json:
    """A copy of the overlay after a change; an empty one before the first."""
    copy: Json = json.loads(json.dumps(change.overlay if change else NOTHING))
    return copy


def switched(overlay: Json, kind: str, name: str, off: bool) -> Json:
    """With a set (`kind` "source") or a row switched off or on. Raises Refused for what is not there."""
    made = rules.call({"do": "register"}, overlay)["register"]
    known = {one["source"] for one in made["sets"]} if kind == "source" else {row["id"] for row in made["rows"]}
    if name not in known:
        raise Refused("this set or row is not in the register.")
    field = "sources_off" if kind == "source" else "rows_off"
    others = [one for one in overlay[field] if one != name]
    return overlay | {field: sorted([*others, name]) if off else others}


def with_threshold(overlay: Json, path: str, number: str | None) -> Json:
    """With a threshold of ours at another number; an empty one, or ours, puts it back as it came."""
    others = {name: text for name, text in overlay["thresholds"].items() if name != path}
    text = (number or "").strip().replace(",", ".")
    ours = rules.call({"do": "register"})["register"]["thresholds"]
    is_ours = {"path": path, "value": text} in [
        {"path": value["path"], "value": value["value"]} for row in ours for value in row["values"]
    ]
    return overlay | {"thresholds": others if is_ours or not text else others | {path: text}}


def with_grade(overlay: Json, kind: str, grade: str, why: str) -> Json:
    """With another grade for a kind of line; the published one puts it back as it came."""
    others = {name: change for name, change in (overlay.get("grades") or {}).items() if name != kind}
    if rules.tables()["thresholds"]["grades"].get(kind) != grade:
        others[kind] = {"grade": grade, "why": why} if why else {"grade": grade}
    return _with(overlay, "grades", others)


def with_entry(overlay: Json, entry: Json) -> Json:
    """With an own entry more before the published list of findings that someone is told; the newest comes first.
    Raises Refused when it is nonsense, or makes a finding quieter without a reason."""
    try:
        own_entry(entry, rules.tables()["descriptors"], Catalogue(rules.tables()["catalogue"]))
    except CoreError as error:
        raise Refused(sentence(error.message)) from error
    return _with(overlay, "tell", [entry, *(overlay.get("tell") or [])])


def without_entry(overlay: Json, place: str) -> Json:
    """Without one of the own entries, named by its place in the list. Raises Refused when there is none."""
    known = overlay.get("tell") or []
    if not place.isdecimal() or int(place) >= len(known):
        raise Refused("this entry is not one of the practice's own (any more).")
    return _with(overlay, "tell", [entry for at, entry in enumerate(known) if at != int(place)])


def _with(overlay: Json, field: str, value: Json | list[Json]) -> Json:
    """With a field that is there only while the practice has changed something in it."""
    others = {name: known for name, known in overlay.items() if name != field}
    return others | {field: value} if value else others


def with_row(overlay: Json, row: Json) -> Json:
    """With an own row more, in the catalogue's unit; its id is made from the count of changes, so that none is
    used twice. Raises Refused when the row is nonsense."""
    try:
        whole = own_row(row | {"id": f"own{overlay['change'] + 1}"}, Catalogue(rules.tables()["catalogue"]))
    except CoreError as error:
        raise Refused(sentence(error.message)) from error
    return overlay | {"rows": [*overlay["rows"], whole]}


def without_row(overlay: Json, name: str) -> Json:
    """Without one of the own rows. Raises Refused when there is none of that id."""
    left = [row for row in overlay["rows"] if row["id"] != name]
    if len(left) == len(overlay["rows"]):
        raise Refused("this row is not one of the practice's own (any more).")
    return overlay | {"rows": left, "rows_off": [one for one in overlay["rows_off"] if one != name]}


def record(db: Database, overlay: Json, author: str, seen: str) -> str:
    """Keep the changed overlay as the desk's entry and renew what is judged by it; returns the new version.

    `seen` = id of the change that the page showed as the last ("" before the first). Raises Meanwhile when that
    is no longer the last, Refused when the rules cannot use the overlay or nothing is changed by it.
    """
    with write(db):
        last = overlays.newest(db)
        if (last.id if last else "") != seen:
            raise Meanwhile("the limits were changed since this page was opened: look at them as they are now.")
        before = now(last)
        if overlay | {"change": 0} == before | {"change": 0}:
            raise Refused("it would all stay as it is.")
        made = overlay | {"change": before["change"] + 1}
        try:
            version = rules.limits_version(made)
        except rules.RulesError as error:
            raise Refused(sentence(str(error))) from error
        body = {"about": SLOT, "value": made}
        desk.record(db, [Act("set", body, author, desk.now(), after=(last.id,) if last else ())])
        renewing.renew(db)
        behind.note_unsigned(db)
    return version


def sentence(words: str) -> str:
    """The words with an end."""
    return words if words.endswith((".", "?")) else f"{words}."
