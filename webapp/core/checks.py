"""Look again while the probe is on: values not believed, readings that disagree, oblique cuts, partial views."""

from . import decimals, typed, values, wording
from . import gland as glands
from .catalogue import Catalogue
from .errors import CoreError
from .verdicts import Judge

TEN = (10, 1)


def look_again(judge: Judge, found: dict, order: list) -> None:
    """The look-again flags of what was read; marks values that are not believed (`believable` False)."""
    for name in order:
        value = found[name]
        _believe(judge, value)
        _disagree(judge, value)
        _partly(judge, value)
        _said_oblique(judge, value)
    for side in glands.SIDES:
        _oblique_pairs(judge, found, "adrenal." + side)
        _oblique_height(judge, found, "adrenal." + side)


def odd_weight(judge: Judge) -> None:
    """A weight outside its window is asked about and not used."""
    odd = judge.animal["odd_weight"]
    if odd is not None:
        words = typed.kilograms(odd) + " kg: is this weight right? It is not used"
        judge.flag("patient.weight_kg", "check_value", words)


def believe_shared(shared: dict, catalogue: Catalogue) -> None:
    """Marks values that other units share and that are not believed; the question is asked in their own unit."""
    for name in shared:
        plausible = catalogue.quantity(name)["plausible"]
        if any([_outside(number, plausible) for number in shared[name]["numbers"]]):
            shared[name]["believable"] = False


def _believe(judge: Judge, value: dict) -> None:
    """Outside the plausible window there is no verdict; a long pole or a likely slip is asked about and keeps it."""
    quantity = judge.catalogue.quantity(value["id"])
    structure = quantity["structure"]
    if structure and structure[:8] == "adrenal." and glands.has_mass(judge.exam, structure):
        return
    for number in value["numbers"]:
        if _outside(number, quantity["plausible"]):
            value["believable"] = False
            _ask(
                judge,
                value,
                number,
                "not believed without a question ("
                + _window(quantity["plausible"], quantity["unit"])
                + "); no verdict",
            )
            return
    for number in value["numbers"]:
        slip = _ten_fold(number, (quantity["usual"] or {}).get(judge.animal["species"]))
        meant = "was " + wording.amount(decimals.exact(slip), quantity["unit"]) + " meant?" if slip else "is it right?"
        if _is_long_pole(judge, quantity, number):
            longest = judge.thresholds["implausible_pole"]["mm"]
            words = "over " + longest + " mm for an adrenal gland without a recorded mass: " + meant
            _ask(judge, value, number, words)
            return
        if slip:
            _ask(judge, value, number, "unusual: " + meant)
            return


def _ask(judge: Judge, value: dict, number: tuple[int, int], words: str) -> None:
    unit = judge.unit(value["id"])
    try:
        shown = decimals.exact(number)
    except CoreError:
        shown = judge.show(number, value["id"])
    judge.flag(value["id"], "check_value", wording.amount(shown, unit) + ": " + words, {"value": shown, "unit": unit})


def _outside(number: tuple[int, int], window: dict) -> bool:
    low, high = window.get("from"), window.get("to")
    return (low is not None and decimals.compare(number, decimals.parse(low)) < 0) or (
        high is not None and decimals.compare(number, decimals.parse(high)) > 0
    )


def _window(window: dict, unit: str) -> str:
    return "believable " + window["from"] + " to " + window["to"] + ("" if unit == "1" else " " + unit)


def _is_long_pole(judge: Judge, quantity: dict, number: tuple[int, int]) -> bool:
    name = quantity["id"]
    if name[:8] != "adrenal." or name[-10:] != "_thickness":
        return False
    return decimals.compare(number, decimals.parse(judge.thresholds["implausible_pole"]["mm"])) > 0


def _ten_fold(number: tuple[int, int], usual: dict | None) -> tuple[int, int] | None:
    """The value ten times larger or smaller, where that is usual and the value itself is not."""
    if not usual or not _outside(number, usual):
        return None
    for other in (decimals.mul(number, TEN), decimals.div(number, TEN)):
        if not _outside(other, usual):
            return other
    return None


def _disagree(judge: Judge, value: dict) -> None:
    if value["n"] < 2 or judge.unit(value["id"]) != "mm":
        return
    rule = judge.thresholds["readings_disagree"]
    share = decimals.mul(decimals.parse(rule["share"]), value["mean"])
    if (
        decimals.compare(value["spread"], share) > 0
        and decimals.compare(value["spread"], decimals.parse(rule["mm"])) > 0
    ):
        gap = judge.show(value["spread"], value["id"])
        judge.flag(
            value["id"],
            "readings_disagree",
            "the readings lie " + gap + " mm apart: take another, or strike one with a reason",
            {"value": gap, "unit": "mm"},
        )


def _partly(judge: Judge, value: dict) -> None:
    if value["view"] == "partly":
        shown = judge.show(value["mean"], value["id"])
        unit = judge.unit(value["id"])
        judge.flag(
            value["id"],
            "partly_seen",
            wording.amount(shown, unit) + ", partly seen: no verdict, try another window",
            {"value": shown, "unit": unit},
        )


def _said_oblique(judge: Judge, value: dict) -> None:
    if "oblique" in value["cuts"]:
        judge.flag(value["id"], "oblique", "marked as an oblique cut: turn the probe and take it again")


def _oblique_pairs(judge: Judge, found: dict, structure: str) -> None:
    """A pole's reading and a length pair by their order: the thicker one with the shorter length was cut obliquely."""
    if structure + ".length" not in found:
        return
    lengths = values.placed(judge.exam["readings"], structure + ".length")
    least = decimals.parse(judge.thresholds["oblique_cut"]["pair_mm"])
    for pole in glands.POLES:
        name = structure + "." + pole + "_thickness"
        thick = values.placed(judge.exam["readings"], name)
        count = min(len(thick), len(lengths))
        for first in range(count):
            for second in range(first + 1, count):
                if None in (thick[first], lengths[first], thick[second], lengths[second]):
                    continue
                gap = decimals.sub(thick[first], thick[second])
                stretch = decimals.sub(lengths[first], lengths[second])
                apart = decimals.absolute(gap)
                if gap[0] * stretch[0] < 0 and decimals.compare(apart, least) > 0 and not _flagged(judge, name):
                    words = " mm apart, and the thicker one shorter: probably oblique, turn the probe and take it again"
                    judge.flag(name, "oblique", decimals.exact(apart) + words)


def _oblique_height(judge: Judge, found: dict, structure: str) -> None:
    name = structure + ".caudal_pole_thickness"
    long_axis, short_axis = found.get(name), found.get(structure + ".caudal_pole_height_short_axis")
    if long_axis is None or short_axis is None or _flagged(judge, name):
        return
    gap = decimals.sub(long_axis["mean"], short_axis["mean"])
    if decimals.compare(gap, decimals.parse(judge.thresholds["oblique_cut"]["short_axis_mm"])) > 0:
        judge.flag(
            name,
            "oblique",
            judge.show(gap, name)
            + " mm thicker than in the short axis: probably oblique, turn the probe and take it again",
        )


def _flagged(judge: Judge, name: str) -> bool:
    for flag in judge.flags:
        if flag["about"] == name and flag["kind"] == "oblique":
            return True
    return False
