"""Animals and visits: the entries outside any exam -> each animal's record, merged records, planned visits.

A record is what `set` entries say of "patient.<field>"; a fact that none of them says is taken from the animal as
it was written down when a visit was planned. Two records of one animal are merged and un-merged by entries; the
record that was merged keeps its own. Order of arrival and clocks decide nothing here either.
"""

from . import animal as animals_age
from . import entries as entry_rules
from . import journal, ordering, shapes, slots
from .catalogue import Catalogue
from .errors import CoreError


def _numbers(value: object, name: str) -> None:
    """Other numbers of the animal: [{"label", "value"}]."""
    if not isinstance(value, list):
        raise shapes.refuse(name, "a list of numbers with a label")
    for row in value:
        number = shapes.thing(row, "an item of " + name)
        shapes.text(number.get("label"), "its label")
        shapes.text(number.get("value"), "its value")


def _question(value: object, name: str) -> None:
    shapes.fields(value, shapes.QUESTION, name)


def _context(value: object, name: str) -> None:
    shapes.fields(value, shapes.CONTEXT, name)


RECORD: dict = {
    "numbers": _numbers,
    "owner.name": shapes.text,
    "owner.contact": shapes.text,
}
RECORD.update(shapes.PATIENT)
VISIT = {
    "date": shapes.text,
    "time": shapes.text,
    "order": shapes.count,
    "place": shapes.text,
    "sonographer": shapes.text,
    "question": _question,
    "history": shapes.text,
    "medication": shapes.text,
    "pending": shapes.text,
    "requested_by": shapes.text,
    "urgency": shapes.text,
    "context": _context,
    "cancelled": shapes.truth,
}
NUMBERED = "number"


def day(given: list, catalogue: Catalogue) -> dict:
    """{"animals": {id: record}, "visits": [visit], "unread": [{"id", "kind", "why"}]} of opened entries in any order.

    A record: its facts by field (None where two disagree), `weight_source`, `weight_date`, `age_date`,
    `shown` (the name to show), `recorded` (someone wrote a record, not a visit alone), `forks`, `heads` {slot: [ids]},
    `merged_into` (the record that stands for it), `merged` (those it stands for), `merges` [{id, from, into, why,
    author, at}].
    A visit: its fields, `id`, `patient` (the record that stands), `record` (the one it was planned for), `dates`
    (more than one where two moved it to different days), `age_months` on that day, `number` the outside number,
    `forks`, `heads`.
    """
    return _Day(given, catalogue).answer()


class _Day:
    """One run over the entries."""

    def __init__(self, given: list, catalogue: Catalogue) -> None:
        self.by_id: dict = {}
        for entry in given:
            self.by_id[entry["id"]] = entry
        loose = [entry for entry in self.by_id.values() if entry.get("exam") is None]
        self.ordered = ordering.by_keys(loose, [journal.order_key(entry) for entry in loose])
        self.catalogue = catalogue
        self.unread: list = []
        self.readable = [entry for entry in self.ordered if self._readable(entry)]
        self.struck_by = slots.strikes(self.readable)
        self.slots: dict = {}
        self.planned: list = []
        self.merges: list = []
        for entry in self.readable:
            self._take(entry)
        self.stands_for = _standing(self.merges)

    def _readable(self, entry: dict) -> bool:
        why = entry_rules.unreadable(entry, self.catalogue) or _unreadable(entry)
        if why:
            self.unread.append({"id": entry["id"], "kind": entry.get("kind"), "why": why})
        return why is None

    def _take(self, entry: dict) -> None:
        kind, standing = entry["kind"], entry["id"] not in self.struck_by
        if kind == "set":
            group, _, field = entry["body"]["about"].partition(".")
            if group == "patient" and entry.get("patient") is not None:
                self._slot(entry["patient"], group, field, entry)
            elif group == "visit":
                for visit in entry.get("of") or []:
                    self._slot(visit, group, field, entry)
        elif kind == "planned" and standing:
            self.planned.append(entry)
        elif kind == "merged" and standing:
            self.merges.append(entry)

    def _slot(self, owner: str, group: str, field: str, entry: dict) -> None:
        fields = self.slots.setdefault(group + " " + owner, {})
        fields.setdefault(field, []).append(entry)

    def answer(self) -> dict:
        visits = [self._visit(entry) for entry in self.planned]
        keys = [_list_key(visit) for visit in visits]
        animals = self._animals()
        for visit in visits:
            visit["age_months"] = age_on(visit["date"], animals.get(visit["patient"]) or {})
        return {"animals": animals, "visits": ordering.by_keys(visits, keys), "unread": self.unread}

    def _animals(self) -> dict:
        animals: dict = {}
        for entry in self.readable:
            if entry.get("patient") is not None:
                self._animal(animals, entry["patient"])
        for entry in self.merges:
            for side in ("from", "into"):
                self._animal(animals, entry["body"][side]["id"])
        for name in animals:
            standing = self.stands_for.get(name)
            if standing is not None and standing != name:
                animals[name]["merged_into"] = standing
                animals[standing]["merged"].append(name)
        for name in animals:
            animals[name]["merged"] = ordering.by_keys(animals[name]["merged"], animals[name]["merged"])
        return animals

    def _animal(self, animals: dict, name: str) -> None:
        if name in animals:
            return
        record: dict = {"recorded": False, "merged_into": None, "merged": [], "forks": [], "heads": {}}
        record["merges"] = [_merge(entry) for entry in self.merges if name in _sides(entry)]
        for entry in self.planned:
            if entry.get("patient") == name:
                _copy_snapshot(entry["body"].get("patient"), record)
        fields = self.slots.get("patient " + name) or {}
        for field in ordering.by_keys(list(fields), list(fields)):
            heads = self._fill(record, "patient." + field, field, fields[field])
            if heads:
                record["recorded"] = True
            if heads and field in ("weight_kg", "age_months"):
                body = heads[0]["body"] if record[field] is not None else {}
                record[field.split("_")[0] + "_date"] = body.get("date")
                if field == "weight_kg":
                    record["weight_source"] = body.get("source")
                    record["weight_typed"], record["weight_typed_unit"] = body.get("typed"), body.get("typed_unit")
        record["shown"] = record.get("name") or _both_names(record)
        animals[name] = record

    def _visit(self, entry: dict) -> dict:
        body = entry["body"]
        visit: dict = {"id": entry["id"], "record": entry.get("patient"), "forks": [], "heads": {}}
        visit["patient"] = self.stands_for.get(visit["record"]) or visit["record"]
        visit["author"], visit["at"], visit[NUMBERED] = entry["author"], entry["at"], body.get(NUMBERED)
        for field in VISIT:
            visit[field] = body.get(field)
        visit["cancelled"] = bool(visit["cancelled"])
        visit["dates"] = [visit["date"]]
        fields = self.slots.get("visit " + entry["id"]) or {}
        for field in ordering.by_keys(list(fields), list(fields)):
            heads = self._fill(visit, "visit." + field, field, fields[field])
            different = slots.different(heads)
            if len(different) > 1:
                # It stays where people look for it: on every day it was moved to, and on the list.
                visit[field] = False if field == "cancelled" else different[0]
            if heads and field == "date":
                visit["dates"] = ordering.by_keys(different, different)
        return visit

    def _fill(self, target: dict, slot: str, field: str, entries: list) -> list:
        """Puts what stands in a slot into the target, with its heads and its fork; gives the heads."""
        heads = slots.heads(entries, self.struck_by, self.by_id)
        if not heads:
            return heads
        forked = len(slots.different(heads)) > 1
        if forked:
            target["forks"].append({"slot": slot, "values": [slots.shown(entry) for entry in heads]})
        target[field] = None if forked else heads[0]["body"]["value"]
        target["heads"][slot] = [entry["id"] for entry in heads]
        return heads


def _unreadable(entry: dict) -> str | None:
    """What the general look at an entry leaves open for records, visits and merges."""
    kind, body = entry["kind"], entry["body"]
    try:
        if kind == "planned":
            _check_planned(body)
        elif kind == "merged":
            for side in ("from", "into"):
                animal = shapes.fields(body.get(side), shapes.PATIENT, side)
                shapes.text(animal.get("id"), side + ".id")
        elif kind == "set":
            group, _, field = body["about"].partition(".")
            check = {"patient": RECORD, "visit": VISIT}.get(group, {}).get(field)
            if group == "visit" and field in ("date", "order") and body["value"] is None:
                raise CoreError("no_value", body["about"] + " without a value")
            if check is not None and body["value"] is not None:
                check(body["value"], body["about"])
            if body.get("date") is not None:
                shapes.text(body["date"], "date")
    except CoreError as error:
        return error.message
    return None


def _check_planned(body: dict) -> None:
    shapes.text(body.get("date"), "date")
    for field in VISIT:
        if body.get(field) is not None:
            VISIT[field](body[field], "visit." + field)
    if body.get("patient") is not None:
        shapes.fields(body["patient"], RECORD, "patient")


def _copy_snapshot(animal: dict | None, record: dict) -> None:
    """The animal as a visit was planned for it; a later one over an earlier one, as its device wrote them."""
    for field in RECORD:
        if animal and animal.get(field) is not None:
            record[field] = animal[field]


def age_on(date: object, record: dict) -> int | None:
    """Months of age on a day: by the date of birth, else from an age that was told on another day."""
    born = animals_age.months_between(record.get("birth_date"), date)
    if born is not None or record.get("age_months") is None:
        return born
    since = animals_age.months_between(record.get("age_date"), date)
    return record["age_months"] + (since or 0)


def _both_names(record: dict) -> str | None:
    """The names of a fork as one, so that an animal is never without: "Max or Moritz"."""
    for fork in record["forks"]:
        if fork["slot"] == "patient.name":
            return " or ".join([str(side["value"]) for side in fork["values"]])
    return None


def _sides(merge: dict) -> list:
    return [merge["body"]["from"]["id"], merge["body"]["into"]["id"]]


def _merge(entry: dict) -> dict:
    body = entry["body"]
    return {
        "id": entry["id"],
        "from": body["from"],
        "into": body["into"],
        "why": body.get("why"),
        "author": entry["author"],
        "at": entry["at"],
    }


def _standing(merges: list) -> dict:
    """{id: the record that stands for it} of every record that any merge names.

    It is the one of the connected records that was merged into no other; where none or several are, the first by id.
    """
    near: dict = {}
    merged_away = {}
    for entry in merges:
        gone, kept = _sides(entry)
        near.setdefault(gone, []).append(kept)
        near.setdefault(kept, []).append(gone)
        if gone != kept:
            merged_away[gone] = True
    stands: dict = {}
    for start in near:
        if start in stands:
            continue
        group, waiting = [start], [start]
        while waiting:
            for name in near[waiting.pop()]:
                if name not in group:
                    group.append(name)
                    waiting.append(name)
        kept_ones = [name for name in group if name not in merged_away] or group
        first = ordering.by_keys(kept_ones, kept_ones)[0]
        for name in group:
            stands[name] = first
    return stands


def _list_key(visit: dict) -> str:
    """By day, then as ordered at the desk, then by time; what has no order comes after what has one."""
    order = visit["order"]
    place = "~" if order is None else ordering.padded(order)
    return "|".join([str(visit["date"]), place, str(visit["time"] or "~"), visit["id"]])
