"""The fold: the entries of one exam, in any order -> the exam that they tell.

Same entries, same exam, on every machine: order of arrival and clocks decide nothing. Entries of one
device follow its own count; devices follow each other by id. An entry counts unless an entry that
counts strikes it, so an undo is a strike and an undone strike restores.
"""

from . import entries as entry_rules
from . import moved, openings, ordering, slots
from . import rows as row_shapes
from .catalogue import Catalogue

# A forked state of a part is judged by the claim that says least, until a person settles it.
LEAST_CLAIM = ("not_examined", "not_seen", "partly", "not_visible_expected", "removed", "whole")


class Journal:
    """The entries of one exam, and the exam folded from them."""

    def __init__(self, catalogue: Catalogue) -> None:
        self.catalogue = catalogue
        self.by_id = {}
        self.ordered = []
        self.awaited: dict = {}
        self.fold: "_Fold | None" = None

    def add(self, new: list) -> tuple:
        """Takes in a list of entries, known ones are passed over; returns (new entries, folded on in place).

        Entries that only add to the end of the fold are folded on; anything else (a strike, an entry of another
        device that belongs further up) drops the fold, and `exam` makes it anew: the result is the same.
        """
        fresh = []
        for entry in new:
            if entry["id"] not in self.by_id:
                self.by_id[entry["id"]] = entry
                fresh.append(entry)
        named = [name for entry in fresh for name in _names(entry)]
        fold = self.fold
        adds_on = fold is not None and all([self._adds_on(fold, entry) for entry in fresh])
        for name in named:
            self.awaited[name] = True
        if fold is not None and adds_on:
            for entry in _in_order(fresh):
                self.ordered.append(entry)
                fold.add_on(entry)
            return fresh, True
        if fresh:
            self.ordered = _in_order(self.ordered + fresh)
            self.fold = None
        return fresh, False

    def _adds_on(self, fold: "_Fold", entry: dict) -> bool:
        return (
            entry.get("kind") in ADDS_ON
            and not _moves(entry)
            and not fold.exam["signed"]
            and entry["id"] not in self.awaited
            and bool(self.ordered)
            and order_key(entry) > order_key(self.ordered[-1])
        )

    def exam(self) -> dict:
        """The exam (DEVELOPERS.md, "The exam"), a plain dict."""
        if self.fold is None:
            self.fold = _Fold(self.ordered, self.by_id, self.catalogue)
        return self.fold.exam


# Kinds that can be folded on at the end without looking back at what was folded before.
ADDS_ON = ("read", "found", "noted", "attached", "acknowledged", "set", "seen", "closed")


def _moves(entry: dict) -> bool:
    body = entry.get("body")
    return isinstance(body, dict) and body.get("about") == moved.SLOT


def _names(entry: dict) -> list:
    """The ids that an entry names as seen or acted on; one that comes later changes what was folded before."""
    names: list = []
    for field in ("after", "of"):
        if isinstance(entry.get(field), list):
            names += [name for name in entry[field] if isinstance(name, str)]
    return names


def _in_order(entries: list) -> list:
    return ordering.by_keys(entries, [order_key(entry) for entry in entries])


def order_key(entry: dict) -> str:
    """Devices by id, entries by their device's count; the two branches of a cloned phone by id."""
    return entry["device"] + ":" + ordering.padded(entry["seq"]) + ":" + entry["id"]


class _Fold:
    """One run over ordered entries; the result is in `exam`."""

    def __init__(self, ordered: list, by_id: dict, catalogue: Catalogue) -> None:
        self.by_id = by_id
        self.catalogue = catalogue
        self.slots = {}
        self.exam = _empty_exam()
        readable = [entry for entry in ordered if self._readable(entry)]
        self.struck_by = slots.strikes(readable)
        self.replaced: list = []
        self.opened_by: list = []
        self.moved = False
        for entry in readable:
            self._take(entry)
        self._move()
        self._also_opened()
        for name in ordering.by_keys(list(self.slots), list(self.slots)):
            self._fill_slot(name)
        self._mark_late(ordered)

    def add_on(self, entry: dict) -> None:
        """Folds on one more entry whose place is at the end."""
        if self._readable(entry):
            self._take(entry)
            name = entry_rules.slot(entry)
            if name is not None:
                self._clear_slot(name)
                self._fill_slot(name)

    def _readable(self, entry: dict) -> bool:
        self.exam["entries"] += 1
        self.exam["heads"][entry["device"]] = [entry["seq"], entry["id"]]
        why = entry_rules.unreadable(entry, self.catalogue)
        if why:
            self.exam["unread"].append({"id": entry["id"], "kind": entry.get("kind"), "v": entry.get("v"), "why": why})
        return why is None

    def _take(self, entry: dict) -> None:
        kind = entry["kind"]
        name = entry_rules.slot(entry)
        if name is not None:
            self.slots.setdefault(name, []).append(entry)
        elif kind == "opened":
            self._take_opened(entry)
        elif kind in row_shapes.LISTS:
            self._take_row(entry)
        elif kind == "closed" and entry["id"] not in self.struck_by:
            self.exam["closed"] = True
            self.exam["closed_at"] = entry["at"]

    def _take_row(self, entry: dict) -> None:
        name, shape = row_shapes.shape_of(entry)
        row = shape(entry)
        strike = self.struck_by.get(entry["id"])
        row["struck"] = strike is not None
        row["why_struck"] = strike["body"].get("why") if strike else None
        self.exam[name].append(row)

    def _take_opened(self, entry: dict) -> None:
        if entry["id"] in self.struck_by:
            return
        exam, body = self.exam, entry["body"]
        self.opened_by.append(entry)
        if exam["opened"]:
            exam["also_opened"].append(entry["id"])
            return
        exam["opened"] = True
        exam["id"], exam["patient_id"] = entry.get("exam"), entry.get("patient")
        exam["date"], exam["started_at"] = body.get("date"), entry["at"]
        exam["purpose"] = body.get("purpose")
        exam["author"], exam["behalf"] = entry["author"], entry.get("behalf")
        _copy(body.get("patient"), exam["patient"], entry_rules.PATIENT_FIELDS)
        _copy(body.get("context"), exam["context"], entry_rules.CONTEXT_FIELDS)
        _copy(body.get("question"), exam["question"], entry_rules.QUESTION_FIELDS)

    def _move(self) -> None:
        """The exam follows its move to another animal, unless two moves disagree: that fork a person settles."""
        moves = self.slots.get(moved.SLOT) or []
        self.exam["moved"] = moved.rows(moves, self.struck_by)
        heads = slots.heads(moves, self.struck_by, self.by_id)
        if heads and len(slots.different(heads)) == 1:
            moved.put(self.exam, heads[0]["body"])
            self.moved = True
            for entry in heads:
                self.replaced += entry.get("after") or []

    def _also_opened(self) -> None:
        """What two people said differently when each opened the exam."""
        if len(self.opened_by) < 2:
            return
        is_set = {}
        for name in self.slots:
            is_set[name] = bool(slots.heads(self.slots[name], self.struck_by, self.by_id))
        for fork in openings.forks(self.exam, self.opened_by[0], self.opened_by[1:], is_set, self.moved):
            _insert(self.exam["forks"], fork, "slot")

    def _clear_slot(self, name: str) -> None:
        self.exam["forks"] = [fork for fork in self.exam["forks"] if fork["slot"] != name]
        self.exam["states"] = [state for state in self.exam["states"] if "seen:" + state["about"] != name]

    def _fill_slot(self, name: str) -> None:
        effective = slots.heads(self.slots[name], self.struck_by, self.by_id)
        heads = [entry for entry in effective if entry["id"] not in self.replaced]
        if not heads:
            return
        forked = len(slots.different(heads)) > 1
        if forked:
            _insert(self.exam["forks"], {"slot": name, "values": [slots.shown(entry) for entry in heads]}, "slot")
        if name[:5] == "seen:":
            _insert(self.exam["states"], self._state(heads, forked), "about")
        else:
            self._field(name, heads[0], forked)

    def _state(self, heads: list, forked: bool) -> dict:
        chosen = heads[0]
        for entry in heads[1:]:
            if LEAST_CLAIM.index(entry["body"]["seen"]) < LEAST_CLAIM.index(chosen["body"]["seen"]):
                chosen = entry
        body = chosen["body"]
        structure, part = self.catalogue.place(body["about"])
        return {
            "id": chosen["id"],
            "about": body["about"],
            "structure": structure,
            "part": part,
            "seen": body["seen"],
            "why": slots.as_list(body.get("why")),
            "tried": slots.as_list(body.get("tried")),
            "normal": bool(body.get("normal")) and not forked,
            "fork": forked,
            "author": chosen["author"],
            "behalf": chosen.get("behalf"),
            "at": chosen["at"],
        }

    def _field(self, name: str, entry: dict, forked: bool) -> None:
        value = None if forked else entry["body"]["value"]
        group, _, field = name.partition(".")
        if group in ("patient", "context", "question") and field:
            self.exam[group][field] = value
            if name == "patient.weight_kg":
                if "patient.weight_source" not in self.slots:
                    self.exam["patient"]["weight_source"] = None if forked else entry["body"].get("source")
                self.exam["patient"]["weight_typed"] = entry["body"].get("typed")
                self.exam["patient"]["weight_typed_unit"] = entry["body"].get("typed_unit")
        else:
            self.exam["fields"][name] = value
        self.exam["field_heads"][name] = entry["id"]

    def _mark_late(self, ordered: list) -> None:
        signatures = [row for row in self.exam["signed"] if not row["struck"]]
        if not signatures:
            return
        newest = signatures[0]
        for row in signatures[1:]:
            if row["version"] > newest["version"]:
                newest = row
        covered = {}
        for name in newest["covers"]:
            covered[name] = True
        self.exam["late"] = [
            entry["id"]
            for entry in ordered
            if entry["id"] not in covered
            and entry.get("kind") not in ("signed", "amended")
            and not entry_rules.is_beside(entry, self.by_id)
        ]


def _empty_exam() -> dict:
    return {
        "id": None,
        "patient_id": None,
        "date": None,
        "purpose": None,
        "opened": False,
        "closed": False,
        "started_at": None,
        "closed_at": None,
        "author": None,
        "behalf": None,
        "also_opened": [],
        "patient": {},
        "context": {},
        "question": {},
        "readings": [],
        "states": [],
        "findings": [],
        "notes": [],
        "asked": [],
        "attachments": [],
        "moved": [],
        "fields": {},
        "field_heads": {},
        "forks": [],
        "acknowledged": [],
        "signed": [],
        "amended": [],
        "told": [],
        "second_reads": [],
        "procedures": [],
        "late": [],
        "unread": [],
        "entries": 0,
        "heads": {},
    }


def _insert(rows: list, row: dict, key: str) -> None:
    """Puts the row at its place in a list that is kept in the order of `key`, a text."""
    place = len(rows)
    while place > 0 and rows[place - 1][key] > row[key]:
        place -= 1
    rows.insert(place, row)


def _copy(source: dict | None, target: dict, names: tuple) -> None:
    for name in names:
        if source and source.get(name) is not None:
            target[name] = source[name]


# The lists of the exam that only grow when entries are folded on.
ROWS = ("readings", "findings", "notes", "asked", "attachments", "acknowledged", "unread")
