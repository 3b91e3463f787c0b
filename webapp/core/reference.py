"""A reference interval from the values of healthy animals, by ranks: how far a published one fits, or an own one.

The limits are the values at ranks p(n + 1), between two values in proportion; the interval of a limit holds the ranks
that the binomial distribution allows at the stated confidence, each tail apart (CLSI EP28-A3c). Exact: no float.
Too few values give no interval, and that is said; every value counts, none is dropped.
"""

from . import decimals, ordering, outliers
from .errors import CoreError


def made(texts: list, bounds: list | None, thresholds: dict) -> dict:
    """{"n", "interval", "verified", "outliers", "words"} of decimal texts of one quantity in healthy animals.

    `interval` {"lower", "upper", "lower_between" [low, high], "upper_between"} or None; `bounds` [lower, upper] of a
    published interval (either may be None) gives `verified` {"outside" of all, "enough", "steps" [outside of the first
    group, of the second], "answer", "words"}, else it is None: the texts stand in the order in which the animals were
    taken. `outliers` {"low", "high", "tukey", "dixon"} of texts, or None while there are too few values to say.
    """
    rule = thresholds["own_reference"]
    given = [decimals.parse(text) for text in texts]
    numbers = _in_order(given)
    count = len(numbers)
    interval = _interval(numbers, rule) if count >= rule["own"] else None
    return {
        "n": count,
        "interval": interval,
        "verified": _verified(given, bounds, rule) if bounds else None,
        "outliers": _outliers(numbers, rule) if count >= rule["verify"] else None,
        "words": _words(count, interval, rule),
    }


def _outliers(numbers: list, rule: dict) -> dict:
    made = outliers.found(numbers, rule)
    return {
        "low": decimals.exact(made["low"]),
        "high": decimals.exact(made["high"]),
        "tukey": [decimals.exact(one) for one in made["tukey"]],
        "dixon": [decimals.exact(one) for one in made["dixon"]],
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
        "lower": decimals.exact(outliers.at(numbers, placed["lower"])),
        "upper": decimals.exact(outliers.at(numbers, placed["upper"])),
        "lower_between": [_of_rank(numbers, rank) for rank in placed["lower_between"]],
        "upper_between": [_of_rank(numbers, rank) for rank in placed["upper_between"]],
    }


def _of_rank(numbers: list, rank: int) -> str | None:
    return decimals.exact(numbers[rank - 1]) if 0 < rank <= len(numbers) else None


def _verified(numbers: list, bounds: list, rule: dict) -> dict:
    """How many values lie outside the published interval, and what that says of it: a person decides.

    Of the first group (`verify` animals) `outside_most` may lie outside; with up to `outside_again` the next group
    decides by the same rule; with more, or again too many, the interval does not fit these animals.
    """
    low, high = [decimals.parse(text) if text is not None else None for text in bounds]
    outside = [_is_outside(number, low, high) for number in numbers]
    group, most = rule["verify"], rule["outside_most"]
    steps = [sum(outside[start : start + group]) for start in (0, group) if len(numbers) >= start + group]
    if not steps:
        answer = "too_few"
    elif steps[0] <= most:
        answer, steps = "verified", steps[:1]
    elif steps[0] > rule["outside_again"]:
        answer, steps = "refused", steps[:1]
    elif len(steps) < 2:
        answer = "next"
    else:
        answer = "verified" if steps[1] <= most else "refused"
    return {
        "outside": sum(outside),
        "enough": len(numbers) >= group,
        "steps": steps,
        "answer": answer,
        "words": _answer_words(answer, steps, len(numbers), rule),
    }


def _is_outside(number: tuple[int, int], low: tuple[int, int] | None, high: tuple[int, int] | None) -> int:
    below = low is not None and decimals.compare(number, low) < 0
    return 1 if below or (high is not None and decimals.compare(number, high) > 0) else 0


def _answer_words(answer: str, steps: list, count: int, rule: dict) -> str:
    group = str(rule["verify"])
    if answer == "too_few":
        return "not verified: " + str(count) + " of the " + group + " animals that are needed"
    told = str(steps[0]) + " of the first " + group + " lie outside"
    if len(steps) > 1:
        told += ", and " + str(steps[1]) + " of the next " + group
    if answer == "verified":
        return "fits these animals: " + told
    if answer == "next":
        return "not decided: " + told + "; the next " + group + " decide, " + str(2 * rule["verify"] - count) + " to go"
    return "does not fit these animals: " + told


def _words(count: int, interval: dict | None, rule: dict) -> str:
    animals = str(count) + (" animal" if count == 1 else " animals")
    if interval:
        return "an own interval from " + animals
    needed = str(rule["own"]) + " are needed for an own interval"
    if count >= rule["verify"]:
        return animals + ": enough to verify a published interval; " + needed
    return animals + ": too few to verify a published interval (" + str(rule["verify"]) + "); " + needed


def _in_order(numbers: list) -> list:
    """Ascending; the texts to sort by are of one scale and width."""
    for number in numbers:
        if number[0] < 0:
            raise CoreError("negative", "a size below zero cannot be")
    places = max([len(str(number[1])) for number in numbers] + [0])
    texts = [str(decimals.scaled(number, places)) for number in numbers]
    longest = max([len(text) for text in texts] + [0])
    return ordering.by_keys(numbers, ["0" * (longest - len(text)) + text for text in texts])
