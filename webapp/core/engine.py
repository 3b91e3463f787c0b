"""The door to the core: JSON text in, JSON text out, the same on the phone and on the server.

One Engine holds one open exam: it is folded once when opened, then entries are applied as they come.
"""

import json

from . import VERSION
from . import case as cases
from . import journal
from . import judgement
from . import ordering
from . import typed
from .catalogue import Catalogue
from .errors import CoreError
from .limits import Limits


def tables_of(texts):
    """Tables for `Engine` from {"catalogue", "limits", "thresholds", "descriptors"}: each JSON text or an object."""
    parsed = {}
    for name in ("catalogue", "limits", "thresholds", "descriptors"):
        given = texts[name]
        parsed[name] = json.loads(given) if isinstance(given, str) else given
    catalogue = Catalogue(parsed["catalogue"])
    return judgement.Tables(catalogue, Limits(parsed["limits"], catalogue), parsed["thresholds"], parsed["descriptors"])


class Engine:
    """Answers calls about one exam at a time; a fresh one shares nothing with another but its tables."""

    def __init__(self, tables):
        self.tables = tables
        self.journal = None
        self.earlier = []
        self.earlier_shown = []

    def call(self, text):
        """Answers one call, JSON text {"do": ...}; what cannot be understood comes back as {"error"}."""
        try:
            request = json.loads(text)
            if not isinstance(request, dict) or request.get("do") not in CALLS:
                raise CoreError("unknown_call", "there is no such call")
            answer = CALLS[request["do"]](self, request)
        except CoreError as error:
            answer = {"error": {"code": error.code, "message": error.message}}
        return json.dumps(answer)

    def open(self, request):
        self.journal = journal.Journal(self.tables.catalogue)
        self.journal.add(request.get("entries") or [])
        exams = []
        for row in request.get("earlier") or []:
            older = journal.Journal(self.tables.catalogue)
            older.add(row["entries"])
            exam = older.exam()
            if exam["opened"]:
                exams.append(exam)
        self._keep_earlier(exams)
        return self._answer()

    def apply(self, request):
        if self.journal is None:
            raise CoreError("nothing_open", "no exam is open")
        self.journal.add(request.get("entries") or [])
        return self._answer()

    def assess(self, request):
        exam = cases.exam(request.get("case"), self.tables.catalogue)
        self._keep_earlier(cases.earlier(request["case"], self.tables.catalogue))
        return judgement.judge(exam, self.earlier, self.tables)

    def typed(self, request):
        return typed.read(request.get("text"), self.tables.catalogue.quantity(request.get("quantity"))["unit"]
                          if request.get("quantity") else request.get("unit") or "mm")

    def version(self, request):
        return {"core_version": VERSION, "limits_version": self.tables.limits.version}

    def _keep_earlier(self, exams):
        """Earlier exams, latest first, as summaries."""
        latest = ordering.by_key(exams, lambda exam: str(exam["date"] or ""))
        latest.reverse()
        self.earlier = [judgement.summary(exam, self.tables) for exam in latest]

    def _answer(self):
        exam = self.journal.exam()
        return {"exam": exam, "judgement": judgement.judge(exam, self.earlier, self.tables),
                "earlier": [{"id": row["id"], "date": row["date"]} for row in self.earlier]}


CALLS = {"open": Engine.open, "apply": Engine.apply, "assess": Engine.assess, "typed": Engine.typed,
         "version": Engine.version}
