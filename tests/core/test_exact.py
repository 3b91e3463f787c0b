"""Decimals are exact: against Python's own fractions and decimal modules, and against a table of typed texts."""

from decimal import ROUND_HALF_UP, Decimal
from fractions import Fraction
from statistics import variance
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.core import support
from webapp.core import decimals
from webapp.core.errors import CoreError

TEXTS = st.builds(
    lambda sign, whole, part: f"{sign}{whole}{'.' + part if part else ''}",
    st.sampled_from(["", "-"]),
    st.integers(0, 10**9).map(str),
    st.text("0123456789", max_size=9),
)
SIZES = TEXTS.map(lambda text: text.lstrip("-"))


def fraction(number: tuple[int, int]) -> Fraction:
    return Fraction(*number)


@given(TEXTS)
def test_parse_is_the_very_number(text: str) -> None:
    assert fraction(decimals.parse(text)) == Fraction(text)


@given(TEXTS, TEXTS)
def test_arithmetic_is_that_of_fractions(left: str, right: str) -> None:
    a, b, x, y = decimals.parse(left), decimals.parse(right), Fraction(left), Fraction(right)
    assert fraction(decimals.add(a, b)) == x + y
    assert fraction(decimals.sub(a, b)) == x - y
    assert fraction(decimals.mul(a, b)) == x * y
    assert decimals.compare(a, b) == (x > y) - (x < y)
    assert fraction(decimals.larger(a, b)) == max(x, y)
    if y:
        assert fraction(decimals.div(a, b)) == x / y
        assert decimals.div(a, b)[1] > 0


def test_a_ratio_to_zero_has_no_value() -> None:
    with pytest.raises(CoreError):
        decimals.div((1, 1), decimals.parse("0.00"))


@given(st.lists(SIZES, min_size=1, max_size=6))
def test_mean_and_spread_are_exact(texts: list[str]) -> None:
    numbers, exact = [decimals.parse(text) for text in texts], [Fraction(text) for text in texts]
    assert fraction(decimals.mean(numbers)) == sum(exact, Fraction(0)) / len(exact)
    assert fraction(decimals.spread(numbers)) == max(exact) - min(exact)


@given(st.lists(SIZES, min_size=2, max_size=6))
def test_variance_is_that_of_the_statistics_module(texts: list[str]) -> None:
    got = fraction(decimals.variance([decimals.parse(text) for text in texts]))
    assert got == variance([Fraction(text) for text in texts])


@given(TEXTS, st.integers(0, 6))
def test_show_rounds_half_up_and_away_from_zero(text: str, places: int) -> None:
    """Source: decimal.ROUND_HALF_UP, the standard library's name for the same rule."""
    wanted = Decimal(text).quantize(Decimal(1).scaleb(-places), rounding=ROUND_HALF_UP)
    shown = decimals.show(decimals.parse(text), places)
    assert Decimal(shown) == wanted
    assert len(shown.partition(".")[2]) == places
    assert shown != "-0" and not (shown.startswith("-") and Decimal(shown) == 0)


@given(TEXTS, st.integers(1, 97), st.integers(0, 4))
def test_show_of_a_true_fraction_is_the_nearest_text(text: str, divisor: int, places: int) -> None:
    number = Fraction(text) / divisor
    gap = abs(Fraction(decimals.show((number.numerator, number.denominator), places)) - number)
    assert gap <= Fraction(1, 2 * 10**places)


@given(TEXTS)
def test_exact_text_is_the_number_and_has_no_surplus_digit(text: str) -> None:
    shown = decimals.exact(decimals.parse(text))
    assert Fraction(shown) == Fraction(text)
    assert not (("." in shown) and shown.endswith("0"))


@pytest.mark.parametrize(
    "text",
    [
        "",
        " ",
        ".",
        "-",
        "5.",
        ".5",
        "1e3",
        "1,5",
        "6.2.1",
        "6 2",
        "NaN",
        "inf",
        "٦.٢",
        "1_000",
        "+6",
        "--6",
        "0x6",
        "9" * 400,
    ],
)
def test_what_is_no_decimal_text_is_refused(text: str) -> None:
    with pytest.raises(CoreError):
        decimals.parse(text)


TYPED: list[tuple[str, str | None]] = [
    ("6.2", "6.2"),
    ("6,2", "6.2"),
    (" 41,2 mm", "41.2"),
    ("0.64 cm", "6.4"),
    ("0,64cm", "6.4"),
    ("620", "620"),
    ("6.20", "6.20"),
    ("06.2", "6.2"),
    ("0", "0"),
    ("1 m", "1000"),
    ("12.345678 mm", "12.345678"),
    ("6.2  mm ", "6.2"),
    ("", None),
    ("   ", None),
    ("6..2", None),
    ("6.2.1", None),
    ("6,2,1", None),
    ("1.234,5", None),
    ("abc", None),
    (".5", None),
    ("5.", None),
    (",", None),
    ("-3", None),
    ("\u22123", None),
    ("+3", None),
    ("1e3", None),
    ("6 2", None),
    ("٦٫٢", None),
    ("６.２", None),
    ("6.2 kg", None),
    ("6.2 inch", None),
    ("6.2 mm mm", None),
    ("mm", None),
    ("6/2", None),
    ("~6", None),
    ("6-7", None),
    ("9" * 13, None),
    ("6.2\n7", None),
]


@pytest.mark.catalogue(24)
@pytest.mark.parametrize(("text", "value"), TYPED, ids=[repr(text) for text, _ in TYPED])
def test_typed_text_is_read_or_questioned_but_never_repaired(text: str, value: str | None) -> None:
    """Source: the house rule that typed digits are evidence; millimetres unless a unit is written."""
    answer = support.call({"do": "typed", "text": text, "quantity": "adrenal.left.caudal_pole_thickness", "unit": "mm"})
    if value is None:
        assert answer["error"]["message"].strip() and "\n" not in answer["error"]["message"].strip()
    else:
        assert (answer["value"], answer["unit"]) == (value, "mm")


@pytest.mark.parametrize(
    ("text", "unit", "value"),
    [("0.64", "cm", "6.4"), ("6.4", "mm", "6.4"), ("6.4 mm", "cm", "6.4"), ("0,64 cm", "mm", "6.4")],
)
def test_typed_in_the_machines_unit_unless_a_unit_is_written(text: str, unit: str, value: str) -> None:
    answer = support.call({"do": "typed", "text": text, "quantity": "adrenal.left.length", "unit": unit})
    assert (answer["value"], answer["unit"]) == (value, "mm")


@given(SIZES.filter(lambda text: len(text) <= 11))
def test_centimetres_are_ten_millimetres_to_the_last_digit(text: str) -> None:
    answer = support.call({"do": "typed", "text": text + " cm", "quantity": "adrenal.left.length"})
    assert Fraction(answer["value"]) == 10 * Fraction(text)


def numbers_in(thing: Any, path: str = "") -> list[tuple[str, float]]:
    """Every float of an answer with the name of the field that holds it."""
    if isinstance(thing, dict):
        return [hit for name, inner in thing.items() for hit in numbers_in(inner, name)]
    if isinstance(thing, list):
        return [hit for inner in thing for hit in numbers_in(inner, path)]
    return [(path, thing)] if isinstance(thing, float) else []


@settings(max_examples=60, deadline=None)
@given(st.lists(st.integers(10, 160).map(lambda n: f"{n // 10}.{n % 10}"), min_size=1, max_size=4))
def test_no_float_but_a_probability_leaves_the_core(values: list[str]) -> None:
    """Source: the dialect's rule that nothing shown or decided is a float; a probability has two digits."""
    judged = support.judge(
        support.dog("9"),
        support.reading("adrenal.left.maximum_thickness", *values),
        support.reading("kidney.left.length", *values, unit="cm"),
        support.reading("aorta.diameter", "8"),
    )
    floats = numbers_in(judged)
    assert {name for name, _ in floats} <= {"probability"}
    assert all(number == round(number, 2) for _, number in floats)


@settings(max_examples=60, deadline=None)
@given(st.lists(st.integers(100, 999).map(lambda n: f"{n // 100}.{n % 100:02}"), min_size=1, max_size=5))
def test_the_shown_mean_is_the_exact_mean_half_up(values: list[str]) -> None:
    judged = support.judge(support.cat(), support.reading("duodenum.wall_thickness", *values))
    mean = sum((Decimal(text) for text in values), Decimal(0)) / len(values)
    shown = judged["values"][0]["value"]
    assert abs(Decimal(shown) - mean) <= Decimal("0.05")
    flagged = any(flag["kind"] == "above_limit" for flag in judged["flags"])
    assert flagged == (sum(Fraction(text) for text in values) / len(values) > Fraction("2.4"))
