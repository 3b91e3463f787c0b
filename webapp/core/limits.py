"""Which published row judges this value in this animal, why no row does, and what the other rows say.

The upper and the lower side choose separately: quantity, species, plane and side first; then breed (the whole
breed name, never a cross); then the weight class; then rows without a class.
"""

from . import decimals
from .catalogue import Catalogue

JUDGING = ("limit", "on_indication")
OWN_DATA = "own data"  # how a row is known that the practice's own healthy animals gave
OWN = ("practice", OWN_DATA)
BESIDE = ("limit", "on_indication", "criterion", "reference", "unverified")


class Limits:
    """The limits table, indexed by species and quantity."""

    def __init__(self, table: dict, catalogue: Catalogue) -> None:
        self.version = table["version"]
        self.sources = table["sources"]
        self.all = table["rows"]
        self.by_id = {}
        by_pattern = {}
        for row in table["rows"]:
            _prepare(row)
            self.by_id[row["id"]] = row
            by_pattern.setdefault(row["quantity"], []).append(row)
        self._rows = {}
        for species in ("dog", "cat"):
            for quantity in catalogue.quantities:
                self._rows[species + ":" + quantity["id"]] = _rows_for(species, quantity["id"], by_pattern)
            self._rows[species + ":adrenal.smaller"] = _rows_for(
                species, "adrenal.smaller.maximum_thickness", by_pattern
            )

    def rows(self, species: str, quantity: str) -> list:
        return self._rows.get(str(species) + ":" + quantity, [])


def _prepare(row: dict) -> None:
    """Bounds and class edges as rationals, once."""
    for side in ("lower", "upper"):
        row["_" + side] = decimals.parse(row[side]) if row.get(side) is not None else None
    edges = row.get("weight_kg")
    if edges:
        row["_min"] = decimals.parse(edges["min"]) if edges["min"] is not None else None
        row["_max"] = decimals.parse(edges["max"]) if edges["max"] is not None else None


def _rows_for(species: str, quantity: str, by_pattern: dict) -> list:
    """The rows of the quantity itself; the rows for "any node" only where the species has no judging row of its own."""
    own = []
    for pattern in _patterns(quantity):
        own += [row for row in by_pattern.get(pattern, []) if species in row["species"].split("+")]
    is_node = quantity[:5] == "node." and quantity[-10:] == ".thickness"
    # A row that the practice switched off still keeps its place: nothing judges in its stead that did not before.
    if is_node and not any([row.get("was", row["use"]) in JUDGING for row in own]):
        own += [row for row in by_pattern.get("node.any.thickness", []) if species in row["species"].split("+")]
    # The practice's own go before the published ones of the same class, whether for one side or for both.
    practice = [row for row in own if row["known"] in OWN]
    return practice + [row for row in own if row["known"] not in OWN]


def _patterns(quantity: str) -> list:
    names = [quantity]
    for side in (".left.", ".right."):
        if side in quantity:
            names.append(quantity.replace(side, ".*."))
    if quantity[:9] == "pancreas." and quantity[-10:] == ".thickness":
        names.append("pancreas.any_lobe.thickness")
    return names


def choose(rows: list, side: str, animal: dict, plane: str | None) -> dict:
    """{"row": the judging row or None, "gated": rows held back by applies_when, "why": reason when there is neither}.

    `side` is "upper" or "lower"; `animal` as made by animal.of_exam; `plane` of the reading or None.
    """
    judging = [row for row in rows if row["use"] in JUDGING and row["_" + side] is not None]
    judging = [row for row in judging if plane_fits(row, plane) and sex_fits(row, animal)]
    if not judging:
        unverified = [
            row for row in rows if row["use"] == "unverified" and plane_fits(row, plane) and sex_fits(row, animal)
        ]
        return _none("unverified_only" if unverified else "no_published_limit")
    grown = [row for row in judging if age_fits(row, animal)]
    if not grown:
        return _none("age_under_12_months" if animal["young"] else "no_published_limit")
    judging = [row for row in grown if breed_is(row, animal)] or [row for row in grown if not row.get("breed")]
    classed = [row for row in judging if row.get("weight_kg")]
    fitting = [row for row in classed if weight_fits(row, animal)] or [
        row for row in judging if not row.get("weight_kg")
    ]
    if not fitting:
        weighed = any([weight_of(row, animal) is not None for row in classed])
        return _none("no_limit_for_weight" if weighed else "weight_unknown")
    holding = [row for row in fitting if not unmet(row, animal)]
    if holding:
        return {"row": holding[0], "gated": [], "why": None}
    return {"row": None, "gated": fitting, "why": None}


def _none(why: str) -> dict:
    return {"row": None, "gated": [], "why": why}


def plane_fits(row: dict, plane: str | None) -> bool:
    printed = row.get("plane")
    return plane is None or printed is None or printed == "unspecified" or printed == plane


def sex_fits(row: dict, animal: dict) -> bool:
    if row["sex"] != "any" and row["sex"] != animal["sex"]:
        return False
    if row["neutered"] == "any":
        return True
    return animal["neutered"] is not None and (row["neutered"] == "neutered") == animal["neutered"]


def age_fits(row: dict, animal: dict) -> bool:
    """An unknown age counts as just adult: of two adult windows the younger."""
    window = row.get("age_months")
    if not window:
        return True
    age = animal["age"]
    if window["min"] is not None and age < window["min"]:
        return False
    return window["max"] is None or age <= window["max"]


def breed_is(row: dict, animal: dict) -> bool:
    return bool(row.get("breed")) and row["breed"].lower() == animal["breed"]


def weight_of(row: dict, animal: dict) -> tuple[int, int] | None:
    """The weight that the row's class goes by: ideal weight where the row asks for it and it is known."""
    if row.get("weight_is") == "ideal body weight" and animal["ideal_weight"] is not None:
        return animal["ideal_weight"]
    return animal["weight"]


def weight_fits(row: dict, animal: dict) -> bool:
    """Whether the animal's weight lies in the row's class; open and closed ends as printed."""
    edges, weight = row.get("weight_kg"), weight_of(row, animal)
    if not edges:
        return True
    return weight is not None and in_class(row, weight)


def in_class(row: dict, weight: tuple[int, int]) -> bool:
    edges = row["weight_kg"]
    if row["_min"] is not None:
        side = decimals.compare(weight, row["_min"])
        if side < 0 or (side == 0 and not edges["min_included"]):
            return False
    if row["_max"] is not None:
        side = decimals.compare(weight, row["_max"])
        if side > 0 or (side == 0 and not edges["max_included"]):
            return False
    return True


def unmet(row: dict, animal: dict) -> str | None:
    """The first condition of applies_when that does not hold: "needs_signs", "needs_context", or None."""
    needs = row.get("applies_when")
    if not needs:
        return None
    for sign in needs.get("signs") or []:
        if sign not in animal["signs"]:
            return "needs_signs"
    if needs.get("fasted") and animal["fasted"] is not True:
        return "needs_context"
    if needs.get("bladder_filling") and animal["bladder_filling"] not in needs["bladder_filling"]:
        return "needs_context"
    return None


def is_beyond(row: dict, side: str, number: tuple[int, int]) -> bool:
    """Strictly beyond the bound, or on it where the row says that the bound itself is not within."""
    bound = row["_" + side]
    if bound is None:
        return False
    order = decimals.compare(number, bound)
    if side == "lower":
        order = -order
    return order > 0 or (order == 0 and row.get(side + "_is_within") is False)


def beside(
    rows: list, chosen: str | None, number: tuple[int, int], animal: dict, plane: str | None, sides: tuple
) -> list:
    """What the other rows say of the same value: [{"id", "verdict", "use", "known", "lower", "upper", "unit"}]."""
    said = []
    for row in rows:
        if row["use"] not in BESIDE or row["id"] == chosen or not any([row["_" + side] is not None for side in sides]):
            continue
        if row.get("breed") and not breed_is(row, animal):
            continue
        if (
            plane_fits(row, plane)
            and sex_fits(row, animal)
            and age_fits(row, animal)
            and weight_fits(row, animal)
            and not unmet(row, animal)
        ):
            said.append(
                {
                    "id": row["id"],
                    "verdict": verdict(row, number, sides),
                    "use": row["use"],
                    "known": row["known"],
                    "lower": row.get("lower"),
                    "upper": row.get("upper"),
                    "unit": row["unit"],
                }
            )
    return said


def verdict(row: dict, number: tuple[int, int], sides: tuple) -> str:
    """ "above", "below", "inside", "not above" or "not below", by the sides that the quantity is judged on."""
    for side, word in (("upper", "above"), ("lower", "below")):
        if side in sides and is_beyond(row, side, number):
            return word
    has_lower = row["_lower"] is not None and "lower" in sides
    if has_lower and row["_upper"] is not None:
        return "inside"
    return "not below" if has_lower else "not above"
