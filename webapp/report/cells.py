"""One measured value as a cell of the report's tables: the mean with its verdict, and every reading behind it."""

from webapp.core import wording as core_words

from . import sources, wording
from .case import Case, Json

VERDICTS = ("above_limit", "below_limit", "near_limit", "alert")
BEYOND = {"above_limit": "\u25b2 ABOVE", "below_limit": "\u25bc BELOW", "alert": "\u25a0 TELL SOMEONE"}
NO_CELL: Json = {"head": "\u2013", "detail": "", "strong": False}

_UNSURE = ("too close to call", "spread not known")  # the rule code's own second words


def readings_of(case: Case, value: Json) -> list[Json]:
    """The readings behind a value that nobody struck."""
    return [
        row
        for row in case.live("readings")
        if row["quantity"] == value["quantity"] and row.get("lesion") == value.get("lesion")
    ]


def verdicts(case: Case, value: Json) -> list[Json]:
    """What the rules say of the value beside a limit: beyond it where anything is, else all that was compared."""
    about = value["quantity"]
    if value.get("lesion"):
        return []
    flags = [flag for flag in case.flags(*VERDICTS) if flag["about"] == about]
    judged = [
        row for row in case.judgement.get("judged") or [] if row["about"] == about and not _needs_signs(case, row)
    ]
    return [flag for flag in flags if flag["kind"] in BEYOND] or [*flags, *judged]


def cell(case: Case, value: Json) -> Json:
    """{"head": "7.4 \u25b2 ABOVE", "detail": "7.4 7.6 7.3 \u00b7 n 3 \u00b7 0.3", "strong"}."""
    lines = verdicts(case, value)
    mean = f"\u2265 {value['value']}" if value.get("at_least") else str(value["value"])
    words = [wording.with_unit(mean, None if value.get("unit") == "mm" else value.get("unit"))]
    words += list(dict.fromkeys(_verdict(line) for line in lines))
    return {
        "head": " ".join(words),
        "detail": detail(case, value),
        "strong": any(line["kind"] in BEYOND for line in lines),
    }


def detail(case: Case, value: Json) -> str:
    """The single readings, how many (n) and their spread, and how they were taken where that differs from the usual;
    of a gland each pole with its own."""
    readings = readings_of(case, value)
    if not readings:
        poles = "; ".join(
            pole_name(case, pole)
            + ("" if pole["value"] == value["value"] else f" {pole['value']}")
            + f": {detail(case, pole)}"
            for pole in poles_of(case, value)
        )
        return poles or _made_of(case, value)
    number = value.get("n") or 0
    pieces = [" ".join(_reading(case, row) for row in readings)]
    if number == 1 and readings[0]["value"] == value["value"]:  # the mean says it already
        pieces = [_plane(case, readings[0])] if _plane(case, readings[0]) else []
    pieces += [f"n {number}"] if number else []
    if value.get("spread") is not None and number > 1:
        pieces.append(str(value["spread"]))
    return " \u00b7 ".join([*pieces, *_taken(readings)])


def _made_of(case: Case, value: Json) -> str:
    """ "of 41.3 and 6.0 mm" of a ratio: what it was worked out from, before the means were rounded."""
    behind = {one["quantity"]: one for one in case.judgement.get("values") or [] if not one.get("lesion")}
    inputs = [behind[name] for name in value.get("inputs") or [] if name in behind]
    if value.get("unit") == "1" and len(inputs) == 2:
        return f"of {inputs[0]['value']} and {wording.with_unit(inputs[1]['value'], inputs[1].get('unit'))}"
    return "worked out" if value.get("derived") else "no reading kept"


def poles_of(case: Case, value: Json) -> list[Json]:
    """The poles behind a gland's greatest thickness, the thicker first; none for any other value."""
    derived = (case.quantities.get(value["quantity"]) or {}).get("derived") or {}
    if derived.get("rule") != "larger_pole":
        return []
    poles = [one for one in case.judgement.get("values") or [] if one["quantity"] in derived["of"]]
    return sorted(poles, key=lambda pole: pole["value"] != value["value"])


def pole_name(case: Case, pole: Json) -> str:
    """ "caudal" of "LEFT adrenal, caudal pole thickness"."""
    return case.label(pole["quantity"]).partition(", ")[2].removesuffix(" pole thickness")


def limit_words(case: Case, value: Json) -> str:
    """The limit with its class, or why there is no verdict: "up to 5.5 (dogs over 5 to 10 kg)"."""
    lines = verdicts(case, value)
    if lines:
        return "; ".join(dict.fromkeys(_limit(case, line) for line in lines))
    about = value["quantity"]
    silent = [row for row in case.judgement.get("silent") or [] if row["about"] == about]
    if silent and not value.get("lesion"):
        return "; ".join(dict.fromkeys(why(row["why"]) for row in silent))
    return "\u2013"


def why(code: str) -> str:
    """Why a value has no verdict, in the reader's words."""
    return wording.SILENCE.get(code) or core_words.SILENCE[code]


def numbers(case: Case, cited: sources.Sources, value: Json) -> list[int | None]:
    """The sources of the limits beside the value."""
    return [cited.number((line.get("limit") or {}).get("id"), line.get("source")) for line in verdicts(case, value)]


def is_unusual(case: Case, value: Json) -> bool:
    """Whether it was said how the readings were taken and that differs from the plain case."""
    return bool(_taken(readings_of(case, value)))


def _needs_signs(case: Case, line: Json) -> bool:
    """A row held back for want of clinical signs is not printed: its class would name what nobody suspects."""
    row = case.limits.get(str((line.get("limit") or {}).get("id"))) or {}
    return line["kind"] == "no_verdict" and bool((row.get("applies_when") or {}).get("signs"))


def _reading(case: Case, reading: Json) -> str:
    """One reading; one of another plane than the rest says so, for it is not in the mean."""
    plane = _plane(case, reading)
    return f"{reading['value']} ({plane})" if plane else str(reading["value"])


def _plane(case: Case, reading: Json) -> str:
    """The plane in words where it is not the usual one of the measure."""
    plane, usual = reading.get("plane"), (case.quantities.get(reading["quantity"]) or {}).get("plane")
    return wording.PLANES.get(str(plane), str(plane)) if plane and plane != usual else ""


def _taken(readings: list[Json]) -> list[str]:
    said = []
    if any(row.get("view") == "partly" for row in readings):
        said.append("partly seen")
    if any(row.get("cut") == "oblique" for row in readings):
        said.append("oblique cut")
    lying = dict.fromkeys(str(row["recumbency"]) for row in readings if row.get("recumbency"))
    if len(lying) > 1 or any(place != "dorsal" for place in lying):
        said.append(f"lying {wording.several(lying)}")
    return said


def _limit(case: Case, line: Json) -> str:
    limit = line.get("limit") or {}
    unit = None if limit.get("unit") == "mm" else limit.get("unit")
    text = wording.with_unit(sources.extent(limit), unit)
    quoted = "quoted" if limit.get("known") == "secondary" else ""
    animals = sources.class_words(case, limit)
    for species in ("dogs, ", "cats, "):
        animals = animals.removeprefix(species)  # the report's head says which; a lone "dogs" stays
    extra = "; ".join(piece for piece in (animals, quoted) if piece)
    return f"{text} ({extra})" if extra and text else text or extra


def _verdict(line: Json) -> str:
    if line["kind"] == "within":
        return "within"
    if line["kind"] == "near_limit":
        return "within, near the limit"
    if line["kind"] == "no_verdict":
        return "no verdict, other setting"
    text = BEYOND[line["kind"]]
    if line.get("at_least"):
        text += ", at least: the other pole is not known"
    if line.get("call") in _UNSURE:
        text += f", {line['call']}"
    return text
