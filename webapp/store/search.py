"""Finding exams by words: what each exam says and whose it is, folded, in an index of SQLite (FTS5).

One row an exam, written with the exam's row in the list. What an exam says is kept as rows [place, about, our words,
typed words] (`told`), so that a hit can say where it was; our words stand in British spelling and are found in both.
"""

import json
import re
from collections.abc import Iterable, Iterator, Mapping
from functools import cache, lru_cache
from typing import Any, NamedTuple

from sqlite_utils import Database

from webapp import rules
from webapp.core import sentences, spelling
from webapp.core.catalogue import Catalogue
from webapp.store import animals

APART = "\ue000"  # stands between what no phrase may join; nobody types it
MOST_LETTERS = 200
MOST_WORDS = 16
WRITTEN = ("animal", "found")  # the columns of what somebody wrote, against what was only recorded
IN_ANIMAL = ("shown", "breed", "owner.name")
GAPS = ("not_seen", "partly")

Told = list[list[str]]


class Query(NamedTuple):
    """What was asked, as phrases of folded words; the last word may go on."""

    phrases: tuple[tuple[str, ...], ...]

    def expression(self, columns: tuple[str, ...] = ()) -> str:
        """The query as FTS5 reads it: nothing but quoted letters and digits, whatever was typed."""
        quoted = ['"' + " ".join(phrase) + '"' for phrase in self.phrases]
        whole = "(" + " AND ".join(quoted) + "*)"
        return f"{{{' '.join(columns)}}} : {whole}" if columns else whole

    def alone(self, place: int) -> "Query":
        """One of its phrases."""
        return Query((self.phrases[place],))


def parse(text: str) -> Query | None:
    """What a person typed as a query; None where it holds no letter and no digit."""
    asked = text[:MOST_LETTERS]
    number = animals.digits(asked)
    if number.isdecimal() and len(number) > 8:
        asked = number  # a chip's number, however it was grouped
    phrases = [tuple(tokens(word)) for word in asked.split()]
    kept = tuple(phrase for phrase in phrases if phrase)[:MOST_WORDS]
    return Query(kept) if kept else None


def tokens(text: str) -> list[str]:
    """The folded words of a text: letters and digits, small, without accents."""
    return re.findall(r"[^\W_]+", animals.folded(text))


def folded(pieces: Iterable[str]) -> str:
    """Texts as a column of the index, with a mark between them."""
    return f" {APART} ".join(" ".join(tokens(piece)) for piece in pieces if piece)


# --- what an exam says

def told(exam: Mapping[str, Any], issued: Iterable[str]) -> Told:
    """What the folded exam is found by, with the impressions that its reports print. Struck rows say nothing."""
    standing = {name: [row for row in exam[name] if not row["struck"]] for name in
                ("readings", "findings", "notes", "attachments")}
    rows: Told = [["question", "", "", str(exam["question"].get("text") or "")]]
    rows += [["impression", "", "", text] for text in _still_said(exam, issued)]
    rows += [_finding(row, exam) for row in standing["findings"]]
    rows += [_field(name, value) for name, value in sorted(exam["fields"].items()) if _describes(name)]
    rows += [["note", str(row["about"]), "", str(row["text"] or "")]
             for row in standing["notes"] + standing["attachments"]]
    rows += [["note", row["quantity"], "", str(row["note"] or "")] for row in standing["readings"]]
    rows += [["state", row["about"], sentences.SEEN[row["seen"]], " ".join(map(str, row["why"]))]
             for row in exam["states"] if row["seen"] in GAPS]
    rows += [["recorded", about, "", ""] for about in _recorded(exam["states"], standing["readings"])]
    return [row for row in rows if row[2] or row[3] or row[0] == "recorded"]


def _still_said(exam: Mapping[str, Any], issued: Iterable[str]) -> list[str]:
    """The issued impressions. Where entries were erased or are not read, only those that standing entries say too."""
    gone = any(row["kind"] in ("set", "amended") for row in exam["unread"])
    said = {str(exam["fields"].get("impression") or ""), *(str(row["text"] or "") for row in exam["amended"])}
    return [text for text in issued if not gone or text in said]


def _finding(row: Mapping[str, Any], exam: Mapping[str, Any]) -> list[str]:
    plain = {**row, "text": None, "image": None}
    case = {**exam, "states": [], "notes": [], "findings": []}
    words = sentences.finding_words(plain, sentences.Told(row["structure"], case, [], _catalogue()))
    return ["finding", row["structure"], words, str(row["text"] or "")]


def _describes(name: str) -> bool:
    """Whether a field holds a descriptor of a structure (adrenal.left.capsule)."""
    return _catalogue().has_structure(name.rpartition(".")[0]) and not name.endswith(".windows_tried")


def _field(name: str, value: Any) -> list[str]:
    structure, _, word = name.rpartition(".")
    said = sentences.several(value) if value not in (None, "", []) else ""
    return ["finding", structure, f"{word.replace('_', ' ')}: {said}" if said else "", ""]


def _recorded(states: list[dict[str, Any]], readings: list[dict[str, Any]]) -> list[str]:
    named = [row["about"] for row in states if row["seen"] not in GAPS] + [row["quantity"] for row in readings]
    return list(dict.fromkeys(named))


@cache
def _catalogue() -> Catalogue:
    return Catalogue(rules.tables()["catalogue"])


def label(about: str) -> str:
    """Our words for a structure, a part or a quantity, in British spelling."""
    return _catalogue().label(about) if about not in ("", "exam") else ""


@lru_cache(maxsize=4096)
def spellings(words: str) -> tuple[str, ...]:
    """Our own words, British and, where it differs, American. The same few hundred stand in every exam."""
    american = str(spelling.spelled(words, spelling.AMERICAN, rules.tables()["spelling"]["words"]))
    return (words,) if american == words else (words, american)


# --- whose exam it is

def animal_pieces(records: Iterable[Mapping[str, Any]], own: Mapping[str, Any]) -> Iterator[tuple[str, str]]:
    """(what it is, words) of an animal: its records' facts, then what the exam itself says of it."""
    for record in records:
        yield from ((field, str(record[field])) for field in IN_ANIMAL if record.get(field))
        if record.get("microchip"):
            yield "microchip", str(record["microchip"])
        for number in record.get("numbers") or []:
            yield "numbers", str(number["value"])
    for field, name in (("name", "shown"), ("breed", "breed"), ("species", "species")):
        if own.get(field):
            yield name, str(own[field])


def records_of(db: Database, patient: str | None) -> list[dict[str, Any]]:
    """The facts of the animal's records: all that stand for the same animal, the standing one first."""
    query = (
        "select facts from animals where root = (select root from animals where patient = ?) "
        "order by patient != root, patient"
    )
    return [json.loads(row["facts"]) for row in db.query(query, [patient])]


def _animal_column(db: Database, patient: str | None, own: Mapping[str, Any]) -> str:
    pieces = list(dict.fromkeys(animal_pieces(records_of(db, patient), own)))
    joined = [animals.digits(words) for what, words in pieces if what in ("microchip", "numbers")]
    return folded(dict.fromkeys([words for _, words in pieces] + joined))


# --- the rows

def _row(db: Database, row: Mapping[str, Any]) -> dict[str, str]:
    """The row of `exam_words` that fits a row of the list (exam, patient, animal, told)."""
    found: list[str] = []
    recorded: list[str] = []
    for place, about, ours, typed in row["told"]:
        if place == "recorded":
            recorded += spellings(label(about))
        else:
            found += [f"{words} {typed}" for words in spellings(f"{label(about)} {ours}")]
    return {
        "exam": row["exam"],
        "told": json.dumps(row["told"], ensure_ascii=False),
        "animal": _animal_column(db, row["patient"], json.loads(row["animal"])),
        "found": folded(found),
        "recorded": folded(recorded),
    }


def put(db: Database, row: Mapping[str, Any]) -> None:
    """Write what an exam is found by; `row` as the list has it, with `told`."""
    db.execute(
        "insert into exam_words (exam, told, animal, found, recorded) "
        "values (:exam, :told, :animal, :found, :recorded) on conflict (exam) do update set told = :told, "
        "animal = :animal, found = :found, recorded = :recorded",
        _row(db, row),
    )


def drop(db: Database, exam: str) -> None:
    """The exam is no longer listed."""
    db.execute("delete from exam_words where exam = ?", [exam])


def renew_animals(db: Database, patients: Iterable[str]) -> None:
    """Records of these animals changed: their exams are found by the facts as they stand now."""
    changed = list(patients)
    if not changed:
        return
    named = json.dumps(animals.connected(db, changed))
    query = "select exam, patient, animal from exams where patient in (select value from json_each(?))"
    for row in list(db.query(query, [named])):
        column = _animal_column(db, row["patient"], json.loads(row["animal"]))
        db.execute("update exam_words set animal = ?1 where exam = ?2 and animal != ?1", [column, row["exam"]])


def renew_index(db: Database) -> None:
    """Make the index anew from the rows: what was erased stands in it no longer, not even as a deleted word."""
    db.execute("insert into exam_search (exam_search) values ('rebuild')")


def differences(db: Database, made: Mapping[str, Told]) -> list[str]:
    """Exams that are not found by what the journal gives now, one line each; `made` = what each says, by exam."""
    lines = []
    held = {row["exam"]: row for row in db.query("select exam, told, animal, found, recorded from exam_words")}
    rows = {row["exam"]: row for row in db.query("select exam, patient, animal from exams")}
    for exam in sorted(held.keys() | made.keys()):
        given = _row(db, rows[exam] | {"told": made[exam]}) if exam in made and exam in rows else None
        if held.get(exam) != given:
            lines.append(f"exam {exam}: what it is found by is not what the journal gives")
    try:
        db.execute("insert into exam_search (exam_search, rank) values ('integrity-check', 1)")
    except db.conn.DatabaseError:
        lines.append("the index of the search does not fit its rows: rebuild makes it anew")
    return lines
