"""One exam as the desk shows it: a plain reading of the exam and its judgement, nothing judged here."""

from collections.abc import Callable
from typing import Any

from webapp.core import sentences
from webapp.review import measured, words
from webapp.store import reasons

Json = dict[str, Any]

GRADES = ("tell_someone", "look_again", "outside", "note")
DESK_FIELDS = ("impression", "recommendations")


def content(exam: Json, judgement: Json) -> Json:
    """What the exam page prints, in its order: question, flags, not seen, open, readings, structures, rest."""
    return {
        "name": exam["patient"].get("name") or "Animal without a name",
        "animal": _animal(exam),
        "date": words.day(exam["date"]),
        "by": words.who(exam) if exam["author"] else "not recorded",
        "started": words.moment(exam["started_at"]),
        "closed": words.moment(exam["closed_at"]) if exam["closed"] else None,
        "context": [
            (words.label(f"context.{key}"), words.value(value))
            for key, value in exam["context"].items()
            if value not in (None, [], "")
        ],
        "question": _question(exam),
        "flags": _flags(exam, judgement),
        "contradictions": _contradictions(exam, judgement),
        "to_answer": _to_answer(exam, judgement),
        "not_seen": _not_seen(exam),
        "open": [_open(row) for row in judgement["open"]],
        "assumed": [row if isinstance(row, str) else row.get("text") for row in judgement["assumed"]],
        "compared": any(value["earlier"] for value in judgement["values"]),
        "groups": measured.groups(exam, judgement),
        "structures": _structures(exam),
        "exam_notes": [_note(row) for row in exam["notes"] if row["about"] == "exam"],
        "forks": [_fork(row) for row in exam["forks"]],
        "unread": exam["unread"],
        "impression": exam["fields"].get("impression") or "",
        "recommendations": exam["fields"].get("recommendations") or [],
        "limits_version": judgement["limits_version"],
    }


def _animal(exam: Json) -> str:
    line = words.animal(exam["patient"])
    if any(fork["slot"] == "patient.weight_kg" for fork in exam["forks"]):
        return line.replace("weight unknown", "weight recorded differently by two people")
    return line


def _question(exam: Json) -> Json:
    question = exam["question"]
    return {
        "text": question.get("text"),
        "structures": [words.label(name) for name in question.get("structures") or []],
        "answered": question.get("answered"),
        "asked": bool(question.get("text") or question.get("structures")),
    }


def _flags(exam: Json, judgement: Json) -> list[Json]:
    """All flags, gravest first, each with the reason someone gave for leaving it so."""
    return [
        measured.line(flag) | _named(flag) | {"answers": _answers(flag, exam)}
        for grade in GRADES
        for flag in judgement["flags"]
        if flag["grade"] == grade
    ]


def _named(flag: Json) -> Json:
    """What a flag is about, and its text without that name where the text begins with it."""
    label = words.label(flag["about"])
    return {"label": label, "text": str(flag["text"]).removeprefix(f"{label}: ")}


def _contradictions(exam: Json, judgement: Json) -> list[Json]:
    """Records that do not fit together, each with the reason someone gave for leaving it so."""
    mark = words.MARKS["contradiction"]
    return [
        {"mark": mark, "text": row["text"], "answers": _answers(row, exam)}
        for row in judgement.get("contradictions", [])
    ]


def _answers(flag: Json, exam: Json) -> list[Json]:
    return [
        {"reason": row["reason"], "who": words.who(row), "at": words.moment(row["at"])}
        for row in exam["acknowledged"]
        if row["about"] == flag["about"] and row["flag"] == flag["kind"] and not row["struck"]
    ]


def _to_answer(exam: Json, judgement: Json) -> list[Json]:
    """What the vet is asked a reason for, once for each thing and kind."""
    asked: dict[str, Json] = {}
    for row in reasons.to_answer(exam, judgement):
        grade = row.get("grade") or "contradiction"
        named = {"label": "", "text": row["text"]} if grade == "contradiction" else _named(row)
        text = f"{named['label']}: {named['text']}" if named["label"] else named["text"]
        key = f"{row['about']}|{row['kind']}"
        known = asked.setdefault(key, {"key": key, "mark": words.MARKS[grade], "texts": []})
        known["texts"].append(text)
    return list(asked.values())


def _open(row: Json) -> Json:
    untried = [window["label"] for window in row.get("windows") or [] if not window["tried"]]
    return {"text": row["text"], "untried": ", ".join(untried)}


def _not_seen(exam: Json) -> list[Json]:
    """One line per structure that was not seen in full: itself, then its parts, those alike together."""
    lines: dict[str, Json] = {}
    for state in exam["states"]:
        if state["seen"] not in ("not_seen", "partly", "not_examined"):
            continue
        name = state["structure"]
        row = lines.setdefault(
            name,
            {
                "label": words.label(name),
                "whole": None,
                "parts": {},
                "who": state["author"],
                "at": words.moment(state["at"]),
            },
        )
        why = ", ".join(words.reason(one) for one in state["why"])
        said = sentences.SEEN[state["seen"]] + (f" ({why})" if why else "")
        if state["part"]:
            row["parts"].setdefault(said, []).append(words.part_label(name, state["part"]))
        else:
            row["whole"] = said
    for row in lines.values():
        parts = [f"{', '.join(names)} {said}" for said, names in row["parts"].items()]
        row["text"] = "; ".join(([row["whole"]] if row["whole"] else []) + parts)
    return [lines[name] for name in words.structures() if name in lines]


def _structures(exam: Json) -> list[Json]:
    """Every structure something was recorded of: how it was seen, findings, descriptors, notes."""
    asked = exam["question"].get("structures") or []
    rows = []
    for name in words.structures():
        row = {
            "label": words.label(name),
            "asked": name in asked,
            "states": [_state(state) for state in exam["states"] if state["structure"] == name],
            "findings": [finding(found) for found in exam["findings"] if found["structure"] == name],
            "fields": [
                (words.plain(about[len(name) + 1 :]), words.value(value))
                for about, value in exam["fields"].items()
                if about.startswith(f"{name}.") and about not in DESK_FIELDS and _closest(about) == name
            ],
            "notes": [_note(note) for note in exam["notes"] if _closest(note["about"]) == name],
        }
        if row["states"] or row["findings"] or row["fields"] or row["notes"]:
            rows.append(row)
    return sorted(rows, key=lambda row: not row["asked"])


def _closest(about: object) -> str:
    """The structure an id belongs to: its longest beginning that is one."""
    name = str(about)
    while name and name not in words.structures():
        name = name.rpartition(".")[0]
    return name


def _state(state: Json) -> Json:
    part = words.part_label(state["structure"], state["part"]) if state["part"] else None
    return {
        "part": part,
        "seen": sentences.SEEN.get(state["seen"], words.plain(state["seen"])),
        "normal": state["normal"],
        "why": ", ".join(words.reason(why) for why in state["why"]),
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
    return {
        "text": ", ".join(pieces),
        "struck": found["struck"],
        "why_struck": found["why_struck"],
        "who": words.who(found),
        "at": words.moment(found["at"]),
    }


def _note(note: Json) -> Json:
    return {
        "text": note["text"],
        "struck": note["struck"],
        "why_struck": note["why_struck"],
        "who": words.who(note),
        "at": words.moment(note["at"]),
    }


def _fork(fork: Json) -> Json:
    return {
        "slot": fork["slot"],
        "label": words.label(fork["slot"]),
        "values": [
            {
                "id": row["id"],
                "text": _fork_words(fork["slot"], row["value"]),
                "who": row["author"],
                "at": words.moment(row["at"]),
            }
            for row in fork["values"]
        ],
    }


def _fork_words(slot: str, value: Any) -> str:
    if slot.startswith("seen:") and isinstance(value, list) and len(value) == 3:
        seen, why, normal = value
        reason = f" ({', '.join(words.reason(one) for one in why)})" if why else ""
        return f"{sentences.SEEN.get(seen, seen)}{', recorded normal' if normal else ''}{reason}"
    return words.value(value)


def entry_line(entry: Json) -> Json:
    """A late or unread entry in one line, whatever it is."""
    body = entry["body"] or {}
    about = words.label(body.get("about", "exam"))
    said: dict[str, Callable[[], str]] = {
        "read": lambda: f"reading of {about}: {words.amount(body.get('value'), body.get('unit'))}",
        "seen": lambda: f"{about}: {sentences.SEEN.get(str(body.get('seen')), body.get('seen'))}",
        "set": lambda: f"{about}: {words.value(body.get('value'))}",
        "found": lambda: f"finding in {about}: {words.value(body.get('finding'))}",
        "noted": lambda: f"note on {about}: {body.get('text')}",
        "struck": lambda: f"struck something on {about}: {words.value(body.get('why'))}",
        "acknowledged": lambda: f"answer to a flag on {about}: {body.get('reason')}",
        "opened": lambda: "the exam was opened",
        "closed": lambda: "the exam was closed at the table",
    }
    text = said[entry["kind"]]() if entry["kind"] in said else f"an entry of the kind {entry['kind']!r}"
    return {"text": text, "who": words.who(entry), "at": words.moment(entry["at"]), "id": entry["id"]}


def moved(exam: Json) -> list[Json]:
    """The exam's moves from one animal to another, taken back ones too: both names stay."""
    return [
        {"gone": row["from"]["name"] or "an animal without a name", "kept": row["to"]["name"] or "one without a name"}
        | {"why": row["why"] or "no reason given", "struck": row["struck"]}
        | {"who": row["author"], "at": words.moment(row["at"])}
        for row in exam["moved"]
    ]


def addenda(exam: dict[str, Any]) -> list[dict[str, Any]]:
    """What was added after a signature: status, reason and words, with who and when, in the order of their making."""
    return [
        {"status": row["status"], "reason": row["reason"], "text": row["text"]}
        | {"who": words.who(row), "at": words.moment(row["at"])}
        for row in exam["amended"]
        if not row["struck"]
    ]
