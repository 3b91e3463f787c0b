"""Readings -> values: the mean of what counts, the number and range of the readings, and derived values.

A value is a dict: "id" (quantity), "mean" (rational), "n", "spread" (rational or None), "numbers" (the readings),
"acquired" (one number per acquisition), "variance" (of these, from two on), "set_aside" (readings of another plane,
not in the mean), "pixel" (mm or None), "view" (whole or partly), "said_whole", "plane", "cuts", "settings" (recumbency,
window, person), "believable", "derived", "inputs" (ids). Units are the catalogue's.
"""

from . import decimals
from .catalogue import Catalogue

# What two exams may differ in besides the animal: said beside a change, never used to judge it.
SETTINGS = ("recumbency", "window", "person")


def of_readings(readings: list, states: list, catalogue: Catalogue, memo: dict | None = None) -> dict:
    """{quantity id: value} of the readings that count (struck ones and numbered lesions apart).

    `memo` {quantity id: {"rows", "value", ...}} keeps a value and what was made of it while its readings are the same.
    """
    grouped = {}
    for reading in readings:
        if reading.get("struck") or reading.get("lesion"):
            continue
        grouped.setdefault(reading["quantity"], []).append(reading)
    found = {}
    for name in grouped:
        rows = grouped[name]
        if memo is not None and name in memo and memo[name]["rows"] == rows:
            found[name] = memo[name]["value"]
            continue
        quantity = catalogue.quantity(name)
        used = _same_plane(rows, quantity)
        found[name] = _value(quantity, used, states)
        found[name]["set_aside"] = [{"value": row["value"], "plane": row["plane"]} for row in rows if row not in used]
        if memo is not None:
            memo[name] = {"rows": rows, "value": found[name]}
    return found


def lesions(readings: list, exam: dict, catalogue: Catalogue) -> list:
    """Values of numbered lesions, a list (they belong to no single structure's quantity)."""
    names, grouped = [], {}
    for reading in readings:
        if reading.get("struck") or not reading.get("lesion"):
            continue
        key = reading["quantity"] + "#" + str(reading["lesion"])
        if key not in grouped:
            names.append(key)
            grouped[key] = []
        grouped[key].append(reading)
    result = []
    for key in names:
        value = _value(catalogue.quantity(grouped[key][0]["quantity"]), grouped[key], exam["states"])
        value["lesion"] = grouped[key][0]["lesion"]
        result.append(value)
    return result


def _same_plane(readings: list, quantity: dict) -> list:
    """The readings of the catalogue's plane; where there are none, all: they are then of another plane."""
    usual = [row for row in readings if not row.get("plane") or row["plane"] == quantity["plane"]]
    return usual or readings


def _value(quantity: dict, readings: list, states: list) -> dict:
    numbers = [decimals.parse(row["value"]) for row in readings]
    acquired = _acquisitions(readings, numbers)
    pixels = [pixel for pixel in [_pixel(row) for row in readings] if pixel is not None]
    partly = any([_view(row, quantity, states) == "partly" for row in readings])
    return {
        "id": quantity["id"],
        "mean": decimals.mean(numbers),
        "n": len(numbers),
        "numbers": numbers,
        "acquired": acquired,
        "variance": decimals.variance(acquired) if len(acquired) > 1 else None,
        "pixel": _largest(pixels),
        "spread": decimals.spread(numbers) if len(numbers) > 1 else None,
        "set_aside": [],
        "said_whole": all([row.get("view") == "whole" for row in readings]),
        "view": "partly" if partly else "whole",
        "plane": readings[0].get("plane") or quantity["plane"],
        "cuts": [row.get("cut") for row in readings],
        "settings": {name: _all_of(readings, name) for name in SETTINGS},
        "believable": True,
        "derived": False,
        "inputs": [],
    }


def _all_of(readings: list, name: str) -> list:
    """The different values of one setting over the readings, as far as they were recorded."""
    found: list = []
    for row in readings:
        value = row.get("behalf") or row.get("author") if name == "person" else row.get(name)
        if value and value not in found:
            found.append(value)
    return found


def placed(readings: list, quantity: str) -> list:
    """Every reading of a quantity in its order: a number, or None for a struck one, which keeps its place."""
    rows = [row for row in readings if row["quantity"] == quantity and not row.get("lesion")]
    return [None if row.get("struck") else decimals.parse(row["value"]) for row in rows]


def _acquisitions(readings: list, numbers: list) -> list:
    """One number per acquisition: calipers placed again on the same frame are no replicate of it."""
    groups: list = []
    for place, row in enumerate(readings):
        if row.get("acquired") == "same_frame" and groups:
            groups[-1].append(numbers[place])
        else:
            groups.append([numbers[place]])
    return [decimals.mean(group) for group in groups]


def _pixel(reading: dict) -> tuple[int, int] | None:
    """The pitch of the display in mm: depth over rows, where both were given."""
    if not reading.get("depth_mm") or not reading.get("rows"):
        return None
    return decimals.div(decimals.parse(reading["depth_mm"]), decimals.parse(reading["rows"]))


def _largest(numbers: list) -> tuple[int, int] | None:
    result = None
    for number in numbers:
        result = number if result is None else decimals.larger(result, number)
    return result


def _view(reading: dict, quantity: dict, states: list) -> str:
    """What the reading itself says; else the recorded state of the very part (or undivided organ) it was read on."""
    if reading.get("view"):
        return reading["view"]
    about = quantity["structure"] or ""
    if quantity["part"]:
        about = about + "." + quantity["part"]
    return "partly" if state_of(states, about) == "partly" else "whole"


def state_of(states: list, about: str) -> str | None:
    """The recorded state of a structure or part ("whole", "partly" ...) or None."""
    for state in states:
        if state["about"] == about:
            return state["seen"]
    return None


def derive(found: dict, shared: dict, quantities: list, exam: dict) -> None:
    """Adds the derived values (ratios, volumes, scores) whose inputs were read; the glands' are in gland.py.

    `shared` holds values of other units that ratios go by (the aorta's).
    """
    inputs = dict(shared)
    inputs.update(found)
    for quantity in quantities:
        rule = quantity["derived"]
        if rule is None or quantity["id"] in found:
            continue
        made = None
        if rule["rule"] == "ratio":
            made = _ratio(inputs, rule["of"])
        elif rule["rule"] == "product":
            made = _product(inputs, rule)
        elif rule["rule"] == "fluid_score":
            made = _fluid_score(exam)
        if made is not None:
            found[quantity["id"]] = derived(quantity, made, rule["of"], inputs)


def derived(quantity: dict, number: tuple[int, int], inputs: list, found: dict) -> dict:
    read = [found[name] for name in inputs if name in found]
    partly = any([value["view"] == "partly" for value in read])
    believable = all([value["believable"] for value in read])
    return {
        "id": quantity["id"],
        "mean": number,
        "n": None,
        "numbers": [],
        "acquired": [],
        "variance": None,
        "pixel": None,
        "spread": None,
        "set_aside": [],
        "said_whole": False,
        "view": "partly" if partly else "whole",
        "plane": None,
        "cuts": [],
        "settings": {},
        "believable": believable,
        "derived": True,
        "inputs": inputs,
    }


def _ratio(found: dict, names: list) -> tuple[int, int] | None:
    upper, lower = names
    if upper in found and lower in found and found[lower]["mean"][0] > 0:
        return decimals.div(found[upper]["mean"], found[lower]["mean"])
    return None


def _product(found: dict, rule: dict) -> tuple[int, int] | None:
    """factor x length x width x height in cm: the inputs are in mm, the volume in mL."""
    number = decimals.parse(rule["factor"])
    for name in rule["of"]:
        if name not in found:
            return None
        number = decimals.mul(number, decimals.div(found[name]["mean"], (10, 1)))
    return number


def _fluid_score(exam: dict) -> tuple[int, int] | None:
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
