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
    "contradiction",
    "fork",
    "not_seen",
    "outside",
    "changed",
    "unread",
)
NOT_SEEN = ("not_seen", "partly")
# Contradictions between the impression's words and the records.
OF_THE_IMPRESSION = ("side_differs", "lost_no")


def of(exam: dict[str, Any], judgement: dict[str, Any]) -> list[dict[str, Any]]:
    """The exam's reasons, `[{"kind", "count", "about": [...]}]`, only those that hold."""
    question = exam["question"]
    asked = bool(question.get("text") or question.get("structures"))
    abouts: dict[str, list[str]] = {
        "late": list(exam["late"]),
        "tell_someone": _about(judgement["flags"], "tell_someone"),
        "question_open": ["question"] if asked and not question.get("answered") else [],
        "look_again": [flag["about"] for flag in unacknowledged(exam, judgement)],
        "contradiction": [row["about"] for row in unexplained(exam, judgement)],
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


def unexplained(exam: dict[str, Any], judgement: dict[str, Any]) -> list[dict[str, Any]]:
    """Records that do not fit together and that nobody has given a reason for."""
    return [row for row in judgement.get("contradictions", []) if not _acknowledged(row, exam)]


def to_answer(exam: dict[str, Any], judgement: dict[str, Any]) -> list[dict[str, Any]]:
    """All that asks for a reason before a signature: flags to look at again, then contradictions."""
    return unacknowledged(exam, judgement) + unexplained(exam, judgement)


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


def _acknowledged(flag: dict[str, Any], exam: dict[str, Any]) -> bool:
    """A reason given holds for the records it named: one that comes later asks again."""
    behind = set(records_behind(flag, exam))
    return any(
        row["about"] == flag["about"] and row["flag"] == flag["kind"] and not row["struck"] and behind <= set(row["of"])
        for row in exam["acknowledged"]
    )


def _about(flags: list[dict[str, Any]], grade: str) -> list[str]:
    return [flag["about"] for flag in flags if flag["grade"] == grade]
