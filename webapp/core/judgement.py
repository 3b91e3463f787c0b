"""The judgement of one exam: flags, lines within, silences, values and what is still open (README, "assess").

It is made unit by unit. A unit is a structure, or a pair of them with what relates the two sides (both adrenal
glands, both kidneys ...). A unit whose entries have not changed keeps its judgement, so that on the phone one
more reading costs one unit and not the whole exam.
"""

from . import animal as animals
from . import (
    change,
    checks,
    context,
    contradictions,
    decimals,
    flips,
    gland,
    last_time,
    lesions,
    open_items,
    relations,
    sentences,
    values,
    verdicts,
)
from .tables import Tables
from .verdicts import Judge

OF_THE_GLAND = ("caudal_pole_thickness", "cranial_pole_thickness", "maximum_thickness")
LISTS = ("flags", "judged", "silent", "assumed", "open", "values", "contradictions", "context", "lesions", "last_time")
GENERAL = "general"
SHARED = "aorta"


def judge(exam: dict, earlier: list, tables: Tables, learned: dict | None = None) -> dict:
    """The output object of README's "assess" for an exam dict; `earlier` as made by `summary`, latest first."""
    return flat(exam, units(exam, earlier, tables, {}, learned), tables)


def flat(exam: dict, judged: dict, tables: Tables) -> dict:
    """The judgements of all units as one object, in the order of the structures; open items as asked."""
    made: dict = {"limits_version": tables.limits.version, "sentences": {}}
    for name in LISTS:
        made[name] = []
    for unit in [GENERAL] + tables.units:
        made["sentences"].update(judged[unit]["sentences"])
        for name in LISTS:
            if name != "open":
                made[name] += judged[unit][name]
    for unit in open_order(exam, tables):
        made["open"] += judged[unit]["open"]
    made["contradictions"] += contradictions.of_words(exam, made["flags"], tables.catalogue)
    return made


TRAINING = "training"


def open_order(exam: dict, tables: Tables) -> list:
    """Units in the order in which their open items are read: the question's structures first."""
    asked = [name for name in exam["question"].get("structures") or [] if tables.catalogue.is_place(name)]
    units_asked = [tables.unit_of[tables.catalogue.place(name)[0]] for name in asked]
    first = [unit for unit in tables.units if unit in units_asked]
    return first + [GENERAL] + [unit for unit in tables.units if unit not in first]


def units(exam: dict, earlier: list, tables: Tables, kept: dict, learned: dict | None = None) -> dict:
    """{unit: its judgement}. `kept` maps a unit to (signature, judgement, what was made of each value) of the last run
    and is brought up to date: a unit judged anew makes again only the values whose own readings changed.

    An exam with a purpose of its own (measuring twice, to know one's spread) is no animal's: nothing is judged. Only
    training is judged like an animal's, so that it can be learned what the lines say; it stands on no list either.
    """
    if exam.get("purpose") not in (None, TRAINING):
        return {unit: _nothing() for unit in [GENERAL] + tables.units}
    animal = animals.of_exam(exam, tables.catalogue, tables.thresholds)
    shares = _shares(exam, tables)
    common = _common_signature(exam, shares[SHARED])
    if GENERAL in kept and kept[GENERAL][0][0] == common:
        common = kept[GENERAL][0][0]  # the very same list is equal at a glance, unit after unit
    shared: "dict | None" = None
    judged = {}
    for unit in [GENERAL] + tables.units:
        signature = [common, _beside_readings(shares[unit]), shares[unit]["readings"]]
        before = kept.get(unit)
        if before is None or before[0] != signature:
            memo = before[2] if before is not None and before[0][:2] == signature[:2] else {}
            if shared is None:
                shared = _shared_values(shares[SHARED], tables)
            share = _share_of(exam, shares[unit], {} if unit == SHARED else shared)
            judging = Judge(share, animal, tables, learned, memo)
            made = _general(share, judging) if unit == GENERAL else _unit(unit, share, earlier, judging)
            kept[unit] = (signature, made, memo)
        judged[unit] = kept[unit][1]
    return judged


def _shares(exam: dict, tables: Tables) -> dict:
    """The readings, states, findings and notes of every unit, and the fields of its structures.

    They also sign the unit: rows are never changed in place, so lists of the same rows are equal at a glance.
    """
    shares: dict = {}
    for unit in [GENERAL] + tables.units:
        shares[unit] = {"readings": [], "states": [], "findings": [], "notes": [], "fields": []}
    for field in exam.get("fields") or {}:
        structure = field.rpartition(".")[0]
        if structure in tables.unit_of:
            shares[tables.unit_of[structure]]["fields"].append([field, exam["fields"][field]])
    for row in exam["readings"]:
        unit = tables.unit_of_quantity[row["quantity"]] or _unit_of_lesion(row, tables)
        shares[unit]["readings"].append(row)
    for name in ("states", "findings"):
        for row in exam[name]:
            shares[tables.unit_of[row["structure"]]][name].append(row)
    for row in exam.get("notes") or []:
        unit = tables.unit_of.get(str(tables.catalogue.structure_of(row.get("about"))), GENERAL)
        shares[unit]["notes"].append(row)
    return shares


def _unit_of_lesion(row: dict, tables: Tables) -> str:
    """The unit of a numbered lesion's structure ("liver#1"); general where none is named."""
    return tables.unit_of.get(str(row.get("lesion") or "").split("#")[0], GENERAL)


def _beside_readings(share: dict) -> list:
    """What a unit depends on but its readings."""
    return [share["states"], share["findings"], share["notes"], share["fields"]]


def _common_signature(exam: dict, aorta: dict) -> list:
    """What every unit depends on: the animal, its context, the question, and the aorta that ratios go by."""
    return [
        dict(exam["patient"]),
        dict(exam["context"]),
        dict(exam["question"]),
        exam["date"],
        aorta["readings"],
        _beside_readings(aorta),
    ]


def _shared_values(share: dict, tables: Tables) -> dict:
    """The aorta's values, which ratios of other units go by; the question about one not believed is asked there."""
    found = values.of_readings(share["readings"], share["states"], tables.catalogue)
    checks.believe_shared(found, tables.catalogue)
    return found


def _share_of(exam: dict, share: dict, shared: dict) -> dict:
    """The part of the exam that one unit sees, with the values that it shares with others."""
    return {
        "date": exam["date"],
        "patient": exam["patient"],
        "context": exam["context"],
        "question": exam["question"],
        "author": exam.get("behalf") or exam.get("author"),
        "readings": share["readings"],
        "states": share["states"],
        "findings": share["findings"],
        "notes": share["notes"],
        "fields": exam["fields"],
        "shared": shared,
    }


def _general(exam: dict, judging: Judge) -> dict:
    checks.odd_weight(judging)
    numbered = values.lesions(exam["readings"], exam, judging.catalogue)
    return _made(judging, open_items.general(exam, judging), [_shown(judging, value, None) for value in numbered])


def _unit(unit: str, exam: dict, earlier: list, judging: Judge) -> dict:
    found, glands = _values(unit, exam, judging)
    order = [quantity["id"] for quantity in judging.tables.quantities[unit] if quantity["id"] in found]
    for name in order:
        if found[name]["believable"] and not _is_of_the_gland(name):
            verdicts.judge_value(judging, found[name])
    relations.relate(judging, glands)
    relations.class_notes(judging, earlier)
    beside = change.compare(judging, found, order, earlier)
    still_open = open_items.of_unit(judging.tables.structures[unit], exam, found, judging)
    shown = [_shown(judging, found[name], beside.get(name)) for name in order]
    numbered = values.lesions(exam["readings"], exam, judging.catalogue)
    made = _made(judging, still_open, shown + [_shown(judging, value, None) for value in numbered])
    structures = judging.tables.structures[unit]
    for line in judging.flags + judging.judged:
        line["flips"] = flips.say(judging, line)
    made["open"] = made["open"] + lesions.find_again(structures, exam, earlier, judging)
    made["lesions"] = lesions.compared(structures, exam, earlier, judging)
    made["last_time"] = last_time.of_unit(structures, earlier)
    made["context"] = context.beside(judging, order)
    made["contradictions"] = contradictions.of_unit(structures, exam, judging)
    for structure in structures:
        name = structure["id"]
        made["sentences"][name] = sentences.of_structure(
            name, exam, judging.flags, judging.catalogue, judging.tables.windows
        )
    return made


def _nothing() -> dict:
    made: dict = {"sentences": {}}
    for name in LISTS:
        made[name] = []
    return made


def _values(unit: str, exam: dict, judging: Judge) -> tuple:
    """({quantity: value} of the unit with its derived values, {side: Gland} or None); look-again flags are raised."""
    catalogue = judging.catalogue
    found = values.of_readings(exam["readings"], exam["states"], catalogue, judging.memo)
    quantities = judging.tables.quantities[unit]
    checks.look_again(judging, found, [quantity["id"] for quantity in quantities if quantity["id"] in found])
    glands = gland.judge_glands(judging, found) if unit == "adrenal" else None
    values.derive(found, exam["shared"], quantities, exam)
    return found, glands


def _is_of_the_gland(name: str) -> bool:
    return name[:8] == "adrenal." and name.split(".")[-1] in OF_THE_GLAND


def _made(judging: Judge, still_open: list, shown: list) -> dict:
    return {
        "flags": judging.flags,
        "judged": judging.judged,
        "silent": judging.silent,
        "assumed": judging.assumed,
        "open": still_open,
        "values": shown,
        "contradictions": [],
        "context": [],
        "lesions": [],
        "last_time": [],
        "sentences": {},
    }


def summary(exam: dict, tables: Tables) -> dict:
    """What later exams compare with: {"id", "date", "animal", "values" {id: value}, "lesions" [findings],
    "reached" {structure: how it was reached}}."""
    animal = animals.of_exam(exam, tables.catalogue, tables.thresholds)
    shares = _shares(exam, tables)
    found = {}
    shared = _shared_values(shares[SHARED], tables)
    for unit in tables.units:
        if shares[unit]["readings"]:
            share = _share_of(exam, shares[unit], {} if unit == SHARED else shared)
            found.update(_values(unit, share, verdicts.Judge(share, animal, tables))[0])
    return {
        "id": exam["id"],
        "date": exam["date"],
        "animal": animal,
        "values": found,
        "lesions": lesions.of_exam(exam),
        "reached": last_time.of_exam(exam, tables),
    }


def earlier_shown(exam: dict) -> dict:
    """An earlier exam as it is listed: {"id", "date", "weight_kg"}."""
    weight = exam["animal"]["weight"]
    return {"id": exam["id"], "date": exam["date"], "weight_kg": decimals.exact(weight) if weight else None}


def _shown(judging: Judge, value: dict, beside: dict | None) -> dict:
    """A value as text, with the earlier one beside it."""
    cell = judging.cell(value)
    if cell is None:
        made = _told(judging, value)
    else:
        if "told" not in cell:
            cell["told"] = _told(judging, value)
        made = dict(cell["told"])
    made["earlier"] = beside
    return made


def _told(judging: Judge, value: dict) -> dict:
    """The mean rounded half up to the quantity's decimals, every reading kept beside it."""
    name = value["id"]
    made = {
        "quantity": name,
        "value": judging.show(value["mean"], name),
        "unit": judging.unit(name),
        "n": value["n"],
        "spread": judging.show(value["spread"], name) if value["spread"] is not None else None,
        "set_aside": value["set_aside"],
        "words": sentences.readings_words(value, judging.unit(name), judging.catalogue.quantity(name)["decimals"]),
        "view": value["view"],
        "derived": value["derived"],
        "pixel": sentences.pixel_words(value["pixel"]),
        "inputs": value["inputs"],
        "at_least": value.get("at_least", False),
    }
    if "lesion" in value:
        made["lesion"] = value["lesion"]
    return made
