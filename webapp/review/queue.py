"""The queue: all exams with the reasons to look at them, page by page, filtered and searched."""

import json
from typing import Any, NamedTuple

from sqlite_utils import Database

from webapp.core import typed
from webapp.review import hits, words
from webapp.review.asked import Asked
from webapp.store import exams, search

GROUPS = {
    exams.NOT_READ: "Could not be read by the rules",
    exams.SIGNED_LATER: "Signed, and something arrived later",
    exams.TO_REVIEW: "To review",
    exams.OPEN: "Open at the table",
    exams.SIGNED: "Signed",
}
# What waits for somebody at the desk.
WAITING = (exams.NOT_READ, exams.SIGNED_LATER, exams.TO_REVIEW)
WRITTEN = "Written in a name, question, finding, note or impression"
RECORDED = "Recorded only: seen or measured, nothing written of it"
A_PAGE = 50

_COLUMNS = (
    "exams.exam, exams.patient, exams.date, exams.started_at, exams.animal, exams.question, exams.state, "
    "exams.reasons, exams.entries, exams.trouble, exams.people, exams.drafted, issued.version, issued.status, "
    "exists (select 1 from preliminary_reports where exam = exams.exam) as preliminary"
)
_ISSUED = (
    "left join reports as issued on issued.exam = exams.exam "
    "and issued.version = (select max(version) from reports where exam = exams.exam)"
)
_GRAVEST = "order by exams.gravity, exams.date desc, exams.started_at desc, exams.exam desc"
_NEWEST = "order by exams.date desc, exams.started_at desc, exams.exam desc"
_FOUND = (
    "exams.exam in (select exam from exam_words where id in (select rowid from exam_search where exam_search match ?))"
)


class Group(NamedTuple):
    """A part of the list on this page: its title, how many exams it has on all pages, and the rows here."""

    title: str
    many: int
    rows: list[dict[str, Any]]


class Shown(NamedTuple):
    """One page of the list. `first` and `last` count from 1; `states` = [(state, title, how many)] without the
    filter of the state; `singly` = how many exams hold each word alone, where all together gave none."""

    groups: list[Group]
    total: int
    first: int
    last: int
    page: int
    pages: int
    states: list[tuple[str, str, int]]
    singly: list[tuple[str, int]]
    anywhere: bool


def page(db: Database, asked: Asked) -> Shown:
    """The page that was asked for, or the last one where there are not so many."""
    rest = _where(asked._replace(state=""))
    counted = dict(db.execute(f"select state, count(*) from exams where {rest.text} group by state", rest.values))
    states = [(state, title, counted[state]) for state, title in _known(counted).items() if counted.get(state)]
    query = asked.query
    parts = _by_place(db, asked, query) if query else _by_state(states, asked)
    total = sum(part.many for part in parts)
    pages = max(1, -(-total // A_PAGE))
    here = min(asked.page, pages)
    groups = _slice(db, parts, (here - 1) * A_PAGE, query)
    shown = sum(len(group.rows) for group in groups)
    singly = _singly(db, asked) if not total else []
    first = (here - 1) * A_PAGE + 1 if shown else 0
    anywhere = total > 0 or db.execute("select 1 from exams limit 1").fetchone() is not None
    return Shown(groups, total, first, first + shown - 1 if shown else 0, here, pages, states, singly, anywhere)


def following(db: Database, after: str) -> str | None:
    """The exam that waits after this one, in the order of the queue; from its beginning again after the last one.
    None where no other exam waits."""
    ids: list[str] = []
    for state in WAITING:
        ids += [row[0] for row in db.execute(f"select exam from exams where state = ? {_GRAVEST}", [state])]
    place = ids.index(after) + 1 if after in ids else 0
    return next((one for one in ids[place:] + ids[:place] if one != after), None)


class _Where(NamedTuple):
    """A condition in SQL with its values."""

    text: str
    values: list[Any]

    def also(self, text: str, *values: Any) -> "_Where":
        return _Where(f"{self.text} and {text}", [*self.values, *values])


class _Part(NamedTuple):
    """A group before its rows are read: which exams, in which order, how many."""

    title: str
    where: _Where
    order: str
    many: int


def _where(asked: Asked) -> _Where:
    made = _Where("1", [])
    if asked.state:
        made = made.also("exams.state = ?", asked.state)
    if asked.reason:
        made = made.also("instr(exams.reasons, ?) > 0", f'"kind": "{asked.reason}"')
    if asked.species:
        made = made.also("exams.species = ?", asked.species)
    if asked.person:
        made = made.also("instr(exams.people, ?) > 0", json.dumps(asked.person))
    if asked.since:
        made = made.also("exams.date >= ?", asked.since)
    if asked.until:
        made = made.also("exams.date <= ?", asked.until)
    if asked.q:
        made = made.also(_FOUND, asked.query.expression()) if asked.query else made.also("0")
    return made


def _known(counted: dict[str, int]) -> dict[str, str]:
    """The states in order with their titles; one that this list does not know comes last under its own name."""
    return GROUPS | {state: state.capitalize() for state in counted if state not in GROUPS}


def _by_state(states: list[tuple[str, str, int]], asked: Asked) -> list[_Part]:
    """The queue itself: state by state, within each the urgent ones, those with a reason, the rest, newest first."""
    rest = _where(asked._replace(state=""))
    return [
        _Part(title, rest.also("exams.state = ?", state), _GRAVEST, count)
        for state, title, count in states
        if asked.state in ("", state)
    ]


def _by_place(db: Database, asked: Asked, query: search.Query) -> list[_Part]:
    """What a search found: first where somebody wrote the words, then where a structure was only seen or measured;
    newest first."""
    everything = _where(asked)
    in_writing = query.expression(search.WRITTEN)
    written, only = everything.also(_FOUND, in_writing), everything.also(f"not {_FOUND}", in_writing)
    parts = []
    for title, where in ((WRITTEN, written), (RECORDED, only)):
        count = db.execute(f"select count(*) from exams where {where.text}", where.values).fetchone()[0]
        if count:
            parts.append(_Part(title, where, _NEWEST, count))
    return parts


def _slice(db: Database, parts: list[_Part], skip: int, query: search.Query | None) -> list[Group]:
    """The rows of one page, a page's length from `skip` on, in their groups."""
    groups, room = [], A_PAGE
    for part in parts:
        if skip < part.many and room:
            sql = f"select {_COLUMNS} from exams {_ISSUED} where {part.where.text} {part.order} limit ? offset ?"
            found = list(db.query(sql, [*part.where.values, room, skip]))
            told = hits.of(db, query, found) if query else {}
            groups.append(Group(part.title, part.many, [_row(row, told.get(row["exam"])) for row in found]))
            room -= len(found)
        skip = max(0, skip - part.many)
    return groups


def _singly(db: Database, asked: Asked) -> list[tuple[str, int]]:
    """How many exams hold each word by itself, whatever the filters: it says which one is in the way."""
    query = asked.query
    if query is None:
        return []
    counted = []
    for place, phrase in enumerate(query.phrases):
        sql = "select count(*) from exam_search where exam_search match ?"
        many = db.execute(sql, [query.alone(place).expression()]).fetchone()[0]
        counted.append((" ".join(phrase), int(many)))
    return counted


def _row(row: dict[str, Any], told: hits.Told | None) -> dict[str, Any]:
    animal = json.loads(row["animal"])
    facts = [
        animal.get("species"),
        animal.get("breed"),
        f"{typed.kilograms(animal['weight_kg'])} kg" if animal.get("weight_kg") else None,
    ]
    return {
        "exam": row["exam"],
        "name": animal.get("name") or "Animal without a name",
        "facts": " · ".join(str(fact) for fact in facts if fact),
        "date": words.day(row["date"]),
        "time": str(row["started_at"] or "")[11:16],
        "people": ", ".join(json.loads(row["people"])),
        "question": row["question"],
        "state": row["state"],
        "waits": row["state"] in WAITING,
        "reasons": [reason_words(reason) for reason in json.loads(row["reasons"])],
        "entries": row["entries"],
        "trouble": row["trouble"],
        "drafted": bool(row["drafted"]) and not row["version"],
        "preliminary": bool(row["preliminary"]) and not row["version"],
        "signed": f"version {row['version']}, {row['status']}" if row["version"] else None,
        "hits": told,
    }


def reason_words(reason: dict[str, Any]) -> dict[str, Any]:
    """A reason as it is shown: mark, words, how many, and the first places."""
    grade, text = words.REASONS[reason["kind"]]
    shown = [words.label(about) for about in reason["about"][:3]] if reason["kind"] not in ("late", "unread") else []
    more = f" and {len(reason['about']) - 3} more" if len(reason["about"]) > 3 and shown else ""
    return {
        "mark": words.MARKS[grade],
        "text": text,
        "count": reason["count"],
        "where": ", ".join(shown) + more,
    }
