"""Animals and visits as lists need them: a projection of the entries outside any exam, made by the rules.

A record's rows are made together with those of the records merged with it. Exams name animals that may have no
record here (walk-ins): those are found by what is missing.
"""

import json
import re
import unicodedata
from collections.abc import Callable, Iterable, Iterator
from typing import Any

from sqlite_utils import Database

from webapp import rules
from webapp.store import kept

AT_ONCE = 500  # animals folded in one call of the rules
PLAIN_LETTERS = str.maketrans({"ß": "ss", "ø": "o", "Ø": "o", "æ": "ae", "Æ": "ae", "ł": "l", "Ł": "l"})


def folded(text: str) -> str:
    """The text as it is compared in a search: small letters, no accents, single spaces."""
    if text.isascii():  # most texts are, and there are many
        return " ".join(text.lower().split())
    plain = unicodedata.normalize("NFKD", text.translate(PLAIN_LETTERS).casefold())
    return " ".join("".join(letter for letter in plain if not unicodedata.combining(letter)).split())


def digits(text: str) -> str:
    """A chip's number without the spaces and hyphens that people put in."""
    return re.sub(r"[\s.\-]", "", text)


def refresh(db: Database, patients: Iterable[str]) -> list[str]:
    """Bring the rows of these animals and of those merged with them up to date.

    Returns the animals that a merge or its strike has just tied or parted: their exams are compared with others now.
    """
    named = sorted(set(patients))
    if not named:
        return []
    wanted = connected(db, named)
    before = roots(db, wanted)
    changed: list[str] = []
    for group in _together(db, wanted):
        made = _made(db, group)
        for name in group:
            db.execute("delete from animals where patient = ?", [name])
            db.execute("delete from visits where record = ?", [name])
        db.table("animals").insert_all(made["animals"])
        db.table("visits").insert_all(made["visits"])
        after = {row["patient"]: row["root"] for row in made["animals"]}
        if any(before.get(name, name) != after.get(name, name) for name in group):
            changed += group
    return changed


def connected(db: Database, patients: Iterable[str]) -> list[str]:
    """These animals and all that any merge, struck or not, ties to them."""
    near: dict[str, set[str]] = {}
    for entry in _merges(db):
        one, other = _sides(entry)
        near.setdefault(one, set()).add(other)
        near.setdefault(other, set()).add(one)
    found: dict[str, None] = {}
    waiting = sorted(set(patients))
    while waiting:
        name = waiting.pop()
        if name not in found:
            found[name] = None
            waiting.extend(near.get(name, ()))
    return sorted(found)


def _merges(db: Database) -> Iterator[dict[str, Any]]:
    query = "select id, header, body, why from entries where kind = 'merged' and why is null order by arrival"
    for row in list(db.query(query)):
        entry = kept.opened(db, row)
        if all(_sides(entry)):
            yield entry


def _sides(entry: dict[str, Any]) -> tuple[str, str]:
    """The ids of the two records; empty text where the entry does not name one."""
    names = [(entry["body"] or {}).get(side) for side in ("from", "into")]
    ids = [name.get("id") if isinstance(name, dict) else None for name in names]
    gone, stands = (name if isinstance(name, str) else "" for name in ids)
    return gone, stands


def _together(db: Database, patients: list[str]) -> Iterator[list[str]]:
    """The animals in portions for the rules; what merges tie together is never parted."""
    tied = {name for entry in _merges(db) for name in _sides(entry)}
    merged = [name for name in patients if name in tied]
    if merged:
        yield merged
    alone = [name for name in patients if name not in tied]
    yield from (alone[start : start + AT_ONCE] for start in range(0, len(alone), AT_ONCE))


def _made(db: Database, patients: list[str]) -> dict[str, list[dict[str, Any]]]:
    """The rows of both lists for these animals, as the journal gives them."""
    entries = list(entries_of(db, patients))
    day = rules.call({"do": "day", "entries": entries})
    with_facts = {entry["patient"] for entry in entries if entry["kind"] in ("set", "planned", "merged")}
    animals = [
        _animal_row(name, day["animals"][name])
        for name in patients
        if name in day["animals"] and (name in with_facts or day["animals"][name]["merges"])
    ]
    standing = {visit["id"]: visit for visit in day["visits"]}
    changes: dict[str, list[dict[str, Any]]] = {}
    for entry in entries:
        if entry["kind"] == "set":
            for name in entry["of"]:
                changes.setdefault(name, []).append(entry)
    planned = [entry for entry in entries if entry["kind"] == "planned" and entry["body"]]
    visits = [_visit_row(entry, standing.get(entry["id"]), changes.get(entry["id"], [])) for entry in planned]
    return {"animals": animals, "visits": visits}


def entries_of(db: Database, patients: Iterable[str]) -> Iterator[dict[str, Any]]:
    """The entries outside any exam of these animals, opened."""
    for name in patients:
        query = "select id, header, body, why from entries where patient = ? and exam is null order by arrival"
        for row in list(db.query(query, [name])):
            yield kept.opened(db, row)


def _animal_row(name: str, record: dict[str, Any]) -> dict[str, Any]:
    words = [record.get("shown"), record.get("species"), record.get("breed"), record.get("owner.name")]
    words += [record.get("owner.contact")] + [number["value"] for number in record.get("numbers") or []]
    chip = digits(record["microchip"]) if record.get("microchip") else None
    found_by = [folded(str(word)) for word in words if word] + ([chip] if chip else [])
    return {
        "patient": name,
        "root": record["merged_into"] or name,
        "name": record.get("shown") or "",
        "species": record.get("species"),
        "microchip": chip,
        "search": "\n".join(found_by),
        "forks": len(record["forks"]),
        "facts": json.dumps(record, ensure_ascii=False, sort_keys=True),
    }


def _visit_row(entry: dict[str, Any], visit: dict[str, Any] | None, changes: list[dict[str, Any]]) -> dict[str, Any]:
    shown: dict[str, Any] = visit or {}
    ever = [entry["body"].get("date"), entry["body"].get("sonographer")]
    ever += [one["body"].get("value") for one in changes if _places(one)]
    return {
        "id": entry["id"],
        "patient": shown.get("patient") or entry["patient"],
        "record": entry["patient"],
        "date": shown.get("date") or _text(entry["body"].get("date")),
        "dates": " ".join(shown.get("dates") or []),
        "ever": "\n".join(["", *sorted({one for one in ever if isinstance(one, str) and one}), ""]),
        "sonographer": shown.get("sonographer"),
        "cancelled": int(bool(shown.get("cancelled"))),
        "removed": int(visit is None),
        "number": _text(entry["body"].get("number")),
        "facts": json.dumps(shown, ensure_ascii=False, sort_keys=True),
    }


def _places(entry: dict[str, Any]) -> bool:
    return bool(entry["body"]) and entry["body"].get("about") in ("visit.date", "visit.sonographer")


def _text(value: Any) -> str | None:
    return value if isinstance(value, str) else None


def roots(db: Database, patients: Iterable[str]) -> dict[str, str]:
    """{animal: the record that stands for it} of those that have a record here."""
    known = list(patients)
    marks = ",".join("?" * len(known))
    return {
        row["patient"]: row["root"]
        for row in db.query(f"select patient, root from animals where patient in ({marks})", known)
    }


def one_with(db: Database, patients: Iterable[str]) -> list[str]:
    """These animals and all records that stand for the same ones now."""
    given = sorted(set(patients))
    marks = ",".join("?" * len(given))
    query = f"select patient from animals where root in (select root from animals where patient in ({marks}))"
    return sorted({*given, *(row["patient"] for row in db.query(query, given))})


def record(db: Database, patient: str) -> dict[str, Any] | None:
    """The animal's record as the rules give it, or None where there is none."""
    row = next(db.query("select facts from animals where patient = ?", [patient]), None)
    return json.loads(row["facts"]) if row else None


def rebuild(db: Database, progress: Callable[[int, int], None] = lambda done, total: None) -> int:
    """Make both lists anew from the journal; returns the number of animals."""
    names = _all(db)
    db.execute("delete from animals")
    db.execute("delete from visits")
    done = 0
    for group in _together(db, names):
        made = _made(db, group)
        db.table("animals").insert_all(made["animals"])
        db.table("visits").insert_all(made["visits"])
        done += len(group)
        progress(done, len(names))
    return len(names)


def _all(db: Database) -> list[str]:
    query = "select distinct patient from entries where exam is null and patient is not null"
    return connected(db, [row["patient"] for row in db.query(query)])


def differences(db: Database) -> list[str]:
    """Animals and visits whose kept row is not what the journal gives now, one line each."""
    lines = []
    made: dict[str, dict[str, dict[str, Any]]] = {"animals": {}, "visits": {}}
    for group in _together(db, _all(db)):
        rows = _made(db, group)
        made["animals"] |= {row["patient"]: row for row in rows["animals"]}
        made["visits"] |= {row["id"]: row for row in rows["visits"]}
    for table, key in (("animals", "patient"), ("visits", "id")):
        held = {row[key]: row for row in db.query(f"select * from {table}")}
        for name in sorted(held.keys() | made[table].keys()):
            if held.get(name) != made[table].get(name):
                lines.append(f"{table[:-1]} {name}: the kept row is not what the journal gives")
    return lines
