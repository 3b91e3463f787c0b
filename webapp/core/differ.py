"""Where published rows of the same animals give different bounds: the words "sources differ" of the register.

Two rows speak of the same animals when quantity and species overlap, breed and setting are the same, sex and plane
do not exclude each other, and their weight classes and ages overlap. Printed bounds are compared; a row that prints
only mean and SD is set beside a judging row by its 95 percent range. A row's own note may say so, too.
"""

from . import decimals, ordering, wording
from . import limits as limit_rules
from .catalogue import Catalogue

SPEAKING = limit_rules.JUDGING + ("reference",)
SIDES = ("lower", "upper")
SAID = ("ources differ", "anges disagree", "contradicted by this paper", "isagrees with the register")


def found(limits: limit_rules.Limits, catalogue: Catalogue, z: str) -> list:
    """[{"quantity", "species", "rows" [ids], "words"}] by quantity; `z` is the normal 95 percent point."""
    rows = [row for row in limits.all if row["use"] in SPEAKING]
    keyed: dict = {}
    for row in rows:
        row_bounds = bounds(row, z)
        for key in _keys(row, catalogue):
            keyed.setdefault(key, []).append((row, row_bounds))
    differing = []
    for key in ordering.by_keys(list(keyed), list(keyed)):
        ids = _differing(keyed[key])
        if ids:
            quantity, species = key.split("|")
            named = [limits.by_id[name] for name in ids]
            words = "sources differ: " + _said(named, limits, z)
            if any([says_so(row) for row in named]):
                words += "; others are told in the note"
            differing.append({"quantity": quantity, "species": species, "rows": ids, "words": words})
    return differing


def _keys(row: dict, catalogue: Catalogue) -> list:
    names = [row["quantity"]]
    if ".*." in row["quantity"]:
        sides = [row["quantity"].replace(".*.", "." + side + ".") for side in ("left", "right")]
        names = [name for name in sides if catalogue.has_quantity(name)] or names
    return [name + "|" + species for name in names for species in row["species"].split("+")]


def _differing(pairs: list) -> list:
    """The ids of the rows of one quantity and species that differ from another, each once, in their order."""
    ids: list = []
    for place, (row, row_bounds) in enumerate(pairs):
        said = says_so(row)
        for other, other_bounds in pairs[place + 1 :]:
            if same_animals(row, other) and _differ(row, row_bounds, other, other_bounds):
                ids += [row["id"], other["id"]]
        if said:
            ids.append(row["id"])
    return [row["id"] for row, _ in pairs if row["id"] in ids]


def says_so(row: dict) -> bool:
    """Whether the note of a judging row tells that other sources give other bounds."""
    note = row.get("note") or ""
    return row["use"] in limit_rules.JUDGING and any([words in note for words in SAID])


def bounds(row: dict, z: str) -> dict:
    """{"lower", "upper", "printed"}: rationals or None; mean -+ z x SD where no bound is printed."""
    made = {"lower": row["_lower"], "upper": row["_upper"], "printed": True}
    if made["lower"] is None and made["upper"] is None and row.get("mean") is not None and row.get("sd") is not None:
        mean = decimals.parse(row["mean"])
        reach = decimals.mul(decimals.parse(z), decimals.parse(row["sd"]))
        made = {"lower": decimals.sub(mean, reach), "upper": decimals.add(mean, reach), "printed": False}
    return made


def _differ(row: dict, mine: dict, other: dict, theirs: dict) -> bool:
    if row["source"] == other["source"] or not (mine["printed"] or theirs["printed"]):
        return False
    for one, made in ((row, theirs), (other, mine)):
        if not made["printed"] and one["use"] not in limit_rules.JUDGING:
            return False
    for side in SIDES:
        both = mine[side] is not None and theirs[side] is not None
        if both and decimals.compare(mine[side], theirs[side]) != 0:
            return True
    return False


def same_animals(one: dict, other: dict) -> bool:
    """Whether two rows of one quantity and species can speak of the same animal."""
    if (one.get("breed") or None) != (other.get("breed") or None) or _setting(one) != _setting(other):
        return False
    for name in ("sex", "neutered"):
        if "any" not in (one[name], other[name]) and one[name] != other[name]:
            return False
    planes = [row.get("plane") for row in (one, other) if row.get("plane") not in (None, "unspecified")]
    if len(planes) == 2 and planes[0] != planes[1]:
        return False
    ages = _overlap(_ages(one), _ages(other))
    return ages and _overlap(_weights(one), _weights(other))


def _setting(row: dict) -> list:
    """The conditions of a row but for that of having measured on purpose."""
    needs = row.get("applies_when") or {}
    return [needs.get(name) for name in ("signs", "fasted", "bladder_filling")]


def _weights(row: dict) -> tuple:
    return (row["_min"], row["_max"]) if row.get("weight_kg") else (None, None)


def _ages(row: dict) -> tuple:
    window = row.get("age_months")
    if not window:
        return (None, None)
    ends = [decimals.parse(window[end]) if window[end] is not None else None for end in ("min", "max")]
    if ends[1] is not None:
        ends[1] = decimals.add(ends[1], (1, 1))
    return (ends[0], ends[1])


def _overlap(one: tuple, other: tuple) -> bool:
    """Whether two ranges with open ends (None) share more than an edge."""
    for low, high in ((one[0], other[1]), (other[0], one[1])):
        if low is not None and high is not None and decimals.compare(low, high) >= 0:
            return False
    return True


def _said(rows: list, limits: limit_rules.Limits, z: str) -> str:
    """The bounds by source: "5.1 mm, 5.5 mm (Melián et al. 2021); 3 to 5.2 mm (Hoerauf et al. 1999)"."""
    sources: list = []
    shown: dict = {}
    for row in rows:
        if row["source"] not in shown:
            sources.append(row["source"])
            shown[row["source"]] = []
        words = _bound_words(row, z)
        if words not in shown[row["source"]]:
            shown[row["source"]].append(words)
    return "; ".join([", ".join(shown[name]) + " (" + wording.who(limits.sources[name]) + ")" for name in sources])


def _bound_words(row: dict, z: str) -> str:
    made = bounds(row, z)
    if made["printed"]:
        return wording.bound_words(row, row["unit"]) if made["lower"] or made["upper"] else "see the note"
    ends = [decimals.show(made[side], 1) for side in SIDES]
    return wording.amount(ends[0] + " to " + ends[1], row["unit"]) + " by mean and SD"
