"""What two things say together: the sides, a thin gland beside a mass, and findings worth telling someone."""

from . import decimals, grades, typed, verdicts, wording
from . import gland as gland_rules
from . import limits as limit_rules
from .verdicts import Judge


def relate(judge: Judge, glands: dict) -> None:
    """Flags about pairs and findings. `glands` as returned by gland.judge_glands, None for other units."""
    if glands:
        _sides(judge, glands)
        for side in gland_rules.SIDES:
            _small_beside_mass(judge, glands[side], glands["right" if side == "left" else "left"])
            if glands[side].mass:
                judge.flag(glands[side].structure, "caution", judge.thresholds["adrenal_mass_caution"])
    for finding in judge.exam["findings"]:
        if not finding.get("struck"):
            _tell(judge, finding)


def _sides(judge: Judge, glands: dict) -> None:
    if not (glands["left"].complete and glands["right"].complete):
        return
    apart = gland_rules.side_difference(judge, glands)
    if apart is None or not apart["flag"]:
        return
    about = "adrenal.thickness_difference_ratio"
    thin = glands[apart["smaller"]]
    thick = glands["right" if apart["smaller"] == "left" else "left"]
    low, high, gap = _that_add_up(thin.greatest["mean"], thick.greatest["mean"], apart["gap"])
    text = thin.side.upper() + " " + low + " mm, " + thick.side.upper() + " " + high
    text += " mm: the sides differ by " + gap + " mm"
    judge.flag(about, "side_difference", text, {"value": judge.show(apart["ratio"], about), "unit": "1"})


def _that_add_up(low: tuple[int, int], high: tuple[int, int], gap: tuple[int, int]) -> list:
    """Two values and their difference as text, with one decimal, or with two where one would not add up."""
    shown = [decimals.show(number, 1) for number in (low, high, gap)]
    difference = decimals.sub(decimals.parse(shown[1]), decimals.parse(shown[0]))
    if decimals.compare(difference, decimals.parse(shown[2])) == 0:
        return shown
    return [decimals.show(number, 2) for number in (low, high, gap)]


def _small_beside_mass(judge: Judge, gland: gland_rules.Gland, other: gland_rules.Gland) -> None:
    rule = judge.thresholds["small_other_gland"]
    value = gland.greatest if gland.complete else None
    if judge.animal["species"] != rule["species"] or not other.mass or value is None:
        return
    if decimals.compare(value["mean"], decimals.parse(rule["mm"])) < 0:
        shown = judge.show(value["mean"], gland.about)
        judge.flag(
            gland.structure,
            "small_other_gland",
            shown + " mm: thin beside a mass of the " + other.side.upper() + " gland",
            {"value": shown, "unit": "mm"},
        )


def _tell(judge: Judge, finding: dict) -> None:
    """One alert for a finding of the list, one for a vessel state that begins with "material"."""
    vessel = finding.get("vessel") or {}
    rules = judge.thresholds["tell_someone"]
    rule = grades.rule_for(finding, rules)
    if rule is not None:
        _alert(judge, finding["structure"], finding["finding"].replace("_", " "), rule)
    rule = grades.vessel_rule_for(finding, str(vessel.get("state") or ""), rules)
    if rule is not None:
        _alert(judge, _vessel_about(judge, finding, vessel), vessel["state"], rule)


def _alert(judge: Judge, about: str, words: str, rule: dict) -> None:
    """The line of a finding on the list. Where the practice made it quieter, it says so with the reason."""
    grade = rule.get("grade") or judge.thresholds["grades"]["alert"]
    for flag in judge.flags:
        if flag["about"] == about and flag["kind"] == "alert" and flag["limit"] is None:
            if not grades.quieter(flag["grade"], grade):
                return
            # Two entries speak of one place: the louder line stands.
            judge.flags.remove(flag)
            break
    end = "; consider telling someone now" if grade == grades.TELL else grades.told_why(judge.thresholds, rule)
    judge.flag(about, "alert", judge.catalogue.label(about) + ": " + words + end, {"grade": grade})


def _vessel_about(judge: Judge, finding: dict, vessel: dict) -> str:
    """The vessel as a structure or a part of the finding's structure; else the structure itself."""
    name = str(vessel.get("id"))
    if judge.catalogue.has_structure(name):
        return name
    part = finding["structure"] + "." + name
    return part if judge.catalogue.label(part) != part else finding["structure"]


def class_notes(judge: Judge, earlier: list) -> None:
    """Notes about the class that judged: near its edge, at the ideal weight, moved since the earlier exam."""
    for line in [line for line in judge.flags + judge.judged if line["limit"] and line["kind"] != "alert"]:
        row = judge.limits.by_id[line["limit"]["id"]]
        if row.get("weight_kg"):
            _edge(judge, line["about"], row)
            _ideal(judge, line["about"], row)
            _moved(judge, line["about"], row, earlier)


def _class_at(judge: Judge, about: str, row: dict, weight: tuple[int, int]) -> dict | None:
    """The row of the same set whose class holds another weight: same quantity, breed, side and source."""
    for other in judge.rows(about):
        if (
            other["source"] == row["source"]
            and other["quantity"] == row["quantity"]
            and other["use"] == row["use"]
            and other.get("weight_kg")
            and limit_rules.in_class(other, weight)
        ):
            return other
    return None


def _edge(judge: Judge, about: str, row: dict) -> None:
    """Near an edge of its class, the limit on the other side is named."""
    weight = limit_rules.weight_of(row, judge.animal)
    share = decimals.parse(judge.thresholds["class_edge"]["share"])
    for edge, step in ((row["_min"], -1), (row["_max"], 1)):
        if edge is None or weight is None:
            continue
        gap = decimals.absolute(decimals.sub(weight, edge))
        if decimals.compare(gap, decimals.mul(edge, share)) <= 0:
            other = _class_at(judge, about, row, decimals.add(edge, (step, 1000)))
            where = (
                " kg is on the class edge; "
                if gap[0] == 0
                else " kg is near the class edge at " + decimals.exact(edge) + " kg; "
            )
            _name_other(judge, about, _kilograms(weight) + where + "beyond it: ", other)


def _kilograms(weight: tuple[int, int]) -> str:
    return typed.kilograms(decimals.exact(weight))


def _name_other(judge: Judge, about: str, words: str, other: dict | None) -> None:
    """A caution that names the limit of another class, or says that there is none."""
    if other is None:
        judge.flag(about, "caution", words + "no published limit")
    else:
        bound = wording.bound_words(other, other["unit"]) + " (" + wording.class_words(other) + ")"
        judge.flag(about, "caution", words + bound, {"limit": judge.limit_fields(other)})


def _ideal(judge: Judge, about: str, row: dict) -> None:
    condition, ideal = judge.animal["body_condition"], judge.animal["ideal_weight"]
    heavy = condition is not None and condition >= judge.thresholds["ideal_weight"]["body_condition"]
    if row.get("weight_is") == "ideal body weight" or not heavy:
        return
    if ideal is None:
        words = "body condition " + str(condition) + " of 9, ideal weight not recorded: the limit there is not named"
        verdicts.assume(judge, about, words)
        return
    other = _class_at(judge, about, row, ideal)
    if other is not row:
        _name_other(judge, about, "at the ideal weight of " + _kilograms(ideal) + " kg: ", other)


def _moved(judge: Judge, about: str, row: dict, earlier: list) -> None:
    """The weight class of the latest earlier exam that has the value, where it was another."""
    now = limit_rules.weight_of(row, judge.animal)
    for exam in earlier:
        if about not in exam["values"]:
            continue
        then = limit_rules.weight_of(row, exam["animal"])
        if then is None or now is None:
            return
        other = _class_at(judge, about, row, then)
        if other is not row:
            words = "the weight class moved: " + _kilograms(now) + " kg now ("
            words += wording.bound_words(row, row["unit"]) + "), " + _kilograms(then) + " kg on "
            words += str(exam["date"]) + ": "
            _name_other(judge, about, words, other)
        return
