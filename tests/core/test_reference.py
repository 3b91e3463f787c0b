"""Reference intervals by ranks.

Sources: CLSI EP28-A3c (ranks p(n + 1), the 90 percent interval of a limit by the binomial distribution: ranks 1 and 7
of 120), the binomial by scipy; Geffre et al. 2009 (120 for an own interval, 20 to verify a published one).
"""

import json
from fractions import Fraction
from typing import Any

import pytest
from click.testing import CliRunner
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from tests.core import support
from webapp.cli import reference as command
from webapp.core import reference

RULE = support.table("thresholds")["own_reference"]
PRINTED = [
    (39, "1", "39", [0, 4], 0.984),
    (119, "3", "117", [1, 7], 0.9204),
    (120, "3.025", "117.975", [1, 7], 0.9205),
    (150, "3.775", "147.225", [1, 8], 0.9419),
    (200, "5.025", "195.975", [2, 10], 0.9312),
    (240, "6.025", "234.975", [2, 11], 0.943),
]


def asked(values: list[str], bounds: list[str | None] | None = None) -> Any:
    return support.call({"do": "reference", "values": values, "bounds": bounds})


@pytest.mark.parametrize(("count", "low", "high", "between", "coverage"), PRINTED)
def test_ranks_and_their_intervals_are_those_published(
    count: int, low: str, high: str, between: list[int], coverage: float
) -> None:
    made = reference.ranks(count, RULE)
    assert (Fraction(*made["lower"]), Fraction(*made["upper"])) == (Fraction(low), Fraction(high))
    assert made["lower_between"] == between
    assert made["upper_between"] == [count + 1 - between[1], count + 1 - between[0]]
    covered = stats.binom.cdf(between[1] - 1, count, 0.025) - stats.binom.cdf(between[0] - 1, count, 0.025)
    assert covered == pytest.approx(coverage, abs=5e-4)


@pytest.mark.parametrize("count", range(1, 400, 7))
def test_each_tail_beyond_the_ranks_holds_at_most_five_percent(count: int) -> None:
    low, high = reference.ranks(count, RULE)["lower_between"]
    under = stats.binom(count, 0.025)
    assert under.cdf(low - 1) <= 0.05 < under.cdf(low)
    assert under.sf(high - 1) <= 0.05 or high == count
    assert high == count or under.sf(high - 2) > 0.05


def test_a_ladder_of_120_values_gives_its_own_ranks() -> None:
    """The values 1 to 120 are their ranks."""
    made = asked([str(number) for number in range(120, 0, -1)])
    assert made["interval"] == {
        "lower": "3.025",
        "upper": "117.975",
        "lower_between": ["1", "7"],
        "upper_between": ["114", "120"],
    }


@settings(max_examples=40, deadline=None)
@given(st.lists(st.decimals(min_value=0, max_value=999, places=2), min_size=120, max_size=160))
def test_the_limits_are_those_of_the_ordered_values(numbers: list[Any]) -> None:
    made = asked([f"{number:f}" for number in numbers])["interval"]
    ordered = sorted(Fraction(number) for number in numbers)
    rank = Fraction(len(ordered) + 1, 40)
    first = int(rank)
    wanted = ordered[first - 1] + (rank - first) * (ordered[first] - ordered[first - 1])
    assert Fraction(made["lower"]) == wanted


def test_too_few_values_give_no_interval_and_say_so() -> None:
    few, some = asked(["6.2"] * 19, ["3", "6"]), asked(["6.2"] * 20, ["3", "6"])
    assert few["interval"] is None and some["interval"] is None
    assert few["verified"]["outside"] == 19 and few["verified"]["enough"] is False
    assert (few["verified"]["answer"], few["verified"]["steps"]) == ("too_few", [])
    assert some["verified"]["outside"] == 20 and some["verified"]["enough"] is True
    assert few["outliers"] is None and some["outliers"] is not None
    assert "too few" in few["words"] and "120 are needed" in some["words"]
    assert asked([])["n"] == 0


def test_a_value_that_is_none_is_refused_by_name() -> None:
    assert asked(["6.2", "six"])["error"]["code"] == "not_a_number"
    assert asked(["-1"])["error"]["code"] == "negative"
    assert asked(["1"], ["3"])["error"]["code"] == "wrong_type"


def test_the_command_reads_a_value_a_line(tmp_path: Any) -> None:
    file = tmp_path / "poles.txt"
    file.write_text("\n".join(["5.1", "", "6.4 "] * 11), encoding="utf-8")
    ran = CliRunner().invoke(command, [str(file), "--upper", "6"])
    verified = json.loads(ran.output)["verified"]
    assert (verified["outside"], verified["enough"], verified["answer"]) == (11, True, "refused")
    file.write_text("5.1\nfive\n", encoding="utf-8")
    assert CliRunner().invoke(command, [str(file)]).exit_code == 2
