"""One exam as the desk shows it: a plain reading of the exam and its judgement, nothing judged here."""

from collections.abc import Callable
from typing import Any

from webapp.core import sentences
from webapp.review import measured, settling, table, words
from webapp.store import reasons

Json = dict[str, Any]

GRADES = ("tell_someone", "look_again", "outside", "note")
SECOND_READ = "second_read.in_report"


def content(
    exam: Json, judgement: Json, course: dict[str, Json] | None = None, attached: list[Json] | None = None
) -> Json:
    """What the exam page prints, in its order: question, flags, not seen, open, the table by structure, rest.

    `course` = the quantities over the animal's exams (trends.of); `attached` = photos and clips (photos.clips).
    """
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
        "open": [_open(row) for row in judgement["open"] if row["kind"] != "not_recorded"],
        "not_recorded": _without_state(judgement, measured=False),
        "only_measured": _without_state(judgement, measured=True),
        "assumed": [row if isinstance(row, str) else row.get("text") for row in judgement["assumed"]],
        "compared": any(value["earlier"] for value in judgement["values"]),
        "measured": bool(judgement["values"] or exam["readings"]),
        "table": table.made(exam, judgement, course or {}, attached or []),
        "exam_notes": [table.note(row) for row in exam["notes"] if row["about"] == "exam"],
        "forks": [_fork(row) for row in exam["forks"]],
        "unread": exam["unread"],
        "impression": exam["fields"].get("impression") or "",
        "recommendations": [
            _recommendation(row, number) for number, row in enumerate(exam["fields"].get("recommendations") or [], 1)
        ],
        "second_read_in_report": exam["fields"].get(SECOND_READ) is True,
        "limits_version": judgement["limits_version"],
    }


def _without_state(judgement: Json, measured: bool) -> list[str]:
    """Whose look nobody recorded: those that were measured all the same, or those without any entry."""
    rows = [row for row in judgement["open"] if row["kind"] == "not_recorded"]
    return [words.label(row["about"]) for row in rows if bool(row.get("measured")) is measured]


def _recommendation(row: Json, number: int) -> Json:
    """A recommendation with its number, and in one line its part, plane, day and person, and how it ended."""
    part = words.label(row["part"]) if row.get("part") else ""
    facts = [part, words.plain(row["plane"]) if row.get("plane") else ""]
    facts += [f"by {words.day(row['due'])}" if row.get("due") else "no day given", str(row.get("who") or "")]
    ended = f"; {row['state']} in version {row.get('since')}: {row.get('why')}" if row.get("state") else ""
    shown = {"number": number, "state": row.get("state") or ""}
    return row | shown | {"facts": ", ".join(fact for fact in facts if fact) + ended}


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
    return {"label": label, "text": words.dated(flag["text"]).removeprefix(f"{label}: ")}


def _contradictions(exam: Json, judgement: Json) -> list[Json]:
    """Records that do not fit together, each with the reason someone gave for leaving it so."""
    mark = words.MARKS["contradiction"]
    return [
        {"mark": mark, "text": row["text"], "answers": _answers(row, exam)}
        for row in judgement.get("contradictions", [])
    ]


def _answers(flag: Json, exam: Json) -> list[Json]:
    """Why somebody left it so; `old`: a record that came later is not covered by the reason."""
    return [
        {"reason": row["reason"], "who": words.who(row), "at": words.moment(row["at"])}
        | {"old": not reasons.still_holds(row, flag, exam)}
        for row in exam["acknowledged"]
        if reasons.answers(row, flag)
    ]


def _to_answer(exam: Json, judgement: Json) -> list[Json]:
    """What the vet can leave so with a reason, once for each thing and kind; `needed`: before a signature."""
    asked: dict[str, Json] = {}
    needed = reasons.to_answer(exam, judgement)
    for row in reasons.answerable(exam, judgement):
        grade = row.get("grade") or "contradiction"
        named = {"label": "", "text": row["text"]} if grade == "contradiction" else _named(row)
        text = f"{named['label']}: {named['text']}" if named["label"] else named["text"]
        key = f"{row['about']}|{row['kind']}"
        known = asked.setdefault(key, {"key": key, "mark": words.MARKS[grade], "texts": [], "needed": False})
        known["texts"].append(text)
        known["needed"] |= any(row is one for one in needed)
    return list(asked.values())


def _open(row: Json) -> Json:
    untried = [window["label"] for window in row.get("windows") or [] if not window["tried"]]
    return {"text": words.dated(row["text"]), "untried": ", ".join(untried)}


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


def _fork(fork: Json) -> Json:
    return {
        "slot": fork["slot"],
        "label": words.label(fork["slot"]),
        "offer": settling.offer(fork["slot"]),
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
        "procedure": lambda: f"procedure at {about}: {words.plain(body.get('watched') or body.get('procedure'))}",
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
