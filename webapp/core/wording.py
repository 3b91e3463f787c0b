"""The words for limits, classes, sources and silences: trade terms, no diagnosis, LEFT and RIGHT in capitals."""

PLURALS = {"dog": "dogs", "cat": "cats", "dog+cat": "dogs and cats"}

SILENCE = {
    "weight_unknown": "no verdict: the weight is not known",
    "no_limit_for_weight": "no verdict: no published limit reaches this weight",
    "age_under_12_months": "no verdict: adult limits do not hold under 12 months",
    "partly_seen": "no verdict: not seen whole",
    "unverified_only": "no verdict: only unverified limits are known",
    "needs_signs": "no verdict: this limit holds only with fitting signs",
    "needs_context": "no verdict: this limit needs its setting recorded",
    "needs_other_pole": "no verdict: the other pole was not read",
    "no_published_limit": "no published limit for this value",
}


def class_words(row: dict) -> str:
    """The animals that the row speaks of: "dogs over 5 to 10 kg, LEFT"."""
    words = PLURALS[row["species"]]
    if row.get("breed"):
        words = row["breed"] + " " + words
    weight = weight_words(row.get("weight_kg"))
    if weight:
        words += " " + weight
        if row.get("weight_is") == "ideal body weight":
            words += " ideal weight"
    age = row.get("age_months")
    if age and age["min"] is not None and age["min"] > 12:
        words += ", from " + months_words(age["min"])
    elif age and age["max"] is not None:
        words += ", " + months_words(age["max"])
    for side in ("left", "right"):
        if "." + side + "." in row["quantity"]:
            words += ", " + side.upper()
    return words + when_words(row)


def when_words(row: dict) -> str:
    needs = row.get("applies_when") or {}
    words = ""
    if needs.get("bladder_filling"):
        words += ", bladder " + needs["bladder_filling"][0]
    if needs.get("fasted"):
        words += ", fasted"
    for sign in needs.get("signs") or []:
        words += ", " + sign.replace("_", " ")
    return words


def weight_words(edges: dict | None) -> str:
    """A weight class in words; open and closed ends as printed."""
    if not edges:
        return ""
    low, high = edges["min"], edges["max"]
    if low is None:
        return ("up to " if edges["max_included"] else "under ") + high + " kg"
    if high is None:
        return low + " kg and over" if edges["min_included"] else "over " + low + " kg"
    start = low if edges["min_included"] else "over " + low
    return start + (" to " if edges["max_included"] else " to under ") + high + " kg"


def months_words(months: int) -> str:
    if months % 12 == 0:
        return str(months // 12) + " years"
    if (months + 1) % 12 == 0:
        return "under " + str((months + 1) // 12) + " years"
    return str(months) + (" month" if months == 1 else " months")


def bound_words(row: dict, unit: str) -> str:
    """ "5.5 mm", or "5.5 to 9.1" where both sides are printed."""
    tail = "" if unit in ("1", "{score}") else " " + unit
    if row.get("lower") is not None and row.get("upper") is not None:
        return row["lower"] + " to " + row["upper"] + tail
    return (row["upper"] if row.get("upper") is not None else row["lower"]) + tail


def amount(text: str, unit: str) -> str:
    """A value with its unit; ratios and scores have none."""
    return text if unit in ("1", "{score}") else text + " " + unit


def who(source: dict) -> str:
    """First author and year: "Choi et al. 2011"; what is not known is said. Kept with the table's row once made."""
    if "_who" not in source:
        source["_who"] = _author_and_year(source)
    return source["_who"]


def _author_and_year(source: dict) -> str:
    authors = _checked(source.get("authors") or "")
    first = authors.split(",")[0].strip()
    if "," in authors:
        names = first.split(" ")
        surname = " ".join(names[:2]) if names[0] in ("de", "van", "von") else names[0]
        first = surname + " et al."
    words = first or "authors not known"
    year = _checked(source.get("year") or "")
    return words + " " + year if year else words


def source_words(source: dict) -> str:
    """A short citation: first author, year, journal, volume, pages; what was not checked is said once, at the end.

    Kept with the table's row once made: the same sources stand under every value.
    """
    if "_words" not in source:
        source["_words"] = _citation(source)
    return source["_words"]


def _citation(source: dict) -> str:
    volume, pages = _checked(source.get("vol") or ""), _checked(source.get("pages") or "")
    place = [_checked(source.get("journal") or ""), volume + ":" + pages if volume and pages else volume or pages]
    words = ", ".join([piece for piece in (who(source), " ".join([part for part in place if part])) if piece])
    unsure = [name for name in ("authors", "year", "journal", "vol", "pages") if _is_unsure(source.get(name))]
    return words + " (reference not checked in full)" if unsure else words


DOUBTS = ("memory", "not seen", "not shown", "not known")


def _is_unsure(text: object) -> bool:
    return any([doubt in str(text or "") for doubt in DOUBTS])


def _checked(text: object) -> str:
    """The text without what is written in brackets of doubt; "" where nothing certain is left."""
    words = str(text)
    start = words.find("(")
    while start >= 0:
        end = words.find(")", start)
        if end < 0 or not _is_unsure(words[start:end]):
            break
        words = (words[:start] + words[end + 1 :]).strip()
        start = words.find("(")
    return "" if _is_unsure(words) else words


def call_words(borderline: bool | None, beyond: bool) -> str:
    """The second line of a verdict: what the uncertainty of the value leaves of it. It never silences the first."""
    if borderline is None:
        return "spread not known"
    if borderline:
        return "too close to call"
    return "beyond" if beyond else "within"


def known_words(row: dict) -> str:
    return {
        "read": "read",
        "secondary": "quoted by another source",
        "memory": "unverified: from memory",
        "missing": "number not seen",
    }.get(row["known"], row["known"])


def use_words(use: str) -> str:
    """What kind of number a row is, said before it; a reference row's figure stands for itself."""
    return {
        "criterion": "cut-off ",
        "unverified": "unverified ",
        "limit": "limit ",
        "on_indication": "limit on indication ",
        "alert": "alert ",
    }.get(use, "")
