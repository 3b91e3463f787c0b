"""Whether a published interval fits healthy animals here, and which of their values lie far from the rest.

Sources: the counts commonly told of CLSI EP28-A3c (2 of 20; 3 or 4: another 20); Dixon's ratio with Reed's one third
against the example that the documentation of the R package mcradds prints for its function of the same guideline;
Tukey's fences against numpy's quartiles at ranks n + 1; chances against scipy's binomial distribution.
"""

from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from tests.core import support
from webapp.core import decimals, outliers

RULE = support.table("thresholds")["own_reference"]
# Calcium in 240 medical students, mg/dL: how many had each value (CLSI EP28-A3, table 4, as the same package holds it).
CALCIUM = {
    "8.8": 1, "8.9": 2, "9": 1, "9.1": 5, "9.2": 12, "9.3": 19, "9.4": 14, "9.5": 27, "9.6": 28, "9.7": 39, "9.8": 24,
    "9.9": 21, "10": 10, "10.1": 12, "10.2": 14, "10.3": 9, "10.4": 1, "10.6": 1,
}  # fmt: skip
INSIDE, OUTSIDE = "5", "7"
PRINTED = ["13.6", "44.4", "45.9", "11.9", "41.9", "53.3", "44.7", "95.2", "44.1", "50.7", "45.2", "60.1", "89.1"]


def test_the_guidelines_own_example_comes_out_as_printed() -> None:
    """Printed (mcradds, its introduction): limits 9.10 and 10.30, intervals 8.9 to 9.2 and 10.3 to 10.4, no outlier."""
    values = [value for value, count in CALCIUM.items() for _ in range(count)]
    made = support.call({"do": "reference", "values": values, "bounds": None})
    assert made["n"] == 240
    assert made["interval"] == {
        "lower": "9.1", "upper": "10.3", "lower_between": ["8.9", "9.2"], "upper_between": ["10.3", "10.4"]
    }  # fmt: skip
    assert made["outliers"]["dixon"] == []


def verified(*groups: tuple[int, int], rest: int = 0) -> Any:
    """Groups of (outside, inside) animals in the order they were taken, `rest` more inside; limits 3 to 6."""
    values = [text for out, good in groups for text in [OUTSIDE] * out + [INSIDE] * good] + [INSIDE] * rest
    return support.call({"do": "reference", "values": values, "bounds": ["3", "6"]})["verified"]


@pytest.mark.parametrize(
    ("groups", "answer", "steps"),
    [
        ([(0, 19)], "too_few", []),
        ([(0, 20)], "verified", [0]),
        ([(2, 18)], "verified", [2]),
        ([(3, 17)], "next", [3]),
        ([(4, 16), (0, 19)], "next", [4]),
        ([(4, 16), (2, 18)], "verified", [4, 2]),
        ([(3, 17), (3, 17)], "refused", [3, 3]),
        ([(5, 15)], "refused", [5]),
        ([(5, 15), (0, 20)], "refused", [5]),
        ([(2, 18), (20, 0)], "verified", [2]),
    ],
)
def test_two_of_twenty_may_lie_outside_and_three_or_four_ask_twenty_more(
    groups: list[tuple[int, int]], answer: str, steps: list[int]
) -> None:
    made = verified(*groups)
    assert (made["answer"], made["steps"]) == (answer, steps)
    assert made["outside"] == sum(out for out, _ in groups), "all that lie outside are told, whatever the rule looks at"
    assert all(str(count) in made["words"] for count in steps)


def test_the_order_in_which_animals_were_taken_decides_not_their_size() -> None:
    late = support.call({"do": "reference", "values": [INSIDE] * 20 + [OUTSIDE] * 5, "bounds": ["3", "6"]})
    early = support.call({"do": "reference", "values": [OUTSIDE] * 5 + [INSIDE] * 20, "bounds": ["3", "6"]})
    assert (late["verified"]["answer"], early["verified"]["answer"]) == ("verified", "refused")


def test_how_often_a_right_interval_is_refused_is_what_the_binomial_says() -> None:
    """Of 20 animals for whom the interval holds 95 in 100, more than 2 lie outside in 7.5 of 100 groups."""
    under = stats.binom(RULE["verify"], 0.05)
    assert under.sf(RULE["outside_most"]) == pytest.approx(0.0755, abs=5e-5)
    assert under.sf(RULE["outside_again"]) < 0.003


def test_a_limit_itself_is_within_and_one_side_may_be_missing() -> None:
    values = ["6"] * 10 + ["6.000001"] * 10
    upper = support.call({"do": "reference", "values": values, "bounds": [None, "6"]})["verified"]
    lower = support.call({"do": "reference", "values": values, "bounds": ["6", None]})["verified"]
    assert (upper["outside"], lower["outside"]) == (10, 0)


def far(texts: list[str]) -> dict[str, list[float]]:
    """What `outliers.found` names, as numbers."""
    numbers = sorted((decimals.parse(text) for text in texts), key=lambda one: one[0] / one[1])
    made = outliers.found(numbers, RULE)
    return {name: [top / bottom for top, bottom in made[name]] for name in ("tukey", "dixon")}


def test_dixons_ratio_names_what_the_printed_example_names() -> None:
    assert sorted(far(PRINTED)["dixon"]) == [11.9, 13.6, 89.1, 95.2]


def test_two_far_values_do_not_hide_each_other() -> None:
    """The larger is near the second largest; asked alone it would pass."""
    assert far([*[str(50 + one) for one in range(20)], "120", "121"])["dixon"] == [120, 121]


@given(st.lists(st.decimals(min_value=0, max_value=99, places=1), min_size=4, max_size=60))
def test_tukeys_fences_stand_on_quartiles_at_ranks_n_plus_1(given_: list[Any]) -> None:
    numbers = [float(one) for one in given_]
    first, third = np.percentile(numbers, [25, 75], method="weibull")
    low, high = first - 1.5 * (third - first), third + 1.5 * (third - first)
    near = [one for one in numbers if min(abs(one - low), abs(one - high)) < 1e-9]  # where floats cannot say
    wanted = sorted(one for one in numbers if (one < low or one > high) and one not in near)
    assert sorted(one for one in far([f"{one:f}" for one in given_])["tukey"] if one not in near) == wanted


@given(st.lists(st.integers(1, 400), min_size=20, max_size=60))
def test_no_value_is_dropped_whatever_is_named(numbers: list[int]) -> None:
    texts = [str(one) for one in numbers]
    made = support.call({"do": "reference", "values": texts, "bounds": ["50", "300"]})
    assert made["n"] == len(numbers)
    assert made["verified"]["outside"] == sum(not 50 <= one <= 300 for one in numbers)
    assert set(made["outliers"]["tukey"] + made["outliers"]["dixon"]) <= set(texts)
