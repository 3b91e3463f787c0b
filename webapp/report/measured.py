"""The table of measurements: every single reading, mean, spread, n, limit with its class, verdict and source."""

from webapp.core import wording as core_words

from . import change, sources, wording
from .case import Case, Json

COLUMNS = (
    {"id": "name", "label": "Measured", "spoken": "", "numeric": False},
    {"id": "readings", "label": "Readings", "spoken": "readings", "numeric": True},
    {"id": "mean", "label": "Mean", "spoken": "mean", "numeric": True},
    {"id": "spread", "label": "Spread", "spoken": "spread", "numeric": True},
    {"id": "n", "label": "n", "spoken": "n", "numeric": True},
    {"id": "limit", "label": "Published limit (class)", "spoken": "limit:", "numeric": False},
    {"id": "result", "label": "Result", "spoken": "result:", "numeric": False},
    {"id": "source", "label": "Source", "spoken": "source", "numeric": True},
)

LEGEND = (
    "Spread: largest minus smallest reading; a dash where there is one reading. In mm unless another unit stands "
    "beside the mean. \u2265: at least, a pole was not seen or not read. Quoted: read in another "
    "publication, not in the paper. A value within a limit says nothing about appearance."
)

_BEYOND = {"above_limit": "\u25b2 ABOVE", "below_limit": "\u25bc BELOW", "alert": "\u25a0 TELL SOMEONE"}
_VERDICTS = ("above_limit", "below_limit", "near_limit", "alert")
_UNSURE = ("too close to call", "spread not known")  # the rule code's own second words
_IDLE = {"no_published_limit", "unverified_only", ""}
_COMPARABLE = ("limit", "criterion", "unverified")
_SHOWN_ELSEWHERE = _VERDICTS + ("changed",)


def table(case: Case, cited: sources.Sources) -> Json | None:
    """The table block, or None when nothing was measured."""
    rows = [
        _row(case, cited, value)
        for value in _in_order(case)
        if not (_idle_ratio(case, value) or _single_line(case, value))
    ]
    if not rows:
        return None
    return {
        "kind": "table",
        "name": "measurements",
        "caption": "Measurements",
        "columns": list(COLUMNS),
        "rows": rows,
        "legend": LEGEND,
    }


def others(case: Case) -> list[Json]:
    """What was read once, outside the question, and has no limit: one line per reason, every reading in it."""
    said: dict[str, list[str]] = {}
    for value in _in_order(case):
        why = _single_line(case, value)
        if why and not _idle_ratio(case, value):
            words = f"{_name(case, value)} {wording.with_unit(value['value'], value.get('unit'))}"
            said.setdefault(why, []).append(words)
    return [
        {"kind": "fact", "label": f"Measured once, {why}", "text": wording.sentence("; ".join(words)), "small": True}
        for why, words in said.items()
    ]


def points(case: Case, cited: sources.Sources) -> Json | None:
    """What the rules say about the values besides the verdicts, and what a person answered to each flag."""
    items = []
    for flag in case.judgement.get("flags") or []:
        answer = case.acknowledgement(flag)
        if (flag["kind"] in _SHOWN_ELSEWHERE or change.is_class_move(flag)) and not answer:
            continue
        limit = flag.get("limit") or {}
        mark = sources.marks([cited.number(limit.get("id"), flag.get("source"))]) if limit else ""
        text = " ".join(piece for piece in (wording.sentence(_named(case, flag)), answer, mark) if piece)
        items.append({"text": text, "strong": flag["grade"] in ("outside", "tell_someone")})
    return {"kind": "list", "label": "Points about the values", "items": _distinct(items)} if items else None


def also_published(case: Case, cited: sources.Sources) -> Json | None:
    """Cut-offs and other limits beside a value: where it is beyond, or another set says that it would be.

    Never for a part that was not fully seen: no line at all may stand beside its value.
    """
    said: dict[str, list[str]] = {}
    for line in _lines(case):
        if line.get("why") in ("partly_seen", "needs_other_pole"):
            continue
        for other in line.get("also") or []:
            mark = sources.marks([cited.number(other["id"])]) if _worth_saying(case, line, other) else ""
            if mark:
                said.setdefault(case.label(line["about"]), []).append(f"{other['words']} {mark}")
    items = [{"text": f"{name}: {'; '.join(dict.fromkeys(words))}", "strong": False} for name, words in said.items()]
    label = "Other published figures, shown beside the limit and never the reason for a verdict"
    return {"kind": "list", "label": label, "items": items} if items else None


def _worth_saying(case: Case, line: Json, other: Json) -> bool:
    use = (case.limits.get(str(other.get("id"))) or {}).get("use")
    if use not in _COMPARABLE or line["kind"] in ("above_limit", "below_limit"):
        return use in _COMPARABLE
    asked = (case.quantities.get(str(line["about"])) or {}).get("structure") in case.asked
    return other.get("verdict") in ("above", "below") and (asked or (line["kind"] != "silent" and use != "unverified"))


def struck(case: Case) -> Json | None:
    """Readings taken back: they stay in the record and count for nothing."""
    rows = [row for row in case.exam.get("readings") or [] if row.get("struck")]
    if not rows:
        return None
    words = [
        f"{case.label(row['quantity'])} {wording.with_unit(row['value'], row['unit'])}"
        + (f" ({row['why_struck']})" if row.get("why_struck") else "")
        for row in rows
    ]
    return {"kind": "fact", "label": "Struck by hand and not used", "text": wording.sentence("; ".join(words))}


def _lines(case: Case) -> list[Json]:
    silent = [row | {"kind": "silent"} for row in case.judgement.get("silent") or []]
    return [*(case.judgement.get("flags") or []), *(case.judgement.get("judged") or []), *silent]


def _in_order(case: Case) -> list[Json]:
    """Values in the reading order of their structures, then as the catalogue lists them."""
    places = {structure: place for place, structure in enumerate(case.reading_order)}
    listed = {quantity: place for place, quantity in enumerate(case.quantities)}

    def key(value: Json) -> tuple[int, int]:
        row = case.quantities.get(value["quantity"]) or {}
        return places.get(str(row.get("structure")), len(places)), listed.get(value["quantity"], len(listed))

    return sorted(case.judgement.get("values") or [], key=key)


def _idle_ratio(case: Case, value: Json) -> bool:
    """A computed ratio that no limit judges tells the reader nothing that its parts do not."""
    judged = [*case.flags(*_VERDICTS), *(case.judgement.get("judged") or [])]
    return (
        bool(value.get("derived"))
        and value.get("unit") == "1"
        and all(line["about"] != value["quantity"] for line in judged)
    )


def _single_line(case: Case, value: Json) -> str:
    """Why a value needs no row of its own ("no published limit for this value"), or "" where it does."""
    about = value["quantity"]
    readings = _readings(case, value)
    if len(readings) != 1 or _cut(readings) or (case.quantities.get(about) or {}).get("structure") in case.asked:
        return ""
    if value.get("lesion"):
        return "of a lesion, not judged"
    if any(
        line["about"] == about for line in [*(case.judgement.get("flags") or []), *(case.judgement.get("judged") or [])]
    ):
        return ""
    whys = {row["why"] for row in case.judgement.get("silent") or [] if row["about"] == about}
    return core_words.SILENCE[next(iter(whys))].removeprefix("no verdict: ") if len(whys) == 1 and whys < _IDLE else ""


def _readings(case: Case, value: Json) -> list[Json]:
    return [
        row
        for row in case.live("readings")
        if row["quantity"] == value["quantity"] and row.get("lesion") == value.get("lesion")
    ]


def _name(case: Case, value: Json) -> str:
    """The measure's name; a lesion's with the structure and the lesion's number."""
    structure, _, number = str(value.get("lesion") or "").partition("#")
    lesion = " ".join(piece for piece in (case.label(structure) if structure else "", number) if piece)
    return case.label(value["quantity"]) + (f" ({lesion})" if lesion else "")


def _row(case: Case, cited: sources.Sources, value: Json) -> Json:
    about, lesion = value["quantity"], value.get("lesion")
    flags = [flag for flag in case.flags(*_VERDICTS) if flag["about"] == about and not lesion]
    judged = [
        row
        for row in case.judgement.get("judged") or []
        if row["about"] == about and not lesion and not _needs_signs(case, row)
    ]
    readings = _readings(case, value)
    beyond = [line for line in flags if line["kind"] in _BEYOND]
    verdicts = beyond or [*flags, *judged]
    limit, result = _limit_and_result(case, about, verdicts)
    mean = f"\u2265 {value['value']}" if value.get("at_least") else str(value["value"])
    numbers = [cited.number((line.get("limit") or {}).get("id"), line.get("source")) for line in verdicts]
    cells = {
        "name": _name(case, value) + _cut(readings),
        "readings": "  ".join(_reading(case, row) for row in readings) or "derived",
        "mean": wording.with_unit(mean, None if value.get("unit") == "mm" else value.get("unit")),
        "spread": str(value["spread"]) if value.get("spread") is not None and (value.get("n") or 0) > 1 else "\u2013",
        "n": str(value["n"]) if value.get("n") else "\u2013",
        "limit": limit,
        "result": result,
        "source": sources.marks(numbers) or "\u2013",
    }
    return {"cells": cells, "strong": any(flag["kind"] in _BEYOND for flag in flags)}


def _needs_signs(case: Case, line: Json) -> bool:
    """A row held back for want of clinical signs is not printed: its class would name what nobody suspects."""
    row = case.limits.get(str((line.get("limit") or {}).get("id"))) or {}
    return line["kind"] == "no_verdict" and bool((row.get("applies_when") or {}).get("signs"))


def _reading(case: Case, reading: Json) -> str:
    """One reading; one of another plane than the rest says so, for it is not in the mean."""
    plane, usual = reading.get("plane"), (case.quantities.get(reading["quantity"]) or {}).get("plane")
    other = f" ({wording.PLANES.get(str(plane), str(plane))})" if plane and plane != usual else ""
    return str(reading["value"]) + other


def _cut(readings: list[Json]) -> str:
    """How the readings were taken, where it was said and differs from the plain case."""
    said = []
    if any(row.get("view") == "partly" for row in readings):
        said.append("partly seen")
    if any(row.get("cut") == "oblique" for row in readings):
        said.append("oblique cut")
    lying = dict.fromkeys(str(row["recumbency"]) for row in readings if row.get("recumbency"))
    if len(lying) > 1 or any(place != "dorsal" for place in lying):
        said.append(f"lying {wording.several(lying)}")
    return f" ({'; '.join(said)})" if said else ""


def _limit_words(case: Case, line: Json) -> str:
    limit = line.get("limit") or {}
    text = wording.with_unit(sources.extent(limit), limit.get("unit"))
    words = sources.class_words(case, limit)
    quoted = "quoted" if limit.get("known") == "secondary" else ""
    extra = "; ".join(piece for piece in (words, quoted) if piece)
    return f"{text} ({extra})" if extra and text else text or extra


def _limit_and_result(case: Case, about: str, verdicts: list[Json]) -> tuple[str, str]:
    """The two cells: limit and verdict, or why there is none and "no verdict"."""
    if verdicts:
        limits = dict.fromkeys(_limit_words(case, line) for line in verdicts)
        return "; ".join(limits), "; ".join(dict.fromkeys(_verdict(line) for line in verdicts))
    silent = [row for row in case.judgement.get("silent") or [] if row["about"] == about]
    if silent:
        said = dict.fromkeys(core_words.SILENCE[row["why"]].removeprefix("no verdict: ") for row in silent)
        return "; ".join(said), "no verdict"
    whole = _judged_as(case, about)
    return (f"see {whole}", "\u2013") if whole else ("\u2013", "no verdict")


def _judged_as(case: Case, about: str) -> str:
    """A pole is judged as the greatest thickness of its gland: the row to look at."""
    for value in case.judgement.get("values") or []:
        row = case.quantities.get(value["quantity"]) or {}
        if (row.get("derived") or {}).get("rule") == "larger_pole" and about in (row["derived"].get("of") or []):
            return str(row["label"]).partition(", ")[2] or str(row["label"])
    return ""


def _verdict(line: Json) -> str:
    if line["kind"] == "within":
        return "within"
    if line["kind"] == "near_limit":
        return "within, close to the limit"
    if line["kind"] == "no_verdict":
        return "no verdict: for another setting"
    text = _BEYOND[line["kind"]]
    if line.get("at_least"):
        text += ", at least: the other pole is not known"
    if line.get("call") in _UNSURE:
        text += f", {line['call']}"
    return text


def _named(case: Case, flag: Json) -> str:
    """The flag in words for a reader, with the name of what it is about."""
    text = str(flag.get("text") or flag["kind"].replace("_", " "))
    if flag["kind"] in wording.POINTS:
        amount = wording.with_unit(flag.get("value") or "a reading", flag.get("unit"))
        text = wording.POINTS[flag["kind"]].format(amount=amount)
    label = "Adrenal glands" if flag["kind"] == "side_difference" else case.label(flag["about"])
    return text if label in text or label == flag["about"] else f"{label}: {text}"


def _distinct(items: list[Json]) -> list[Json]:
    return list({item["text"]: item for item in items}.values())
