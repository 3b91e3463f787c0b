"""Values that lie far from the rest, by two published tests. They are named for a person to look at; none is dropped.

Tukey's fences: beyond `fence` times the middle half of the values, below its lower or above its upper end (the
quartiles at ranks n + 1). Dixon's ratio: the gap to the next value is one `gap_part`-th of the range or more (Reed's
one third); of up to `gap_ends` values at one end the least extreme is asked first, as if it alone were there.
"""

from . import decimals


def found(numbers: list, rule: dict) -> dict:
    """{"low", "high": Tukey's fences, "tukey", "dixon": [those that lie apart]} of ascending rationals.

    With fewer than four values no test is made, and the fences are None.
    """
    if len(numbers) < 4:
        return {"low": None, "high": None, "tukey": [], "dixon": []}
    first, third = at(numbers, (len(numbers) + 1, 4)), at(numbers, (3 * (len(numbers) + 1), 4))
    reach = decimals.mul(decimals.parse(rule["fence"]), decimals.sub(third, first))
    low, high = decimals.sub(first, reach), decimals.add(third, reach)
    beyond = [one for one in numbers if decimals.compare(one, low) < 0 or decimals.compare(one, high) > 0]
    mirrored = [decimals.sub((0, 1), one) for one in reversed(numbers)]
    count = _apart(numbers, rule)
    return {
        "low": low,
        "high": high,
        "tukey": beyond,
        "dixon": numbers[: _apart(mirrored, rule)] + numbers[len(numbers) - count :],
    }


def at(numbers: list, rank: tuple[int, int]) -> tuple[int, int]:
    """The value at a rank of ascending numbers; between two values in proportion, and no further than the ends."""
    first = rank[0] // rank[1]
    if first < 1:
        return numbers[0]
    if first >= len(numbers):
        return numbers[-1]
    part = decimals.sub(rank, (first, 1))
    value = numbers[first - 1]
    if part[0]:
        value = decimals.add(value, decimals.mul(part, decimals.sub(numbers[first], value)))
    return value


def _apart(numbers: list, rule: dict) -> int:
    """How many of the largest of ascending numbers lie apart from the rest by Dixon's ratio."""
    ends = min(rule["gap_ends"], len(numbers) - 3)
    for count in range(ends, 0, -1):
        place = len(numbers) - count
        gap = decimals.sub(numbers[place], numbers[place - 1])
        whole = decimals.sub(numbers[place], numbers[0])
        if whole[0] > 0 and decimals.compare(decimals.mul(gap, (rule["gap_part"], 1)), whole) >= 0:
            return count
    return 0
