"""The tables of the page as rows of a file: the same figures, one thing a cell."""

from collections.abc import Callable, Sequence
from typing import Any

Json = dict[str, Any]
Rows = Callable[[Json], list[Json]]


def _not_seen(made: Json) -> list[Json]:
    """One row for each structure and reason; a structure's own counts stand in its every row."""
    rows = []
    for one in made["not_seen"]:
        reasons = [*one["reasons"], *([("no reason recorded", one["without"])] if one["without"] else [])]
        for reason, count in reasons or [("", "")]:
            said = {"structure": one["label"], "id": one["structure"], "reason": reason, "with_reason": count}
            rows.append(one | said)
    return rows


def _spread(made: Json) -> list[Json]:
    return [
        {"quantity": row["label"], "person": line["who"], "sd": line["sd"], "degrees_of_freedom": line["df"],
         "groups": line["groups"], "repeatability": line["repeatability"], "enough": line["enough"]}
        for row in made["spread"]["rows"]
        for line in row["lines"]
    ]  # fmt: skip


def _minutes(made: Json) -> list[Json]:
    return [{"minutes": words, "exams": count} for words, count in made["minutes"]["classes"]]


def _flags(made: Json) -> list[Json]:
    rows = []
    for one in made["flags"]:
        for reason, count in one["reasons"] or [("", "")]:
            rows.append(one | one["label"] | {"limit_id": one["limit"], "reason": reason, "with_reason": count})
    return rows


def _versions(made: Json) -> list[Json]:
    return [dict(row) for row in made["versions"]["rows"]]


def _rechecks(made: Json) -> list[Json]:
    return [dict(row) for row in made["rechecks"]["rows"]]


TABLES: dict[str, tuple[Sequence[str], Rows]] = {
    "not_seen": (
        ("structure", "id", "exams", "not_seen", "partly", "not_examined", "missed", "share", "reason", "with_reason"),
        _not_seen,
    ),
    "spread": (("quantity", "person", "sd", "degrees_of_freedom", "groups", "repeatability", "enough"), _spread),
    "minutes": (("minutes", "exams"), _minutes),
    "flags": (
        ("what", "limit", "limit_id", "source", "raised", "exams", "left", "share", "reason", "with_reason"),
        _flags,
    ),
    "versions": (("name", "exam", "date", "status", "at", "reason"), _versions),
    "rechecks": (("name", "exam", "due", "text", "part", "who", "how"), _rechecks),
}
