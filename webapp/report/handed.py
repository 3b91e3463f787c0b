"""What was done beside the exam, for the report: who was told an urgent finding, and a second reader's words."""

from webapp.core import second_reads

from . import wording
from .case import Case, Json


def told(case: Case) -> list[Json]:
    """Who was told an urgent finding from person to person, when, how, and whether it was read back."""
    return [
        {"kind": "fact", "label": "Told", "text": _line(row)}
        for row in case.live("told")
        if row.get("about") == "urgent"
    ]


def _line(row: Json) -> str:
    read_back = "" if row.get("read_back") is None else ", read back" if row["read_back"] else ", not read back"
    words = " ".join(wording.sentence(line) for line in str(row.get("text") or "").split("\n") if line)
    how = row.get("how") or "how not recorded"
    return f"{row['to']}, {how}, {wording.moment(row.get('when'))}{read_back}. {words}".strip()


def second_read(case: Case) -> list[Json]:
    """The second readers' words, structure by structure, where the person who signs put them in; never by itself."""
    if (case.exam.get("fields") or {}).get("second_read.in_report") is not True:
        return []
    reads = [row for row in second_reads.standing(case.exam) if row.get("text")]
    items = [
        {
            "text": f"{case.label(row['structure'])}, {case.person(row['author'])} {_STANCE[row['reads']]}: "
            f"{wording.sentence(row['text'])}",
            "strong": False,
        }
        for row in reads
    ]
    return [{"kind": "list", "label": "Second read", "items": items}] if items else []


_STANCE = {"agree": "agrees", "disagree": "disagrees", "not_read": "did not read it"}
