"""What one issued exam recorded, as FHIR R4 Observations: each reading, each value with its limit, what was not seen.

A reading is an Observation of its own, a struck one as entered in error. A mean is one that names its readings; only
it has a limit and what the rules said. Nothing is ever given the interpretation "normal".
"""

import uuid
from decimal import Decimal
from typing import Any

from webapp.core import sentences
from webapp.exchange import codes
from webapp.exchange.codes import Code
from webapp.exchange.issued_exam import Issued
from webapp.exchange.told_exam import VERDICTS, Json
from webapp.report import sources, wording
from webapp.review import table as desk_words
from webapp.review import words

ABSENT = "http://terminology.hl7.org/CodeSystem/data-absent-reason"
CATEGORY = "http://terminology.hl7.org/CodeSystem/observation-category"
INTERPRETATION = "http://terminology.hl7.org/CodeSystem/v3-ObservationInterpretation"
# Only what the rules themselves say in one word has a code; everything else they say goes out in their words.
BEYOND = {"above_limit": ("H", "High"), "below_limit": ("L", "Low")}
WHY_ABSENT = {"not_examined": "not-performed", "removed": "not-applicable"}
LEFT_OPEN = ("not_recorded", "no_reading", "other_side_missing")
HOW = ("plane", "view", "cut", "acquired", "recumbency", "window", "distance")


def concept(text: str, *found: Code | None, own: str = "") -> Json:
    """Words with the codes that are known for them."""
    coding = [{"system": codes.SYSTEMS[one.scheme], "code": one.value, "display": one.meaning} for one in found if one]
    if own:
        coding.insert(0, {"system": codes.OWN_SYSTEM, "code": own})
    return {"coding": coding, "text": text} if coding else {"text": text}


def amount(value: object, unit: str) -> Json:
    """A Quantity with every digit of the decimal text. Raises ValueError for what is no number."""
    code = codes.unit(unit)
    quantity: Json = {"value": Decimal(str(value)), "system": codes.SYSTEMS["UCUM"], "code": code.value}
    return quantity | ({"unit": wording.unit(unit)} if wording.unit(unit) else {})


class Observations:
    """Makes the Observations of one exam, with SNOMED CT codes or without."""

    def __init__(self, issued: Issued, snomed: bool):
        self.issued, self.snomed = issued, snomed
        self.status = "preliminary" if issued.status == "preliminary" else "final"

    def all(self) -> dict[str, list[Json]]:
        """{"readings", "struck", "values", "seen", "open", "findings"}: lists of Observations."""
        exam = self.issued.exam
        readings = [self._reading(row) for row in exam["readings"]]
        findings = [self._finding(row) for row in exam["findings"]] + [self._note(row) for row in exam["notes"]]
        return {
            "readings": [one for one in readings if one["status"] != "entered-in-error"],
            "values": [self._value(row) for row in self.issued.judgement["values"]],
            "seen": [self._state(row) for row in exam["states"]],
            "open": [self._open(row) for row in self.issued.judgement["open"] if row["kind"] in LEFT_OPEN],
            "findings": [one for one in findings if one["status"] != "entered-in-error"] + self._described(),
            "struck": [one for one in (*readings, *findings) if one["status"] == "entered-in-error"],
        }

    def _made(self, name: str, code: Json, row: Json, structure: str) -> Json:
        made: Json = {
            "resourceType": "Observation",
            "id": name,
            "status": "entered-in-error" if row.get("struck") else self.status,
            "category": [{"coding": [{"system": CATEGORY, "code": "imaging"}]}],
            "code": code,
            "subject": reference(self.issued.animal),
        }
        if row.get("at"):
            made["effectiveDateTime"] = row["at"]
        elif self.issued.exam["date"]:
            made["effectiveDateTime"] = self.issued.exam["date"]
        if row.get("author"):
            made["performer"] = [reference(self.issued.name("person", row["author"]), str(row["author"]))]
        if structure:
            made["bodySite"] = self._site(structure, row.get("part"))
        notes = [f"recorded for {row['behalf']}"] if row.get("behalf") else []
        if row.get("struck"):
            notes.append(f"struck: {row.get('why_struck') or 'no reason given'}")
        return made | ({"note": [{"text": one} for one in notes]} if notes else {})

    def _site(self, structure: str, part: object = None) -> Json:
        where = f"{structure}.{part}" if part else structure
        return concept(self.issued.case.label(where), codes.site(structure, self.snomed), own=where)

    def _measured(self, row: Json) -> Json:
        found = codes.measure(row["quantity"], self.issued.structure_of(row), self.snomed)
        return concept(self.issued.measure_words(row), found, own=row["quantity"])

    def _reading(self, row: Json) -> Json:
        part = None if row.get("lesion") else (self.issued.case.quantities.get(row["quantity"]) or {}).get("part")
        made = self._made(row["id"], self._measured(row), row | {"part": part}, self.issued.structure_of(row))
        made["valueQuantity"] = amount(row["value"], row["unit"])
        how = [words.plain(row[name]) for name in HOW if row.get(name)]
        made["method"] = {"text": "; ".join(["ultrasound, read with the machine's calipers", *how])}
        if row["typed"] not in (None, row["value"]) or row["typed_unit"] not in (None, row["unit"]):
            typed = f"typed as {row['typed']} {row['typed_unit'] or ''}".strip()
            made.setdefault("note", []).append({"text": typed})
        for name, text in (("image", "the machine's image number"), ("note", "note")):
            if row.get(name):
                made.setdefault("note", []).append({"text": f"{text}: {row[name]}"})
        return made

    def _value(self, row: Json) -> Json:
        issued = self.issued
        name = issued.name("value", row["quantity"], row.get("lesion") or "")
        made = self._made(name, self._measured(row), {}, issued.structure_of(row))
        made["valueQuantity"] = amount(row["value"], row["unit"])
        if row.get("at_least"):
            made["valueQuantity"]["comparator"] = ">="
        made["method"] = {"text": f"mean of {row['n']}" if row.get("n") else "computed from other values"}
        readings = [reference(one["id"]) for one in issued.readings_of(row)]
        inputs = [reference(issued.name("value", one, "")) for one in self._inputs(row)]
        if readings or inputs:
            made["derivedFrom"] = readings + inputs
        said = issued.said(row)
        ranges = [self._range(line) for line in said if line.get("limit")]
        if ranges:
            made["referenceRange"] = _distinct(ranges)
        flagged = [line for line in said if line["kind"] in (*VERDICTS, "changed")]
        if flagged:
            made["interpretation"] = [self._interpreted(line) for line in flagged]
        notes = [f"{line['text']}{_call(line)}" for line in said if line not in flagged]
        if not any(line.get("why") == "partly_seen" for line in said):
            notes += [f"also published, never the reason for a verdict: {other['words']}"
                      for line in said for other in line.get("also") or []]
        if notes:
            made["note"] = made.get("note", []) + [{"text": one} for one in dict.fromkeys(notes)]
        parts = self._components(row, said)
        return made | ({"component": parts} if parts else {})

    def _inputs(self, row: Json) -> list[str]:
        known = {one["quantity"] for one in self.issued.judgement["values"] if not one.get("lesion")}
        return [name for name in row.get("inputs") or [] if name in known and name != row["quantity"]]

    def _range(self, line: Json) -> Json:
        limit = line["limit"]
        made: Json = {name[1]: amount(limit[name[0]], limit["unit"])
                      for name in (("lower", "low"), ("upper", "high")) if limit.get(name[0]) is not None}
        made["type"] = {"text": f"published {wording.USE.get(str(limit.get('use')), str(limit.get('use')))}"}
        made["appliesTo"] = [{"text": self.issued.class_words(limit) or "class not stated"}]
        figure = wording.with_unit(sources.extent(limit), limit["unit"])
        told = (figure, self.issued.class_words(limit), self.issued.population(limit), self.issued.citation(line))
        made["text"] = ". ".join(piece for piece in told if piece)
        return made

    def _interpreted(self, line: Json) -> Json:
        text = f"{line['text']}{_call(line)}"
        code = BEYOND.get(line["kind"])
        coding = [{"system": INTERPRETATION, "code": code[0], "display": code[1]}] if code else []
        return {"coding": coding, "text": text} if coding else {"text": text}

    def _components(self, row: Json, said: list[Json]) -> list[Json]:
        made: list[Json] = []
        if row.get("n"):
            made.append({"code": {"text": "number of readings"}, "valueInteger": row["n"]})
        if row.get("spread") is not None:
            made.append({"code": {"text": "largest minus smallest reading"},
                         "valueQuantity": amount(row["spread"], row["unit"])})
        if row.get("uncertainty") is not None:
            made.append({"code": {"text": "expanded uncertainty of the mean by these readings, k = 2 (JCGM 100:2008)"},
                         "valueQuantity": amount(row["uncertainty"], row["unit"])})
        for line in said:
            if line.get("probability") is not None:
                text = "probability that the value lies beyond the limit (JCGM 106:2012)"
                made.append({"code": {"text": text}, "valueQuantity": amount(line["probability"], "1")})
        return made

    def _state(self, row: Json) -> Json:
        code = concept(f"Seen or not: {self.issued.case.label(row['about'])}", own=f"seen:{row['about']}")
        made = self._made(row["id"], code, row, row["structure"])
        why = ", ".join(self.issued.case.reason(one) for one in row["why"])
        said = sentences.SEEN.get(row["seen"], words.plain(row["seen"])) + (f" ({why})" if why else "")
        if row["seen"] in ("whole", "partly"):
            made["valueString"] = said + (", recorded as normal" if row["normal"] else "")
        else:
            made["dataAbsentReason"] = absent(WHY_ABSENT.get(row["seen"], "unknown"), said)
        if row.get("fork"):
            made.setdefault("note", []).append({"text": "two people recorded this differently"})
        return made

    def _open(self, row: Json) -> Json:
        code = concept(self.issued.case.label(row["about"]), own=str(row["about"]))
        made = self._made(self.issued.name("open", row["about"], row["kind"]), code, {}, str(row["structure"] or ""))
        return made | {"dataAbsentReason": absent("unknown", row["text"])}

    def _finding(self, row: Json) -> Json:
        code = concept(f"Finding: {words.plain(row['finding'])}", own=f"finding:{row['finding']}")
        made = self._made(row["id"], code, row, row["structure"])
        made["valueString"] = desk_words.finding(row)["text"]
        sizes = [{"code": {"text": "dimension"}, "valueQuantity": amount(size, row["unit"] or "mm")}
                 for size in row.get("dimensions") or []]
        return made | ({"component": sizes} if sizes else {})

    def _note(self, row: Json) -> Json:
        structure = str(row["about"]) if row["about"] in self.issued.case.structures else ""
        made = self._made(row["id"], concept(f"Note: {self.issued.case.label(row['about'])}"), row, structure)
        return made | {"valueString": row["text"]}

    def _described(self) -> list[Json]:
        """Descriptors that fill a slot of a structure ("capsule: smooth")."""
        made = []
        for about, value in self.issued.exam["fields"].items():
            structure, _, name = about.rpartition(".")
            if structure in self.issued.case.structures and value not in (None, "", []):
                told = concept(f"{self.issued.case.label(structure)}, {words.plain(name)}", own=about)
                one = self._made(self.issued.name("field", about), told, {}, structure)
                made.append(one | {"valueString": words.value(value)})
        return made


def reference(name: str, display: str = "") -> Json:
    """A reference to a resource of the same bundle by its address there."""
    return {"reference": address(name)} | ({"display": display} if display else {})


def address(name: str) -> str:
    """The address of a resource inside a bundle. A journal entry's id is a SHA-256, from which a UUID is made."""
    try:
        return f"urn:uuid:{uuid.UUID(name)}"
    except ValueError:
        return f"urn:uuid:{uuid.uuid5(uuid.NAMESPACE_URL, f'gelside/{name}')}"


def absent(code: str, text: str) -> Json:
    """Why there is no value."""
    return {"coding": [{"system": ABSENT, "code": code}], "text": text}


def _call(line: Json) -> str:
    return f" ({line['call']})" if line.get("call") else ""


def _distinct(rows: list[Any]) -> list[Any]:
    return [row for place, row in enumerate(rows) if row not in rows[:place]]
