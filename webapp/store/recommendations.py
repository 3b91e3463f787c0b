"""What issued reports recommend, over all exams, and whether a later exam came to the part that was named."""

import json
from typing import Any, NamedTuple

from sqlite_utils import Database

from webapp import rules
from webapp.core.catalogue import Catalogue
from webapp.store import animals, folding

Row = dict[str, Any]

# Of each exam the newest version issued here; its recommendations in the order of the report.
_CURRENT = """
select one.exam, exams.patient, exams.animal, exams.date as examined, one.version, one.number, one.text, one.part,
  one.plane, one.due, one.who, one.state, one.why, reports.issued_at,
  json_extract(reports.signer, '$.name') as signer_name
from recommendations as one
join reports on reports.exam = one.exam and reports.version = one.version
join exams on exams.exam = one.exam
where one.version = (select max(version) from reports where exam = one.exam)
  and (:first is null or one.due >= :first) and (:last is null or one.due <= :last)
order by one.due is null, one.due, one.exam, one.number
"""
_LATER = """
select exam, date from exams where patient in (select value from json_each(?)) and date > ? order by date, exam
"""
MEASURED, SEEN, PARTLY_SEEN = "measured", "seen", "partly seen"
OTHER_PLANE, NO_PLANE = "measured in another plane", "seen without a plane recorded"
DONE = (MEASURED, SEEN)
SETTLED, DROPPED = "settled", "dropped"
ANY_PLANE = (None, "", "unspecified")


class Reached(NamedTuple):
    """How an exam came to a part, the most that was done, and the planes in which it was measured."""

    how: str
    planes: frozenset[str] = frozenset()


def due(
    db: Database, first: str | None = None, last: str | None = None,
    reached: dict[str, dict[str, Reached]] | None = None,
) -> list[Row]:
    """The recommendations of all exams' current versions that were not dropped, by day; without a day last.

    `first` and `last` (YYYY-MM-DD, both days included) leave out the others, and with either of them those without
    a day. Each row: exam, patient, name (of the animal), examined (YYYY-MM-DD), version, number (its place in the
    report, from 1), text, part (id of a structure or structure.part, or None) with part_label, plane, due
    (YYYY-MM-DD or None), who, issued_at, signer_name; `state`: None, or "settled" by an addendum, with `why`;
    `later`: the animal's later exams that came to the part, oldest first, [{exam, date, how}] with how = "measured",
    "seen", "partly seen", or what kept it from being in the plane that was asked for; `missed`: the later exams that
    did not come to it, [{exam, date}]; `done`: whether one of them measured it, in that plane where one was asked
    for, or saw it in full where none was, or an addendum settled it; None where no part is named and nobody can tell.
    `reached`: {exam: reached_in}, as far as it is known; what is not is looked up, and stands there then.
    """
    catalogue = Catalogue(rules.worded()["catalogue"])
    reached = {} if reached is None else reached
    rows = []
    for row in _current(db, first, last):
        if row["state"] == DROPPED:
            continue
        later, missed = _later(db, row, catalogue, reached) if row["part"] else ([], [])
        done = any(one["how"] in DONE for one in later) if row["part"] else None
        rows.append(row | {"later": later, "missed": missed, "done": True if row["state"] == SETTLED else done})
    return rows


def ended(db: Database, first: str | None = None, last: str | None = None) -> list[Row]:
    """Those that an addendum settled or dropped, with state and why, in the same order; fields as in `due` without
    `later`, `missed` and `done`."""
    return [row for row in _current(db, first, last) if row["state"]]


def _current(db: Database, first: str | None, last: str | None) -> list[Row]:
    label = Catalogue(rules.worded()["catalogue"]).label
    rows = []
    for row in list(db.query(_CURRENT, {"first": first, "last": last})):
        name = json.loads(row.pop("animal")).get("name")
        rows.append(row | {"name": name, "part_label": label(row["part"]) if row["part"] else None})
    return rows


def _later(
    db: Database, row: Row, catalogue: Catalogue, known: dict[str, dict[str, Reached]]
) -> tuple[list[Row], list[Row]]:
    """The later exams of the row's animal that came to its part, and those that did not."""
    patients = json.dumps(animals.one_with(db, [row["patient"]]) if row["patient"] else [])
    found, missed = [], []
    for exam in list(db.query(_LATER, [patients, row["examined"]])):
        if exam["exam"] not in known:
            known[exam["exam"]] = reached_in(db, exam["exam"], catalogue)
        reached = known[exam["exam"]].get(row["part"])
        if reached is None:
            missed.append(dict(exam))
        else:
            found.append({"exam": exam["exam"], "date": exam["date"], "how": _how(reached, row["plane"])})
    return found, missed


def _how(reached: Reached, plane: str | None) -> str:
    """How it was done with the plane in mind: a state names none, so that it answers no plane."""
    if plane in ANY_PLANE or plane in reached.planes or reached.how == PARTLY_SEEN:
        return reached.how
    return OTHER_PLANE if reached.how == MEASURED else NO_PLANE


def reached_in(db: Database, exam_id: str, catalogue: Catalogue) -> dict[str, Reached]:
    """{structure or structure.part: how an exam came to it}, the most that was done; struck records do not count.

    A structure that was seen in full shows its parts, but for those of which something else was recorded; a part
    tells of its structure only that this was seen in part. A reading that names no plane is in the usual one.
    """
    exam = folding.exam_of(db, exam_id, catalogue)
    found: dict[str, Reached] = {}
    states = [state for state in exam["states"] if not state["fork"]]
    said = {state["about"] for state in exam["states"]}
    for state in states:
        how = {"whole": SEEN, "partly": PARTLY_SEEN}.get(state["seen"])
        if how is not None:
            _note(found, state["about"], how)
            _note(found, state["structure"], PARTLY_SEEN)
        if how == SEEN and state["part"] is None:
            for part in catalogue.structure(state["structure"])["parts"]:
                about = f"{state['structure']}.{part['id']}"
                if about not in said:
                    _note(found, about, SEEN)
    for reading in exam["readings"]:
        if not reading["struck"]:
            quantity = catalogue.quantity(reading["quantity"])
            plane = reading["plane"] or quantity["plane"]
            _note(found, quantity["structure"], MEASURED, plane)
            _note(found, f"{quantity['structure']}.{quantity['part']}" if quantity["part"] else None, MEASURED, plane)
    return found


def _note(found: dict[str, Reached], about: str | None, how: str, plane: str | None = None) -> None:
    if not about:
        return
    order = (PARTLY_SEEN, SEEN, MEASURED)
    before = found.get(about, Reached(how))
    planes = before.planes | ({plane} if plane else set())
    found[about] = Reached(max(how, before.how, key=order.index), planes)
