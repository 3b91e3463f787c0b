"""What a report is built from: one exam, its judgement, the signing facts and the tables."""

from dataclasses import dataclass, field
from functools import cached_property
from typing import Any

from webapp.core import spelling
from webapp.core.catalogue import Catalogue

from . import wording

Json = dict[str, Any]


@dataclass(frozen=True)
class Case:
    """One report's input. `exam` and `judgement` are the rule code's EXAM and J; `meta` names practice, version,
    status, signer, issue time and the fingerprints; `tables` are the tables of that version,
    in the practice's spelling; `courses` are the series of quantities with an earlier exam, by quantity, or
    "quantity|lesion" (webapp/review/trends.py)."""

    exam: Json
    judgement: Json
    meta: Json
    tables: Json
    courses: Json = field(default_factory=dict)

    @property
    def status(self) -> str:
        return str(self.meta.get("status") or "preliminary")

    @property
    def signed(self) -> bool:
        return self.status != "preliminary"

    @property
    def asked(self) -> list[str]:
        """Structures the question names, in the catalogue's order."""
        named = (self.exam.get("question") or {}).get("structures") or []
        return [structure for structure in self.structures if structure in named]

    @cached_property
    def catalogue(self) -> Catalogue:
        """The catalogue as the rule code indexes it."""
        return Catalogue(self.tables["catalogue"])

    @cached_property
    def structures(self) -> dict[str, Json]:
        return {row["id"]: row for row in self.tables["catalogue"]["structures"]}

    @cached_property
    def quantities(self) -> dict[str, Json]:
        return {row["id"]: row for row in self.tables["catalogue"]["quantities"]}

    @cached_property
    def limits(self) -> dict[str, Json]:
        return {row["id"]: row for row in self.tables["limits"]["rows"]}

    @cached_property
    def reading_order(self) -> list[str]:
        """Structures with the asked ones first: the reader looks for the question."""
        return self.asked + [structure for structure in self.structures if structure not in self.asked]

    def flags(self, *kinds: str) -> list[Json]:
        return [flag for flag in self.judgement.get("flags") or [] if flag["kind"] in kinds]

    def live(self, name: str) -> list[Json]:
        """Rows of an additive list of the exam (readings, findings, notes) that nobody struck."""
        return [row for row in self.exam.get(name) or [] if not row.get("struck")]

    def label(self, about: object) -> str:
        """The words for a structure, a part or a quantity: "RIGHT adrenal, cranial pole"."""
        name = str(about)
        if name in self.quantities:
            return str(self.quantities[name]["label"])
        if name in self.structures:
            return str(self.structures[name]["label"])
        structure, _, part = name.rpartition(".")
        return f"{self.label(structure)}, {self.part(structure, part)}" if structure in self.structures else name

    def part(self, structure: str, part: object) -> str:
        rows = self.structures[structure]["parts"] if structure in self.structures else []
        return next((str(row["label"]) for row in rows if row["id"] == part), str(part).replace("_", " "))

    def say(self, text: str) -> str:
        """Words of this project in the spelling of the tables; never for what a person typed."""
        return str(spelling.say(text, self.tables))

    def reason(self, why: object) -> str:
        """Why something was not seen: the closed list in that spelling, own words as they were typed."""
        text = str(why)
        return self.say(text) if text in self.tables["catalogue"]["not_seen_reasons"] else text

    @property
    def language(self) -> str:
        """The language of the report's own words, as a BCP 47 tag."""
        return "en-US" if self.tables["spelling"].get("in_use") == spelling.AMERICAN else "en-GB"

    def person(self, name: object) -> str:
        """A person's name where the signing facts know it, else the id as recorded."""
        return str((self.meta.get("people") or {}).get(name) or name or "not named")

    def acknowledgement(self, flag: Json) -> str:
        """Why a person let this flag stand ("kept: re-measured, same"), or "" where nobody has said."""
        reasons = [
            str(row.get("reason") or "no reason given")
            for row in self.exam.get("acknowledged") or []
            if row.get("about") == flag["about"] and row.get("flag") == flag["kind"] and not row.get("struck")
        ]
        return f"Looked at: {wording.several(dict.fromkeys(reasons))}." if reasons else ""
