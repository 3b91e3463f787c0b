"""Typed numbers: text as a person typed it -> the value in the quantity's unit, or a kind question.

Nothing is repaired in silence: no point is inserted, no sign dropped, no unit guessed.
"""

from . import decimals
from .errors import CoreError

# Factors between the units that a person may type (UCUM codes); the catalogue's unit is the target.
FACTORS = {
    "mm": ("length", "1"),
    "cm": ("length", "10"),
    "m": ("length", "1000"),
    "kg": ("mass", "1"),
    "g": ("mass", "0.001"),
    "lb": ("mass", "0.45359237"),
    "mL": ("volume", "1"),
    "ml": ("volume", "1"),
    "cm3": ("volume", "1"),
    "cm/s": ("speed", "1"),
    "m/s": ("speed", "100"),
    "1": ("one", "1"),
    "{score}": ("score", "1"),
}
LONGEST = 12
# A scale shows no more digits behind the point; longer weights come from another unit.
SCALE_DECIMALS = 3


def read(text: object, source: str, target: str) -> dict:
    """{"value", "unit", "typed_unit"}: the value in `target` of a text typed in `source`; a written unit wins.

    CoreError codes: empty, two_points, no_digits, unknown_unit, wrong_unit, too_long, negative.
    """
    number, written = split(text)
    value = convert(number, written or source, target)
    return {"value": value, "unit": target, "typed_unit": written or source}


def split(text: object) -> tuple[str, str]:
    """(number text with a point, unit text or "") of what was typed."""
    if not isinstance(text, str) or not text.strip():
        raise CoreError("empty", "nothing was typed yet: enter a number")
    cleaned = text.strip().replace(",", ".")
    end = 0
    while end < len(cleaned) and cleaned[end] in "0123456789.":
        end += 1
    number, unit = cleaned[:end], cleaned[end:].strip()
    if number.count(".") > 1:
        raise CoreError("two_points", '"' + text + '" has two decimal points: which one is meant?')
    if cleaned[:1] == "-":
        raise CoreError("negative", '"' + text + '" is below zero: a size cannot be')
    if not number or number == ".":
        raise CoreError("no_digits", '"' + text + '" holds no number: use digits, like 6.2')
    if number[:1] == "." or number[-1:] == ".":
        raise CoreError("open_point", '"' + text + '" begins or ends with a point: write a digit on both sides')
    if len(number) > LONGEST:
        raise CoreError("too_long", '"' + text + '" has too many digits')
    if unit and unit not in FACTORS:
        raise CoreError("unknown_unit", '"' + unit + '" is not a unit known here: use mm or cm')
    return number, unit


def convert(number: str, source: str, target: str) -> str:
    """The exact decimal text of `number` (in unit `source`) in unit `target`."""
    if source == target:
        return normal(number)
    if source not in FACTORS or target not in FACTORS:
        raise CoreError("unknown_unit", '"' + str(source) + '" is not a unit known here')
    if FACTORS[source][0] != FACTORS[target][0]:
        raise CoreError("wrong_unit", source + " is not a unit for this value: it is kept in " + target)
    factor = decimals.div(decimals.parse(FACTORS[source][1]), decimals.parse(FACTORS[target][1]))
    try:
        return decimals.exact(decimals.mul(decimals.parse(number), factor))
    except CoreError:
        return decimals.show(decimals.mul(decimals.parse(number), factor), 6)


def normal(number: str) -> str:
    """Decimal text without surplus leading zeros; the digits behind the point stay as given."""
    whole, point, part = number.partition(".")
    while len(whole) > 1 and whole[0] == "0":
        whole = whole[1:]
    return whole + point + part


def is_as_typed(value: str, text: object, source: str, target: str) -> bool:
    """Whether a value kept in `target` is what was typed; a unit written along wins over `source`."""
    number, written = split(text)
    meant = convert(number, written or source, target)
    return decimals.compare(decimals.parse(meant), decimals.parse(value)) == 0


def kilograms(value: str) -> str:
    """A weight for the eye: as it was typed, or with two decimals where it was reckoned from another unit."""
    part = value.partition(".")[2]
    return value if len(part) <= SCALE_DECIMALS else decimals.show(decimals.parse(value), 2)


def weight_words(patient: dict) -> str:
    """ "8.39 kg (18.5 lb)": what is kept, and what was typed where that was another unit."""
    words = kilograms(patient["weight_kg"]) + " kg"
    unit = patient.get("weight_typed_unit")
    if patient.get("weight_typed") and unit and unit != "kg":
        words += " (" + patient["weight_typed"] + " " + unit + ")"
    return words
