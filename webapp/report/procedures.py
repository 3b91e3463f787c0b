"""Needle procedures done with an exam, in words: for the report and for the desk."""

from collections.abc import Callable, Iterable
from typing import Any, NamedTuple

from . import wording
from .case import Case

Json = dict[str, Any]


def procedures_of(
    exam: Json, table: Json, label: Callable[[object], str], moment: Callable[[object], str] = wording.moment
) -> list[Json]:
    """The procedures that stand, in the order of recording: [{"id", "title", "done", "lines", "watch", "checks"}].

    `exam` is the rules' exam (one from before there were procedures has none), `table` their list
    (`rules.procedures()`), `label` gives the words for a structure or part, `moment` for a moment. `lines` and
    `watch` are texts ready to print: consent, what was checked, attempts, what came of it, then what was seen
    afterwards; `checks` what is asked before and was not answered, for a page that reminds of it.
    """
    rows = [row for row in exam.get("procedures") or [] if not row.get("struck")]
    watched: dict[str, list[Json]] = {}
    for row in rows:
        if row.get("watched") is not None:
            for name in row["of"]:
                watched.setdefault(name, []).append(row)
    says = _Words(table, label, moment)
    return [_procedure(row, watched.get(row["id"], []), says) for row in rows if row.get("watched") is None]


class _Words(NamedTuple):
    table: Json
    label: Callable[[object], str]
    moment: Callable[[object], str]


def _procedure(row: Json, watched: list[Json], says: _Words) -> Json:
    table = says.table
    number = f" #{row['number']}" if row.get("number") else ""
    what = _named(table["procedures"], row["procedure"]).partition(", see the words")[0]  # the words stand below
    title = f"{what}, {says.label(row['about'])}{number}"
    lines = [_done(row, says), _consent(row, says), _checked(row, table), _came_of_it(row)]
    return {
        "id": row["id"],
        "title": wording.capital(title),
        "done": bool(row.get("done")),
        "lines": [line for line in lines if line],
        "watch": [_seen_afterwards(one, says) for one in watched],
        "checks": _open(row, table),
    }


def _seen_afterwards(row: Json, says: _Words) -> str:
    return f"{says.moment(row.get('when')) or 'time not recorded'}: {wording.sentence(row['watched'])}"


def _done(row: Json, says: _Words) -> str:
    when = says.moment(row.get("when"))
    if not row.get("done"):
        return wording.sentence(f"Not done, because: {row.get('why_not') or 'no reason recorded'}")
    tries = wording.count(row["attempts"], "attempt", "attempts") if row.get("attempts") else "attempts not recorded"
    return wording.sentence(f"Done{' ' + when if when else ''}, {tries}")


def _consent(row: Json, says: _Words) -> str:
    consent = row.get("consent") or {}
    if not any(consent.values()):
        return "" if not row.get("done") else "Consent: not recorded."
    said = [consent.get("by") or "", consent.get("how") or "", says.moment(consent.get("when"))]
    return wording.sentence(f"Consent: {', '.join(one for one in said if one)}")


def _checked(row: Json, table: Json) -> str:
    answers = [(_named(table["checks"], one["id"]), one) for one in row.get("checks") or []]
    said = [f"{name}: {one['answer']}{' (' + one['text'] + ')' if one.get('text') else ''}" for name, one in answers]
    return wording.sentence(f"Before: {'; '.join(said)}") if said else ""


def _came_of_it(row: Json) -> str:
    said = [("Got", row.get("got")), ("", row.get("text"))]
    return " ".join(wording.sentence(f"{name}: {text}" if name else str(text)) for name, text in said if text)


def _open(row: Json, table: Json) -> list[str]:
    answers = {one["id"]: one["answer"] for one in row.get("checks") or []}
    if not row.get("done"):
        return []
    return [str(one["label"]) for one in table["checks"] if one["id"] not in answers]


def _named(rows: Iterable[Json], name: object) -> str:
    return next((str(row["label"]) for row in rows if row["id"] == name), str(name).replace("_", " "))


def blocks(case: Case) -> list[Json]:
    """For the report: each procedure with what was seen afterwards; nothing where none was recorded."""
    from webapp import rules  # the table comes from a file; it is read where there is something to name

    if not case.live("procedures"):
        return []
    return [
        {"kind": "fact", "label": f"{one['title']}", "text": " ".join([*one["lines"], *_afterwards(one)])}
        for one in procedures_of(case.exam, rules.procedures(), case.label)
    ]


def _afterwards(one: Json) -> list[str]:
    return [f"Afterwards, {line}" for line in one["watch"]]
