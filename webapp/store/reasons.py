"""Why someone should look at an exam: the reasons shown in the queue, gravest first.

A pure reading of what the rules said; nothing is judged here.
"""

from typing import Any

from webapp.store import asking

# Gravest first: the order of the queue.
KINDS = (
    "trouble",
    "late",
    "tell_someone",
    "question_open",
    "asked",
    "look_again",
    "contradiction",
    "fork",
    "not_seen",
    "outside",
    "changed",
    "add_on",
    "told",
    "unread",
)
URGENT = ("trouble", "late", "tell_someone")
NOT_SEEN = ("not_seen", "partly")
# Contradictions between the impression's words and the records.
OF_THE_IMPRESSION = ("side_differs", "lost_no")


def of(exam: dict[str, Any], judgement: dict[str, Any]) -> list[dict[str, Any]]:
    """The exam's reasons, `[{"kind", "count", "about": [...]}]`, only those that hold."""
    question = exam["question"]
    asked = bool(question.get("text") or question.get("structures"))
    abouts: dict[str, list[str]] = {
        "late": list(exam["late"]),
        "tell_someone": [flag["about"] for flag in untold(exam, judgement)],
        "question_open": ["question"] if asked and not question.get("answered") else [],
        "asked": [row["about"] for row in asking.open_questions(exam)],
        "look_again": [flag["about"] for flag in unacknowledged(exam, judgement)],
        "contradiction": [row["about"] for row in unexplained(exam, judgement)],
        "fork": [fork["slot"] for fork in exam["forks"]],
        "not_seen": list(dict.fromkeys(row["structure"] for row in exam["states"] if row["seen"] in NOT_SEEN)),
        "outside": _about(judgement["flags"], "outside"),
        "changed": [flag["about"] for flag in judgement["flags"] if flag["kind"] == "changed"],
        "add_on": _added(exam),
        "told": _told_of(exam, judgement),
        "unread": [entry["id"] for entry in exam["unread"]],
    }
    return [{"kind": kind, "count": len(abouts[kind]), "about": abouts[kind]} for kind in KINDS if abouts.get(kind)]


def gravity(found: list[dict[str, Any]]) -> int:
    """Where an exam stands within its state: 0 urgent, 1 with a reason, 2 with none."""
    kinds = {reason["kind"] for reason in found}
    return 0 if kinds & set(URGENT) else 1 if kinds else 2


def to_tell(judgement: dict[str, Any]) -> list[dict[str, Any]]:
    """What someone is to be told in person."""
    return [flag for flag in judgement["flags"] if flag["grade"] == "tell_someone"]


def untold(exam: dict[str, Any], judgement: dict[str, Any]) -> list[dict[str, Any]]:
    """What of it nobody was told yet: a hand-over holds for the records it named, one that comes later asks again."""
    handed = [set(row["of"]) for row in exam.get("told", []) if row["about"] == "urgent" and not row["struck"]]
    return [
        flag
        for flag in to_tell(judgement)
        if not any(set(records_behind(flag, exam)) <= records for records in handed)
    ]


def _added(exam: dict[str, Any]) -> list[str]:
    """Where a procedure was done with the exam, or was to be done and was not; what was seen afterwards is none."""
    rows = [row for row in exam.get("procedures", []) if not row["struck"] and row.get("watched") is None]
    return [row["about"] for row in rows]


def _told_of(exam: dict[str, Any], judgement: dict[str, Any]) -> list[str]:
    left = untold(exam, judgement)
    return [flag["about"] for flag in to_tell(judgement) if flag not in left]


def unacknowledged(exam: dict[str, Any], judgement: dict[str, Any]) -> list[dict[str, Any]]:
    """The look-again flags nobody has answered with a reason yet; these stand before a signature."""
    return [flag for flag in judgement["flags"] if flag["grade"] == "look_again" and not acknowledged(flag, exam)]


def unexplained(exam: dict[str, Any], judgement: dict[str, Any]) -> list[dict[str, Any]]:
    """Records that do not fit together and that nobody has given a reason for."""
    return [row for row in judgement.get("contradictions", []) if not acknowledged(row, exam)]


def to_answer(exam: dict[str, Any], judgement: dict[str, Any]) -> list[dict[str, Any]]:
    """All that asks for a reason before a signature: flags to look at again, then contradictions."""
    return unacknowledged(exam, judgement) + unexplained(exam, judgement)


def answerable(exam: dict[str, Any], judgement: dict[str, Any]) -> list[dict[str, Any]]:
    """All that can be left so with a reason and has none that stands: what asks for one first, then other flags."""
    others = [flag for flag in judgement["flags"] if flag["grade"] != "look_again" and not acknowledged(flag, exam)]
    return to_answer(exam, judgement) + others


def records_behind(row: dict[str, Any], exam: dict[str, Any]) -> list[str]:
    """Ids of the standing records that a flag or a contradiction speaks of."""
    about = row["about"]
    readings = [one for one in exam["readings"] if not one["struck"]]
    exact = [one["id"] for one in readings if one["quantity"] == about]
    if exact:
        return exact
    ids = [one["id"] for one in readings if one["quantity"].startswith(f"{about}.")]
    ids += [one["id"] for one in exam["states"] if about in (one["structure"], one["about"])]
    ids += [one["id"] for one in exam["findings"] if one["structure"] == about and not one["struck"]]
    if row["kind"] in OF_THE_IMPRESSION and "impression" in exam["field_heads"]:
        ids.append(exam["field_heads"]["impression"])
    return ids


def acknowledged(flag: dict[str, Any], exam: dict[str, Any]) -> bool:
    """Whether a reason was given that still holds: for the records it named; one that comes later asks again."""
    return any(answers(row, flag) and still_holds(row, flag, exam) for row in exam["acknowledged"])


def answers(row: dict[str, Any], flag: dict[str, Any]) -> bool:
    """Whether an acknowledgement speaks of this flag."""
    return row["about"] == flag["about"] and row["flag"] == flag["kind"] and not row["struck"]


def still_holds(row: dict[str, Any], flag: dict[str, Any], exam: dict[str, Any]) -> bool:
    """Whether the acknowledgement named every record that the flag speaks of now."""
    return set(records_behind(flag, exam)) <= set(row["of"])


def _about(flags: list[dict[str, Any]], grade: str) -> list[str]:
    return [flag["about"] for flag in flags if flag["grade"] == grade]
