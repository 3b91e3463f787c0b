"""One day: every visit planned and every exam, by state, with what each waits for."""

import json
from collections.abc import Iterable
from datetime import datetime, timedelta
from typing import Any, NamedTuple

from sqlite_utils import Database

from webapp.core import typed
from webapp.review import words
from webapp.store import asking, exams, phones
from webapp.visits import plan

PLANNED = "planned"
NOT_CLOSED = "not closed"
ASKED = "back with the sonographer"
PRELIMINARY = "preliminary"
# Titles of the states: first what waits for somebody at the desk, then the day as it goes on.
LANES = {
    exams.NOT_READ: "Could not be read by the rules",
    NOT_CLOSED: "Arrived, not closed",
    exams.SIGNED_LATER: "Signed, and something arrived later",
    PRELIMINARY: "Preliminary report made, not signed",
    exams.TO_REVIEW: "To review",
    ASKED: "A question back with the sonographer",
    exams.OPEN: "At the table",
    PLANNED: "Planned",
    exams.SIGNED: "Signed",
}
# An exam without anything new for so long is hardly on the table any more: the board says so, and nothing else follows.
QUIET = timedelta(minutes=60)
# What a signature asks for, as the list of exams has it; as webapp/review/signing.py says it.
BLOCKS = {
    "look_again": "{} to look at again without a reason",
    "contradiction": "{} that do not fit together",
    "fork": "{} to settle between two versions",
}


class Card(NamedTuple):
    """A visit without an exam, or an exam. `blocks` = what it waits for, one line each; `exam` None before one began;
    `waits` = somebody at the desk can do something about it."""

    lane: str
    exam: str | None
    visit: str | None
    name: str
    facts: str
    time: str
    person: str
    question: str
    urgency: str
    blocks: list[str]
    grave: list[dict[str, str]]
    waits: bool


class Lane(NamedTuple):
    """The cards of one state."""

    state: str
    title: str
    cards: list[Card]


class Board(NamedTuple):
    """One day. `cancelled` = names of animals whose visit was; `before` = how many exams of earlier days wait;
    `unsent` = (phone, entries) that a phone had not sent when it last spoke."""

    lanes: list[Lane]
    cancelled: list[str]
    before: int
    unsent: list[tuple[str, int]]

    @property
    def next(self) -> Card | None:
        """The first card that waits for somebody at the desk."""
        return next((card for lane in self.lanes for card in lane.cards if card.waits), None)


def of_day(db: Database, day: str, now: datetime, person: str = "") -> Board:
    """The board of a day ("2026-11-24"), of what one person examines where `person` is given."""
    visits = plan.of_day(db, day)
    found = list(db.query(
        "select exams.*, issued.version, issued.status, "
        "exists (select 1 from preliminary_reports where exam = exams.exam) as preliminary "
        "from exams left join reports as issued on issued.exam = exams.exam "
        "and issued.version = (select max(version) from reports where exam = exams.exam) "
        "where date = ? order by gravity, started_at, exams.exam", [day]
    ))
    of_visit = _visits_of(db, found, visits)
    newest = _newest(db, [row["exam"] for row in found if row["state"] == exams.OPEN])
    cards = [_planned(visit) for visit in visits if not visit["cancelled"] and visit["id"] not in of_visit.values()]
    by_id = {visit["id"]: visit for visit in visits}
    cards += [_examined(row, by_id.get(of_visit.get(row["exam"], "")), newest, now) for row in found]
    if person:
        cards = [card for card in cards if person in card.person.split(", ")]
    known = LANES | {card.lane: card.lane.capitalize() for card in cards if card.lane not in LANES}
    lanes = [Lane(state, title, [card for card in cards if card.lane == state]) for state, title in known.items()]
    cancelled = [str(visit["animal"].get("shown") or "no name") for visit in visits if visit["cancelled"]]
    return Board([lane for lane in lanes if lane.cards], cancelled, _before(db, day), _unsent(db))


def following(board: Board, after: str) -> str | None:
    """The exam of the day that waits after this one, from the beginning again after the last; None for no other."""
    ids = [card.exam for lane in board.lanes for card in lane.cards if card.exam and (card.waits or card.exam == after)]
    place = ids.index(after) + 1 if after in ids else 0
    return next((one for one in ids[place:] + ids[:place] if one != after), None)


def _visits_of(db: Database, found: list[dict[str, Any]], visits: list[dict[str, Any]]) -> dict[str, str]:
    """{exam: visit}: as the exam was opened for it, else the animal's own visit of the day."""
    query = (
        "select exam, json_extract(body, '$.visit') as visit from entries "
        "where kind = 'opened' and why is null and exam in (select value from json_each(?)) order by arrival desc"
    )
    opened = {row["exam"]: row["visit"] for row in db.query(query, [json.dumps([row["exam"] for row in found])])}
    known = {visit["id"] for visit in visits}
    made = {exam: visit for exam, visit in opened.items() if visit in known}
    for row in sorted(found, key=lambda one: str(one["started_at"] or "")):
        free = [visit["id"] for visit in visits if row["patient"] in (visit["patient"], visit["record"])
                and visit["id"] not in made.values()]
        if row["exam"] not in made and row["patient"] and free:
            made[row["exam"]] = free[0]
    return made


def _newest(db: Database, names: Iterable[str]) -> dict[str, datetime]:
    """When something of these exams last arrived here."""
    query = (
        "select exam, max(received_at) as newest from entries "
        "where exam in (select value from json_each(?)) group by exam"
    )
    return {row["exam"]: datetime.fromisoformat(row["newest"]) for row in db.query(query, [json.dumps(list(names))])}


def _planned(visit: dict[str, Any]) -> Card:
    blocks = ["not begun"]
    if not visit["sonographer"]:
        blocks.append("nobody is to examine yet")
    if visit["forks"]:
        blocks.append("the visit: two versions to settle")
    if visit["pending"]:
        blocks.append(f"results awaited: {visit['pending']}")
    animal = visit["animal"]
    return Card(
        PLANNED, None, visit["id"], animal.get("shown") or "no name", _facts(animal), visit["time"] or "",
        visit["sonographer"] or "", (visit["question"] or {}).get("text") or "", _urgency(visit), blocks, [], False,
    )


def _examined(row: dict[str, Any], visit: dict[str, Any] | None, newest: dict[str, datetime], now: datetime) -> Card:
    animal, lane = json.loads(row["animal"]), row["state"]
    last = newest.get(row["exam"])
    if lane == exams.OPEN and last is not None and now - last > QUIET:
        lane = NOT_CLOSED
    found = json.loads(row["reasons"])
    if lane == exams.TO_REVIEW and any(one["kind"] == asking.REASON for one in found):
        lane = ASKED
    elif lane == exams.TO_REVIEW and row["preliminary"]:
        lane = PRELIMINARY
    name = animal.get("name") or "Animal without a name"
    return Card(
        lane, row["exam"], visit["id"] if visit else None, name, _facts(animal),
        str(row["started_at"] or "")[11:16], ", ".join(json.loads(row["people"])), row["question"], _urgency(visit),
        _blocks(row, lane, found, last), [reason for one in found if (reason := _grave(one))],
        lane not in (exams.OPEN, exams.SIGNED, ASKED),
    )


def _blocks(row: dict[str, Any], lane: str, found: list[dict[str, Any]], last: datetime | None) -> list[str]:
    counts = {one["kind"]: one["count"] for one in found}
    if lane == exams.NOT_READ:
        return [str(row["trouble"])]
    if lane == exams.SIGNED:
        return [f"version {row['version']}, {row['status']}"]
    if lane == exams.SIGNED_LATER:
        late = counts.get("late", 0)
        come = "entry came" if late == 1 else "entries came"
        return [f"{late} {come} after version {row['version']}: an addendum takes them in"]
    lines = []
    if lane in (exams.OPEN, NOT_CLOSED):
        since = last.astimezone() if last else None
        lines.append("not closed at the table" + (f"; last entry {since:%H:%M}" if since else ""))
    else:
        questions = counts.get(asking.REASON, 0)
        lines += [f"{questions} asked of the sonographer, without an answer yet"] if questions else []
        lines += ["the question is not answered"] if "question_open" in counts else []
        lines += [] if row["drafted"] else ["the impression is not written"]
    lines += [text.format(_things(counts[kind])) for kind, text in BLOCKS.items() if kind in counts]
    return lines or ["nothing: ready to be signed"]


def _things(many: int) -> str:
    return "1 thing" if many == 1 else f"{many} things"


def _grave(reason: dict[str, Any]) -> dict[str, str] | None:
    """What someone is to be told, as a mark."""
    if reason["kind"] != "tell_someone":
        return None
    mark = words.MARKS["tell_someone"]
    return {"shape": mark.shape, "grade": mark.grade, "text": mark.word,
            "where": ", ".join(words.label(about) for about in reason["about"])}


def _facts(animal: dict[str, Any]) -> str:
    weight = f"{typed.kilograms(animal['weight_kg'])}\u00a0kg" if animal.get("weight_kg") else None
    return " · ".join(str(fact) for fact in (animal.get("species"), animal.get("breed"), weight) if fact)


def _urgency(visit: dict[str, Any] | None) -> str:
    told = (visit or {}).get("urgency") or ""
    return "" if told == "routine" else str(told)


def _before(db: Database, day: str) -> int:
    """How many exams of earlier days are not signed, or had entries since."""
    query = "select count(*) from exams where date < ? and state != ?"
    return int(db.execute(query, [day, exams.SIGNED]).fetchone()[0])


def _unsent(db: Database) -> list[tuple[str, int]]:
    """Phones that may send and had not sent everything when they last spoke."""
    rows = [row for row in phones.everyone(db) if row["state"] == phones.APPROVED and row["report"].get("unsent")]
    return [(row["name"], int(row["report"]["unsent"])) for row in rows]
