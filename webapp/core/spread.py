"""How far a value could be from the true one, and what that says of a limit or of a change.

The standard uncertainty of a mean is the larger of the standard deviation used and s / sqrt(n): the observer's
part does not shrink with repetition on one day. The deviation used has a floor, so that two identical readings
do not look exact. One reading alone has no spread: the answer is then "unknown". Probabilities follow
JCGM 106:2012 (one-sided, normal); they are shown to two digits and decided by exact comparison.
"""

import math

from . import decimals


def deviation_squared(value: dict | None, unit: str, thresholds: dict) -> tuple[int, int] | None:
    """The squared standard deviation in use, a rational, or None when nothing tells it."""
    if value is None or value["n"] is None or value["n"] < 2:
        return None
    return decimals.larger(decimals.variance(value["numbers"]), floor_squared(value["mean"], unit, thresholds))


def floor_squared(mean: tuple[int, int], unit: str, thresholds: dict) -> tuple[int, int]:
    """The floor of the deviation, squared: a share of the value, and for lengths a length."""
    floor = thresholds["spread_floor"]
    least = decimals.mul(decimals.parse(floor["share"]), decimals.absolute(mean))
    if unit == "mm":
        least = decimals.larger(least, decimals.parse(floor["mm"]))
    return decimals.mul(least, least)


def beyond(
    mean: tuple[int, int], limit: tuple[int, int], upper: bool, squared: tuple[int, int] | None, thresholds: dict
) -> dict:
    """{"probability", "borderline"} of the true value lying beyond the limit; unknown spread gives None."""
    if squared is None:
        return {"probability": None, "borderline": None}
    past = decimals.sub(mean, limit) if upper else decimals.sub(limit, mean)
    z = decimals.parse(thresholds["too_close"]["z"])
    reach = decimals.mul(decimals.mul(z, z), squared)
    within_reach = decimals.compare(decimals.mul(past, past), reach) < 0
    deviation = math.sqrt(decimals.to_float(squared))
    share = 0.5 * (1 + math.erf(decimals.to_float(past) / deviation / math.sqrt(2)))
    return {"probability": int(share * 100 + 0.5) / 100, "borderline": within_reach}


def changed(now: dict, then: dict, unit: str, thresholds: dict) -> bool | None:
    """Whether two values differ by more than their pooled spread allows: True, False, or None when unknown."""
    if now["n"] is None or then["n"] is None:
        return None
    freedom = now["n"] + then["n"] - 2
    if freedom < 1:
        return None
    total = (0, 1)
    for value in (now, then):
        if value["n"] > 1:
            total = decimals.add(total, decimals.mul(decimals.variance(value["numbers"]), (value["n"] - 1, 1)))
    pooled = decimals.div(total, (freedom, 1))
    top = decimals.larger(now["mean"], then["mean"])
    pooled = decimals.larger(pooled, floor_squared(top, unit, thresholds))
    t = decimals.parse(student(freedom, thresholds))
    share = decimals.add((1, now["n"]), (1, then["n"]))
    least = decimals.mul(decimals.mul(decimals.mul(t, t), pooled), share)
    gap = decimals.sub(now["mean"], then["mean"])
    return decimals.compare(decimals.mul(gap, gap), least) > 0


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
