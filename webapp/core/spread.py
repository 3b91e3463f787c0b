"""How far a value could be from the true one, and what that says of a limit or of a change.

The standard uncertainty of a mean is the larger of the observer's standard deviation and s / sqrt(n): the
observer's part does not shrink with repetition on one day. The observer's deviation is the one learned from
earlier replicates, or else that of these readings, never below a floor: two identical readings do not look
exact. The display pixel comes on top (JCGM 100:2008: two caliper ends, pitch / sqrt 6). One reading alone has
no spread: the answer is then "unknown". Probabilities follow JCGM 106:2012 (one-sided, normal); they are shown
to two digits and decided by exact comparison.
"""

import math

from . import decimals


def uncertainty_squared(value: dict | None, unit: str, thresholds: dict, learned: dict | None) -> tuple | None:
    """The squared standard uncertainty of a value's mean, a rational, or None when nothing tells the spread."""
    if value is None or value["n"] is None:
        return None
    numbers, own = value["acquired"], value["variance"]
    observer = _squared(learned["sd"]) if learned else own
    if observer is None:
        return None
    result = decimals.larger(observer, floor_squared(value["mean"], unit, thresholds))
    if own is not None:
        result = decimals.larger(result, decimals.div(own, (len(numbers), 1)))
    if value["pixel"] is not None:
        result = decimals.add(result, decimals.div(decimals.mul(value["pixel"], value["pixel"]), (6, 1)))
    return result


def _squared(text: str) -> tuple[int, int]:
    number = decimals.parse(text)
    return decimals.mul(number, number)


def limit_squared(row: dict, thresholds: dict) -> tuple[int, int]:
    """The squared standard uncertainty of a printed limit, where n, mean and SD are published; else 0.

    SD x sqrt(1/n + 1.96^2 / (2 (n - 1))): the standard error of a parametric 95 percent limit.
    """
    n = row.get("n")
    if row.get("sd") is None or row.get("mean") is None or not isinstance(n, int) or n < 2:
        return (0, 1)
    share = decimals.add((1, n), decimals.div(_squared(thresholds["normal_95"]["z"]), (2 * (n - 1), 1)))
    return decimals.mul(_squared(row["sd"]), share)


def floor_squared(mean: tuple[int, int], unit: str, thresholds: dict) -> tuple[int, int]:
    """The floor of the deviation, squared: a share of the value, and for lengths a length."""
    floor = thresholds["spread_floor"]
    least = decimals.mul(decimals.parse(floor["share"]), decimals.absolute(mean))
    if unit == "mm":
        least = decimals.larger(least, decimals.parse(floor["mm"]))
    return decimals.mul(least, least)


def beyond(past: tuple[int, int], squared: tuple[int, int] | None, thresholds: dict) -> dict:
    """{"probability", "borderline"} for a value that lies `past` beyond a limit (below zero: within it).

    `squared` is the squared standard uncertainty of the difference; None (unknown) gives None for both.
    """
    if squared is None or squared[0] == 0:
        return {"probability": None, "borderline": None}
    reach = decimals.mul(_squared(thresholds["too_close"]["z"]), squared)
    within_reach = decimals.compare(decimals.mul(past, past), reach) < 0
    deviation = math.sqrt(decimals.to_float(squared))
    share = (1 + math.erf(decimals.to_float(past) / deviation / math.sqrt(2))) / 2
    return {"probability": (int(share * 200) + 1) // 2 / 100, "borderline": within_reach}


def least_change(now: dict, then: dict, unit: str, thresholds: dict, learned: dict | None) -> tuple | None:
    """The squared smallest difference of two means that is more than the spread of repeat readings.

    t(0.975, df) x pooled SD x sqrt(1/n1 + 1/n2), squared, a rational; None without any replicate or learned spread.
    """
    if now["n"] is None or then["n"] is None:
        return None
    total, freedom = (0, 1), 0
    for value in (now, then):
        more = len(value["acquired"]) - 1
        if more > 0:
            total = decimals.add(total, decimals.mul(value["variance"], (more, 1)))
            freedom += more
    if learned:
        total = decimals.add(total, decimals.mul(_squared(learned["sd"]), (learned["df"], 1)))
        freedom += learned["df"]
    if freedom < 1:
        return None
    pooled = decimals.div(total, (freedom, 1))
    top = decimals.larger(now["mean"], then["mean"])
    pooled = decimals.larger(pooled, floor_squared(top, unit, thresholds))
    share = decimals.add((1, len(now["acquired"])), (1, len(then["acquired"])))
    return decimals.mul(decimals.mul(_squared(student(freedom, thresholds)), pooled), share)


def student(freedom: int, thresholds: dict) -> str:
    """t(0.975, freedom) from the table, as decimal text."""
    table = thresholds["changed"]["t_975"]
    if freedom <= len(table):
        return table[freedom - 1]
    best = table[-1]
    for row in thresholds["changed"]["t_more"]:
        if row["df"] <= freedom:
            best = row["t"]
    return best
