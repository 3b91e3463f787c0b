"""Probabilities, Student's t and the spread: against scipy and against printed examples."""

import math
from fractions import Fraction
from statistics import mean, stdev

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats
from uncertainties import ufloat

from tests.core import support
from webapp.core import decimals, spread

THRESHOLDS = support.table("thresholds")


def rational(number: float | str) -> tuple[int, int]:
    exact = Fraction(str(number))
    return exact.numerator, exact.denominator


def value(*texts: str) -> dict[str, object]:
    numbers = [decimals.parse(text) for text in texts]
    variance = decimals.variance(numbers) if len(numbers) > 1 else None
    known = {"numbers": numbers, "acquired": numbers, "variance": variance, "pixel": None}
    return {"n": len(numbers), "mean": decimals.mean(numbers)} | known


def deviation(*texts: str, unit: str = "mm") -> float | None:
    squared = spread.uncertainty_squared(value(*texts), unit, THRESHOLDS, None)
    return None if squared is None else math.sqrt(squared[0] / squared[1])


def probability(reading: float, limit: float, uncertainty: float) -> float:
    squared = rational(Fraction(str(uncertainty)) ** 2)
    past = rational(Fraction(str(reading)) - Fraction(str(limit)))
    odds = spread.beyond(past, squared, THRESHOLDS)
    return float(odds["probability"])


@pytest.mark.parametrize("freedom", range(1, 31))
def test_students_t_is_that_of_scipy(freedom: int) -> None:
    assert float(spread.student(freedom, THRESHOLDS)) == pytest.approx(stats.t.ppf(0.975, freedom), abs=6e-5)


@pytest.mark.parametrize(("n", "printed"), [(2, "12.706"), (3, "4.303"), (4, "3.182"), (5, "2.776"), (10, "2.262")])
def test_students_t_is_the_printed_one(n: int, printed: str) -> None:
    """Source: the table of small n in standards.md A1 (t 0.975 of n - 1 degrees of freedom)."""
    assert float(spread.student(n - 1, THRESHOLDS)) == pytest.approx(float(printed), abs=6e-4)


@pytest.mark.parametrize("freedom", [31, 39, 40, 59, 60, 119, 120, 500])
def test_students_t_above_the_table_is_never_too_small(freedom: int) -> None:
    got = float(spread.student(freedom, THRESHOLDS))
    assert stats.t.ppf(0.975, freedom) - 6e-5 <= got <= stats.t.ppf(0.975, 30) + 6e-5


def test_the_point_of_too_close_to_call_is_that_of_the_normal_distribution() -> None:
    """Source: scipy.stats.norm; JCGM 106 table 1 prints 1.64 for 0.95."""
    assert float(THRESHOLDS["too_close"]["z"]) == pytest.approx(stats.norm.ppf(0.95), abs=1e-7)


@pytest.mark.parametrize(
    ("y", "u", "limit", "printed"),
    [
        (7.2, 0.37, 6.0, 0.9994),
        (6.3, 0.37, 6.0, 0.7913),
        (6.6, 0.37, 6.0, 0.9476),
        (6.61, 0.37, 6.0, 0.9504),
        (5.4, 0.37, 6.0, 0.0524),
        (5.2, 0.37, 6.0, 0.0153),
    ],
)
def test_probability_above_a_limit(y: float, u: float, limit: float, printed: float) -> None:
    """Source: standards.md A2, vectors "above_limit"."""
    assert probability(y, limit, u) == pytest.approx(printed, abs=0.0051)


@pytest.mark.parametrize(("y", "u", "limit", "conform"), [(-5.47, 0.05, -5.40, 0.92), (490, 8.6, 509.7, 0.99)])
def test_examples_of_jcgm_106(y: float, u: float, limit: float, conform: float) -> None:
    """Source: JCGM 106:2012, the Zener diode and the burst strength (there: conforming, here: beyond)."""
    assert 1 - probability(y, limit, u) == pytest.approx(conform, abs=0.0051)


@pytest.mark.parametrize(("y", "u", "u_limit", "printed"), [(7.2, 0.37, 0.30, 0.9941), (6.61, 0.37, 0.30, 0.8998)])
def test_a_limit_that_is_itself_an_estimate(y: float, u: float, u_limit: float, printed: float) -> None:
    """Source: standards.md A2, vectors "above_limit_uncertain_limit"."""
    assert probability(y, 6.0, math.sqrt(u**2 + u_limit**2)) == pytest.approx(printed, abs=0.0051)


@pytest.mark.parametrize(("n", "half"), [(20, 0.311), (45, 0.205), (120, 0.125)])
def test_standard_error_of_a_parametric_limit(n: int, half: float) -> None:
    """Source: standards.md A4, vectors "ri_param": mean 5.0, sd 0.8."""
    squared = spread.limit_squared({"n": n, "mean": "5.0", "sd": "0.8"}, THRESHOLDS)
    assert math.sqrt(squared[0] / squared[1]) == pytest.approx(half, abs=0.0006)


def test_a_limit_without_a_published_spread_has_no_error_of_its_own() -> None:
    assert spread.limit_squared({"n": 86, "mean": None, "sd": None}, THRESHOLDS) == (0, 1)
    assert spread.limit_squared({"n": None, "mean": "5", "sd": "0.8"}, THRESHOLDS) == (0, 1)


@settings(max_examples=300)
@given(st.integers(-400, 400), st.integers(5, 200))
def test_probability_is_the_normal_one_to_two_digits(past: int, uncertainty: int) -> None:
    odds = spread.beyond((past, 100), rational(Fraction(uncertainty, 100) ** 2), THRESHOLDS)
    wanted = stats.norm.cdf(past / uncertainty)
    assert odds["probability"] == pytest.approx(wanted, abs=0.005 + 1e-9)
    if abs(min(wanted, 1 - wanted) - 0.05) > 1e-6:
        assert odds["borderline"] == (0.05 < wanted < 0.95)


def test_an_unknown_spread_has_no_probability() -> None:
    assert spread.beyond((1, 10), None, THRESHOLDS) == {"probability": None, "borderline": None}
    assert deviation("6.2") is None


@pytest.mark.parametrize(
    ("texts", "unit", "wanted"),
    [(("3.0", "3.0"), "mm", 0.2), (("5.0", "5.0"), "mm", 0.2), (("10", "10"), "mm", 0.4), (("0.7", "0.7"), "1", 0.028)],
)
def test_the_floor_of_the_spread(texts: tuple[str, ...], unit: str, wanted: float) -> None:
    """Source: spread_floor of our thresholds: 4 percent of the value, and 0.2 mm for lengths."""
    assert deviation(*texts, unit=unit) == pytest.approx(wanted)


@given(st.lists(st.integers(100, 999), min_size=2, max_size=6))
def test_the_uncertainty_of_a_mean_is_not_divided_by_repetition(hundredths: list[int]) -> None:
    """Source: spread_floor: max(SD used, s / sqrt n), the SD used being that of the readings or the floor."""
    sizes = [number / 100 for number in hundredths]
    floor = max(0.2, 0.04 * mean(sizes))
    own = stdev(sizes)
    wanted = max(own, floor, own / math.sqrt(len(sizes)))
    assert deviation(*[f"{number // 100}.{number % 100:02}" for number in hundredths]) == pytest.approx(
        wanted, rel=1e-9
    )


@pytest.mark.parametrize(
    ("replicates", "pixel", "printed"), [(("7.1", "7.4", "7.2"), "0.26", 0.3657), (("6.2", "6.2"), "0.51", 0.4072)]
)
def test_observer_and_pixel_add_in_quadrature(replicates: tuple[str, ...], pixel: str, printed: float) -> None:
    """Source: standards.md A1, vectors "gum_budget" with an observer's SD of 0.35; the sum by `uncertainties`."""
    read = value(*replicates) | {"pixel": decimals.parse(pixel)}
    squared = spread.uncertainty_squared(read, "mm", THRESHOLDS, {"sd": "0.35", "df": 30})
    assert squared is not None
    combined = ufloat(0, 0.35) + ufloat(0, float(pixel) / math.sqrt(6))
    assert math.sqrt(squared[0] / squared[1]) == pytest.approx(combined.std_dev)
    assert combined.std_dev == pytest.approx(printed, abs=5.1e-5)


def test_calipers_placed_again_on_the_same_frame_are_no_replicate() -> None:
    """Source: standards.md A1: the observer's part is not seen by placing calipers twice on one image."""
    quantity = "jejunum.wall_thickness"
    again = [support.reading(quantity, "4.0"), support.reading(quantity, "4.0", acquired="same_frame")]
    anew = [support.reading(quantity, "4.0"), support.reading(quantity, "4.0", acquired="new_image")]
    assert [line["probability"] for line in support.judge(support.dog("10"), *again)["judged"]] == [None]
    assert [flag["kind"] for flag in support.judge(support.dog("10"), *anew)["flags"]] == ["near_limit"]


@settings(max_examples=200, deadline=None)
@given(st.lists(st.integers(200, 450), min_size=1, max_size=4), st.lists(st.integers(200, 450), min_size=1, max_size=4))
def test_change_is_told_as_scipys_t_tells_it(now: list[int], then: list[int]) -> None:
    """Source: Student's two-sample criterion, pooled SD never below the floor (here 0.2 mm, all under 5 mm)."""
    quantity = "jejunum.wall_thickness"
    texts = [[f"{number // 100}.{number % 100:02}" for number in sizes] for sizes in (now, then)]
    judged = support.judge(
        support.dog(),
        support.reading(quantity, *texts[0]),
        exam={"date": "2026-11-17"},
        earlier=[{"exam": {"date": "2026-05-01"}, "readings": [support.reading(quantity, *texts[1])]}],
    )
    flagged = any(flag["kind"] == "changed" for flag in judged["flags"])
    freedom = len(now) + len(then) - 2
    if freedom < 1:
        assert not flagged
        return
    squares = sum((number - mean(sizes)) ** 2 for sizes in (now, then) for number in sizes)
    pooled = max(math.sqrt(squares / freedom) / 100, 0.2)
    least = stats.t.ppf(0.975, freedom) * pooled * math.sqrt(1 / len(now) + 1 / len(then))
    gap = abs(mean(now) - mean(then)) / 100
    if abs(gap - least) > 2e-4 * least:
        assert flagged == (gap > least)


def test_two_sided_example_of_jcgm_106() -> None:
    """Source: JCGM 106:2012 7.4: y 13.6, u 1.8, tolerance 12.5 to 16.3: conforming with 0.66 (0.6626)."""
    outside = probability(13.6, 16.3, 1.8) + (1 - probability(13.6, 12.5, 1.8))
    law = stats.norm(13.6, 1.8)
    assert law.cdf(16.3) - law.cdf(12.5) == pytest.approx(0.6626, abs=5e-5)
    assert 1 - outside == pytest.approx(0.6626, abs=0.01)


def test_a_guard_band_of_two_u_leaves_a_risk_of_two_percent() -> None:
    """Source: ILAC-G8:09/2019, w = U = 2 u: conforming with 0.977 at the acceptance limit."""
    assert probability(6.0 - 2 * 0.37, 6.0, 0.37) == pytest.approx(1 - stats.norm.cdf(2), abs=0.005)


@pytest.mark.parametrize(
    ("limit", "u", "rule_in", "rule_out"), [("6.0", "0.37", "6.609", "5.391"), ("3.2", "0.15", "3.447", "2.953")]
)
def test_too_close_to_call_begins_and_ends_where_five_percent_is_left(
    limit: str, u: str, rule_in: str, rule_out: str
) -> None:
    """Source: standards A2, vectors "guarded_limit" (p 0.95): limit plus and minus z x u with scipy's z."""
    z = stats.norm.ppf(0.95)
    assert float(limit) + z * float(u) == pytest.approx(float(rule_in), abs=6e-4)
    squared = rational(Fraction(u) ** 2)

    def close(reading: Fraction) -> bool:
        return bool(spread.beyond(rational(reading - Fraction(limit)), squared, THRESHOLDS)["borderline"])

    step = Fraction("0.001")
    assert close(Fraction(rule_in) - step) and not close(Fraction(rule_in) + step)
    assert close(Fraction(rule_out) + step) and not close(Fraction(rule_out) - step)


@pytest.mark.parametrize("pitch", ["0.1", "0.2548", "0.2623", "0.3827", "0.5105"])
def test_a_pixel_alone_adds_pitch_over_root_six(pitch: str) -> None:
    """Source: JCGM 100 4.3.7: two ends, each uniform over one pixel: pitch x sqrt 2 / sqrt 12, with scipy's uniform."""
    both_ends = math.sqrt(2) * stats.uniform(0, float(pitch)).std()
    without = value("6.2", "6.4")
    with_pixel = without | {"pixel": decimals.parse(pitch)}
    squares = [spread.uncertainty_squared(one, "mm", THRESHOLDS, None) for one in (without, with_pixel)]
    added = squares[1][0] / squares[1][1] - squares[0][0] / squares[0][1]
    assert math.sqrt(added) == pytest.approx(both_ends, rel=1e-9)


@pytest.mark.parametrize(("n1", "n2", "printed"), [(1, 1, 0.970), (3, 3, 0.560), (3, 1, 0.792)])
def test_smallest_detectable_change_of_a_known_spread(n1: int, n2: int, printed: float) -> None:
    """Source: standards A3, vectors "sdc": 1.96 x SEM x sqrt(1/n1 + 1/n2), SEM 0.35.

    Ours goes by Student's t of the degrees of freedom known: never smaller, and near it where many are known.
    """
    now, then = value(*["5.0"] * n1), value(*["5.0"] * n2)
    known = {"sd": "0.35", "df": 120}
    freedom = 120 + (n1 - 1) + (n2 - 1)
    squared = spread.least_change(now, then, "mm", THRESHOLDS, known)
    assert squared is not None
    least = math.sqrt(squared[0] / squared[1])
    pooled = 0.35 * math.sqrt(120 / freedom)
    assert least == pytest.approx(
        float(spread.student(freedom, THRESHOLDS)) * pooled * math.sqrt(1 / n1 + 1 / n2), rel=1e-9
    )
    exact = stats.norm.ppf(0.975) * 0.35 * math.sqrt(1 / n1 + 1 / n2)
    assert exact == pytest.approx(printed, abs=6e-4)
    if n1 == n2 == 1:
        assert exact < least < 1.011 * exact


def test_why_twenty_degrees_of_freedom_are_asked_for() -> None:
    """Source: the threshold's own words, 0.77 to 1.44; the interval of a standard deviation by scipy's chi square."""
    least = THRESHOLDS["learned_spread"]["least_df"]
    low, high = (math.sqrt(least / stats.chi2.ppf(p, least)) for p in (0.975, 0.025))
    assert f"{low:.2f} to {high:.2f} times" in THRESHOLDS["learned_spread"]["source"]
    for n, wanted in ((2, (0.446, 31.91)), (3, (0.521, 6.285)), (5, (0.599, 2.874))):
        ends = [math.sqrt((n - 1) / stats.chi2.ppf(p, n - 1)) for p in (0.975, 0.025)]
        assert ends == pytest.approx(wanted, rel=1e-3), "standards A1: too few readings to know a spread by"


@settings(max_examples=300)
@given(st.integers(0, 10**9), st.integers(1, 10**6), st.integers(0, 4))
def test_a_root_is_the_nearest_decimal_half_rounded_up(top: int, bottom: int, places: int) -> None:
    told = Fraction(decimals.root((top, bottom), places))
    half = Fraction(1, 2 * 10**places)
    square = Fraction(top, bottom)
    assert (told + half) ** 2 > square
    assert told == 0 or (told - half) ** 2 <= square
