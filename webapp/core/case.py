"""A case as outside checks write it (`flask assess`) -> the exam that the judgement reads.

Shape of the input: README, "assess". Errors are CoreError with one sentence. A field that is not known is named
in `unread_fields` of the answer, so that a misspelt one is not lost in silence.
"""

from . import decimals, shapes, typed
from .catalogue import Catalogue
from .errors import CoreError
from .tables import Tables

KNOWN = {
    "case": ("exam", "patient", "context", "asked", "readings", "structures", "findings", "earlier"),
    "patient": tuple(shapes.PATIENT),
    "context": tuple(shapes.CONTEXT),
    "reading": ("quantity", "values", "unit", "plane", "view", "cut", "acquired", "recumbency", "lesion", "depth_mm")
    + ("rows",),
    "structure": ("structure", "part", "seen", "why", "normal", "tried"),
    "finding": ("structure", "dimensions", "vessel") + tuple(shapes.FINDING),
}
FILLINGS = ("empty", "minimal", "mild", "moderate", "full", "unknown")


def exam(case: object, tables: Tables) -> dict:
    """The exam dict of one case; raises CoreError on anything that cannot be understood."""
    given = shapes.thing(case, "a case")
    unread: list = []
    _note_unknown(given, "case", "", unread)
    date = shapes.thing(given.get("exam") or {}, "exam").get("date")
    if date is not None:
        shapes.text(date, "exam.date")
    return {
        "id": None,
        "date": date,
        "patient": _patient(given.get("patient"), unread),
        "context": _context(given.get("context"), unread),
        "question": {"structures": _asked(given.get("asked"), tables.catalogue)},
        "readings": _readings(given.get("readings"), tables.catalogue, unread),
        "states": _states(given.get("structures"), tables.catalogue, unread),
        "findings": _findings(given.get("findings"), tables, unread),
        "fields": {},
        "forks": [],
        "unread_fields": unread,
    }


def earlier(case: dict, tables: Tables) -> list:
    """The earlier exams of a case, each an exam dict. Species is taken from the case."""
    found = []
    for row in _rows(case.get("earlier"), "earlier"):
        patient = dict(shapes.thing(row.get("patient") or {}, "patient"))
        if patient.get("species") is None:
            patient["species"] = case["patient"]["species"]
        copy = dict(row)
        copy["patient"] = patient
        copy.pop("earlier", None)
        found.append(exam(copy, tables))
    return found


def _note_unknown(given: dict, kind: str, name: str, unread: list) -> None:
    for field in given:
        if field not in KNOWN[kind]:
            unread.append((name + "." if name else "") + str(field))


def _rows(value: object, name: str) -> list:
    if value is None:
        return []
    if not isinstance(value, list):
        raise shapes.refuse(name, "a list")
    for row in value:
        shapes.thing(row, "an item of " + name)
    return value


def _as_text(value: object) -> object:
    """Whole numbers are read as decimal text, so that both ways of writing a number are understood."""
    return str(value) if isinstance(value, int) and not isinstance(value, bool) else value


def _patient(given: object, unread: list) -> dict:
    if not isinstance(given, dict) or given.get("species") not in shapes.SPECIES:
        raise CoreError("no_species", 'patient.species is "dog" or "cat"')
    patient = dict(given)
    for name in ("weight_kg", "ideal_weight_kg"):
        patient[name] = _as_text(patient.get(name))
    for name in ("age_months", "body_condition"):
        if isinstance(patient.get(name), str):
            number = decimals.parse(patient[name])
            patient[name] = number[0] // number[1]
    _note_unknown(patient, "patient", "patient", unread)
    return shapes.fields(patient, shapes.PATIENT, "patient")


def _context(given: object, unread: list) -> dict:
    if given is None:
        return {}
    context = dict(shapes.fields(given, shapes.CONTEXT, "context"))
    _note_unknown(context, "context", "context", unread)
    for sign in context.get("signs") or []:
        shapes.one_of(sign, shapes.SIGNS, "a sign")
    if context.get("bladder_filling") not in FILLINGS + (None,):
        unread.append("context.bladder_filling: " + context["bladder_filling"])
    return context


def _asked(given: object, catalogue: Catalogue) -> list:
    asked = [] if given is None else shapes.texts(given, "asked")
    for name in asked:
        catalogue.place(name)
    return list(asked)


def _readings(given: object, catalogue: Catalogue, unread: list) -> list:
    readings = []
    for row in _rows(given, "readings"):
        quantity = catalogue.quantity(row.get("quantity"))
        _note_unknown(row, "reading", "readings", unread)
        about = _reading_context(row, catalogue)
        values = row.get("values")
        if not isinstance(values, list) or not values:
            raise CoreError("no_values", "readings of " + quantity["id"] + " need a list of values")
        unit = shapes.text(row.get("unit") or quantity["unit"], "unit")
        for value in values:
            reading = dict(about)
            number = shapes.size(_as_text(value), "a reading of " + quantity["id"]).strip()
            reading["value"] = typed.convert(number, unit, quantity["unit"])
            reading["quantity"], reading["unit"] = quantity["id"], quantity["unit"]
            readings.append(reading)
    return readings


def _reading_context(row: dict, catalogue: Catalogue) -> dict:
    """Plane, view, cut and the like of a reading, checked against their closed lists."""
    about = {}
    for name in ("plane", "view", "cut", "acquired", "recumbency", "lesion", "depth_mm", "rows"):
        about[name] = _as_text(row.get(name))
    shapes.fields(about, shapes.READING, "readings")
    lists = catalogue.reading_context
    for name, known in (("plane", lists["plane"]), ("view", ["whole", "partly"]), ("cut", lists["cut"])):
        if about[name] is not None:
            shapes.one_of(about[name], known, "readings." + name)
    if about["acquired"] is not None:
        shapes.one_of(about["acquired"], lists["acquired"], "readings.acquired")
    return about


def _states(given: object, catalogue: Catalogue, unread: list) -> list:
    states = []
    for row in _rows(given, "structures"):
        _note_unknown(row, "structure", "structures", unread)
        structure = catalogue.structure(row.get("structure"))
        part = row.get("part")
        about = structure["id"] + ("." + shapes.text(part, "part") if part else "")
        catalogue.place(about)
        normal = shapes.truth(row.get("normal") or False, "structures.normal")
        seen = row.get("seen") or ("whole" if normal else None)
        shapes.one_of(seen, catalogue.seen_states, "structures.seen")
        why = shapes.text_or_texts(row.get("why") or [], "why")
        states.append(
            {
                "about": about,
                "structure": structure["id"],
                "part": part or None,
                "seen": seen,
                "normal": normal,
                "why": [why] if isinstance(why, str) else why,
                "fork": False,
            }
        )
    return states


def _findings(given: object, tables: Tables, unread: list) -> list:
    findings = []
    for row in _rows(given, "findings"):
        _note_unknown(row, "finding", "findings", unread)
        structure = tables.catalogue.structure(row.get("structure"))
        finding = dict(shapes.fields(row, shapes.FINDING, "findings"))
        shapes.one_of(row.get("finding"), tables.descriptors["finding_ids"], "findings.finding")
        shapes.vessel(row.get("vessel"))
        if row.get("part"):
            tables.catalogue.place(structure["id"] + "." + row["part"])
        axes = row.get("dimensions")
        given_axes = [_as_text(axis) for axis in axes] if isinstance(axes, list) else axes
        unit = row.get("unit") or "mm"
        finding["dimensions"] = [typed.convert(axis.strip(), unit, "mm") for axis in shapes.dimensions(given_axes)]
        finding["unit"] = "mm"
        findings.append(finding)
    return findings
