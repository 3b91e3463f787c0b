"""Why someone should look at an exam: the reasons shown in the queue, gravest first.

A pure reading of what the rules said; nothing is judged here.
"""

from typing import Any

# Gravest first: the order of the queue.
KINDS = (
    "trouble",
    "late",
    "tell_someone",
    "question_open",
    "look_again",
    "fork",
    "not_seen",
    "outside",
    "changed",
    "unread",
)
NOT_SEEN = ("not_seen", "partly")


def of(exam: dict[str, Any], judgement: dict[str, Any]) -> list[dict[str, Any]]:
    """The exam's reasons, `[{"kind", "count", "about": [...]}]`, only those that hold."""
    question = exam["question"]
    asked = bool(question.get("text") or question.get("structures"))
    flags = [flag for flag in judgement["flags"] if not _acknowledged(flag, exam)]
    abouts: dict[str, list[str]] = {
        "late": list(exam["late"]),
        "tell_someone": _about(judgement["flags"], "tell_someone"),
        "question_open": ["question"] if asked and not question.get("answered") else [],
        "look_again": _about(flags, "look_again"),
        "fork": [fork["slot"] for fork in exam["forks"]],
        "not_seen": list(dict.fromkeys(row["structure"] for row in exam["states"] if row["seen"] in NOT_SEEN)),
        "outside": _about(judgement["flags"], "outside"),
        "changed": [flag["about"] for flag in judgement["flags"] if flag["kind"] == "changed"],
        "unread": [entry["id"] for entry in exam["unread"]],
    }
    return [{"kind": kind, "count": len(abouts[kind]), "about": abouts[kind]} for kind in KINDS if abouts.get(kind)]


def unacknowledged(exam: dict[str, Any], judgement: dict[str, Any]) -> list[dict[str, Any]]:
    """The look-again flags nobody has answered with a reason yet; these stand before a signature."""
    return [flag for flag in judgement["flags"] if flag["grade"] == "look_again" and not _acknowledged(flag, exam)]


def readings_behind(flag: dict[str, Any], exam: dict[str, Any]) -> list[str]:
    """Ids of the standing readings that the flag speaks of."""
    return [
        reading["id"] for reading in exam["readings"] if reading["quantity"] == flag["about"] and not reading["struck"]
    ]


def _acknowledged(flag: dict[str, Any], exam: dict[str, Any]) -> bool:
    """A reason given holds for the readings it named: a reading taken later asks again."""
    behind = set(readings_behind(flag, exam))
    return any(
        row["about"] == flag["about"] and row["flag"] == flag["kind"] and not row["struck"] and behind <= set(row["of"])
        for row in exam["acknowledged"]
    )


def _about(flags: list[dict[str, Any]], grade: str) -> list[str]:
    return [flag["about"] for flag in flags if flag["grade"] == grade]
