"""The door to the core: JSON text in, JSON text out, the same on the phone and on the server.

One Engine holds one open exam: it is folded once when opened, then entries are applied as they come.
"""

import json

from . import (
    VERSION,
    entries,
    journal,
    judgement,
    learned,
    measured,
    ordering,
    phrase,
    reference,
    series,
    shapes,
    spelling,
    typed,
    visits,
)
from . import case as cases
from . import overlay as overlays
from . import register as registers
from .catalogue import Catalogue
from .errors import CoreError
from .limits import Limits
from .tables import Tables

NAMES = ("catalogue", "limits", "thresholds", "descriptors", "windows", "context", "spelling", "vocabulary")


def tables_of(texts: dict, overlay: dict | None = None, spelled: str = spelling.BRITISH) -> Tables:
    """Tables for `Engine` from a dict of NAMES: each JSON text or an object; the practice's overlay over them.

    `spelled` (spelling.SPELLINGS) is how the tables' own words are written.
    """
    parsed = {}
    for name in NAMES:
        given = texts[name]
        parsed[name] = json.loads(given) if isinstance(given, str) else given
    shapes.one_of(spelled, spelling.SPELLINGS, "the spelling")
    parsed = spelling.tables(parsed, spelled)
    catalogue = Catalogue(parsed["catalogue"])
    if overlay is not None:
        parsed = overlays.applied(parsed, overlay, catalogue)
    return Tables(catalogue, Limits(parsed["limits"], catalogue), parsed)


class Engine:
    """Answers calls about one exam at a time; a fresh one shares nothing with another but its tables."""

    def __init__(self, tables: Tables) -> None:
        self.tables = tables
        self.journal: "journal.Journal | None" = None
        self.earlier = []
        self.kept = {}
        self.learned = {}

    def call(self, text: str) -> str:
        """Answers one call, JSON text {"do": ...}; what cannot be understood comes back as {"error"}."""
        try:
            request = _request(text)
            answer = CALLS[request["do"]](self, request)
        except CoreError as error:
            answer = {"error": {"code": error.code, "message": error.message}}
        return json.dumps(answer)

    def open(self, request: dict) -> dict:
        """Folds an exam and judges it whole: {"exam", "judgement", "earlier"}; "as": "units" gives it by unit."""
        self.journal = journal.Journal(self.tables.catalogue)
        self.journal.add(_entries(request.get("entries")))
        exams = []
        for row in request.get("earlier") or []:
            older = journal.Journal(self.tables.catalogue)
            older.add(_entries(shapes.thing(row, "an earlier exam").get("entries")))
            if older.exam()["opened"] and not older.exam()["purpose"]:
                exams.append(older.exam())
        self._keep_earlier(exams)
        self.learned = request.get("learned") or {}
        self.kept = {}
        return self._whole(self.journal, request)

    def apply(self, request: dict) -> dict:
        """One or more entries more; "as": "units" gives only what changed, {"delta"}, for the phone to merge."""
        if self.journal is None:
            raise CoreError("nothing_open", "no exam is open")
        exam = self.journal.exam()
        before = {}
        for name in journal.ROWS:
            before[name] = len(exam[name])
        fresh, folded_on = self.journal.add(_entries(request.get("entries")))
        if request.get("as") != "units" or not folded_on:
            return self._whole(self.journal, request)
        return {"delta": self._delta(self.journal, fresh, before)}

    def _whole(self, opened: journal.Journal, request: dict) -> dict:
        exam = opened.exam()
        judged = judgement.units(exam, self.earlier, self.tables, self.kept, self.learned)
        answer = {
            "exam": exam,
            "earlier": [judgement.earlier_shown(row) for row in self.earlier],
            "limits_version": self.tables.limits.version,
        }
        if request.get("as") == "units":
            answer["units"] = judged
            answer["order"] = [judgement.GENERAL] + self.tables.units
            answer["open_order"] = judgement.open_order(exam, self.tables)
        else:
            answer["judgement"] = judgement.flat(exam, judged, self.tables)
        return answer

    def _delta(self, opened: journal.Journal, fresh: list, before: dict) -> dict:
        """Rows added to the exam's lists, its other fields, the states that were set, and the units judged anew."""
        exam = opened.exam()
        signed_by = {}
        for unit in self.kept:
            signed_by[unit] = self.kept[unit][1]
        judged = judgement.units(exam, self.earlier, self.tables, self.kept, self.learned)
        added, fields = {}, {}
        for name in journal.ROWS:
            if len(exam[name]) > before[name]:
                added[name] = exam[name][before[name] :]
        kinds = [entry.get("kind") for entry in fresh]
        for name in ("entries", "heads", "forks"):
            fields[name] = exam[name]
        if "set" in kinds or "closed" in kinds:
            for name in ("patient", "context", "question", "fields", "field_heads", "closed", "closed_at"):
                fields[name] = exam[name]
        set_states = [entries.seen_about(entry) for entry in fresh]
        return {
            "added": added,
            "fields": fields,
            "states": [row for row in exam["states"] if row["about"] in set_states],
            "units": {unit: judged[unit] for unit in judged if judged[unit] is not signed_by.get(unit)},
            "open_order": judgement.open_order(exam, self.tables),
        }

    def assess(self, request: dict) -> dict:
        exam = cases.exam(request.get("case"), self.tables)
        self._keep_earlier(cases.earlier(request["case"], self.tables))
        answer = judgement.judge(exam, self.earlier, self.tables, request.get("learned"))
        answer["unread_fields"] = exam["unread_fields"]
        return answer

    def learn(self, request: dict) -> dict:
        """The spread learned from many exams, {"exams": [[entries] ...]} -> {"learned", "sums"} (learned.py).

        `sums` is what each of these exams adds; given again as {"sums": [...]}, it stands for its exam.
        """
        parts = []
        for rows in request.get("exams") or []:
            one = journal.Journal(self.tables.catalogue)
            one.add(_entries(rows))
            parts.append(learned.sums(one.exam(), self.tables.catalogue))
        known = request.get("sums") or []
        return {"learned": learned.pooled(known + parts, self.tables.thresholds), "sums": parts}

    def typed(self, request: dict) -> dict:
        """A typed number in the quantity's unit; `unit` is the unit that the person types in (typed.py)."""
        target = request.get("unit") or "mm"
        if request.get("quantity") is not None:
            target = self.tables.catalogue.quantity(request["quantity"])["unit"]
        return typed.read(request.get("text"), shapes.text(request.get("unit") or target, "unit"), target)

    def phrase(self, request: dict) -> dict:
        """Proposals for said or typed words (phrase.py)."""
        return phrase.read(request, self.tables)

    def register(self, request: dict) -> dict:
        """All rows, sets and thresholds in plain words (register.py): {"register": ...}."""
        return {"register": registers.made(self.tables)}

    def day(self, request: dict) -> dict:
        """Animals' records, merges and planned visits from the entries outside any exam (visits.py)."""
        return visits.day(_entries(request.get("entries")), self.tables.catalogue)

    def reference(self, request: dict) -> dict:
        """What values of healthy animals say of a reference interval, by ranks (reference.py)."""
        bounds = request.get("bounds")
        if bounds is not None and (not isinstance(bounds, list) or len(bounds) != 2):
            raise CoreError("wrong_type", "bounds are a lower and an upper limit")
        return reference.made(shapes.texts(request.get("values"), "values"), bounds, self.tables.thresholds)

    def series(self, request: dict) -> dict:
        """Every quantity over exams of one animal, {"exams": [[entries] ...]} in any order (series.py)."""
        exams = []
        for rows in request.get("exams") or []:
            one = journal.Journal(self.tables.catalogue)
            one.add(_entries(rows))
            if one.exam()["opened"] and not one.exam()["purpose"]:
                exams.append(one.exam())
        in_time = ordering.by_keys(exams, [str(exam["date"] or "") for exam in exams])
        return {"series": series.of_exams(in_time, self.tables, request.get("learned"))}

    def measured(self, request: dict) -> dict:
        """What each of many exams measured, {"exams": [[entries] ...]} -> {"measured": [...]} (measured.py)."""
        made = []
        for rows in request.get("exams") or []:
            one = journal.Journal(self.tables.catalogue)
            one.add(_entries(rows))
            made.append(measured.of_exam(one.exam(), self.tables))
        return {"measured": made}

    def version(self, request: dict) -> dict:
        return {"core_version": VERSION, "limits_version": self.tables.limits.version}

    def _keep_earlier(self, exams: list) -> None:
        """Earlier exams, latest first, as summaries."""
        latest = ordering.by_keys(exams, [str(exam["date"] or "") for exam in exams])
        latest.reverse()
        self.earlier = [judgement.summary(exam, self.tables) for exam in latest]


def _request(text: str) -> dict:
    try:
        request = json.loads(text)
    except ValueError:
        raise CoreError("not_json", "the call is not readable JSON")
    if not isinstance(request, dict) or not isinstance(request.get("do"), str) or request["do"] not in CALLS:
        raise CoreError("unknown_call", "there is no such call")
    return request


def _entries(given: object) -> list:
    """The entries handed in; a thing that is no entry at all is refused, an unreadable entry is not."""
    if given is None:
        return []
    if not isinstance(given, list) or not all([entries.is_entry(row) for row in given]):
        raise CoreError("not_entries", "entries are a list of entries, each with id, device and seq")
    return given


CALLS = {
    "open": Engine.open,
    "apply": Engine.apply,
    "assess": Engine.assess,
    "learn": Engine.learn,
    "typed": Engine.typed,
    "day": Engine.day,
    "phrase": Engine.phrase,
    "register": Engine.register,
    "reference": Engine.reference,
    "series": Engine.series,
    "measured": Engine.measured,
    "version": Engine.version,
}
