"""The figures over many exams. Pure: from what each exam adds (facts.py) to rows of counts; shares only of enough."""

from collections import Counter
from collections.abc import Iterable, Sequence
from typing import Any

from webapp.learning.facts import NOT_EXAMINED, NOT_SEEN, PARTLY, WHOLE

Json = dict[str, Any]

OWN_WORDS = "own words"
LONGEST_CLASS = 90  # minutes: beyond it an exam was most likely closed long after it
CLASS = 10
RAISED_BY_LIMITS = ("above_limit", "below_limit", "near_limit", "alert")


def share(part: int, whole: int, least: int) -> str:
    """A share in whole percent, half rounded up; "" of fewer than `least`."""
    return f"{(200 * part + whole) // (2 * whole)} %" if whole >= least and whole else ""


def not_seen(exams: Iterable[Json], order: Sequence[str], least: int) -> list[Json]:
    """Per structure that was not seen in full at least once: {"structure", "exams" in which it was recorded, "partly",
    "not_seen", "not_examined", "share" not seen in full, "reasons" [(reason, exams)], "without" a reason}."""
    ways: dict[str, Counter[str]] = {}
    reasons: dict[str, Counter[str]] = {}
    without: Counter[str] = Counter()
    for one in exams:
        for structure, row in one["reached"].items():
            ways.setdefault(structure, Counter())[row["how"]] += 1
            if row["how"] != WHOLE:
                reasons.setdefault(structure, Counter()).update(row["why"])
                without[structure] += not row["why"]
    made = []
    for structure in sorted(ways, key=lambda name: (order.index(name) if name in order else len(order), name)):
        count = ways[structure]
        recorded, missed = sum(count.values()), sum(count.values()) - count[WHOLE]
        if missed:
            made.append({
                "structure": structure,
                "exams": recorded,
                **{how: count[how] for how in (PARTLY, NOT_SEEN, NOT_EXAMINED)},
                "missed": missed,
                "share": share(missed, recorded, least),
                "reasons": most_first(reasons.get(structure, Counter())),
                "without": without[structure],
            })
    return made


def most_first(counter: Counter[str]) -> list[tuple[str, int]]:
    """What was counted, the most frequent first, the equal ones by name."""
    return sorted(counter.items(), key=lambda item: (-item[1], item[0]))


def minutes(exams: Iterable[Json]) -> Json:
    """{"n", "unknown", "median", "quarters" [low, high], "shortest", "longest", "classes" [(words, exams)]}; the
    quartiles at ranks n + 1; without any exam only "n" and "unknown"."""
    known = sorted(one["minutes"] for one in exams if one["minutes"] is not None)
    unknown = sum(one["minutes"] is None for one in exams)
    if not known:
        return {"n": 0, "unknown": unknown, "classes": []}
    classes = []
    for low in range(0, LONGEST_CLASS, CLASS):
        classes.append((f"{low} to {low + CLASS - 1}", sum(low <= one < low + CLASS for one in known)))
    classes.append((f"{LONGEST_CLASS} or more", sum(one >= LONGEST_CLASS for one in known)))
    while len(classes) > 1 and not classes[0][1]:
        classes.pop(0)
    while len(classes) > 1 and not classes[-1][1]:
        classes.pop()
    return {
        "n": len(known),
        "unknown": unknown,
        "median": _rank(known, 2),
        "quarters": [_rank(known, 1), _rank(known, 3)],
        "shortest": known[0],
        "longest": known[-1],
        "classes": classes,
    }


def _rank(ordered: list[int], quarters: int) -> str:
    """The value at rank quarters / 4 of n + 1, in steps of a quarter, shown without a needless end."""
    place = quarters * (len(ordered) + 1)  # in quarters of a rank
    first, rest = divmod(place, 4)
    if first < 1:
        return str(ordered[0])
    if first >= len(ordered):
        return str(ordered[-1])
    value = 4 * ordered[first - 1] + rest * (ordered[first] - ordered[first - 1])
    return f"{value // 4}{('', '.25', '.5', '.75')[value % 4]}"


def flags(exams: Iterable[Json], least: int) -> list[Json]:
    """Per limit, or per kind where no limit raised it: {"limit", "kinds", "about" [ids], "words", "contradiction",
    "raised", "exams", "left", "share", "reasons" [(reason, flags)]}; those left so most often first."""
    groups: dict[tuple[str, str], list[tuple[int, Json]]] = {}
    for number, one in enumerate(exams):
        for flag in one["flags"]:
            of_limit = flag["limit"] and flag["kind"] in RAISED_BY_LIMITS
            key = ("limit", flag["limit"]) if of_limit else ("kind", flag["kind"])
            groups.setdefault(key, []).append((number, flag))
    made = []
    for (what, name), rows in groups.items():
        left = [flag for _, flag in rows if flag["reasons"]]
        made.append({
            "limit": name if what == "limit" else None,
            "kinds": sorted({flag["kind"] for _, flag in rows}),
            "about": sorted({flag["about"] for _, flag in rows}),
            "words": rows[0][1]["words"],
            "contradiction": rows[0][1]["contradiction"],
            "raised": len(rows),
            "exams": len({number for number, _ in rows}),
            "left": len(left),
            "share": share(len(left), len(rows), least),
            "reasons": most_first(Counter(reason for flag in left for reason in flag["reasons"])),
        })
    return sorted(made, key=lambda row: (-row["left"], -row["raised"], str(row["limit"] or row["kinds"])))


def versions(exams: Iterable[Json], least: int) -> Json:
    """{"signed", "again" exams with a further version, "share", "statuses" [(status, versions)]}."""
    signed = [one for one in exams if one["versions"]]
    again = [one for one in signed if len(one["versions"]) > 1]
    statuses = Counter(row["status"] for one in again for row in one["versions"][1:])
    return {
        "signed": len(signed),
        "again": len(again),
        "share": share(len(again), len(signed), least),
        "statuses": most_first(statuses),
    }


def rechecks(rows: Iterable[Json], today: str, least: int) -> Json:
    """{"due", "done", "open" whose day has passed, "ahead" whose day has not, "untold" that name no part, "share" done
    of those whose day has passed and that name a part}."""
    known = list(rows)
    told = [row for row in known if row["done"] is not None]
    passed = [row for row in told if row["due"] <= today]
    done = [row for row in told if row["done"]]
    return {
        "due": len(known),
        "done": len(done),
        "open": sum(not row["done"] for row in passed),
        "ahead": sum(not row["done"] for row in told if row["due"] > today),
        "untold": len(known) - len(told),
        "passed": len(passed),
        "share": share(sum(bool(row["done"]) for row in passed), len(passed), least),
    }
