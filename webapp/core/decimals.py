"""Exact arithmetic on decimal strings: a number is a pair (numerator, denominator) of whole numbers.

No float takes part in anything that is shown or decided: both Pythons must come to the same digits.
"""

from .errors import CoreError

LONGEST = 24


def parse(text: object) -> tuple[int, int]:
    """The rational for a decimal string or a whole number; CoreError("not_a_number") for anything else.

    Texts already read are kept: the tables' numbers and an exam's readings come again with every judgement.
    """
    if isinstance(text, bool) or text is None:
        raise CoreError("not_a_number", "a number is missing")
    if isinstance(text, int):
        return (text, 1)
    if not isinstance(text, str):
        raise CoreError("not_a_number", 'numbers are given as text, like "6.2"')
    if text in _known:
        return _known[text]
    number = _read(text)
    if len(_known) >= MOST_KNOWN:
        _known.clear()
    _known[text] = number
    return number


_known: dict = {}
MOST_KNOWN = 1000


def _read(text: str) -> tuple[int, int]:
    digits = text.strip()
    if len(digits) > LONGEST:
        raise CoreError("too_long", "a number with more than " + str(LONGEST) + " digits is not believed")
    sign = 1
    if digits[:1] == "-":
        sign = -1
        digits = digits[1:]
    whole, point, part = digits.partition(".")
    if not _all_digits(whole) or (point and not _all_digits(part)):
        raise CoreError("not_a_number", '"' + text + '" is not a number like 6.2')
    return (sign * int(whole + part), 10 ** len(part))


def _all_digits(text: str) -> bool:
    if not text:
        return False
    for sign in text:
        if sign not in "0123456789":
            return False
    return True


def reduced(number: tuple[int, int]) -> tuple[int, int]:
    """The same rational in lowest terms."""
    top, bottom = number
    if bottom == 1:
        return number
    a, b = abs(top), bottom
    while b:
        a, b = b, a % b
    if a > 1:
        return (top // a, bottom // a)
    return number


def add(a: tuple[int, int], b: tuple[int, int]) -> tuple[int, int]:
    """Of one denominator it stays as it is: readings are tenths, and lowest terms are made only where they grow."""
    if a[1] == b[1]:
        return (a[0] + b[0], a[1])
    return reduced((a[0] * b[1] + b[0] * a[1], a[1] * b[1]))


def sub(a: tuple[int, int], b: tuple[int, int]) -> tuple[int, int]:
    if a[1] == b[1]:
        return (a[0] - b[0], a[1])
    return reduced((a[0] * b[1] - b[0] * a[1], a[1] * b[1]))


def mul(a: tuple[int, int], b: tuple[int, int]) -> tuple[int, int]:
    return reduced((a[0] * b[0], a[1] * b[1]))


def div(a: tuple[int, int], b: tuple[int, int]) -> tuple[int, int]:
    """a / b; CoreError("divide_by_zero") when b is 0."""
    if b[0] == 0:
        raise CoreError("divide_by_zero", "a ratio to zero has no value")
    top, bottom = a[0] * b[1], a[1] * b[0]
    if bottom < 0:
        top, bottom = -top, -bottom
    return reduced((top, bottom))


def absolute(a: tuple[int, int]) -> tuple[int, int]:
    return (abs(a[0]), a[1])


def compare(a: tuple[int, int], b: tuple[int, int]) -> int:
    """-1, 0 or 1 as a is below, equal to or above b."""
    left, right = (a[0], b[0]) if a[1] == b[1] else (a[0] * b[1], b[0] * a[1])
    return (left > right) - (left < right)


def larger(a: tuple[int, int], b: tuple[int, int]) -> tuple[int, int]:
    return b if compare(b, a) > 0 else a


def mean(numbers: list) -> tuple[int, int]:
    total = (0, 1)
    for number in numbers:
        total = add(total, number)
    return div(total, (len(numbers), 1))


def variance(numbers: list) -> tuple[int, int]:
    """The sample variance (divisor n - 1) of two or more rationals."""
    middle = mean(numbers)
    total = (0, 1)
    for number in numbers:
        gap = sub(number, middle)
        total = add(total, mul(gap, gap))
    return div(total, (len(numbers) - 1, 1))


def spread(numbers: list) -> tuple[int, int]:
    """The range: largest less smallest."""
    low = high = numbers[0]
    for number in numbers:
        if compare(number, low) < 0:
            low = number
        if compare(number, high) > 0:
            high = number
    return sub(high, low)


def show(number: tuple[int, int], places: int) -> str:
    """The decimal text with `places` decimals, half rounded up (away from zero)."""
    return written(scaled(number, places), places)


def scaled(number: tuple[int, int], places: int) -> int:
    """The number times 10 to the power of `places`, half rounded up (away from zero)."""
    top, bottom = number
    power = 10**places
    if bottom == power:
        return top
    if top < 0:
        return -((bottom - 2 * top * power) // (2 * bottom))
    return (2 * top * power + bottom) // (2 * bottom)


def written(whole: int, places: int) -> str:
    """The decimal text of a whole number of 10 to the power of minus `places`: written(62, 1) is "6.2"."""
    if not places:
        return str(whole)
    text = str(abs(whole))
    while len(text) <= places:
        text = "0" + text
    return ("-" if whole < 0 else "") + text[:-places] + "." + text[-places:]


def exact(number: tuple[int, int]) -> str:
    """The shortest exact decimal text of a rational whose denominator divides a power of ten."""
    top, bottom = reduced(number)
    places = 0
    while (10**places) % bottom:
        places += 1
        if places > 40:
            raise CoreError("not_a_decimal", "the number has no finite decimal form")
    return show((top, bottom), places)


def root(square: tuple[int, int], places: int) -> str:
    """The square root of a rational that is not below zero, as decimal text, half rounded up: in whole numbers only."""
    top = 4 * square[0] * 10 ** (2 * places) // square[1]
    guess, better = top, (top + 1) // 2
    while better < guess:
        guess, better = better, (better + top // better) // 2
    return written((guess + 1) // 2, places)


def to_float(number: tuple[int, int]) -> float:
    """For probabilities only, which are shown to two digits and decided exactly elsewhere."""
    return number[0] / number[1]
