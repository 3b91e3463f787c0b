"""The adrenal glands: the greatest thickness from the poles, which set judges it, and what hides a verdict.

The greatest thickness is the larger pole unless it was read as such. A gland of which one pole was not seen or
not read is never "within": beyond the limit it is so "at least". A pole judged by a breed row settles the gland
where that pole is the greatest; no other set then flags it.
"""

from . import decimals, values, verdicts
from . import limits as limit_rules
from .verdicts import Judge

SIDES = ("left", "right")
POLES = ("caudal_pole", "cranial_pole")
PLANE = "long_axis"
RATIO = "adrenal.thickness_difference_ratio"


class Gland:
    """One gland as it was read: `greatest` is a value or None, `complete` says whether no pole can hide more."""

    def __init__(self, judge: Judge, found: dict, side: str) -> None:
        self.side = side
        self.structure = "adrenal." + side
        self.about = self.structure + ".maximum_thickness"
        self.poles = {}
        self.missing = ""
        usable = []
        for pole in POLES:
            value = _usable(found.get(self.structure + "." + pole + "_thickness"))
            self.poles[pole] = value
            if value:
                usable.append(value)
        self.as_such = found.get(self.about)
        candidate = _usable(self.as_such)
        self.read_as_such = candidate is not None
        self.touched = self.as_such is not None or any(
            [self.structure + "." + pole + "_thickness" in found for pole in POLES]
        )
        read = [self.as_such] + [found.get(self.structure + "." + pole + "_thickness") for pole in POLES]
        self.other_plane = any([value is not None and value["plane"] != PLANE for value in read])
        self.greatest = candidate
        for value in usable:
            if self.greatest is None or decimals.compare(value["mean"], self.greatest["mean"]) > 0:
                self.greatest = value
        self.missing = self._what_is_missing(judge, found)
        self.complete = self.greatest is not None and not self.missing
        self.mass = has_mass(judge.exam, self.structure)

    def _what_is_missing(self, judge: Judge, found: dict) -> str:
        """ "partly_seen", "needs_other_pole" or "": why the greatest thickness may be larger than what was read."""
        if self.as_such is not None and self.as_such["view"] == "partly":
            return "partly_seen"
        unread = False
        told = False
        for pole in POLES:
            state = values.state_of(judge.exam["states"], self.structure + "." + pole)
            told = told or state is not None
            value = found.get(self.structure + "." + pole + "_thickness")
            if (
                state == "not_seen"
                or (value is not None and value["view"] == "partly")
                or (state == "partly" and value is None)
            ):
                return "partly_seen"
            if self.poles[pole] is None:
                unread = True
        state = values.state_of(judge.exam["states"], self.structure)
        said = all([value is not None and value["said_whole"] for value in self.poles.values()])
        if state == "not_seen" or (state == "partly" and not told and not said):
            return "partly_seen"
        if unread and not self.read_as_such:
            return "needs_other_pole"
        return ""


def _usable(value: dict | None) -> dict | None:
    if value is None or value["view"] == "partly" or not value["believable"] or value["plane"] != PLANE:
        return None
    return value


def has_mass(exam: dict, structure: str) -> bool:
    for finding in exam["findings"]:
        if finding["structure"] == structure and finding["finding"] == "mass" and not finding.get("struck"):
            return True
    return False


def judge_glands(judge: Judge, found: dict) -> dict:
    """Judges both glands; returns {side: Gland}. Adds the greatest thickness to `found` where it is derived."""
    glands = {}
    for side in SIDES:
        glands[side] = Gland(judge, found, side)
    both = glands["left"].complete and glands["right"].complete
    apart = side_difference(judge, glands) if both else None
    for side in SIDES:
        gland = glands[side]
        if gland.touched:
            _judge_gland(judge, gland, glands["right" if side == "left" else "left"])
    if apart and apart["flag"]:
        _smaller_gland(judge, glands, apart)
    for side in SIDES:
        _add_derived(found, glands[side])
    if apart:
        ratio = judge.catalogue.quantity(RATIO)
        found[RATIO] = values.derived(ratio, apart["ratio"], [glands[side].about for side in SIDES], found)
    return glands


def _add_derived(found: dict, gland: Gland) -> None:
    """The larger pole stands as the greatest thickness; where a pole was read larger than it, the larger counts."""
    if gland.greatest is None or gland.greatest["id"] == gland.about:
        return
    value = dict(gland.greatest)
    value.update({"id": gland.about, "derived": True, "inputs": [gland.greatest["id"]], "at_least": not gland.complete})
    if gland.as_such is None:
        found[gland.about] = value


def _judge_gland(judge: Judge, gland: Gland, other: Gland) -> None:
    settled = _breed_verdicts(judge, gland)
    value = gland.greatest
    if value is None:
        if gland.missing == "partly_seen":
            judge.silence(gland.about, "partly_seen")
        elif gland.other_plane:
            also = verdicts.beside(judge, gland.as_such, None, judge.rows(gland.about)) if gland.as_such else []
            judge.silence(gland.about, "no_published_limit", also, ", in this plane")
        return
    if not settled:
        _upper(judge, gland, value)
    elif gland.missing:
        _say_missing(judge, gland)
    if judge.animal["species"] == "dog" and not gland.mass and not other.mass:
        _lower(judge, gland, value)


def _breed_verdicts(judge: Judge, gland: Gland) -> bool:
    """Poles with a row of the animal's own breed; True where that pole is the greatest of the gland."""
    settled = False
    for pole in POLES:
        value = gland.poles[pole]
        if value is None:
            continue
        rows = [row for row in judge.rows(value["id"]) if limit_rules.breed_is(row, judge.animal)]
        chosen = limit_rules.choose(rows, "upper", judge.animal, value["plane"])
        if not chosen["row"]:
            continue
        is_greatest = gland.greatest is value
        beside = judge.rows(value["id"]) + (judge.rows(gland.about) if is_greatest else [])
        also = verdicts.beside(judge, value, chosen["row"]["id"], beside)
        if not gland.read_as_such or is_greatest:
            verdicts.give(judge, value, chosen["row"], "upper", value["id"], also=also)
            settled = settled or is_greatest
    return settled


def _upper(judge: Judge, gland: Gland, value: dict) -> None:
    rows = judge.rows(gland.about)
    chosen = limit_rules.choose(rows, "upper", judge.animal, value["plane"])
    also = _also(judge, gland, value, chosen["row"])
    if chosen["row"] is None:
        why = gland.missing if gland.missing == "partly_seen" else chosen["why"]
        if why == "no_limit_for_weight":
            verdicts.say_assumed(judge, gland.about, rows)
        judge.silence(gland.about, why, also, verdicts.near_edge(judge, rows, why))
        return
    if gland.complete:
        verdicts.give(judge, value, chosen["row"], "upper", gland.about, also=also)
    elif limit_rules.is_beyond(chosen["row"], "upper", value["mean"]):
        verdicts.give(judge, value, chosen["row"], "upper", gland.about, at_least=True, also=also)
    else:
        _say_missing(judge, gland, also)


def _say_missing(judge: Judge, gland: Gland, also: list | None = None) -> None:
    other = gland.missing == "needs_other_pole" and gland.other_plane
    judge.silence(gland.about, gland.missing, also, " in the long axis" if other else "")


def _also(judge: Judge, gland: Gland, value: dict, row: dict | None) -> list:
    """What the other sets say: rows of the greatest thickness, and rows made for the pole that is the greatest."""
    rows = [other for other in judge.rows(gland.about) if other["use"] != "on_indication"]
    if value["id"] != gland.about:
        rows = rows + judge.rows(value["id"])
    elif gland.read_as_such:
        for pole in POLES:
            rows = rows + [
                other
                for other in judge.rows(gland.structure + "." + pole + "_thickness")
                if limit_rules.breed_is(other, judge.animal)
            ]
    return verdicts.beside(judge, value, row["id"] if row else None, rows)


def _lower(judge: Judge, gland: Gland, value: dict) -> None:
    """The low side needs both poles, or a thickness read as such; it is never used where a gland has a mass."""
    rows = judge.rows(gland.about)
    chosen = limit_rules.choose(rows, "lower", judge.animal, value["plane"])
    row = chosen["row"] or (chosen["gated"] or [None])[0]
    if row is None:
        return
    beyond = limit_rules.is_beyond(row, "lower", value["mean"])
    if not gland.complete:
        if beyond:
            _say_missing(judge, gland)
    elif chosen["row"]:
        _give_low(judge, gland, value, row, _also(judge, gland, value, row))
    elif beyond:
        verdicts.gated(judge, value, [row], "lower", gland.about)


def _give_low(judge: Judge, gland: Gland, value: dict, row: dict, also: list) -> None:
    """The low side speaks where the value is below the limit or close to it; "not below" is not said of a gland."""
    line = verdicts.verdict_line(judge, value, row, "lower", gland.about, also=also)
    if line["kind"] != "within":
        judge.flags.append(line)


def side_difference(judge: Judge, glands: dict) -> dict | None:
    """The difference of the greatest thicknesses, with `flag` where both shares of the rule are reached."""
    left, right = glands["left"].greatest["mean"], glands["right"].greatest["mean"]
    larger = decimals.larger(left, right)
    if larger[0] == 0:
        return None
    gap = decimals.absolute(decimals.sub(left, right))
    ratio = decimals.div(gap, larger)
    rule = judge.thresholds["side_difference"]
    flag = (
        decimals.compare(ratio, decimals.parse(rule["share"])) > 0
        and decimals.compare(gap, decimals.parse(rule["mm"])) >= 0
    )
    return {
        "gap": gap,
        "ratio": ratio,
        "flag": flag,
        "smaller": "left" if decimals.compare(left, right) < 0 else "right",
    }


def _smaller_gland(judge: Judge, glands: dict, apart: dict) -> None:
    """The row about the thinner gland, where the sides differ; its other condition is its signs."""
    gland = glands[apart["smaller"]]
    if glands["left"].mass or glands["right"].mass:
        return
    rows = judge.limits.rows(judge.animal["species"], "adrenal.smaller")
    chosen = limit_rules.choose(rows, "lower", judge.animal, gland.greatest["plane"])
    if chosen["row"]:
        _give_low(judge, gland, gland.greatest, chosen["row"], [])
    elif chosen["gated"]:
        row = chosen["gated"][0]
        if limit_rules.is_beyond(row, "lower", gland.greatest["mean"]):
            verdicts.gated(judge, gland.greatest, [row], "lower", gland.about)
