"""The spread that a practice learns from its own replicate readings, per quantity and observer and pooled.

Within-exam variance of readings taken from new images, pooled over exams (Bland and Altman, BMJ 1996;313:744):
s_w, its degrees of freedom, and the repeatability coefficient 1.96 x sqrt 2 x s_w. Left and right are one quantity.
In an exam made to measure twice (`purpose` "measure_twice") each numbered pair is a group of its own, because its
pairs may come from different animals.
"""

from . import decimals, ordering, values, wording
from .catalogue import Catalogue

DIGITS = 4
SHOWN = 2


def pattern(quantity: str) -> str:
    """The id with the side left open: both sides of a pair teach the same spread."""
    return quantity.replace(".left.", ".*.").replace(".right.", ".*.")


def of(learned: dict, quantity: str, observer: object) -> dict | None:
    """{"sd", "df"}: the observer's own where it is known well enough, else the practice's, else None."""
    row = learned.get(pattern(quantity))
    if row is None:
        return None
    own = row.get("observers", {}).get(observer)
    if own and own["enough"]:
        return own
    return row["pooled"] if row["pooled"]["enough"] else None


def collect(exams: list, catalogue: Catalogue, thresholds: dict) -> dict:
    """{pattern: {"unit", "pooled": row, "observers": {id: row}}} from exam dicts.

    row = {"sd" decimal text or None, "df", "groups", "repeatability", "enough", "words"}; sd in the quantity's unit.
    """
    return pooled([sums(exam, catalogue) for exam in exams], thresholds)


def sums(exam: dict, catalogue: Catalogue) -> dict:
    """What one exam adds: {pattern: {"unit", "observers": {id: ["top/bottom" sum of squares, df, groups]}}}, exact."""
    made: dict = {}
    if exam.get("purpose") == "training":
        return made  # nobody measured an animal
    for observer, quantity, numbers in _groups(exam, catalogue):
        row = made.setdefault(pattern(quantity), {"unit": catalogue.quantity(quantity)["unit"], "observers": {}})
        more = len(numbers) - 1
        _add(row["observers"], observer, decimals.mul(decimals.variance(numbers), (more, 1)), more, 1)
    for name in made:
        for total in made[name]["observers"].values():
            top, bottom = decimals.reduced(total[0])
            total[0] = str(top) + "/" + str(bottom)
    return made


def _add(totals: dict, who: str, squares: tuple[int, int], freedom: int, groups: int) -> None:
    total = totals.setdefault(who, [(0, 1), 0, 0])
    total[0] = decimals.add(total[0], squares)
    total[1] += freedom
    total[2] += groups


def pooled(parts: list, thresholds: dict) -> dict:
    """The spread from what many exams add, as `collect` gives it."""
    totals: dict = {}
    units = {}
    for part in parts:
        for name in part:
            units[name] = part[name]["unit"]
            known = totals.setdefault(name, {})
            for who in part[name]["observers"]:
                text, freedom, groups = part[name]["observers"][who]
                top, _, bottom = text.partition("/")
                for key in ("", who):
                    _add(known, key, (int(top), int(bottom)), freedom, groups)
    least = thresholds["learned_spread"]["least_df"]
    z = decimals.parse(thresholds["normal_95"]["z"])
    learned = {}
    for name in ordering.by_keys(list(totals), list(totals)):
        rows = {who: _row(totals[name][who], least, z, units[name]) for who in totals[name]}
        learned[name] = {"unit": units[name], "pooled": rows.pop(""), "observers": rows}
    return learned


def _groups(exam: dict, catalogue: Catalogue) -> list:
    """[(observer, quantity, numbers)] of every quantity that one person took from two or more new images."""
    together: dict = {}
    for reading in exam["readings"]:
        who = reading.get("behalf") or reading.get("author")
        if who and not reading.get("struck") and not reading.get("lesion"):
            pair = ordering.padded(reading.get("pair") or 0) if exam.get("purpose") else ""
            together.setdefault(pair + "|" + who, []).append(reading)
    groups = []
    for key in ordering.by_keys(list(together), list(together)):
        found = values.of_readings(together[key], exam["states"], catalogue)
        for name in found:
            value = found[name]
            if len(value["acquired"]) > 1 and value["view"] == "whole":
                groups.append((key.partition("|")[2], name, value["acquired"]))
    return groups


def _row(total: list, least: int, z: tuple[int, int], unit: str) -> dict:
    squares, freedom, groups = total
    variance = decimals.div(squares, (freedom, 1))
    sd = root(variance, DIGITS)
    repeatability = root(decimals.mul(decimals.mul(variance, (2, 1)), decimals.mul(z, z)), DIGITS)
    enough = freedom >= least
    words = "not enough readings yet: " + str(freedom) + " of " + str(least)
    if enough:
        least_words = wording.amount(decimals.show(decimals.parse(repeatability), SHOWN), unit)
        words = "two readings of one animal differ by less than " + least_words + " in 95 of 100 pairs"
    return {"sd": sd, "df": freedom, "groups": groups, "repeatability": repeatability, "enough": enough, "words": words}


def root(number: tuple[int, int], places: int) -> str:
    """The square root as decimal text, rounded half up, by whole numbers alone."""
    scaled = number[0] * 100 ** (places + 1) // number[1]
    guess = _whole_root(scaled)
    return decimals.show((guess, 10 ** (places + 1)), places)


def _whole_root(number: int) -> int:
    if number < 2:
        return number
    guess = number
    better = (guess + 1) // 2
    while better < guess:
        guess = better
        better = (guess + number // guess) // 2
    return guess
