"""The register: every row of the limits table, the sets, and our own thresholds, in plain words.

The same words stand on the desk's page and on the phone. Nothing is left out: a row that does not judge says why.
"""

from . import differ, grades, ordering, wording
from . import limits as limit_rules
from .tables import Tables

PLANES = {"long_axis": "long axis", "short_axis": "short axis"}
KNOWN = {
    "read": "read: abstract or opening",
    "secondary": "quoted by another publication",
    "memory": "unverified: from memory",
    "missing": "publication known, number not seen",
    "practice": "the practice's own",
    "own data": "own data: healthy animals of this practice",
}
RECORD = {
    "formula": "a formula, not a bound",
    "missing": "the number was not seen",
    "modifier": "tells how far a circumstance moves the value",
    "performance": "tells how well a cut-off separates ill from healthy",
    "pitfall": "a known trap",
    "score": "tells how the score is counted",
    "subjective": "no number: judged by eye",
}
PSEUDO = {
    "adrenal.smaller.maximum_thickness": "Thinner adrenal gland, greatest thickness",
    "node.any.thickness": "Any lymph node, thickness",
    "pancreas.any_lobe.thickness": "Pancreas, any lobe, thickness",
}
SEXES = {"male": "male", "female": "female", "intact": "entire", "neutered": "neutered"}
FIELDS = {
    "share": "share of the value",
    "mm": "length, mm",
    "pair_mm": "two readings apart, mm",
    "short_axis_mm": "long axis over short axis, mm",
    "least_df": "degrees of freedom",
    "body_condition": "body condition, of 9",
    "z": "point of the normal distribution",
}
RULES = {"adult_months": "limits for adults hold from this age in months on"}
# Points of known distributions: mathematics, not choices.
FIXED = ("normal_95", "too_close", "changed", "own_reference")


def made(tables: Tables) -> dict:
    """{"version", "rows", "sets", "thresholds", "grades", "differ", "units" [{"id", "label"}]}; all text.

    A row names its set in `source` and its places in the list `differ` by number: each is told once.
    """
    limits = tables.limits
    differing = differ.found(limits, tables.catalogue, tables.thresholds["normal_95"]["z"])
    of_row: dict = {}
    for place, item in enumerate(differing):
        for name in item["rows"]:
            of_row.setdefault(name, []).append(place)
        item["label"] = tables.catalogue.label(item["quantity"])
    return {
        "version": limits.version,
        "rows": [_row(row, tables, of_row.get(row["id"], [])) for row in limits.all],
        "sets": _sets(tables),
        "thresholds": thresholds(tables.thresholds),
        "grades": grades.listed(tables.thresholds, tables.catalogue),
        "differ": differing,
        "units": [{"id": unit, "label": _unit_label(unit, tables)} for unit in tables.units],
    }


def _row(row: dict, tables: Tables, differing: list) -> dict:
    return {
        "id": row["id"],
        "quantity": quantity_words(row, tables.catalogue),
        "unit_id": _unit_of(row, tables),
        "species": row["species"].split("+"),
        "animals": animal_words(row, tables),
        "lower": bound(row, "lower"),
        "upper": bound(row, "upper"),
        "bounds": bound_words(row),
        "unit": "" if row["unit"] in (None, "1", "{score}") else row["unit"],
        "values": value_words(row),
        "statistic": row["statistic"] or "not stated",
        "n": str(row["n"]) if row["n"] is not None else "not stated",
        "population": row["population"],
        "plane": PLANES.get(str(row.get("plane")), "not stated"),
        "use": row["use"],
        "use_words": use_words(row),
        "judges": row["use"] in limit_rules.JUDGING + ("alert",),
        "off": row["use"] == "off",
        "set_off": row.get("set_off", False),
        "own": row["known"] in limit_rules.OWN,
        "known": KNOWN.get(row["known"], row["known"]),
        "source": row["source"],
        "note": row["note"] or "",
        "differ": differing,
    }


def quantity_words(row: dict, catalogue) -> str:
    """The row's quantity by the catalogue's label; what the catalogue does not have, by structure and plain words."""
    name = row["quantity"]
    if name in PSEUDO:
        return PSEUDO[name]
    words = _label(name, catalogue)
    if row.get("structure"):
        words += ", " + _label(row["structure"], catalogue)
    return words


def _label(name: str, catalogue) -> str:
    one = name.replace(".*", ".left")
    label = catalogue.label(one)
    rest: list = []
    while label == one and "." in one:
        one, _, last = one.rpartition(".")
        rest = [last.upper() if last in ("left", "right") else last.replace("_", " ")] + rest
        label = catalogue.label(one)
    words = ", ".join([label[:1].upper() + label[1:].replace("_", " ")] + rest)
    return words.replace("LEFT", "LEFT or RIGHT") if ".*" in name else words


def _unit_of(row: dict, tables: Tables) -> str:
    """The structure, or the pair of them, that the row belongs to; "" for none of the catalogue."""
    name = (row.get("structure") or row["quantity"]).replace(".*", ".left")
    structure = tables.catalogue.structure_of(name)
    while structure is None and name:
        name = name.rpartition(".")[0]
        structure = tables.catalogue.structure_of(name) or (name if name in tables.units else None)
    return tables.unit_of.get(str(structure), structure or "")


def _unit_label(unit: str, tables: Tables) -> str:
    label = tables.structures[unit][0]["label"]
    words = " ".join([word for word in label.split(" ") if word not in ("LEFT", "RIGHT")])
    return words[:1].upper() + words[1:]


def animal_words(row: dict, tables: Tables) -> str:
    """The animals that the row speaks of, with their sex, and the age as printed where it is not just adult."""
    words = wording.class_words(row)
    for name in ("sex", "neutered"):
        if row[name] != "any":
            words += ", " + tables.say(SEXES[row[name]])
    age = row.get("age")
    if age and age != "adult":
        words += " (age as printed: " + age + ")"
    return words


def bound(row: dict, side: str) -> str:
    """A bound as printed; where the bound itself is already beyond, that is said."""
    if row.get(side) is None:
        return ""
    return row[side] + (" (itself beyond)" if row.get(side + "_is_within") is False else "")


def bound_words(row: dict) -> str:
    """Both bounds in words: "2.4 to 3.9 mm", "up to 5.1 mm", "under 13 mm" where 13 itself is beyond; "" for none."""
    low, high = row.get("lower"), row.get("upper")
    if low is not None and high is not None:
        return wording.bound_words(row, row["unit"])
    if high is not None:
        return ("under " if row["upper_is_within"] is False else "up to ") + wording.amount(high, row["unit"])
    if low is not None:
        return ("over " if row["lower_is_within"] is False else "from ") + wording.amount(low, row["unit"])
    return ""


def value_words(row: dict) -> str:
    """Mean, SD and median as printed, and the formula."""
    pieces = []
    if row.get("mean") is not None:
        pieces.append("mean " + row["mean"])
    if row.get("sd") is not None:
        pieces.append("SD " + row["sd"])
    if row.get("median") is not None:
        pieces.append("median " + row["median"])
    if row.get("formula"):
        pieces.append(row["formula"])
    return ", ".join(pieces)


def use_words(row: dict) -> str:
    """What the row may do, in plain words."""
    use = row["use"]
    if use == "off":
        return "switched off by the practice (was: " + _use(row, row["was"]) + ")"
    return _use(row, use)


def _use(row: dict, use: str) -> str:
    if use == "limit":
        return "limit"
    if use == "on_indication":
        return "limit, only when " + condition_words(row)
    if use == "alert":
        return "alert: tell someone"
    if use == "criterion":
        return "cut-off, never judges"
    if use == "reference":
        return "values seen"
    if use == "unverified":
        return "unverified: never flags"
    return "kept for the record: " + (RECORD.get(use) or _outside(row))


def condition_words(row: dict) -> str:
    """The conditions of a row that holds on indication."""
    needs = row.get("applies_when") or {}
    words = [sign.replace("_", " ") for sign in needs.get("signs") or []]
    if needs.get("both_poles_read"):
        words.append("both poles were read")
    if needs.get("side_difference"):
        words.append("the sides differ")
    if needs.get("fasted"):
        words.append("fasted")
    if needs.get("bladder_filling"):
        words.append("the bladder is " + " or ".join(needs["bladder_filling"]))
    if needs.get("deliberately_measured"):
        words.append("it was measured on purpose")
    return " and ".join(words) or "its setting is recorded"


def _outside(row: dict) -> str:
    told = row["quantity"] + " " + row["population"] + " " + (row["statistic"] or "")
    if "CT" in told:
        return "made by CT, not by ultrasound"
    return "not made to judge healthy animals by ultrasound"


def citation(source: dict) -> str:
    """Authors, title, journal with volume and pages, year, DOI and PMID, as far as they are known."""
    place = " ".join([str(source[name]) for name in ("journal", "vol") if source.get(name)])
    if source.get("pages"):
        place += (":" if place else "") + str(source["pages"])
    pieces = [source.get("authors"), source.get("title"), place, source.get("year")]
    if source.get("doi"):
        pieces.append("doi " + source["doi"])
    if source.get("pmid"):
        pieces.append("PMID " + str(source["pmid"]))
    return ". ".join([_without_point(str(piece)) for piece in pieces if piece]) or "source not known in full"


def _without_point(text: str) -> str:
    return text[:-1] if text[-1:] == "." else text


def _sets(tables: Tables) -> list:
    """The rows by source: [{"source", "short", "citation", "rows", "judging", "off", "own"}], judging sets first."""
    counted: dict = {}
    for row in tables.limits.all:
        one = counted.setdefault(row["source"], {"rows": 0, "judging": 0, "off": 0, "own": False})
        one["rows"] += 1
        one["judging"] += 1 if row.get("was", row["use"]) in limit_rules.JUDGING + ("alert",) else 0
        one["off"] += 1 if row["use"] == "off" else 0
        one["all_off"] = row.get("set_off", False)
        one["own"] = row["known"] in limit_rules.OWN
    names = list(counted)
    for name in names:
        source = tables.limits.sources[name]
        one = counted[name]
        one["source"], one["short"], one["citation"] = name, wording.source_words(source), citation(source)
    keys = [("0" if counted[name]["judging"] else "1") + counted[name]["short"] for name in names]
    return [counted[name] for name in ordering.by_keys(names, keys)]


def thresholds(table: dict) -> list:
    """Our own choices: [{"id", "rule", "fixed", "source", "values": [{"path", "label", "value"}]}], by name."""
    listed = []
    for name in ordering.by_keys(list(table), list(table)):
        entry = table[name]
        if isinstance(entry, int):
            rule = RULES.get(name, name.replace("_", " "))
            listed.append(_threshold(name, {"rule": rule}, [_value(name, "number", entry)]))
        elif isinstance(entry, dict) and entry.get("rule"):
            numbers = [field for field in entry if is_number(entry[field])]
            values = [
                _value(name + "." + field, _field_words(field, entry["rule"]), entry[field])
                for field in ordering.by_keys(numbers, numbers)
            ]
            listed.append(_threshold(name, entry, values))
    return listed


def _threshold(name: str, entry: dict, values: list) -> dict:
    source = entry.get("source") or entry.get("z_source") or entry.get("t_source")
    return {"id": name, "rule": entry["rule"], "values": values, "fixed": name in FIXED, "source": source or ""}


def _value(path: str, label: str, value: object) -> dict:
    return {"path": path, "label": label, "value": str(value)}


def _field_words(field: str, rule: str) -> str:
    words = FIELDS.get(field, field.replace("_", " "))
    return words + " (" + field + ")" if "_" in field and field in rule else words


def is_number(value: object) -> bool:
    """Whether a field of a threshold is a number: a whole one, or decimal text."""
    if isinstance(value, bool) or not isinstance(value, (int, str)):
        return False
    return isinstance(value, int) or all([sign in "0123456789." for sign in value])
