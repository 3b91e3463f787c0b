"""What an exam and its judgement say, as exports need it: which lines belong to a value, a limit's facts in words."""

from collections.abc import Iterator
from functools import cached_property
from typing import Any

from webapp import rules
from webapp.report import sources, wording
from webapp.report.case import Case

Json = dict[str, Any]
VERDICTS = ("above_limit", "below_limit", "near_limit", "alert")


class ToldExam:
    """An exam with its judgement; `meta` = what is known of its report (status, version, signer)."""

    def __init__(self, exam: Json, judgement: Json, meta: Json | None = None):
        self.exam, self.judgement, self.meta = exam, judgement, meta or {}

    @cached_property
    def case(self) -> Case:
        """The same with the tables, for the report's own words."""
        return Case(self.exam, self.judgement, self.meta, rules.worded())

    def said(self, value: Json) -> list[Json]:
        """The lines of the rules about a value (of `values`), flags first; none about a numbered lesion.

        A line held back for want of clinical signs is left out: its class would name what nobody suspects.
        """
        if value.get("lesion"):
            return []
        return [line for line in self._lines() if line["about"] == value["quantity"] and not self._held_back(line)]

    def _lines(self) -> Iterator[Json]:
        for where in ("flags", "judged", "silent"):
            yield from self.judgement.get(where) or []

    def _held_back(self, line: Json) -> bool:
        row = self.case.limits.get(str((line.get("limit") or {}).get("id"))) or {}
        return bool(line["kind"] == "no_verdict" and (row.get("applies_when") or {}).get("signs"))

    def class_words(self, limit: Json) -> str:
        """The animals a limit speaks of."""
        return sources.class_words(self.case, limit)

    def citation(self, line: Json) -> str:
        """Who published the limit of a line, and how that is known."""
        limit = line.get("limit") or {}
        source = self.case.tables["limits"]["sources"].get(limit.get("source")) or {}
        doi = f"doi {source['doi']}" if source.get("doi") else ""
        known = wording.KNOWN.get(str(limit.get("known")), "")
        return "; ".join(piece for piece in (str(line.get("source") or ""), doi, known) if piece)

    def population(self, limit: Json) -> str:
        """In whom, how many, in which plane and by which statistic a limit was found."""
        plane = wording.PLANES.get(str(limit.get("plane") or "unspecified"), str(limit.get("plane")))
        count = f"n {limit['n']}" if limit.get("n") else "n not stated"
        told = (limit.get("population"), count, plane, limit.get("statistic"))
        return "; ".join(str(piece) for piece in told if piece)

    def readings_of(self, value: Json) -> list[Json]:
        """The readings, not struck ones, that belong to a value; those set aside for their plane included."""
        return [
            row
            for row in self.exam["readings"]
            if not row["struck"] and row["quantity"] == value["quantity"] and row.get("lesion") == value.get("lesion")
        ]

    def measure_words(self, row: Json) -> str:
        """The name of what was measured, a lesion's with its organ and number."""
        structure, _, number = str(row.get("lesion") or "").partition("#")
        lesion = f" ({self.case.label(structure)} {number})" if number else ""
        return self.case.label(row["quantity"]) + lesion

    def structure_of(self, row: Json) -> str:
        """The structure a reading or a value belongs to, "" where its measure belongs to none."""
        if row.get("lesion"):
            return str(row["lesion"]).partition("#")[0]
        return str((self.case.quantities.get(row["quantity"]) or {}).get("structure") or "")
