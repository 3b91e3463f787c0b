"""A reference interval from the values of healthy animals, by ranks: how far a published one fits, or an own one.

The limits are the values at ranks p(n + 1), between two values in proportion; the interval of a limit holds the ranks
that the binomial distribution allows at the stated confidence, each tail apart (CLSI EP28-A3c). Exact: no float.
Too few values give no interval, and that is said; every value counts, none is dropped.
"""

from . import decimals, ordering
from .errors import CoreError


def made(texts: list, bounds: list | None, thresholds: dict) -> dict:
    """{"n", "interval", "verified", "words"} of decimal texts of one quantity in healthy animals.

    `interval` {"lower", "upper", "lower_between" [low, high], "upper_between"} or None; `bounds` [lower, upper] of a
    published interval (either may be None) gives `verified` {"outside", "enough"}, else it is None.
    """
    rule = thresholds["own_reference"]
    numbers = _in_order([decimals.parse(text) for text in texts])
    count = len(numbers)
    interval = _interval(numbers, rule) if count >= rule["own"] else None
    return {
        "n": count,
        "interval": interval,
        "verified": _verified(numbers, bounds, rule) if bounds else None,
        "words": _words(count, interval, rule),
    }


def ranks(count: int, rule: dict) -> dict:
    """{"lower", "upper": rationals, "lower_between", "upper_between": [rank, rank]} for so many values.

    A rank of 0 or n + 1 lies beyond all values: the limit's interval is then open on that side.
    """
    share = decimals.parse(rule["share"])
    tail = decimals.div(decimals.sub((1, 1), share), (2, 1))
    low, high = _between(count, tail, decimals.div(decimals.sub((1, 1), decimals.parse(rule["confidence"])), (2, 1)))
    lower = decimals.mul(tail, (count + 1, 1))
    return {
        "lower": lower,
        "upper": decimals.sub((count + 1, 1), lower),
        "lower_between": [low, high],
        "upper_between": [count + 1 - high, count + 1 - low],
    }


def _between(count: int, tail: tuple[int, int], each: tuple[int, int]) -> tuple[int, int]:
    """The widest ranks that leave at most `each` of the binomial distribution (count, tail) beyond either of them."""
    top, bottom = decimals.reduced(tail)
    low, high, below = 0, 0, 0
    ways = 1
    whole = bottom**count
    for rank in range(count + 1):
        # `below` / whole is the chance of fewer than `rank` values under the limit.
        if below * each[1] <= each[0] * whole:
            low = rank
        high = rank
        if (whole - below) * each[1] <= each[0] * whole:
            break
        below += ways * top**rank * (bottom - top) ** (count - rank)
        ways = ways * (count - rank) // (rank + 1)
    return low, high


def _interval(numbers: list, rule: dict) -> dict:
    placed = ranks(len(numbers), rule)
    return {
        "lower": _at(numbers, placed["lower"]),
        "upper": _at(numbers, placed["upper"]),
        "lower_between": [_of_rank(numbers, rank) for rank in placed["lower_between"]],
        "upper_between": [_of_rank(numbers, rank) for rank in placed["upper_between"]],
    }


def _at(numbers: list, rank: tuple[int, int]) -> str:
    """The value at a rank between two values, in proportion."""
    first = rank[0] // rank[1]
    part = decimals.sub(rank, (first, 1))
    value = numbers[first - 1]
    if part[0]:
        value = decimals.add(value, decimals.mul(part, decimals.sub(numbers[first], value)))
    return decimals.exact(value)


def _of_rank(numbers: list, rank: int) -> str | None:
    return decimals.exact(numbers[rank - 1]) if 0 < rank <= len(numbers) else None


def _verified(numbers: list, bounds: list, rule: dict) -> dict:
    """How many values lie outside the published interval, and whether they suffice to verify it: a person decides."""
    low, high = [decimals.parse(text) if text is not None else None for text in bounds]
    outside = 0
    for number in numbers:
        if (low is not None and decimals.compare(number, low) < 0) or (
            high is not None and decimals.compare(number, high) > 0
        ):
            outside += 1
    return {"outside": outside, "enough": len(numbers) >= rule["verify"]}


def _words(count: int, interval: dict | None, rule: dict) -> str:
    if interval:
        return "an own interval from " + str(count) + " animals"
    needed = str(rule["own"]) + " are needed for an own interval"
    if count >= rule["verify"]:
        return str(count) + " animals: enough to verify a published interval; " + needed
    return str(count) + " animals: too few to verify a published interval (" + str(rule["verify"]) + "); " + needed


def _in_order(numbers: list) -> list:
    """Ascending; the texts to sort by are of one scale and width."""
    for number in numbers:
        if number[0] < 0:
            raise CoreError("negative", "a size below zero cannot be")
    places = max([len(str(number[1])) for number in numbers] + [0])
    texts = [str(decimals.scaled(number, places)) for number in numbers]
    longest = max([len(text) for text in texts] + [0])
    return ordering.by_keys(numbers, ["0" * (longest - len(text)) + text for text in texts])
