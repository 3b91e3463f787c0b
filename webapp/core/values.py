"""Readings -> values: the mean of what counts, the number and range of the readings, and derived values.

A value is a dict: {"id" quantity id, "mean" rational, "n", "spread" rational or None, "numbers" the readings,
"view" "whole" or "partly", "plane", "cut", "believable" bool, "derived" bool, "inputs" [ids]}. Units are the catalogue's.
"""

from . import decimals

LENGTH_UNITS = ("mm",)


def of_exam(exam, catalogue):
    """{quantity id: value} for everything read in the exam (lesions apart), and the ids in catalogue order."""
    grouped = {}
    for reading in exam["readings"]:
        if reading.get("struck") or reading.get("lesion"):
            continue
        grouped.setdefault(reading["quantity"], []).append(reading)
    found = {}
    for name in grouped:
        quantity = catalogue.quantity(name)
        found[name] = _value(quantity, _same_plane(grouped[name], quantity), exam)
    return found, in_order(found, catalogue)


def in_order(found, catalogue):
    return [quantity["id"] for quantity in catalogue.quantities if quantity["id"] in found]


def lesions(exam, catalogue):
    """Values of numbered lesions, a list (they belong to no single structure's quantity)."""
    names, grouped = [], {}
    for reading in exam["readings"]:
        if reading.get("struck") or not reading.get("lesion"):
            continue
        key = reading["quantity"] + "#" + str(reading["lesion"])
        if key not in grouped:
            names.append(key)
            grouped[key] = []
        grouped[key].append(reading)
    result = []
    for key in names:
        value = _value(catalogue.quantity(grouped[key][0]["quantity"]), grouped[key], exam)
        value["lesion"] = grouped[key][0]["lesion"]
        result.append(value)
    return result


def _same_plane(readings, quantity):
    """The readings of the catalogue's plane; where there are none, all: they are then of another plane."""
    usual = [row for row in readings if not row.get("plane") or row["plane"] == quantity["plane"]]
    return usual or readings


def _value(quantity, readings, exam):
    numbers = [decimals.parse(row["value"]) for row in readings]
    partly = any([_view(row, quantity, exam) == "partly" for row in readings])
    return {"id": quantity["id"], "mean": decimals.mean(numbers), "n": len(numbers), "numbers": numbers,
            "spread": decimals.spread(numbers), "view": "partly" if partly else "whole",
            "plane": readings[0].get("plane") or quantity["plane"], "cuts": [row.get("cut") for row in readings],
            "believable": True, "derived": False, "inputs": []}


def _view(reading, quantity, exam):
    """What the reading itself says; else the recorded state of the very part (or undivided organ) it was read on."""
    if reading.get("view"):
        return reading["view"]
    about = quantity["structure"] or ""
    if quantity["part"]:
        about = about + "." + quantity["part"]
    return "partly" if state_of(exam, about) == "partly" else "whole"


def state_of(exam, about):
    """The recorded state of a structure or part ("whole", "partly" ...) or None."""
    for state in exam["states"]:
        if state["about"] == about:
            return state["seen"]
    return None


def derive(found, catalogue, exam):
    """Adds the derived values (ratios, volumes, scores) whose inputs were read; the glands' are in gland.py."""
    for quantity in catalogue.quantities:
        rule = quantity["derived"]
        if rule is None or quantity["id"] in found:
            continue
        made = None
        if rule["rule"] == "ratio":
            made = _ratio(found, rule["of"])
        elif rule["rule"] == "product":
            made = _product(found, rule)
        elif rule["rule"] == "fluid_score":
            made = _fluid_score(exam)
        if made is not None:
            found[quantity["id"]] = _derived(quantity, made, rule["of"], found)


def _derived(quantity, number, inputs, found):
    read = [found[name] for name in inputs if name in found]
    partly = any([value["view"] == "partly" for value in read])
    believable = all([value["believable"] for value in read])
    return {"id": quantity["id"], "mean": number, "n": None, "numbers": [], "spread": None,
            "view": "partly" if partly else "whole", "plane": None, "cuts": [], "believable": believable,
            "derived": True, "inputs": inputs}


def _ratio(found, names):
    upper, lower = names
    if upper in found and lower in found and found[lower]["mean"][0] > 0:
        return decimals.div(found[upper]["mean"], found[lower]["mean"])
    return None


def _product(found, rule):
    """factor x length x width x height in cm: the inputs are in mm, the volume in mL."""
    number = decimals.parse(rule["factor"])
    for name in rule["of"]:
        if name not in found:
            return None
        number = decimals.mul(number, decimals.div(found[name]["mean"], (10, 1)))
    return number


def _fluid_score(exam):
    """How many of the four sites hold fluid, once all four were looked at; None before."""
    sites = {}
    for state in exam["states"]:
        if state["structure"] == "free_fluid" and state["seen"] in ("whole", "partly"):
            if state["part"] is None:
                for part in ("diaphragm_liver", "spleen_kidney", "bladder_colon", "liver_kidney"):
                    sites[part] = sites.get(part, 0)
            else:
                sites[state["part"]] = sites.get(state["part"], 0)
    wet = {}
    for finding in exam["findings"]:
        if finding["structure"] == "free_fluid" and finding["finding"] == "fluid" and not finding.get("struck"):
            if not finding.get("part"):
                return None
            wet[finding["part"]] = True
            sites[finding["part"]] = 1
    if len(sites) < 4:
        return None
    return (len(wet), 1)
