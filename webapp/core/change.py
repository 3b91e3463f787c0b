"""What has changed since the earlier exam: in the unit and in percent, against the spread of repeat readings."""

from . import decimals, sentences, spread, values, wording
from .verdicts import Judge


def compare(judge: Judge, found: dict, order: list, earlier: list) -> dict:
    """Flags "changed" where the spread allows it to be said; returns {quantity: the earlier value beside it}.

    `earlier` are earlier exams, latest first, each {"date", "values", "animal", "order"}; the earlier value is
    that of the latest one that has the quantity. A change smaller than the spread is "not distinguishable".
    """
    beside = {}
    for name in order:
        value = found[name]
        for exam in earlier:
            if name in exam["values"]:
                beside[name] = _beside(judge, value, exam["values"][name], exam["date"])
                break
    return beside


def _beside(judge: Judge, now: dict, then: dict, date: str | None) -> dict:
    """The earlier value beside this one; made once for the same two values."""
    cell = judge.cell(now)
    if cell is None or "beside" not in cell or cell["beside"][0] is not then:
        made, flag = _compared(judge, now, then, date)
        if cell is not None:
            cell["beside"] = (then, made, flag)
    else:
        _, made, flag = cell["beside"]
    if flag:
        judge.flag(now["id"], "changed", flag["text"], flag["more"])
    return made


def _compared(judge: Judge, now: dict, then: dict, date: str | None) -> tuple:
    """(the earlier value as it stands beside, the words of a flag "changed" or None)."""
    name, unit = now["id"], judge.unit(now["id"])
    gap = decimals.sub(now["mean"], then["mean"])
    percent = None
    if then["mean"][0] != 0:
        percent = decimals.show(decimals.mul(decimals.div(gap, then["mean"]), (100, 1)), 0)
    same_plane = now["plane"] == then["plane"]
    moved = None
    if same_plane and now["view"] == "whole" and then["view"] == "whole" and now["believable"] and then["believable"]:
        moved = _moved(judge, now, then, unit)
    made = {
        "value": judge.show(then["mean"], name),
        "unit": unit,
        "n": then["n"],
        "date": date,
        "change": _signed(_gap_words(judge, now, then, gap)),
        "change_percent": _signed(percent) if percent is not None else None,
        "verdict": {True: "changed", False: "not distinguishable", None: "unknown"}[moved],
        "differs": _differs(now, then),
        "words": "see the poles" if now["inputs"] and now["n"] and moved is None else _words(moved, same_plane),
    }
    if not moved:
        made["words"] += _below_a_pixel(now, then, gap)
        return made, None
    shown = judge.show(now["mean"], name)
    text = (
        wording.amount(made["value"], unit)
        + " on "
        + str(date)
        + ", now "
        + wording.amount(shown, unit)
        + " ("
        + made["change"]
        + "): more than the spread of repeat readings"
    )
    return made, {"text": text, "more": {"value": shown, "unit": unit, "change": made["change"]}}


def _below_a_pixel(now: dict, then: dict, gap: tuple[int, int]) -> str:
    """A difference that the display cannot show is called so: "; below one display pixel (0.5 mm at this depth)"."""
    known = [value["pixel"] for value in (now, then) if value["pixel"] is not None]
    if not known or gap[0] == 0:
        return ""
    pixel = known[0]
    for other in known[1:]:
        pixel = decimals.larger(pixel, other)
    if decimals.compare(decimals.absolute(gap), pixel) >= 0:
        return ""
    return "; below one display pixel (" + sentences.pixel_size(pixel) + " at this depth)"


def _moved(judge: Judge, now: dict, then: dict, unit: str) -> bool | None:
    """A derived greatest thickness says nothing of its own: its pole does."""
    if now["derived"] and then["derived"]:
        return None
    least = spread.least_change(now, then, unit, judge.thresholds, judge.learned_of(now["id"]))
    if least is None:
        return None
    gap = decimals.sub(now["mean"], then["mean"])
    return decimals.compare(decimals.mul(gap, gap), least) > 0


def _differs(now: dict, then: dict) -> list:
    """Plane, recumbency, window and person where both exams recorded them and they are not the same."""
    made = []
    if now["plane"] != then["plane"]:
        made.append(
            "plane: " + str(then["plane"]).replace("_", " ") + " then, " + str(now["plane"]).replace("_", " ") + " now"
        )
    for name in values.SETTINGS:
        before, after = then["settings"].get(name) or [], now["settings"].get(name) or []
        if before and after and before != after:
            made.append(name + ": " + ", ".join(before) + " then, " + ", ".join(after) + " now")
    return made


def _gap_words(judge: Judge, now: dict, then: dict, gap: tuple[int, int]) -> str:
    """The difference with the quantity's decimals, or one more where the values shown would not add up to it."""
    places = judge.catalogue.quantity(now["id"])["decimals"]
    shown = decimals.scaled(gap, places)
    if decimals.scaled(now["mean"], places) - decimals.scaled(then["mean"], places) == shown:
        return decimals.written(shown, places)
    return decimals.show(gap, places + 1)


def _signed(text: str) -> str:
    """With its sign, unless every digit shown is zero."""
    if not any([digit in text for digit in "123456789"]):
        return text.replace("-", "")
    return text if text[:1] == "-" else "+" + text


def _words(moved: bool | None, same_plane: bool) -> str:
    if not same_plane:
        return "measured in another plane: not compared"
    return {
        True: "more than the spread of repeat readings",
        False: "not distinguishable from the spread of repeat readings",
        None: "spread not known: no statement about change",
    }[moved]
