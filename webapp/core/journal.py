"""The fold: the entries of one exam, in any order -> the exam that they tell.

Same entries, same exam, on every machine: order of arrival and clocks decide nothing. Entries of one
device follow its own count; devices follow each other by id. An entry counts unless an entry that
counts strikes it, so an undo is a strike and an undone strike restores.
"""

from . import entries as entry_rules
from . import ordering

# A forked state of a part is judged by the claim that says least, until a person settles it.
LEAST_CLAIM = ("not_examined", "not_seen", "partly", "not_visible_expected", "removed", "whole")


class Journal:
    """The entries of one exam, and the exam folded from them."""

    def __init__(self, catalogue):
        self.catalogue = catalogue
        self.by_id = {}
        self.ordered = []

    def add(self, new):
        """Takes in a list of entries; known ones are passed over. Returns the entries that were new."""
        fresh = []
        for entry in new:
            if entry["id"] not in self.by_id:
                self.by_id[entry["id"]] = entry
                fresh.append(entry)
        if fresh:
            self.ordered = ordering.by_key(self.ordered + fresh, order_key)
        return fresh

    def exam(self):
        """The exam (DEVELOPERS.md, "The exam"), a plain dict."""
        return _Fold(self.ordered, self.by_id, self.catalogue).exam


def order_key(entry):
    return entry["device"] + ":" + ordering.padded(entry["seq"])


class _Fold:
    """One run over ordered entries; the result is in `exam`."""

    def __init__(self, ordered, by_id, catalogue):
        self.by_id = by_id
        self.catalogue = catalogue
        self.slots = {}
        self.slot_names = []
        self.exam = _empty_exam()
        self.exam["entries"] = len(ordered)
        readable = []
        for entry in ordered:
            why = entry_rules.unreadable(entry, catalogue)
            if why:
                self.exam["unread"].append({"id": entry["id"], "kind": entry.get("kind"), "v": entry.get("v"), "why": why})
            else:
                readable.append(entry)
            self.exam["heads"][entry["device"]] = [entry["seq"], entry["id"]]
        self.struck_by = _strikes(readable)
        for entry in readable:
            self._take(entry)
        self._fill_slots()
        self._mark_late(ordered)

    def _take(self, entry):
        kind = entry["kind"]
        if entry_rules.slot(entry) is not None:
            self._take_slot(entry)
        elif kind == "opened":
            self._take_opened(entry)
        elif kind in LISTS:
            name, shape = LISTS[kind]
            row = shape(entry)
            strike = self.struck_by.get(entry["id"])
            row["struck"] = strike is not None
            row["why_struck"] = strike["body"].get("why") if strike else None
            self.exam[name].append(row)
        elif kind == "closed" and entry["id"] not in self.struck_by:
            self.exam["closed"] = True
            self.exam["closed_at"] = entry["at"]

    def _take_opened(self, entry):
        if entry["id"] in self.struck_by:
            return
        exam, body = self.exam, entry["body"]
        if exam["opened"]:
            exam["also_opened"].append(entry["id"])
            return
        exam["opened"] = True
        exam["id"], exam["patient_id"] = entry["exam"], entry["patient"]
        exam["date"], exam["started_at"] = body.get("date"), entry["at"]
        exam["author"], exam["behalf"] = entry["author"], entry.get("behalf")
        _copy(body.get("patient"), exam["patient"], entry_rules.PATIENT_FIELDS)
        _copy(body.get("context"), exam["context"], entry_rules.CONTEXT_FIELDS)
        _copy(body.get("question"), exam["question"], entry_rules.QUESTION_FIELDS)

    def _take_slot(self, entry):
        name = entry_rules.slot(entry)
        if name not in self.slots:
            self.slots[name] = []
            self.slot_names.append(name)
        self.slots[name].append(entry)

    def _fill_slots(self):
        self.slot_names = ordering.by_key(self.slot_names, lambda name: name)
        for name in self.slot_names:
            heads = self._heads(self.slots[name])
            if not heads:
                continue
            values = _different(heads)
            if len(values) > 1:
                self.exam["forks"].append({"slot": name, "values": [_fork_value(entry) for entry in heads]})
            if name[:5] == "seen:":
                self.exam["states"].append(self._state(heads, len(values) > 1))
            else:
                self._field(name, heads[0], len(values) > 1)

    def _heads(self, slot_entries):
        """The effective entries that no other effective entry of the slot had seen."""
        superseded = {}
        effective = [entry for entry in slot_entries if entry["id"] not in self.struck_by]
        for entry in effective:
            waiting = list(entry.get("after") or [])
            while waiting:
                seen = waiting.pop()
                if seen in superseded:
                    continue
                superseded[seen] = True
                if seen in self.by_id:
                    waiting.extend(self.by_id[seen].get("after") or [])
        return [entry for entry in effective if entry["id"] not in superseded]

    def _state(self, heads, forked):
        chosen = heads[0]
        for entry in heads[1:]:
            if LEAST_CLAIM.index(entry["body"]["seen"]) < LEAST_CLAIM.index(chosen["body"]["seen"]):
                chosen = entry
        body = chosen["body"]
        structure, part = self.catalogue.place(body["about"])
        return {"id": chosen["id"], "about": body["about"], "structure": structure, "part": part,
                "seen": body["seen"], "why": _as_list(body.get("why")), "tried": _as_list(body.get("tried")),
                "normal": bool(body.get("normal")) and not forked, "fork": forked,
                "author": chosen["author"], "at": chosen["at"]}

    def _field(self, name, entry, forked):
        value = None if forked else entry["body"]["value"]
        group, _, field = name.partition(".")
        if group in ("patient", "context", "question") and field:
            self.exam[group][field] = value
            if name == "patient.weight_kg":
                self.exam["patient"]["weight_source"] = None if forked else entry["body"].get("source")
                self.exam["patient"]["weight_typed"] = entry["body"].get("typed")
        else:
            self.exam["fields"][name] = value
        self.exam["field_heads"][name] = entry["id"]

    def _mark_late(self, ordered):
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
        self.exam["late"] = [entry["id"] for entry in ordered
                             if entry["id"] not in covered and entry["kind"] not in ("signed", "amended")]


def _empty_exam():
    return {"id": None, "patient_id": None, "date": None, "opened": False, "closed": False,
            "started_at": None, "closed_at": None, "author": None, "behalf": None, "also_opened": [],
            "patient": {}, "context": {}, "question": {}, "readings": [], "states": [], "findings": [],
            "notes": [], "fields": {}, "field_heads": {}, "forks": [], "acknowledged": [], "signed": [],
            "amended": [], "late": [], "unread": [], "entries": 0, "heads": {}}


def _strikes(readable):
    """{id of a struck entry: the strike that counts}. A strike of a strike restores; ids are hashes, so no ring."""
    strikes_of = {}
    for entry in readable:
        if entry["kind"] == "struck":
            for name in entry.get("of") or []:
                strikes_of.setdefault(name, []).append(entry)
    counts = {}

    def effective(strike):
        if strike["id"] not in counts:
            counts[strike["id"]] = not any([effective(other) for other in strikes_of.get(strike["id"], [])])
        return counts[strike["id"]]

    struck_by = {}
    for name in strikes_of:
        for strike in strikes_of[name]:
            if name not in struck_by and effective(strike):
                struck_by[name] = strike
    return struck_by


def _copy(source, target, names):
    for name in names:
        if source and source.get(name) is not None:
            target[name] = source[name]


def _as_list(value):
    if value is None or value == "":
        return []
    return value if isinstance(value, list) else [value]


def _different(heads):
    values = []
    for entry in heads:
        value = _slot_value(entry)
        if value not in values:
            values.append(value)
    return values


def _slot_value(entry):
    body = entry["body"]
    if entry["kind"] == "seen":
        return [body["seen"], _as_list(body.get("why")), bool(body.get("normal"))]
    return body["value"]


def _fork_value(entry):
    return {"id": entry["id"], "value": _slot_value(entry), "author": entry["author"], "at": entry["at"]}


def _row(entry, names):
    body = entry["body"]
    row = {"id": entry["id"], "author": entry["author"], "behalf": entry.get("behalf"), "at": entry["at"],
           "device": entry["device"], "seq": entry["seq"]}
    for name in names:
        row[name] = body.get(name)
    return row


def _reading(entry):
    row = _row(entry, ("value", "unit", "typed", "typed_unit", "plane", "view", "cut", "acquired", "recumbency",
                       "lesion", "note"))
    row["quantity"] = entry["body"]["about"]
    return row


def _finding(entry):
    row = _row(entry, ("finding", "part", "shape", "dimensions", "unit", "vessel", "number", "outline", "echo",
                       "site", "text"))
    row["structure"] = entry["body"]["about"]
    return row


def _note(entry):
    return _row(entry, ("about", "text"))


def _acknowledgement(entry):
    row = _row(entry, ("about", "flag", "reason"))
    row["of"] = entry.get("of") or []
    return row


def _signature(entry):
    row = _row(entry, ("version", "status", "covers", "tables_hash", "core_version", "judgement_hash", "pdf_hash", "signer"))
    row["of"] = entry.get("of") or []
    row["covers"] = row["covers"] or []
    row["version"] = row["version"] or 1
    return row


def _amendment(entry):
    row = _row(entry, ("status", "reason", "text"))
    row["of"] = entry.get("of") or []
    return row


LISTS = {"read": ("readings", _reading), "found": ("findings", _finding), "noted": ("notes", _note),
         "acknowledged": ("acknowledged", _acknowledgement), "signed": ("signed", _signature),
         "amended": ("amended", _amendment)}
