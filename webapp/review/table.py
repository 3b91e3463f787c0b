"""The exam as one table by structure: how it was seen, what was found and read, and what it was last time."""

from typing import Any

from webapp.core import sentences
from webapp.review import measured, words

Json = dict[str, Any]

DESK_FIELDS = ("impression", "recommendations")


def made(exam: Json, judgement: Json, course: dict[str, Json], attached: list[Json]) -> list[Json]:
    """One row per structure that anything was recorded of, those asked about first:
    `[{id, label, asked, states, findings, fields, notes, photos, rows}]`; `rows` = its quantities (measured.groups).
    """
    asked = exam["question"].get("structures") or []
    measures = {group["id"]: group for group in measured.groups(exam, judgement, course)}
    names = list(words.structures())
    names += [name for name in measures if name not in words.structures()]
    rows = []
    for name in names:
        row = recorded(name, exam, asked)
        row["rows"] = measures[name]["rows"] if name in measures else []
        row["photos"] = [one for one in attached if closest(one["about"]) == name]
        if any(row[kind] for kind in ("states", "findings", "fields", "notes", "photos", "rows")):
            rows.append(row)
    return sorted(rows, key=lambda row: not row["asked"])


def recorded(name: str, exam: Json, asked: list[str]) -> Json:
    """What an exam has of a structure but its readings: states, findings, fields, notes."""
    return {
        "id": name,
        "label": words.label(name),
        "asked": name in asked,
        "states": [_state(state) for state in exam["states"] if state["structure"] == name],
        "findings": [finding(found) for found in exam["findings"] if found["structure"] == name],
        "fields": [
            (words.plain(about[len(name) + 1 :]), words.value(value))
            for about, value in exam["fields"].items()
            if about.startswith(f"{name}.") and about not in DESK_FIELDS and closest(about) == name
        ],
        "notes": [note(one) for one in exam["notes"] if closest(one["about"]) == name],
    }


def closest(about: object) -> str:
    """The structure an id belongs to: its longest beginning that is one."""
    name = str(about).partition("#")[0]
    while name and name not in words.structures():
        name = name.rpartition(".")[0]
    return name


def _state(state: Json) -> Json:
    return {
        "part": words.part_label(state["structure"], state["part"]) if state["part"] else None,
        "seen": sentences.SEEN.get(state["seen"], words.plain(state["seen"])),
        "normal": state["normal"],
        "why": ", ".join(words.reason(why) for why in state["why"]),
        "tried": [words.plain(one) for one in state.get("tried") or []],
        "who": state["author"],
        "at": words.moment(state["at"]),
    }


def finding(found: Json) -> Json:
    """A finding in words, as recorded."""
    pieces = [words.plain(found["finding"])]
    if found.get("part"):
        pieces.append(words.part_label(found["structure"], found["part"]))
    if found.get("dimensions"):
        pieces.append(words.amount(" × ".join(str(size) for size in found["dimensions"]), found.get("unit")))
    for name in ("shape", "outline", "echo", "site"):
        if found.get(name):
            pieces.append(f"{name}: {words.value(found[name])}")
    if found.get("number"):
        pieces.append(f"number {found['number']}")
    vessel = found.get("vessel") or {}
    if vessel.get("id"):
        pieces.append(f"{words.label(vessel['id'])}: {words.value(vessel.get('state'))}")
        if vessel.get("extent"):
            pieces.append(f"extent: {words.value(vessel['extent'])}")
    if found.get("text"):
        pieces.append(str(found["text"]))
    if found.get("image"):
        pieces.append(f"image {found['image']}")
    return {
        "text": ", ".join(pieces),
        "struck": found["struck"],
        "why_struck": found["why_struck"],
        "who": words.who(found),
        "at": words.moment(found["at"]),
    }


def note(row: Json) -> Json:
    """A note as it was written, with who and when."""
    return {
        "text": row["text"],
        "struck": row["struck"],
        "why_struck": row["why_struck"],
        "who": words.who(row),
        "at": words.moment(row["at"]),
    }
