"""The practice's own over the published tables: sets and rows switched off, thresholds changed, rows added.

An overlay is one object, kept whole in the journal each time it changes:
{"change": count of changes, "sources_off": [ids], "rows_off": [ids], "thresholds": {path: number as text},
 "rows": [own rows]}, and where the practice changed them "grades" and "tell" (grades.py). The published tables are
never touched: `applied` gives others.
"""

from . import decimals, grades, shapes, typed
from .catalogue import Catalogue
from .errors import CoreError
from .limits import OWN_DATA
from .register import FIXED, is_number

EMPTY = {"change": 0, "sources_off": [], "rows_off": [], "thresholds": {}, "rows": []}
USES = ("limit", "criterion", "reference", "unverified")
PLANES = ("long_axis", "short_axis", "unspecified")
OWN = "own:"
POLES = ("caudal_pole_thickness", "cranial_pole_thickness")
DEFAULTS = {
    "sex": "any",
    "neutered": "any",
    "weight_is": "body weight",
    "breed": None,
    "statistic": "not stated",
    "note": "",
    "age_months": None,
}
HIGHEST = {"body_condition": (9, 1), "share": (1, 1)}


def version(base: str, overlay: dict) -> str:
    """ "limits-2026.11.1+p3": the published version and the count of the practice's changes."""
    return base + "+p" + str(overlay["change"])


def applied(parsed: dict, given: object, catalogue: Catalogue) -> dict:
    """The parsed tables as the practice uses them; CoreError with one sentence where the overlay is nonsense.

    An id to switch off that is in no table (any more) switches nothing off. Own rows stand first.
    """
    overlay = checked(given)
    limits = dict(parsed["limits"])
    own = [own_row(row, catalogue) for row in overlay["rows"]]
    published = [_as_used(row, overlay) for row in limits["rows"]]
    taken = [row["id"] for row in published]
    for row in own:
        if row["id"] in taken:
            raise CoreError("id_taken", 'there is a row "' + row["id"] + '" already')
        taken.append(row["id"])
    sources = dict(limits["sources"])
    for row in own:
        sources[row["source"]] = {"authors": "the practice's own row", "journal": row["source"][len(OWN) :]}
    limits["rows"] = [_as_used(row, overlay) for row in own] + published
    limits["sources"] = sources
    limits["version"] = version(limits["version"], overlay)
    made = dict(parsed)
    made["limits"] = limits
    changed = _thresholds(parsed["thresholds"], overlay["thresholds"])
    made["thresholds"] = grades.applied(changed, overlay, parsed["descriptors"], catalogue)
    return made


def checked(given: object) -> dict:
    """The overlay with every field there and of its shape."""
    overlay = dict(EMPTY)
    overlay.update(shapes.thing(given, "the practice's limits"))
    shapes.count(overlay["change"], "change")
    for name in ("sources_off", "rows_off"):
        shapes.texts(overlay[name], name)
    if not isinstance(overlay["rows"], list):
        raise CoreError("not_rows", "the practice's own rows are a list")
    shapes.thing(overlay["thresholds"], "thresholds")
    return overlay


def _as_used(row: dict, overlay: dict) -> dict:
    """A copy of a row; switched off, it keeps its figures and its former use, and takes part in nothing."""
    copy = dict(row)
    copy["set_off"] = row["source"] in overlay["sources_off"]
    if copy["set_off"] or row["id"] in overlay["rows_off"]:
        copy["was"] = row["use"]
        copy["use"] = "off"
    return copy


def own_row(given: object, catalogue: Catalogue) -> dict:
    """One own row, complete and in the catalogue's unit; bounds typed in another unit are kept beside as typed.

    CoreError codes: unknown_quantity, no_source, no_population, no_n, no_bound, wrong_unit, bounds_crossed ...
    """
    row = dict(shapes.thing(given, "an own row"))
    quantity = _quantity(row, catalogue)
    for name, words in (("source", "where the figure is from"), ("population", "which animals it is from")):
        if not isinstance(row.get(name), str) or not row[name].strip():
            raise CoreError("no_" + name, "an own row says " + words)
    if not row["source"].startswith(OWN):
        row["source"] = OWN + row["source"].strip()
    row["id"] = shapes.text(row.get("id"), "the id of an own row")
    _check_n(row)
    shapes.one_of(row.get("species"), ("dog", "cat"), "species")
    shapes.one_of(row.get("plane"), PLANES, "plane")
    shapes.one_of(row.get("use"), USES, "use")
    _check_pole(row)
    _bounds(row, quantity)
    _weights(row)
    for name in DEFAULTS:
        if row.get(name) is None:
            row[name] = DEFAULTS[name]
    # What the practice's own healthy animals gave says so; whatever else was typed is the practice's own word.
    row["known"] = OWN_DATA if row.get("known") == OWN_DATA else "practice"
    return row


def _quantity(row: dict, catalogue: Catalogue) -> dict:
    name = row.get("quantity")
    if isinstance(name, str) and ".*." in name and catalogue.has_quantity(name.replace(".*.", ".right.")):
        return catalogue.quantity(name.replace(".*.", ".left."))
    return catalogue.quantity(name)


def _check_n(row: dict) -> None:
    n = row.get("n")
    if n == "not known" or (isinstance(n, int) and not isinstance(n, bool) and n > 0):
        return
    raise CoreError("no_n", 'an own row says how many animals it is from, or "not known"')


def _check_pole(row: dict) -> None:
    """Without a breed the whole gland is judged by its greatest thickness; a limit for one pole would do nothing."""
    pole = row["quantity"].startswith("adrenal.") and row["quantity"].split(".")[-1] in POLES
    if pole and row["use"] == "limit" and not row.get("breed"):
        raise CoreError(
            "pole_without_breed",
            "a limit for one pole of the adrenal gland needs a breed: without one, write it for the greatest thickness",
        )


def _bounds(row: dict, quantity: dict) -> None:
    """Lower and upper bound in the catalogue's unit, believable and not crossed."""
    unit = row.get("unit") or quantity["unit"]
    known = []
    for side in ("lower", "upper"):
        text = row.get(side)
        if text is None or text == "":
            row[side] = None
            row[side + "_is_within"] = None
            continue
        number, written = typed.split(text)
        value = typed.convert(number, written or unit, quantity["unit"])
        if value != text:
            row["typed_" + side], row["typed_unit"] = text, written or unit
        row[side] = value
        row[side + "_is_within"] = True
        _believable(value, quantity)
        known.append(decimals.parse(value))
    if not known:
        raise CoreError("no_bound", "an own row has a lower or an upper bound")
    if len(known) == 2 and decimals.compare(known[0], known[1]) > 0:
        raise CoreError("bounds_crossed", "the lower bound " + row["lower"] + " is above the upper, " + row["upper"])
    row["unit"] = quantity["unit"]


def _believable(value: str, quantity: dict) -> None:
    window = quantity.get("plausible") or {}
    for end, wrong in (("from", -1), ("to", 1)):
        edge = window.get(end)
        if edge is not None and decimals.compare(decimals.parse(value), decimals.parse(edge)) == wrong:
            ends = str(window.get("from") or "") + " to " + str(window.get("to") or "") + " " + quantity["unit"]
            raise CoreError("not_believable", value + " is outside what " + quantity["label"] + " can be: " + ends)


def _weights(row: dict) -> None:
    """The weight class: None for all weights, or two ends of which one may be open."""
    edges = row.get("weight_kg")
    if edges is None:
        row["weight_kg"] = None
        return
    shapes.thing(edges, "the weight class")
    ends = []
    for end in ("min", "max"):
        if edges.get(end) is not None:
            shapes.above_zero(edges[end], "the weight class")
            shapes.truth(edges.get(end + "_included"), "the end of the weight class")
            ends.append(decimals.parse(edges[end]))
    if not ends:
        raise CoreError("no_weights", "a weight class has a lower or an upper end; else it is for all weights")
    if len(ends) == 2 and decimals.compare(ends[0], ends[1]) >= 0:
        words = "the weight class from " + edges["min"] + " to " + edges["max"] + " kg holds no weight"
        raise CoreError("weights_crossed", words)
    row["weight_kg"] = {name: edges.get(name) for name in ("min", "min_included", "max", "max_included")}


def _thresholds(base: dict, changes: dict) -> dict:
    made = dict(base)
    for path in changes:
        name, _, field = path.partition(".")
        old = base.get(name)
        now = old.get(field) if isinstance(old, dict) else old
        if name in FIXED or not is_number(now) or (field and not isinstance(old, dict)):
            raise CoreError("unknown_threshold", '"' + path + '" is not a threshold that can be changed')
        new = threshold(changes[path], now, field)
        if field:
            made[name] = dict(made[name])
            made[name][field] = new
        else:
            made[name] = new
    return made


def threshold(text: object, now: object, field: str) -> object:
    """A changed number in the shape of the one before: a whole number, or decimal text; above zero and sensible."""
    number = decimals.parse(text)
    if number[0] <= 0:
        raise CoreError("not_above_zero", "a threshold is above zero, not " + str(text))
    highest = HIGHEST.get(field)
    if highest and decimals.compare(number, highest) > 0:
        raise CoreError("too_high", str(text) + " is more than " + str(highest[0]) + ", the most that this can be")
    if not isinstance(now, int):
        return str(text).strip()
    whole = decimals.reduced(number)
    if whole[1] != 1:
        raise CoreError("not_whole", "this threshold is a whole number, not " + str(text))
    return whole[0]
